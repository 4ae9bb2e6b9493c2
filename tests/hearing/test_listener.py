"""Vosk with a strict grammar, and models that are not whole."""

from __future__ import annotations

import hashlib
import shutil
import tempfile
from pathlib import Path

import numpy as np
import pytest
import vosk

from tests.hearing.conftest import Say, acceptor_of
from voice.acoustics.shipped import CHECKSUMS, MODEL_FOLDER, ModelDamagedError
from voice.entries.heard import Segment
from voice.hearing.listener import VoskListener
from voice.hearing.model import AcousticModel, GrammarWordsError, ModelFolderError

PHRASES = acceptor_of(
    "pressure fourteen", "pressure forty", "pressure nine", "drain clamped", "confirm"
)


@pytest.fixture(scope="module")
def listener() -> VoskListener:
    """The shipped model with a handful of phrases."""
    return VoskListener(MODEL_FOLDER, PHRASES)


@pytest.fixture
def own_model(tmp_path: Path) -> Path:
    """A copy of the shipped model that may be harmed."""
    return shutil.copytree(MODEL_FOLDER, tmp_path / "own")


def write_checksums(folder: Path) -> None:
    """Vouch for the files of ``folder`` as they are now."""
    (folder / CHECKSUMS).unlink()
    lines = [
        f"{hashlib.sha256(file.read_bytes()).hexdigest()}  {file.relative_to(folder).as_posix()}"
        for file in folder.rglob("*")
        if file.is_file()
    ]
    (folder / CHECKSUMS).write_text("\n".join(lines))


def segment(samples: np.ndarray) -> Segment:
    """A segment of nothing but ``samples``."""
    return Segment(start_s=0.0, samples=samples, speech_end_s=len(samples) / 16_000)


@pytest.mark.parametrize("phrase", ["pressure fourteen", "drain clamped", "confirm"])
def test_a_phrase_is_heard_whole(listener: VoskListener, say: Say, phrase: str) -> None:
    """The likeliest alternative is what was said, and scores fall down the list."""
    found = listener.hear(segment(say(phrase))).alternatives
    assert found[0].text == phrase
    scores = [alternative.score for alternative in found]
    assert scores == sorted(scores, reverse=True)


def test_other_speech_is_unknown(listener: VoskListener, say: Say) -> None:
    """Speech that is no phrase comes out as [unk] and not as the nearest phrase."""
    found = listener.hear(segment(say("the weather will be fine tomorrow morning")))
    assert found.alternatives[0].text == "[unk]"


def test_only_whole_phrases_come_out(listener: VoskListener, say: Say) -> None:
    """Every alternative is a phrase of the grammar or [unk], whatever was said."""
    legal = {"pressure fourteen", "pressure forty", "pressure nine", "drain clamped", "confirm"}
    for said in ("pressure", "fourteen drain", "confirm pressure nine clamped"):
        texts = {a.text for a in listener.hear(segment(say(said))).alternatives}
        assert texts <= legal | {"[unk]"}


def test_a_segment_without_sound_is_heard_as_nothing_legal(listener: VoskListener) -> None:
    """Neither silence nor an empty segment brings a phrase out."""
    for samples in (np.zeros(0, np.int16), np.zeros(160, np.int16), np.zeros(16_000, np.int16)):
        texts = [a.text for a in listener.hear(segment(samples)).alternatives]
        assert texts in ([], ["[unk]"])


def test_a_segment_is_heard_the_same_after_others(listener: VoskListener, say: Say) -> None:
    """What was heard before leaves no trace in the texts that are heard now."""
    first = segment(say("pressure nine"))
    before = [a.text for a in listener.hear(first).alternatives]
    listener.hear(segment(say("drain clamped")))
    assert [a.text for a in listener.hear(first).alternatives] == before


def test_unknown_words_are_named() -> None:
    """A grammar with words that the model lacks is refused, and the words are told."""
    with pytest.raises(GrammarWordsError, match='"snorkel", "zyxt"') as refused:
        VoskListener(MODEL_FOLDER, acceptor_of("pressure zyxt", "snorkel"))
    assert refused.value.words == ("snorkel", "zyxt")


def test_the_word_list_is_the_one_that_vosk_has(own_model: Path) -> None:
    """Each word of the list has the label under which Vosk finds it."""
    word_ids = AcousticModel.open(own_model).word_ids
    model = vosk.Model(model_path=str(own_model))
    some = list(word_ids)[5::50]
    assert [model.vosk_model_find_word(word) for word in some] == [word_ids[w] for w in some]


@pytest.mark.parametrize("name", ["am/final.mdl", "graph/HCLr.fst", "graph/words.txt"])
def test_a_folder_that_is_no_such_model_is_refused(own_model: Path, name: str) -> None:
    """The file that the folder lacks is named."""
    (own_model / name).unlink()
    write_checksums(own_model)
    with pytest.raises(ModelFolderError, match=f"lacks {name}"):
        VoskListener(own_model, PHRASES)


def test_a_model_that_vosk_refuses_makes_a_sentence(own_model: Path) -> None:
    """Weights that Kaldi cannot read end in an error that a person can act on."""
    (own_model / "am/final.mdl").write_bytes(b"no weights")
    write_checksums(own_model)
    with pytest.raises(ModelFolderError, match="Vosk cannot load"):
        VoskListener(own_model, PHRASES)


def test_a_damaged_word_list_is_refused(own_model: Path) -> None:
    """A line that is not a word and a number is told by its number."""
    (own_model / "graph/words.txt").write_text("<eps> 0\nnonsense\n")
    write_checksums(own_model)
    with pytest.raises(ModelFolderError, match="Line 2"):
        VoskListener(own_model, PHRASES)


def test_a_word_list_without_unk_is_refused(own_model: Path) -> None:
    """Without [unk] every sound would come out as a phrase, so the model is not taken."""
    (own_model / "graph/words.txt").write_text("<eps> 0\nconfirm 1\n")
    write_checksums(own_model)
    with pytest.raises(ModelFolderError, match=r"no word \[unk\]"):
        VoskListener(own_model, PHRASES)


@pytest.mark.parametrize("name", ["am/final.mdl", "graph/HCLr.fst"])
def test_a_file_that_is_cut_off_never_reaches_vosk(own_model: Path, name: str) -> None:
    """Half a file would crash the process; its checksum tells first."""
    whole = (own_model / name).read_bytes()
    (own_model / name).write_bytes(whole[: len(whole) // 2])
    with pytest.raises(ModelDamagedError, match=name):
        VoskListener(own_model, PHRASES)


def test_nothing_is_left_behind(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """The passing model folder is gone once the model is loaded."""
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    VoskListener(MODEL_FOLDER, PHRASES)
    assert list(tmp_path.iterdir()) == []


def test_a_model_is_copied_where_links_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the right to make links the strict folder holds copies with the same content."""

    def refuse(_self: Path, _target: Path) -> None:
        raise OSError

    monkeypatch.setattr(Path, "symlink_to", refuse)
    model = AcousticModel.open(MODEL_FOLDER)
    with model.with_grammar(PHRASES, unknown_cost=1.0) as strict:
        copied = strict / "graph/HCLr.fst"
        assert not copied.is_symlink()
        assert copied.read_bytes() == (MODEL_FOLDER / "graph/HCLr.fst").read_bytes()
