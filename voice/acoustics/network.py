"""The network: a time-delay network with bottlenecks that gives a phone every 30 ms.

The first layers see every frame of 10 ms, the others every third. Each joins three frames and
adds its result to its input (a skip), so the whole sees ``context`` frames on either side.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

import torch
from torch import nn
from torch.nn import functional

from voice.acoustics.features import BANDS
from voice.acoustics.topology import OUTPUTS

if TYPE_CHECKING:
    from pathlib import Path

SUBSAMPLING = 3
"""One output for so many frames."""
_FIRST_BOTTLENECK = 96


@dataclass(frozen=True, slots=True)
class Size:
    """How large the network is: units a layer, units a bottleneck, layers of each kind."""

    d: int = 448
    bott: int = 144
    nlow: int = 3
    nhigh: int = 9


class DelayLayer(nn.Module):  # type: ignore[misc]
    """Three frames through a bottleneck; ``skip`` adds the middle frame to the result."""

    def __init__(self, inputs: int, outputs: int, bottleneck: int, *, skip: bool) -> None:
        super().__init__()
        self.lin = nn.Conv1d(inputs, bottleneck, 3, bias=False)
        self.aff = nn.Conv1d(bottleneck, outputs, 1)
        self.bn = nn.BatchNorm1d(outputs)
        self.skip = skip

    def forward(self, x: torch.Tensor, dropout: float) -> torch.Tensor:
        """Two frames fewer come out than went in."""
        y = functional.relu(self.bn(self.aff(self.lin(x))))
        y = functional.dropout(y, dropout, self.training)
        return x[:, :, 1:-1] + y if self.skip else y


class PhoneNetwork(nn.Module):  # type: ignore[misc]
    """Log-mel energies (batch, frames, bands) to log-probabilities (batch, steps, outputs)."""

    mean: torch.Tensor
    istd: torch.Tensor

    def __init__(self, size: Size) -> None:
        super().__init__()
        self.size = size
        self.low = nn.ModuleList(
            DelayLayer(
                size.d if i else BANDS, size.d, size.bott if i else _FIRST_BOTTLENECK, skip=i > 0
            )
            for i in range(size.nlow)
        )
        self.high = nn.ModuleList(
            DelayLayer(size.d, size.d, size.bott, skip=True) for _ in range(size.nhigh)
        )
        self.out = nn.Conv1d(size.d, OUTPUTS, 1)
        self.register_buffer("mean", torch.zeros(BANDS))
        self.register_buffer("istd", torch.ones(BANDS))

    @property
    def context(self) -> int:
        """How many frames on either side one output sees."""
        return self.size.nlow + SUBSAMPLING * self.size.nhigh

    def logits(self, energies: torch.Tensor, dropout: float = 0.0) -> torch.Tensor:
        """One row for every third frame; the edges are repeated as context, as Kaldi does."""
        x = ((energies - self.mean) * self.istd).transpose(1, 2)
        x = functional.pad(x, (self.context, self.context), mode="replicate")
        for layer in self.low:
            x = layer(x, dropout)
        x = x[:, :, ::SUBSAMPLING]
        for layer in self.high:
            x = layer(x, dropout)
        return self.out(x).transpose(1, 2)

    def forward(self, energies: torch.Tensor) -> torch.Tensor:
        """Logarithms of the outputs' probabilities."""
        return functional.log_softmax(self.logits(energies), -1)


def save(path: Path, network: PhoneNetwork, priors: torch.Tensor) -> None:
    """Keep the weights and the priors of the outputs."""
    state = {name: value.cpu() for name, value in network.state_dict().items()}
    torch.save({"sd": state, "cfg": asdict(network.size), "priors": priors.cpu()}, path)


def load(*paths: Path) -> tuple[PhoneNetwork, torch.Tensor]:
    """Read what `save` wrote; of several checkpoints, which must be of one size, the mean.

    Weights that began as the same ones may be averaged: the mean of weights before and after a
    fine training keeps what both know (Wortsman and others, "Robust fine-tuning of zero-shot
    models", CVPR 2022; from memory).
    """
    kept: list[dict[str, Any]] = [
        torch.load(path, map_location="cpu", weights_only=True) for path in paths
    ]
    network = PhoneNetwork(Size(**kept[0]["cfg"]))
    network.load_state_dict(
        {name: _mean([k["sd"][name] for k in kept]) for name in network.state_dict()}
    )
    return network.eval(), _mean([k["priors"] for k in kept])


def _mean(values: list[torch.Tensor]) -> torch.Tensor:
    """The mean of numbers; of counters, which are whole, the first."""
    if not values[0].is_floating_point():
        return values[0]
    return torch.stack([value.float() for value in values]).mean(0)
