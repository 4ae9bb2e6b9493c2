"""The tiny model that the tests of hearing use beside the shipped one: it hears tones.

Each phone is a tone in the middle of one mel band, and the network, set by hand, tells which band
is loud. So what it hears is certain, its files are small, and nothing is trained. Like the official
small models it has no ``graph/words.txt``: its words stand in ``graph/Gr.fst``.

The graph lies here ready made, since it needs the tools that `voice.acoustics.graph` names, in a
process without Vosk. After a change of ``lexicon.txt`` make it again with

    python -m tests.hearing.tiny_model.build
"""

from __future__ import annotations

import lzma
import struct
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from voice.acoustics import topology
from voice.acoustics.acoustic_file import FEATURES, Layer, Network, write_acoustic_model
from voice.acoustics.lexicon import read_lexicon
from voice.entries.heard import SAMPLE_RATE

if TYPE_CHECKING:
    from numpy.typing import NDArray

HERE = Path(__file__).parent
_READY = HERE / "graph"
LEXICON = HERE / "lexicon.txt"
"""Every number and word of the talk, a few entries, two words in British spelling only, no drugs."""

_LOW_HZ, _HIGH_HZ = 20, 7600
_MFCC_CONF = f"""\
--sample-frequency={SAMPLE_RATE}
--use-energy=false
--num-mel-bins={FEATURES}
--num-ceps={FEATURES}
--low-freq={_LOW_HZ}
--high-freq={_HIGH_HZ - SAMPLE_RATE // 2}
--cepstral-lifter=0
"""
_MODEL_CONF = """\
--min-active=200
--max-active=3000
--beam=13.0
--lattice-beam=8.0
--acoustic-scale=1.0
--frame-subsampling-factor=3
--endpoint.silence-phones=1
"""
_LOUD = 18.0
"""Logarithm of the energy in a band from which it counts as a tone."""
_GAIN = 3.0
_BLANK = 6.0
"""What silence scores; half a tone."""
_PHONE_S, _GAP_S = 0.12, 0.06
_AMPLITUDE = 8000
_SYMBOLS_MAGIC, _HAS_INPUT_SYMBOLS, _HAS_OUTPUT_SYMBOLS = 2125658996, 1, 2


def tones(text: str) -> NDArray[np.int16]:
    """``text`` as the tiny model hears it: samples at 16 kHz, with silence around."""
    lexicon = read_lexicon(LEXICON)
    gap = np.zeros(round(_GAP_S * SAMPLE_RATE))
    parts = [np.zeros(SAMPLE_RATE // 4)]
    time_s = np.arange(round(_PHONE_S * SAMPLE_RATE)) / SAMPLE_RATE
    for word in text.split():
        for phone in lexicon[word][0]:
            hertz = _middles_hz()[topology.OUTPUT[phone] - 1]
            parts += [_AMPLITUDE * np.sin(2 * np.pi * hertz * time_s), gap]
    parts.append(np.zeros(SAMPLE_RATE // 4))
    return np.concatenate(parts).astype(np.int16)


def _middles_hz() -> NDArray[np.float64]:
    """The middle of each mel band; source of the mel scale: Kaldi, feat/mel-computations.h."""
    low, high = (1127 * np.log(1 + hertz / 700) for hertz in (_LOW_HZ, _HIGH_HZ))
    mels = low + np.arange(1, FEATURES + 1) * (high - low) / (FEATURES + 1)
    return np.asarray(700 * (np.exp(mels / 1127) - 1))


def lay_out(folder: Path) -> Path:
    """Write the model into ``folder``, which is made."""
    _write_network(folder)
    graph = folder / "graph"
    (graph / "phones").mkdir(parents=True)
    (graph / "phones" / "word_boundary.int").write_text(topology.word_boundaries())
    for file in _READY.iterdir():
        (graph / file.stem).write_bytes(lzma.decompress(file.read_bytes()))
    return folder


def _write_network(folder: Path) -> None:
    """Write ``am`` and ``conf``: one layer undoes the cepstra's cosine transform, one picks bands."""
    for part in ("am", "conf"):
        (folder / part).mkdir(parents=True, exist_ok=True)
    (folder / "conf" / "mfcc.conf").write_text(_MFCC_CONF)
    (folder / "conf" / "model.conf").write_text(_MODEL_CONF)
    cepstrum, band = np.arange(FEATURES)[:, None], np.arange(FEATURES)[None]
    cosines = np.sqrt(2 / FEATURES) * np.cos(np.pi / FEATURES * (band + 0.5) * cepstrum)
    cosines[0] /= np.sqrt(2)
    layer = Layer("low0", (0,), cosines.T, np.eye(FEATURES), np.full(FEATURES, -_LOUD), skip=False)
    choice = np.zeros((topology.OUTPUTS, FEATURES))
    for output in topology.OUTPUT.values():
        choice[output, output - 1] = _GAIN
    bias = np.zeros(topology.OUTPUTS)
    bias[topology.BLANK] = _BLANK
    network = Network([layer], choice, bias, np.ones(topology.OUTPUTS))
    write_acoustic_model(folder / "am" / "final.mdl", network)


def _put_words_into_grammar(graph: Path) -> None:
    """Move the word list of ``graph`` into its ``Gr.fst``, as the official small models have it."""
    words = (graph / "words.txt").read_text("utf-8").split()
    table = [struct.pack("<i", _SYMBOLS_MAGIC), _text("words.txt")]
    table.append(struct.pack("<qq", len(words) // 2, len(words) // 2))
    for word, label in zip(words[::2], words[1::2], strict=True):
        table.append(_text(word) + struct.pack("<q", int(label)))
    symbols = b"".join(table)
    machine = bytearray((graph / "Gr.fst").read_bytes())
    flags_at = 4 + len(_text("vector")) + len(_text("standard")) + 4
    struct.pack_into("<i", machine, flags_at, _HAS_INPUT_SYMBOLS | _HAS_OUTPUT_SYMBOLS)
    head = flags_at + struct.calcsize("<iQqqq")
    (graph / "Gr.fst").write_bytes(machine[:head] + symbols * 2 + machine[head:])
    (graph / "words.txt").unlink()


def _text(text: str) -> bytes:
    raw = text.encode()
    return struct.pack("<i", len(raw)) + raw


def build() -> None:
    """Make the ready files again."""
    from voice.acoustics.graph import build_graph  # noqa: PLC0415 - needs kaldifst

    with tempfile.TemporaryDirectory() as name:
        made = Path(name)
        build_graph(read_lexicon(LEXICON), made)
        _put_words_into_grammar(made)
        _READY.mkdir(exist_ok=True)
        for file in ("Gr.fst", "HCLr.fst", "disambig_tid.int"):
            (_READY / f"{file}.xz").write_bytes(lzma.compress((made / file).read_bytes()))


if __name__ == "__main__":
    build()
