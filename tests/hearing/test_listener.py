"""Vosk with a strict grammar, and models that are not whole; with the shipped model and a tiny one."""

from __future__ import annotations

import hashlib
import shutil
import tempfile
from pathlib import Path

import numpy as np
import pytest
import vosk

from tests.hearing.conftest import Say, acceptor_of
from tests.hearing.tiny_model.build import lay_out, tones
from voice.acoustics.shipped import CHECKSUMS, MODEL_FOLDER, ModelDamagedError
from voice.entries.heard import Segment
from voice.hearing.listener import VoskListener
from voice.hearing.model import AcousticModel, GrammarWordsError, ModelFolderError

PHRASES = acceptor_of(
    "pressure fourteen", "pressure forty", "pressure nine", "drain clamped", "confirm"
)


@pytest.fixture(scope="module", params=["shipped", "tiny"])
def model_folder(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The shipped model, which has a list of words, and one that keeps them in its grammar."""
    if request.param == "shipped":
        return MODEL_FOLDER
    folder = lay_out(tmp_path_factory.mktemp("tiny") / "model")
    write_checksums(folder)
    return folder


@pytest.fixture(scope="module")
def listener(model_folder: Path) -> VoskListener:
    """A model with a handful of phrases."""
    return VoskListener(AcousticModel.open(model_folder), PHRASES)


@pytest.fixture
def utter(model_folder: Path, say: Say) -> Say:
    """Speak words as the model hears them: by espeak-ng, or in tones."""
    return say if model_folder == MODEL_FOLDER else tones


@pytest.fixture
def own_model(model_folder: Path, tmp_path: Path) -> Path:
    """A copy of the model that may be harmed."""
    return shutil.copytree(model_folder, tmp_path / "own")


def write_checksums(folder: Path) -> None:
    """Vouch for the files of ``folder`` as they are now."""
    (folder / CHECKSUMS).unlink(missing_ok=True)
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
def test_a_phrase_is_heard_whole(listener: VoskListener, utter: Say, phrase: str) -> None:
    """The likeliest alternative is what was said, and scores fall down the list."""
    found = listener.hear(segment(utter(phrase))).alternatives
    assert found[0].text == phrase
    scores = [alternative.score for alternative in found]
    assert scores == sorted(scores, reverse=True)


def test_other_speech_is_unknown(listener: VoskListener, utter: Say) -> None:
    """Speech that is no phrase comes out as [unk] and not as the nearest phrase."""
    found = listener.hear(segment(utter("take the bag and say fluid now for that")))
    assert found.alternatives[0].text == "[unk]"


def test_only_whole_phrases_come_out(listener: VoskListener, utter: Say) -> None:
    """Every alternative is a phrase of the grammar or [unk], whatever was said."""
    legal = {"pressure fourteen", "pressure forty", "pressure nine", "drain clamped", "confirm"}
    for said in ("pressure", "fourteen drain", "confirm pressure nine clamped"):
        texts = {a.text for a in listener.hear(segment(utter(said))).alternatives}
        assert texts <= legal | {"[unk]"}


def test_a_segment_without_sound_is_heard_as_nothing_legal(listener: VoskListener) -> None:
    """Neither silence nor an empty segment brings a phrase out."""
    for samples in (np.zeros(0, np.int16), np.zeros(160, np.int16), np.zeros(16_000, np.int16)):
        texts = [a.text for a in listener.hear(segment(samples)).alternatives]
        assert texts[:1] in ([], ["[unk]"])


def test_a_segment_is_heard_the_same_after_others(listener: VoskListener, utter: Say) -> None:
    """What was heard before leaves no trace in the texts that are heard now."""
    first = segment(utter("pressure nine"))
    before = [a.text for a in listener.hear(first).alternatives]
    listener.hear(segment(utter("drain clamped")))
    assert [a.text for a in listener.hear(first).alternatives] == before


def test_unknown_words_are_named(model_folder: Path) -> None:
    """A grammar with words that the model lacks is refused, and the words are told."""
    with pytest.raises(GrammarWordsError, match='"snorkel", "zyxt"') as refused:
        VoskListener(AcousticModel.open(model_folder), acceptor_of("pressure zyxt", "snorkel"))
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
    (own_model / name).unlink(missing_ok=True)
    (own_model / "graph/Gr.fst").unlink()
    write_checksums(own_model)
    with pytest.raises(ModelFolderError, match=f"lacks {name}"):
        VoskListener(AcousticModel.open(own_model), PHRASES)


def test_a_model_that_vosk_refuses_makes_a_sentence(own_model: Path) -> None:
    """Weights that Kaldi cannot read end in an error that a person can act on."""
    (own_model / "am/final.mdl").write_bytes(b"no weights")
    write_checksums(own_model)
    with pytest.raises(ModelFolderError, match="Vosk cannot load"):
        VoskListener(AcousticModel.open(own_model), PHRASES)


def test_a_damaged_word_list_is_refused(own_model: Path) -> None:
    """A line that is not a word and a number is told by its number."""
    (own_model / "graph/words.txt").write_text("<eps> 0\nnonsense\n")
    write_checksums(own_model)
    with pytest.raises(ModelFolderError, match="Line 2"):
        VoskListener(AcousticModel.open(own_model), PHRASES)


def test_a_word_list_without_unk_is_refused(own_model: Path) -> None:
    """Without [unk] every sound would come out as a phrase, so the model is not taken."""
    (own_model / "graph/words.txt").write_text("<eps> 0\nconfirm 1\n")
    write_checksums(own_model)
    with pytest.raises(ModelFolderError, match=r"no word \[unk\]"):
        VoskListener(AcousticModel.open(own_model), PHRASES)


@pytest.mark.parametrize("content", [b"", b"no machine", b"\xd6\xfd\xb2\x7e\x06\0\0\0vec"])
def test_words_in_a_damaged_grammar_are_refused(own_model: Path, content: bytes) -> None:
    """Where the words stand in a Gr.fst that cannot be read, the file is named."""
    (own_model / "graph/words.txt").unlink(missing_ok=True)
    (own_model / "graph/Gr.fst").write_bytes(content)
    write_checksums(own_model)
    with pytest.raises(ModelFolderError, match=r"Gr\.fst cannot be read"):
        VoskListener(AcousticModel.open(own_model), PHRASES)


@pytest.mark.parametrize("name", ["am/final.mdl", "graph/HCLr.fst"])
def test_a_file_that_is_cut_off_never_reaches_vosk(own_model: Path, name: str) -> None:
    """Half a file would crash the process; its checksum tells first."""
    whole = (own_model / name).read_bytes()
    (own_model / name).write_bytes(whole[: len(whole) // 2])
    with pytest.raises(ModelDamagedError, match=name):
        VoskListener(AcousticModel.open(own_model), PHRASES)


def test_nothing_is_left_behind(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, model_folder: Path
) -> None:
    """The passing model folder is gone once the model is loaded."""
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    VoskListener(AcousticModel.open(model_folder), PHRASES)
    assert list(tmp_path.iterdir()) == []


def test_a_model_is_copied_where_links_are_refused(
    monkeypatch: pytest.MonkeyPatch, model_folder: Path
) -> None:
    """Without the right to make links the strict folder holds copies with the same content."""

    def refuse(_self: Path, _target: Path) -> None:
        raise OSError

    monkeypatch.setattr(Path, "symlink_to", refuse)
    model = AcousticModel.open(model_folder)
    with model.with_grammar(PHRASES) as strict:
        copied = strict / "graph/HCLr.fst"
        assert not copied.is_symlink()
        assert copied.read_bytes() == (model_folder / "graph/HCLr.fst").read_bytes()


@pytest.mark.parametrize("snr_db", [None, 0.0])
def test_a_sparing_search_scores_other_speech_the_same(
    tmp_path: Path, say: Say, snr_db: float | None
) -> None:
    """The shipped model is searched less widely for other speech than a copy of it, and hears the same."""
    copy = shutil.copytree(MODEL_FOLDER, tmp_path / "copy")
    spared, searched = (VoskListener(AcousticModel.open(f), PHRASES) for f in (MODEL_FOLDER, copy))
    said = (
        "pressure fourteen",
        "drain clamped",
        "would somebody please turn the lights down a little",
    )
    for text in said:
        sound = say(text).astype(np.float64)
        if snr_db is not None:
            noise = np.random.default_rng(1).normal(0, 1, len(sound))
            sound += noise * np.sqrt(np.mean(sound**2)) * 10 ** (-snr_db / 20)
        heard = segment(sound.clip(-32768, 32767).astype(np.int16))
        found = {a.text: a.score for a in spared.hear(heard).alternatives}
        assert found == pytest.approx(
            {a.text: a.score for a in searched.hear(heard).alternatives}, abs=0.01
        )
