"""New words in a model that is already there."""

from __future__ import annotations

from pathlib import Path

import pytest
import soundfile

from voice.acoustics.lexicon_file import read_lexicon
from voice.acoustics.lookahead import LookaheadError, read_lookahead, write_lookahead
from voice.acoustics.new_words import with_words
from voice.acoustics.shipped import MODEL_FOLDER, verify
from voice.entries.heard import Segment
from voice.hearing.listener import VoskListener
from voice.hearing.model import AcousticModel
from voice.meaning.acceptor import Acceptor, Arc

SOUND = Path(__file__).with_name("pressure_fourteen.flac")
LEXICON = read_lexicon(MODEL_FOLDER / "graph" / "lexicon.txt")


@pytest.fixture(scope="module")
def taught(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The shipped model that knows "grommet", said as "pressure" is, and another "fourteen"."""
    folder = tmp_path_factory.mktemp("taught") / "model"
    with_words(MODEL_FOLDER, {"grommet": LEXICON["pressure"], "fourteen": (("B", "IY"),)}, folder)
    return folder


def score(model: Path, *words: str) -> float:
    """How well ``words`` fit the sound of "pressure fourteen"."""
    arcs = [(Arc(word, n),) for n, word in enumerate(words, start=1)]
    samples, _ = soundfile.read(SOUND, dtype="int16")
    segment = Segment(0.0, samples, speech_end_s=len(samples) / 16_000)
    listener = VoskListener(AcousticModel.open(model), Acceptor((*arcs, ()), {len(words): 0.0}))
    return {a.text: a.score for a in listener.hear(segment).alternatives}[" ".join(words)]


def test_shipped_graph_is_written_as_it_was_read(tmp_path: Path) -> None:
    """The shipped model's graph, read and written again, is the same to the byte."""
    shipped = MODEL_FOLDER / "graph" / "HCLr.fst"
    write_lookahead(read_lookahead(shipped), tmp_path / "again.fst")
    assert (tmp_path / "again.fst").read_bytes() == shipped.read_bytes()


def test_new_word_is_heard_as_an_old_one_of_that_sound(taught: Path) -> None:
    """A word that is taught with an old word's pronunciation fits the sound as the old one does."""
    old, new = score(taught, "pressure", "fourteen"), score(taught, "grommet", "fourteen")
    assert new == pytest.approx(old, abs=0.3)  # Kaldi adds a little chance to the sound


def test_old_words_are_heard_as_before(taught: Path) -> None:
    """What is taught does not change by how much old words fit."""
    before, after = (score(m, "pressure", "fourteen") for m in (MODEL_FOLDER, taught))
    assert after == pytest.approx(before, abs=0.3)  # Kaldi adds a little chance to the sound


def test_new_word_may_stand_twice_and_last(taught: Path) -> None:
    """A new word can follow a new word, and end the phrase."""
    assert score(taught, "pressure", "grommet", "grommet") < score(taught, "pressure", "fourteen")


def test_model_says_what_it_knows(taught: Path) -> None:
    """The word list, the lexicon and the checksums of the new model hold the new words."""
    verify(taught)
    lexicon = read_lexicon(taught / "graph" / "lexicon.txt")
    assert lexicon["grommet"] == LEXICON["pressure"]
    assert lexicon["fourteen"] == (*LEXICON["fourteen"], ("B", "IY"))
    words = [line.split()[0] for line in (taught / "graph" / "words.txt").read_text().splitlines()]
    assert words.count("grommet") == words.count("fourteen") == 1


@pytest.mark.parametrize("harm", [lambda raw: raw[:-9], lambda raw: raw + b"x", lambda _: b"no"])
def test_other_file_is_refused(tmp_path: Path, harm: object) -> None:
    """A file that is cut off, longer, or something else is refused with a sentence."""
    assert callable(harm)
    other = tmp_path / "HCLr.fst"
    other.write_bytes(harm((MODEL_FOLDER / "graph" / "HCLr.fst").read_bytes()))
    with pytest.raises(LookaheadError, match="shipped model only"):
        read_lookahead(other)
