"""Write ``final.mdl``: the transition model and the network, as Kaldi reads them.

Source: Kaldi, ``hmm/hmm-topology.cc``, ``hmm/transition-model.cc``, ``nnet3/nnet-nnet.cc``,
``nnet3/nnet-simple-component.cc`` and ``nnet3/am-nnet-simple.cc``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from voice.acoustics import topology
from voice.acoustics.kaldi_binary import KaldiWriter

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from numpy.typing import NDArray

    Array = NDArray[np.floating]

FEATURES = 40
"""Mel-frequency cepstral coefficients a frame, all that 40 mel bands give."""
_LEARNING_RATE = 0.001
"""Kaldi asks for one; it is used in training alone."""


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer as it runs: spliced frames, linear bottleneck, affine, ReLU, perhaps a skip.

    ``offsets`` are the frames that are joined, in frames of 10 ms; ``linear`` has the shape
    (bottleneck, joined inputs), ``weights`` (outputs, bottleneck). Batch normalisation is already
    folded into ``weights`` and ``bias``.
    """

    name: str
    offsets: tuple[int, ...]
    linear: Array
    weights: Array
    bias: Array
    skip: bool


@dataclass(frozen=True, slots=True)
class Network:
    """The whole network: layers, output layer, and the priors its outputs are divided by."""

    layers: Sequence[Layer]
    output_weights: Array
    output_bias: Array
    priors: Array


def write_acoustic_model(path: Path, network: Network) -> None:
    """Write transition model and network to ``path``."""
    with path.open("wb") as file:
        kaldi = KaldiWriter(file)
        _write_transition_model(kaldi)
        _write_network(kaldi, network)


# --- transition model --------------------------------------------------------------------------

_SPEECH_ENTRY = ((0, (0, 1, 2)), (1, (1, 2)), (-1, ()))
_SILENCE_ENTRY = ((0, (0, 1)), (-1, ()))
"""A state is (class of output, states that may follow); the class -1 marks the final state."""


def _write_transition_model(kaldi: KaldiWriter) -> None:
    phone_ids = [topology.SILENCE_ID, *topology.PHONE_ID.values()]
    entries = (_SPEECH_ENTRY, _SILENCE_ENTRY)
    entry_of = [-1, 1, *[0] * len(topology.PHONE_ID)]
    kaldi.token("<TransitionModel>", "<Topology>")
    kaldi.integers(phone_ids)
    kaldi.integers(entry_of)
    kaldi.integer(len(entries))
    for entry in entries:
        kaldi.integer(len(entry))
        for output_class, successors in entry:
            kaldi.integer(output_class)
            kaldi.integer(len(successors))
            for state in successors:
                kaldi.integer(state)
                kaldi.real(1 / len(successors))
    kaldi.token("</Topology>", "<Triples>")
    triples = [(topology.SILENCE_ID, 0, topology.BLANK)]
    for (phone, _), phone_id in topology.PHONE_ID.items():
        triples += [(phone_id, 0, topology.OUTPUT[phone]), (phone_id, 1, topology.BLANK)]
    kaldi.integer(len(triples))
    for triple in triples:
        for number in triple:
            kaldi.integer(number)
    kaldi.token("</Triples>", "<LogProbs>")
    per_phone = [-math.log(3)] * 3 + [-math.log(2)] * 2
    log_probs = [0.0, *[-math.log(2)] * 2, *per_phone * len(topology.PHONE_ID)]
    kaldi.vector(np.array(log_probs))
    kaldi.token("</LogProbs>", "</TransitionModel>")


# --- network -----------------------------------------------------------------------------------


def _write_network(kaldi: KaldiWriter, network: Network) -> None:
    kaldi.token("<Nnet3>")
    kaldi.line()
    for line in _wiring(network):
        kaldi.line(line)
    kaldi.line()
    kaldi.token("<NumComponents>")
    kaldi.integer(sum(4 if layer.skip else 3 for layer in network.layers) + 2)
    for layer in network.layers:
        size = len(layer.bias)
        _write_affine(kaldi, f"{layer.name}.linear", layer.linear, np.zeros(len(layer.linear)))
        _write_affine(kaldi, f"{layer.name}.affine", layer.weights, layer.bias)
        _write_nonlinearity(kaldi, f"{layer.name}.relu", "RectifiedLinearComponent", size)
        if layer.skip:
            _write_sum(kaldi, f"{layer.name}.noop", size)
    _write_affine(kaldi, "output.affine", network.output_weights, network.output_bias)
    size = len(network.output_bias)
    _write_nonlinearity(kaldi, "output.log-softmax", "LogSoftmaxComponent", size)
    kaldi.token("</Nnet3>", "<LeftContext>")
    kaldi.integer(-sum(min(layer.offsets) for layer in network.layers))
    kaldi.token("<RightContext>")
    kaldi.integer(sum(max(layer.offsets) for layer in network.layers))
    kaldi.token("<Priors>")
    kaldi.vector(network.priors)


def _wiring(network: Network) -> list[str]:
    """How the components are joined, in Kaldi's own lines."""

    def node(name: str, source: str) -> str:
        return f"component-node name={name} component={name} input={source}"

    lines = [f"input-node name=input dim={FEATURES}"]
    below = "input"
    for layer in network.layers:
        frames = [below if not o else f"Offset({below}, {o})" for o in layer.offsets]
        lines += [
            node(f"{layer.name}.linear", f"Append({', '.join(frames)})"),
            node(f"{layer.name}.affine", f"{layer.name}.linear"),
            node(f"{layer.name}.relu", f"{layer.name}.affine"),
        ]
        if layer.skip:
            lines.append(node(f"{layer.name}.noop", f"Sum({below}, {layer.name}.relu)"))
        below = f"{layer.name}.noop" if layer.skip else f"{layer.name}.relu"
    return [
        *lines,
        node("output.affine", below),
        node("output.log-softmax", "output.affine"),
        "output-node name=output input=output.log-softmax objective=linear",
    ]


def _write_affine(kaldi: KaldiWriter, name: str, weights: Array, bias: Array) -> None:
    kaldi.token("<ComponentName>", name, "<AffineComponent>", "<LearningRate>")
    kaldi.real(_LEARNING_RATE)
    kaldi.token("<LinearParams>")
    kaldi.matrix(weights)
    kaldi.token("<BiasParams>")
    kaldi.vector(bias)
    kaldi.token("</AffineComponent>")


def _write_nonlinearity(kaldi: KaldiWriter, name: str, kind: str, size: int) -> None:
    """A component without weights; its training statistics are left empty."""
    empty = np.zeros(0)
    kaldi.token("<ComponentName>", name, f"<{kind}>", "<Dim>")
    kaldi.integer(size)
    for statistic in ("<ValueAvg>", "<DerivAvg>"):
        kaldi.token(statistic)
        kaldi.vector(empty)
    kaldi.token("<Count>")
    kaldi.real(0)
    kaldi.token("<OderivRms>")
    kaldi.vector(empty)
    for count in ("<OderivCount>", "<NumDimsSelfRepaired>", "<NumDimsProcessed>"):
        kaldi.token(count)
        kaldi.real(0)
    kaldi.token(f"</{kind}>")


def _write_sum(kaldi: KaldiWriter, name: str, size: int) -> None:
    kaldi.token("<ComponentName>", name, "<NoOpComponent>", "<Dim>")
    kaldi.integer(size)
    kaldi.token("<BackpropScale>")
    kaldi.real(1)
    kaldi.token("</NoOpComponent>")
