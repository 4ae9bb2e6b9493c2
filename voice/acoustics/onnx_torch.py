"""Run the synthesiser Kokoro on a GPU: its ONNX file, node by node, by torch.

The network ships quantised, in operators that onnxruntime has for processors only. Here its weights
are made floats again, nothing that flows through is rounded to eight bits, and each node is one call
of torch (`voice.acoustics.onnx_operators`).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import onnx
import torch
from onnx import numpy_helper

from voice.acoustics.onnx_operators import OPERATORS, less_zero

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from numpy.typing import NDArray
    from torch import Tensor

_WEIGHTS = (torch.float32, torch.float16, torch.int8, torch.uint8)


class Network:
    """A network of one output; `run` gives it from the inputs by their names."""

    def __init__(self, path: Path, device: torch.device) -> None:
        self._device = device
        graph = onnx.load(path).graph
        tensors = {c.name: torch.tensor(numpy_helper.to_array(c)) for c in graph.initializer}
        known: dict[str, Any] = {"": None}
        known.update((name, self._placed(tensor)) for name, tensor in tensors.items())
        self._nodes: list[tuple[Callable[..., Any], list[str], list[str]]] = []
        for node in graph.node:
            taken, given = list(node.input), list(node.output)
            call = OPERATORS[node.op_type](
                {a.name: onnx.helper.get_attribute_value(a) for a in node.attribute}
            )
            if node.op_type == "DynamicQuantizeLinear":  # what flows through stays as it is
                known.update(zip(given[1:], (torch.ones(()), torch.zeros(())), strict=True))
            if node.op_type in ("ConvInteger", "MatMulInteger"):
                name = f"{taken[1]} less {taken[3]}"
                known[name] = less_zero(known[taken[1]], known[taken[3]])
                taken = [taken[0], name]
            if all(name in known for name in taken):
                known[given[0]] = call(*[known[name] for name in taken])
            else:
                self._nodes.append((call, taken, given))
        self._constants, self._output = known, graph.output[0].name
        last: dict[str, int] = {}
        for place, (_, inputs, _) in enumerate(self._nodes):
            last.update(dict.fromkeys(inputs, place))
        self._over = [
            [n for n in set(inputs) if last[n] == place and n not in known]
            for place, (_, inputs, _) in enumerate(self._nodes)
        ]

    def _placed(self, constant: Tensor) -> Tensor:
        """Weights go to the device; what shapes are reckoned from stays with the processor."""
        weights = constant.numel() > 1 and constant.dtype in _WEIGHTS
        return constant.float().to(self._device) if weights else constant

    def run(self, inputs: dict[str, NDArray[Any]]) -> NDArray[np.float32]:
        """The output for these inputs."""
        torch.manual_seed(0)
        known: dict[str, Any] = dict(self._constants)
        for name, array in inputs.items():
            known[name] = torch.from_numpy(array).to(self._device)
        with torch.no_grad():
            for (call, taken, given), over in zip(self._nodes, self._over, strict=True):
                found = call(*[known[name] for name in taken])
                if isinstance(found, tuple):
                    known.update(zip(given, found, strict=False))
                else:
                    known[given[0]] = found
                for name in over:
                    del known[name]
        return np.asarray(known[self._output].float().cpu().numpy())
