"""ONNX's operators, as far as the synthesiser Kokoro has them, as functions of torch.

Each takes a node's attributes and gives what is called with the node's inputs. What they mean is from
ONNX's own list (opset 20) and onnxruntime's list of contributed operators.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import torch
from onnx import numpy_helper
from torch import Tensor
from torch.nn import functional

if TYPE_CHECKING:
    from collections.abc import Callable

Attributes = dict[str, Any]

_HISS = 1e-6
"""Where there is no voice, nothing sounds but the rounding of onnxruntime, and its phases make the breath of the
consonants. Here the bands would be silent and their phases 0 by 0, so this takes its place."""
_TYPES = {1: torch.float32, 6: torch.int32, 7: torch.int64, 9: torch.bool, 10: torch.float32}


def _together(a: Tensor, b: Tensor) -> tuple[Tensor, Tensor]:
    """Both on one device: a single number joins the other side as it is."""
    if a.device == b.device:
        return a, b
    if a.device.type == "cpu":
        return (a.reshape(()) if a.numel() == 1 and b.dim() else a.to(b.device)), b
    return a, (b.reshape(()) if b.numel() == 1 and a.dim() else b.to(a.device))


def _plain(function: Callable[..., Any]) -> Callable[[Attributes], Callable[..., Any]]:
    """An operator without attributes that matter."""
    return lambda _: function


def _two(function: Callable[[Tensor, Tensor], Tensor]) -> Callable[[Attributes], Any]:
    """An operator on two tensors, wherever they are."""
    return lambda _: lambda a, b: function(*_together(a, b))


def _divided(a: Tensor, b: Tensor) -> Tensor:
    return torch.div(a, b, rounding_mode=None if a.is_floating_point() else "trunc")


def _product(a: Tensor, b: Tensor) -> Tensor:
    return torch.matmul(*_together(a, b))


def _whole(tensor: Tensor) -> list[int]:
    return [int(number) for number in tensor.reshape(-1).tolist()]


def less_zero(weights: Tensor, zero: Tensor | None) -> Tensor:
    """Quantised weights as they stood before they were scaled."""
    return weights.float() if zero is None else weights.float() - zero.to(weights.device).float()


def _padding(attributes: Attributes) -> list[int]:
    pads = attributes.get("pads", [0, 0])
    half = len(pads) // 2
    if pads[:half] != pads[half:]:
        raise ValueError(f"Only equal padding on both sides is known, not {pads}.")
    return list(pads[:half])


def _conv(attributes: Attributes) -> Any:
    how = {
        "stride": attributes["strides"],
        "padding": _padding(attributes),
        "dilation": attributes["dilations"],
        "groups": attributes["group"],
    }
    function = (functional.conv1d, functional.conv2d)[len(attributes["kernel_shape"]) - 1]
    return lambda x, w, bias=None: function(x, w, bias, **how)


def _conv_transpose(attributes: Attributes) -> Any:
    how = {
        "stride": attributes["strides"],
        "padding": _padding(attributes),
        "dilation": attributes["dilations"],
        "groups": attributes["group"],
        "output_padding": attributes.get("output_padding", [0]),
    }
    return lambda x, w, bias=None: functional.conv_transpose1d(x, w, bias, **how)


def _quantised_lstm(attributes: Attributes) -> Any:
    """Both ways, from silence; ONNX has the gates in another order than torch."""
    hidden = attributes["hidden_size"]
    made: list[torch.nn.LSTM] = []

    def gates(rows: Tensor) -> Tensor:
        put, out, forget, cell = rows.split(hidden)
        return torch.cat([put, forget, cell, out])

    def weights(quantised: Tensor, way: int, scale: Tensor, zero: Tensor) -> Tensor:
        """Of both ways or of each its own: a scale and a zero."""
        scale, zero = (part.expand(2)[way].to(quantised.device) for part in (scale, zero))
        return gates((less_zero(quantised[way], zero) * scale).T)

    def make(w: Tensor, r: Tensor, b: Tensor, scales: tuple[Tensor, ...]) -> torch.nn.LSTM:
        lstm = torch.nn.LSTM(w.shape[1], hidden, bidirectional=True)
        for way, name in enumerate(("l0", "l0_reverse")):
            both = b[way].split(4 * hidden)
            parts = {
                f"weight_ih_{name}": weights(w, way, *scales[:2]),
                f"weight_hh_{name}": weights(r, way, *scales[2:]),
                f"bias_ih_{name}": gates(both[0]),
                f"bias_hh_{name}": gates(both[1]),
            }
            lstm.load_state_dict({**lstm.state_dict(), **parts})
        return lstm.to(w.device)

    def call(x: Tensor, w: Tensor, r: Tensor, b: Tensor, *rest: Any) -> Tensor:
        if not made:
            made.append(make(w, r, b, rest[4:8]))
        out, _ = made[0](x)
        return out.unflatten(-1, (2, hidden)).transpose(1, 2)

    return call


def _skip_layer_norm(attributes: Attributes) -> Any:
    def call(x: Tensor, skip: Tensor, gamma: Tensor, beta: Tensor, bias: Any = None) -> Any:
        total = x + skip if bias is None else x + skip + bias
        return functional.layer_norm(total, total.shape[-1:], gamma, beta, attributes["epsilon"])

    return call


def _layer_norm(attributes: Attributes) -> Any:
    return lambda x, gamma, beta=None: functional.layer_norm(
        x, x.shape[-1:], gamma, beta, attributes["epsilon"]
    )


def _slice(_: Attributes) -> Any:
    def call(x: Tensor, *bounds: Tensor) -> Tensor:
        given = [_whole(bound) for bound in bounds]
        count = len(given[0])
        usual = [[], [], list(range(count)), [1] * count]
        for a, b, axis, step in zip(*given, *usual[len(given) :], strict=True):
            x = x[(slice(None),) * (axis % x.dim()) + (slice(a, b, step),)]
        return x

    return call


def _gather(attributes: Attributes) -> Any:
    axis = attributes.get("axis", 0)

    def call(x: Tensor, where: Tensor) -> Tensor:
        size = x.shape[axis]
        if where.dim() == 0 and where.device.type == "cpu":
            return x.select(axis, int(where))
        where = where.to(x.device)
        flat = where.reshape(-1).long()
        found = x.index_select(axis, torch.where(flat < 0, flat + size, flat))
        place = axis % x.dim()
        return found.reshape(*x.shape[:place], *where.shape, *x.shape[place + 1 :])

    return call


def _split(attributes: Attributes) -> Any:
    axis, parts = attributes.get("axis", 0), attributes.get("num_outputs")

    def call(x: Tensor, sizes: Any = None) -> Any:
        if sizes is None:
            return x.chunk(parts or 2, axis)
        return x.split(_whole(sizes), axis)

    return call


def _reshape(_: Attributes) -> Any:
    def call(x: Tensor, shape: Tensor) -> Tensor:
        sizes = [x.shape[i] if size == 0 else size for i, size in enumerate(_whole(shape))]
        return x.reshape(sizes)

    return call


def _unsqueeze(_: Attributes) -> Any:
    def call(x: Tensor, axes: Tensor) -> Tensor:
        for axis in sorted(_whole(axes)):
            x = x.unsqueeze(axis)
        return x

    return call


def _squeeze(_: Attributes) -> Any:
    return lambda x, axes=None: x.squeeze() if axes is None else x.squeeze(tuple(_whole(axes)))


def _reduced(function: Callable[..., Tensor]) -> Any:
    def operator(attributes: Attributes) -> Any:
        keep = bool(attributes.get("keepdims", 1))
        return lambda x, axes: function(x, tuple(_whole(axes)), keepdim=keep)

    return operator


def _concat(attributes: Attributes) -> Any:
    def call(*parts: Tensor) -> Tensor:
        device = max((p.device for p in parts), key=lambda device: device.type != "cpu")
        return torch.cat([p.to(device) for p in parts], attributes["axis"])

    return call


def _where(condition: Tensor, a: Tensor, b: Tensor) -> Tensor:
    device = max((t.device for t in (condition, a, b)), key=lambda device: device.type != "cpu")
    return torch.where(condition.to(device), a.to(device), b.to(device))


def _constant_of_shape(attributes: Attributes) -> Any:
    value = torch.tensor(numpy_helper.to_array(attributes["value"])).reshape(())
    return lambda shape: torch.full(_whole(shape), value.item(), dtype=value.dtype)


def _resize(attributes: Attributes) -> Any:
    mode = attributes["mode"].decode()

    def call(x: Tensor, _region: Any, scales: Any, sizes: Any = None) -> Tensor:
        size = (
            [int(n * s) for n, s in zip(x.shape, scales.tolist(), strict=True)]
            if sizes is None
            else _whole(sizes)
        )
        if mode == "nearest":
            return functional.interpolate(x, size[2:], mode="nearest")
        return functional.interpolate(x, size[2:], mode=mode, align_corners=False)

    return call


def _pad(attributes: Attributes) -> Any:
    mode = attributes.get("mode", b"constant").decode()

    def call(x: Tensor, pads: Tensor, value: Any = None, _axes: Any = None) -> Tensor:
        both = _whole(pads)
        half = len(both) // 2
        turned = [n for i in reversed(range(half)) for n in (both[i], both[i + half])]
        if mode == "reflect":
            rows = x.reshape(1, -1, x.shape[-1])
            found = functional.pad(rows, turned[:2], mode)
            return found.reshape(*x.shape[:-1], -1)
        return functional.pad(x, turned, mode, 0.0 if value is None else float(value))

    return call


def _stft(_: Attributes) -> Any:
    def call(signal: Tensor, step: Tensor, window: Tensor, length: Any = None) -> Tensor:
        size = len(window) if length is None else int(length)
        frames = signal.reshape(len(signal), -1).unfold(-1, size, int(step))
        bands = torch.view_as_real(torch.fft.rfft(frames * window.to(signal.device)))
        return bands + _HISS * torch.randn_like(bands)

    return call


def _scatter(x: Tensor, where: Tensor, values: Tensor) -> Tensor:
    x = x.clone().to(values.device)
    where = where.to(values.device)
    x[tuple(where.unbind(-1))] = values
    return x


def _cum_sum(x: Tensor, axis: Tensor) -> Tensor:
    return x.cumsum(int(axis))


def _cast(attributes: Attributes) -> Any:
    kind = _TYPES[attributes["to"]]
    return lambda x: x.to(kind)


def _fused_matmul(attributes: Attributes) -> Any:
    a_turned, b_turned = attributes.get("transA", 0), attributes.get("transB", 0)
    scale = attributes.get("alpha", 1.0)
    return lambda a, b: scale * _product(a.mT if a_turned else a, b.mT if b_turned else b)


OPERATORS: dict[str, Callable[[Attributes], Any]] = {
    "Add": _two(torch.add),
    "And": _two(torch.logical_and),
    "Atan": _plain(torch.atan),
    "Cast": _cast,
    "Clip": _plain(
        lambda x, low=None, high=None: x.clamp(
            None if low is None else low.item(), None if high is None else high.item()
        )
    ),
    "Concat": _concat,
    "ConstantOfShape": _constant_of_shape,
    "Conv": _conv,
    "ConvInteger": _conv,
    "ConvTranspose": _conv_transpose,
    "Cos": _plain(torch.cos),
    "CumSum": _plain(_cum_sum),
    "DequantizeLinear": _plain(lambda x, scale, zero=None: less_zero(x, zero) * scale.to(x.device)),
    "Div": _two(_divided),
    "DynamicQuantizeLSTM": _quantised_lstm,
    "DynamicQuantizeLinear": _plain(lambda x: x),
    "Equal": _two(torch.eq),
    "Exp": _plain(torch.exp),
    "Expand": _plain(
        lambda x, shape: x.expand(torch.broadcast_shapes(x.shape, tuple(_whole(shape))))
    ),
    "FastGelu": _plain(
        lambda x, bias=None: functional.gelu(x if bias is None else x + bias, approximate="tanh")
    ),
    "Floor": _plain(torch.floor),
    "FusedMatMul": _fused_matmul,
    "Gather": _gather,
    "Greater": _two(torch.gt),
    "GreaterOrEqual": _two(torch.ge),
    "LayerNormalization": _layer_norm,
    "LeakyRelu": lambda attributes: lambda x: functional.leaky_relu(x, attributes["alpha"]),
    "Less": _two(torch.lt),
    "MatMul": _plain(_product),
    "MatMulInteger": _plain(torch.matmul),
    "Mul": _two(torch.mul),
    "NonZero": _plain(lambda x: torch.nonzero(x).T),
    "Pad": _pad,
    "Pow": _two(torch.pow),
    "Range": _plain(lambda a, b, step: torch.arange(a.item(), b.item(), step.item())),
    "ReduceMean": _reduced(torch.mean),
    "ReduceSum": _reduced(torch.sum),
    "Reshape": _reshape,
    "Resize": _resize,
    "Round": _plain(torch.round),
    "STFT": _stft,
    "ScatterND": _plain(_scatter),
    "Shape": lambda attributes: (
        lambda x: torch.tensor(x.shape[attributes.get("start", 0) : attributes.get("end")])
    ),
    "Sigmoid": _plain(torch.sigmoid),
    "Sin": _plain(torch.sin),
    "SkipLayerNormalization": _skip_layer_norm,
    "Slice": _slice,
    "Softmax": lambda attributes: lambda x: x.softmax(attributes.get("axis", -1)),
    "Split": _split,
    "Sqrt": _plain(torch.sqrt),
    "Squeeze": _squeeze,
    "Sub": _two(torch.sub),
    "Tanh": _plain(torch.tanh),
    "Transpose": lambda attributes: lambda x: x.permute(attributes["perm"]),
    "Unsqueeze": _unsqueeze,
    "Where": _plain(_where),
}
