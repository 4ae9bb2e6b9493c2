"""Whisper's network with numpy: an encoder of sound, and a decoder that weighs the next token.

Source: Radford et al. 2022 (see `features`); Vaswani et al., "Attention Is All You Need", 2017.
Times that were measured stand in docs/second-listener.md.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    Array = NDArray[np.float32]

HEADS = 6
LAYERS = 4


class _Part:
    """The arrays whose names begin alike, as 32-bit floats."""

    def __init__(self, arrays: Mapping[str, NDArray[np.generic]], begin: str) -> None:
        self._arrays = {
            name.removeprefix(begin): np.ascontiguousarray(array, np.float32)
            for name, array in arrays.items()
            if name.startswith(begin) and array.ndim
        }

    def __getitem__(self, name: str) -> Array:
        return self._arrays[name]

    def linear(self, name: str, x: Array) -> Array:
        moved: Array = x @ self[f"{name}/weight"].T + self[f"{name}/bias"]
        return moved

    def normal(self, name: str, x: Array) -> Array:
        apart = x - x.mean(axis=-1, keepdims=True)
        spread = np.sqrt((apart * apart).mean(axis=-1, keepdims=True) + np.float32(1e-5))
        evened: Array = apart / spread * self[f"{name}/gamma"] + self[f"{name}/beta"]
        return evened

    def forward(self, name: str, x: Array) -> Array:
        """The two linear steps that end a layer."""
        inner = _gelu(self.linear(f"{name}/linear_0", self.normal(f"{name}/layer_norm", x)))
        return self.linear(f"{name}/linear_1", inner)


def _gelu(x: Array) -> Array:
    """By its formula with tanh, which is off by less than 0.0005 (Hendrycks and Gimpel 2016)."""
    inner: Array = x * x
    inner *= np.float32(0.7978846 * 0.044715)
    inner += np.float32(0.7978846)
    inner *= x
    np.tanh(inner, out=inner)
    inner += 1
    inner *= x
    inner *= np.float32(0.5)
    return inner


def _by_head(x: Array) -> Array:
    """Rows of numbers (any leading shape, rows, width) as heads of rows."""
    return x.reshape(*x.shape[:-1], HEADS, -1).swapaxes(-3, -2)


def _together(x: Array) -> Array:
    heads = x.swapaxes(-3, -2)
    return heads.reshape(*heads.shape[:-2], -1)


def _softmax(x: Array) -> Array:
    powers: Array = np.exp(x - x.max(axis=-1, keepdims=True))
    powers /= powers.sum(axis=-1, keepdims=True)
    return powers


def _by_keys(asked: Array, keys: Array) -> Array:
    """How well what is asked for fits each key."""
    fits: Array = asked @ keys.swapaxes(-1, -2) * np.float32(asked.shape[-1] ** -0.5)
    return fits


class Encoder:
    """Sound to what the decoder looks at."""

    def __init__(self, arrays: Mapping[str, NDArray[np.generic]]) -> None:
        self._of = _Part(arrays, "encoder/")

    def encode(self, features: Array) -> Array:
        """Rows of numbers, one for each 20 ms, of ``features`` (frames each 10 ms, by bands)."""
        x = _gelu(self._convolved("conv1", features, 1))
        x = _gelu(self._convolved("conv2", x, 2))
        x = x + self._of["position_encodings/encodings"][: len(x)]
        for n in range(LAYERS):
            layer = f"layer_{n}"
            inner = self._of.normal(f"{layer}/self_attention/layer_norm", x)
            asked, keys, values = np.split(
                self._of.linear(f"{layer}/self_attention/linear_0", inner), 3, axis=-1
            )
            q, k, v = _by_head(asked), _by_head(keys), _by_head(values)
            seen = _together(_softmax(_by_keys(q, k)) @ v)
            x = x + self._of.linear(f"{layer}/self_attention/linear_1", seen)
            x = x + self._of.forward(f"{layer}/ffn", x)
        return self._of.normal("layer_norm", x)

    def _convolved(self, name: str, x: Array, step: int) -> Array:
        weight = self._of[f"{name}/weight"]
        padded = np.pad(x, ((1, 1), (0, 0)))
        taps = np.lib.stride_tricks.sliding_window_view(padded, 3, axis=0)[::step]
        flat = taps.reshape(len(taps), -1)
        result: Array = flat @ weight.reshape(len(weight), -1).T + self._of[f"{name}/bias"]
        return result


Sound = tuple[tuple["Array", "Array"], ...]
"""What the decoder looks at: keys and values of each layer, by head."""


@dataclass(frozen=True, slots=True)
class Told:
    """What texts of one length have told the decoder: keys and values of each layer, by text and head."""

    layers: tuple[tuple[Array, Array], ...]

    @property
    def length(self) -> int:
        """How many tokens each text has."""
        return int(self.layers[0][0].shape[-2])

    def of(self, texts: Sequence[int]) -> Told:
        """The same of these texts only, in this order."""
        return Told(tuple((keys[texts], values[texts]) for keys, values in self.layers))


class Decoder:
    """Weighs which token comes next, given the sound and the tokens before."""

    def __init__(
        self, arrays: Mapping[str, NDArray[np.generic]], tokens: NDArray[np.int64]
    ) -> None:
        """Of all tokens only ``tokens`` are known; one is named by its place among them."""
        rest = {n: a for n, a in arrays.items() if n != "decoder/embeddings/weight"}
        self._of = _Part(rest, "decoder/")
        every = arrays["decoder/embeddings/weight"]
        self._embeddings = np.ascontiguousarray(every[tokens], np.float32)

    def look_at(self, encoded: Array) -> Sound:
        """Make ready what the encoder made of a sound."""
        seen = []
        for n in range(LAYERS):
            both = self._of.linear(f"layer_{n}/attention/linear_1", encoded)
            keys, values = np.split(both, 2, axis=-1)
            seen.append((_by_head(keys), _by_head(values)))
        return tuple(seen)

    def weigh(
        self, last: Sequence[int], sound: Sound, told: Told | None = None
    ) -> tuple[Array, Told]:
        """Natural log-probabilities of each token after texts that end with the tokens ``last``.

        ``told`` is what the texts told before their last token; none: it is their first. Returned as well is
        what they have told with it.
        """
        place = told.length if told is not None else 0
        x = (self._embeddings[last] + self._of["position_encodings/encodings"][place])[:, None]
        layers = []
        for n in range(LAYERS):
            layer = f"layer_{n}"
            inner = self._of.normal(f"{layer}/self_attention/layer_norm", x)
            asked, keys, values = np.split(
                self._of.linear(f"{layer}/self_attention/linear_0", inner), 3, axis=-1
            )
            own = (_by_head(keys), _by_head(values))
            if told is not None:
                kept = told.layers[n]
                own = (np.concatenate((kept[0], own[0]), -2), np.concatenate((kept[1], own[1]), -2))
            layers.append(own)
            seen = _together(_attended(_by_head(asked), *own))
            x = x + self._of.linear(f"{layer}/self_attention/linear_1", seen)
            inner = self._of.normal(f"{layer}/attention/layer_norm", x)
            asked = self._of.linear(f"{layer}/attention/linear_0", inner)
            heard = _together(_attended(_by_head(asked[:, 0]), *sound[n]))[:, None]
            x = x + self._of.linear(f"{layer}/attention/linear_2", heard)
            x = x + self._of.forward(f"{layer}/ffn", x)
        weights: Array = self._of.normal("layer_norm", x)[:, 0] @ self._embeddings.T
        weights -= weights.max(axis=-1, keepdims=True)
        return weights - np.log(np.exp(weights).sum(axis=-1, keepdims=True)), Told(tuple(layers))


def _attended(asked: Array, keys: Array, values: Array) -> Array:
    return _softmax(_by_keys(asked, keys)) @ values
