"""Phrases and words of a trainer, over the shipped ones."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest

from voice.acoustics.shipped import MODEL_FOLDER
from voice.acoustics.shipped import verify as verify_model
from voice.entries.kinds.drain import DrainZeroed
from voice.entries.leg import EntryState, Leg, LegEntry, LegSettings
from voice.entries.said import About, Question
from voice.meaning.grammar import GrammarError, load_grammar
from voice.meaning.handoff import load_needs
from voice.record.events import HeardBy
from voice.record.journal import Journal
from voice.record.reading import read_chain
from voice.record.shelf import verify
from voice.report.answers import answer
from voice.session.keeper import Keeper
from voice.session.models import SHIPPED_MODEL, shipped_model
from voice.session.own_phrases import (
    Layer,
    chosen_grammar,
    hearing_folder,
    layers,
    phrases_root,
    taught_words,
)
from voice.session.setups import Equipment

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

NOW = datetime(2031, 5, 1, 14, 0, tzinfo=UTC)
PHRASE = """
about = "A trial."
[[phrase]]
entry = "drain_zeroed"
say = "drain nulled again"
"""


@pytest.fixture(autouse=True)
def _home(tmp_path: Path, move_in: Callable[[Path], Path], monkeypatch: pytest.MonkeyPatch) -> None:
    move_in(tmp_path / "home")
    monkeypatch.delenv("LEGBOOK_PHRASES", raising=False)


def written(layer: str, name: str, text: str) -> Path:
    """A file in a layer of this machine."""
    file = phrases_root() / layer / name
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(text)
    return file


def test_without_phrases_of_its_own_a_machine_hears_the_shipped_ones() -> None:
    """Where nothing was added, grammar and model are the shipped ones."""
    assert chosen_grammar() is load_grammar()
    assert hearing_folder() == MODEL_FOLDER
    assert shipped_model() == SHIPPED_MODEL


@pytest.mark.parametrize("layer", ["own", "packs/trial"])
def test_added_phrases_are_listened_for(layer: str) -> None:
    """A phrase that was added here or came in a pack is heard, and the leg notes another grammar."""
    written(layer, "trial.toml", PHRASE)
    grammar = Equipment().grammar
    assert len(grammar.parse("drain nulled again", LegSettings())) == 1
    assert Equipment().origin().grammar_digest == grammar.digest != load_grammar().digest


def test_drafts_are_not_listened_for() -> None:
    """A phrase that is not proven yet is heard only where it is asked for."""
    file = written("drafts", "trial.toml", PHRASE)
    assert chosen_grammar() is load_grammar()
    assert chosen_grammar(Layer(file.parent)).parse("drain nulled again", LegSettings())


def test_place_of_the_phrases_can_be_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """LEGBOOK_PHRASES says where the added phrases lie."""
    monkeypatch.setenv("LEGBOOK_PHRASES", str(tmp_path / "there"))
    assert layers()[0].folder == tmp_path / "there" / "own"


def test_phrases_that_do_not_fit_are_told_with_a_way_out() -> None:
    """Added phrases that cannot be read stop the hearing with a sentence that says what to do."""
    written("own", "trial.toml", PHRASE.replace("drain_zeroed", "xyzzy"))
    with pytest.raises(GrammarError, match=r"trial\.toml.*legbook phrases remove NAME"):
        chosen_grammar()


def test_two_files_of_one_name_are_refused() -> None:
    """A file that is called as another would be taken for it."""
    written("own", "pressure.toml", PHRASE)
    with pytest.raises(GrammarError, match=r"two phrase files called pressure\.toml"):
        chosen_grammar()


def test_taught_words_are_heard() -> None:
    """A word that was taught is known to the model, which is made once and noted in the leg."""
    written("own", "lexicon.txt", "grommet G R AA M AH T\n")
    written("packs/other", "lexicon.txt", "grommet G R OW M EH T\n")
    assert taught_words()["grommet"] == (
        ("G", "R", "AA", "M", "AH", "T"),
        ("G", "R", "OW", "M", "EH", "T"),
    )
    model = shipped_model()
    verify_model(model.folder)
    assert model.is_shipped
    assert "grommet" in (model.folder / "graph" / "words.txt").read_text()
    assert shipped_model() == model
    assert Equipment().origin().model_digest != Equipment(model=SHIPPED_MODEL).origin().model_digest
    written("own", "lexicon.txt", "gasket G AE S K AH T\n")
    assert shipped_model() != model


def test_a_leg_that_is_gone_on_with_notes_what_hears_it_now(tmp_path: Path) -> None:
    """Where a leg goes on, the journal notes the phrases and the model that hear its rest."""
    at = datetime(2026, 5, 1, 14, 0, tzinfo=UTC)
    settings = LegSettings()
    Journal.create(tmp_path / "leg", settings, at, grammar_digest="g", model_digest="m").close()
    written("own", "trial.toml", PHRASE)
    equipment = Equipment(root=tmp_path)
    keeper = Keeper(equipment.origin(), Journal.open(tmp_path / "leg", at))
    keeper.go_on(at)
    keeper.close()
    *_, last = read_chain([tmp_path / "leg"]).events
    assert isinstance(last, HeardBy)
    assert last.grammar_digest == equipment.grammar.digest
    assert verify(tmp_path / "leg").findings == ()


def test_own_list_of_a_handoff_takes_the_place_of_the_shipped_one() -> None:
    """What a programme wants told in a handoff is what "what is left" looks for."""
    assert Equipment().programme().needs == load_needs()
    written(
        "own",
        "handoff/needs.toml",
        'about = "A trial."\n[[need]]\nname = "weight"\ntold = [{ kind = "weight" }]\n',
    )
    programme = Equipment().programme()
    assert [need.name for need in programme.needs] == ["weight"]
    left = Question(about=About.WHAT_IS_LEFT)
    leg = Leg(id="trial", settings=LegSettings(), started_at=NOW, entries=())
    assert "not told: weight" in answer(left, leg, NOW, programme=programme)


def test_added_names_can_be_asked_for() -> None:
    """What an added phrase says is asked for by the name that it has there."""
    written("own", "trial.toml", PHRASE + 'read = "drain nulled again"\n')
    grammar = Equipment().grammar
    (asked,) = grammar.parse("last drain nulled again", LegSettings())
    assert isinstance(asked, Question)
    zeroed = LegEntry(
        number=1,
        entry=DrainZeroed(),
        heard="drain nulled again",
        spoken_at=NOW,
        happened_at=NOW,
        state=EntryState.CONFIRMED,
    )
    leg = Leg(id="trial", settings=LegSettings(), started_at=NOW, entries=(zeroed,))
    assert answer(asked, leg, NOW).startswith("no drain nulled again told")
    assert "just now" in answer(asked, leg, NOW, programme=Equipment().programme())
