"""Which models there are, which is used, and how much of the grammar each can hear."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING

import pytest

from tests.hearing.tiny_model.build import lay_out, tones
from voice.acoustics.shipped import CHECKSUMS
from voice.entries.heard import SAMPLE_RATE, Alternative, Hearing, Segment
from voice.entries.kinds.drain import CsfColour, Pressure
from voice.entries.leg import LegSettings
from voice.entries.said import Statement
from voice.hearing.model import GrammarWordsError
from voice.meaning.decide import SHIPPED, UNMEASURED, decide
from voice.meaning.decision import Accept, AskBetween, Decision
from voice.meaning.grammar import load_grammar
from voice.meaning.listening import Listening
from voice.session.ears import Ears
from voice.session.models import (
    SHIPPED_MODEL,
    SHIPPED_NAME,
    Model,
    UnknownModelError,
    choose,
    chosen_model,
    models,
    models_root,
)

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from voice.meaning.decide import Thresholds


@pytest.fixture(autouse=True)
def home(tmp_path: Path, move_in: Callable[[Path], Path]) -> Path:
    """A machine with the shipped model alone."""
    return move_in(tmp_path)


@pytest.fixture
def tiny(home: Path) -> Model:
    """The tiny model, brought in."""
    assert home
    folder = lay_out(models_root() / "tiny")
    files = [file for file in folder.rglob("*") if file.is_file()]
    lines = [
        f"{hashlib.sha256(file.read_bytes()).hexdigest()}  {file.relative_to(folder).as_posix()}\n"
        for file in files
    ]
    (folder / CHECKSUMS).write_text("".join(lines))
    return Model("tiny", folder)


def hear(ears: Ears, text: str) -> Decision:
    """What is decided on ``text``, said to the tiny model."""
    samples = tones(text)
    segment = Segment(0.0, samples, len(samples) / SAMPLE_RATE)
    return ears.make_out(segment, Listening.CONFIRMING)[1]


def test_the_shipped_model_is_used_where_nobody_chose() -> None:
    """On a new machine there is one model, it is used, and there is nothing to warn of."""
    assert models() == (SHIPPED_MODEL,)
    assert chosen_model() == SHIPPED_MODEL
    assert SHIPPED_MODEL.warning(load_grammar()) is None
    assert SHIPPED_MODEL.thresholds is SHIPPED


def test_a_choice_lasts_until_the_next(tiny: Model) -> None:
    """What was chosen is used in the next run, and "shipped" goes back."""
    assert choose("tiny") == tiny == chosen_model()
    choose("shipped")
    assert chosen_model() == SHIPPED_MODEL


def test_a_model_that_is_not_there_cannot_be_chosen(tiny: Model) -> None:
    """An unknown name is refused with those that are known, and the choice stays."""
    choose("tiny")
    with pytest.raises(UnknownModelError, match="There are: shipped, tiny"):
        choose("giant")
    assert chosen_model() == tiny


@pytest.mark.parametrize("choice", [b"gone\n", b"\xff\xfe", b""])
def test_no_other_model_takes_the_place_of_one_that_has_gone(home: Path, choice: bytes) -> None:
    """Where the chosen model is missing, a sentence says how to choose again."""
    (home / "model.txt").write_bytes(choice)
    with pytest.raises(UnknownModelError, match="legbook model use"):
        chosen_model()


def test_another_model_hears_what_it_has_words_for(tiny: Model) -> None:
    """Phrases in its words, other spellings among them, make the same entries as ever."""
    ears = Ears.load(tiny, load_grammar(), LegSettings())
    expected = {
        "pressure nine": Pressure(value=9, unit="mmHg"),
        "colour yellow": CsfColour(colour="yellow"),
    }
    for text, entry in expected.items():
        decision = hear(ears, text)
        assert isinstance(decision, Accept), text
        assert decision.heard.meaning == Statement(entry=entry)


@pytest.mark.parametrize("thresholds", [SHIPPED, UNMEASURED], ids=["shipped", "unmeasured"])
def test_no_model_takes_a_teen_while_its_ten_is_in_the_list(thresholds: Thresholds) -> None:
    """A twin, however far behind, makes a question."""
    hearing = Hearing((Alternative("pressure fifty", 90.0), Alternative("pressure fifteen", 10.0)))
    decision = decide(
        hearing, load_grammar(), Listening.LISTENING, LegSettings(), thresholds=thresholds
    )
    assert isinstance(decision, AskBetween)


def test_another_model_is_told_before_the_leg(tiny: Model) -> None:
    """The warning names the model and says that phrases are missing and thresholds not measured."""
    warning = tiny.warning(load_grammar())
    assert warning is not None
    assert "model tiny, whose thresholds nobody has measured" in warning
    assert "legbook model" in warning


def test_the_shipped_model_must_know_every_word(tiny: Model) -> None:
    """A word that the shipped model lacks is an error of the phrase files and is never left out."""
    with pytest.raises(GrammarWordsError, match="fentanyl"):
        Model(SHIPPED_NAME, tiny.folder).listener(load_grammar(), Listening.LISTENING)
