"""From trained weights to a model folder that Vosk can load.

    python -m voice.acoustics.export CHECKPOINT... MODEL_FOLDER

takes the mean of the checkpoints and writes ``am/final.mdl``, ``conf/`` and the checksums of all files; the graph must lie there already
(`voice.acoustics.graph`).
"""

from __future__ import annotations

import hashlib
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from voice.acoustics import features, network
from voice.acoustics.acoustic_file import Layer, Network, write_acoustic_model
from voice.acoustics.shipped import CHECKSUMS

if TYPE_CHECKING:
    from collections.abc import Sequence

    import torch

    from voice.acoustics.network import DelayLayer, PhoneNetwork

PRIOR_EXPONENT = 0.4
"""The outputs are divided by their priors to this power: at 1 the blank nearly vanishes, at 0 it
wins too often on short words. Chosen by the sweep in docs/model-card.md."""
SMALLEST_PRIOR = 1e-4

PARTS = ("am", "conf", "graph")
"""The folders that Vosk reads."""
MODEL_CONF = """\
--min-active=200
--max-active=3000
--beam=13.0
--lattice-beam=8.0
--acoustic-scale=1.0
--frame-subsampling-factor=3
--endpoint.silence-phones=1
--endpoint.rule2.min-trailing-silence=0.5
--endpoint.rule3.min-trailing-silence=1.0
--endpoint.rule4.min-trailing-silence=2.0
"""


def fold(
    trained: PhoneNetwork, priors: torch.Tensor, prior_exponent: float = PRIOR_EXPONENT
) -> Network:
    """The network as it runs: normalisations and the cosine transform folded into the weights."""
    size = trained.size
    layers = [
        _fold_layer(layer, f"low{i}", 1, trained if i == 0 else None)
        for i, layer in enumerate(trained.low)
    ]
    layers += [
        _fold_layer(layer, f"high{i}", network.SUBSAMPLING, None)
        for i, layer in enumerate(trained.high)
    ]
    if len(layers) != size.nlow + size.nhigh:
        raise AssertionError("a layer was lost")
    return Network(
        layers=layers,
        output_weights=_array(trained.out.weight)[:, :, 0],
        output_bias=_array(trained.out.bias),
        priors=np.maximum(_array(priors), SMALLEST_PRIOR) ** prior_exponent,
    )


def _fold_layer(layer: DelayLayer, name: str, step: int, first: PhoneNetwork | None) -> Layer:
    """Fold one layer; ``first`` is the network whose input normalisation its first layer takes."""
    linear = _array(layer.lin.weight)
    weights, bias = _array(layer.aff.weight)[:, :, 0], _array(layer.aff.bias)
    frames = [linear[:, :, k] for k in range(linear.shape[2])]
    if first is not None:
        frames = [frame * _array(first.istd) for frame in frames]
        bias = bias - weights @ sum(frame @ _array(first.mean) for frame in frames)
        frames = [frame @ features.dct().T for frame in frames]
    norm = layer.bn
    gain = _array(norm.weight) / np.sqrt(_array(norm.running_var) + norm.eps)
    return Layer(
        name=name,
        offsets=(-step, 0, step),
        linear=np.concatenate(frames, axis=1),
        weights=weights * gain[:, None],
        bias=(bias - _array(norm.running_mean)) * gain + _array(norm.bias),
        skip=layer.skip,
    )


def _array(tensor: torch.Tensor) -> np.typing.NDArray[np.float64]:
    return np.asarray(tensor.detach().double().numpy())


def export(
    checkpoints: Sequence[Path], folder: Path, prior_exponent: float = PRIOR_EXPONENT
) -> None:
    """Write the acoustic model and its settings into a model folder."""
    for part in PARTS:
        (folder / part).mkdir(parents=True, exist_ok=True)
    trained, priors = network.load(*checkpoints)
    write_acoustic_model(folder / "am" / "final.mdl", fold(trained, priors, prior_exponent))
    (folder / "conf" / "mfcc.conf").write_text(features.MFCC_CONF)
    (folder / "conf" / "model.conf").write_text(MODEL_CONF)


def write_checksums(folder: Path) -> None:
    """List every file that Vosk reads, for `voice.acoustics.shipped.verify`."""
    files = sorted(path for part in PARTS for path in (folder / part).rglob("*") if path.is_file())
    lines = [
        f"{hashlib.sha256(path.read_bytes()).hexdigest()}  {path.relative_to(folder).as_posix()}\n"
        for path in files
    ]
    (folder / CHECKSUMS).write_text("".join(lines), encoding="utf-8")


if __name__ == "__main__":
    *given, model_folder = map(Path, sys.argv[1:])
    export(given, model_folder)
    write_checksums(model_folder)
