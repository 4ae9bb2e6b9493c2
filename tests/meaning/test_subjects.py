"""All that can be said can be asked about."""

from __future__ import annotations

from typing import get_args

import pytest

from voice.entries.kinds import Entry
from voice.entries.kinds.checks import CheckAnswer
from voice.entries.kinds.leg import SpokenNote
from voice.entries.leg import LegSettings
from voice.entries.measured import MEASURED
from voice.entries.said import About, Question, Statement
from voice.meaning.grammar import load_grammar
from voice.meaning.subjects import name_in

GRAMMAR = load_grammar()
KINDS = {kind.model_fields["kind"].default: kind for kind in get_args(get_args(Entry)[0])}
SAID = {
    kind: [
        e.meaning.entry
        for e in GRAMMAR.examples
        if isinstance(e.meaning, Statement) and e.meaning.entry.kind == kind
    ]
    for kind in KINDS
}
NOT_SAID: dict[str, Entry] = {
    "spoken_note": SpokenNote(),
    "check_answer": CheckAnswer(check="after the move", item="levelled", answer="no"),
}
"""Kinds that no phrase makes: they come of sound, and of the answers in a check."""


@pytest.mark.parametrize("kind", sorted(KINDS.keys() - NOT_SAID))
def test_every_kind_can_be_asked_about(kind: str) -> None:
    """Every entry that the examples make has a subject, and its name can be said."""
    assert SAID[kind]
    for entry in SAID[kind]:
        names = [name for name, subject in GRAMMAR.subjects.by_name.items() if subject.fits(entry)]
        assert names, entry
        for name in names:
            asked = Question(about=About.LAST_VALUE, subject=name)
            assert GRAMMAR.parse(f"last {name}", LegSettings()) == (asked,)


@pytest.mark.parametrize("kind", NOT_SAID)
def test_what_no_phrase_makes_can_be_asked_about(kind: str) -> None:
    """A note and an answer in a check have a name, by which they alone are asked for."""
    entry = NOT_SAID[kind]
    (name,) = [name for name, one in GRAMMAR.subjects.by_name.items() if one.fits(entry)]
    assert GRAMMAR.subjects.of(entry) == GRAMMAR.subjects.by_name[name]
    for text, about in (
        (f"last {name}", About.LAST_VALUE),
        (f"time since the last {name}", About.TIME_SINCE),
    ):
        asked = Question(about=about, subject=name)
        assert GRAMMAR.parse(text, LegSettings()) == (asked,)


def test_a_subject_is_about_its_own_drug_or_side() -> None:
    """Where several things share a kind, the name tells which is asked for."""
    mannitol, left = GRAMMAR.subjects.by_name["mannitol"], GRAMMAR.subjects.by_name["left pupil"]
    assert {getattr(e, "drug", "") for e in SAID["drug_given"] if mannitol.fits(e)} == {"mannitol"}
    assert {getattr(e, "side", "") for e in SAID["pupil"] if left.fits(e)} == {"left"}


def test_only_measurements_have_a_trend() -> None:
    """The trend of a dose or of a move cannot be asked for."""
    settings = LegSettings()
    for name, subject in GRAMMAR.subjects.by_name.items():
        assert bool(GRAMMAR.parse(f"{name} trend", settings)) == subject.measured, name
    assert GRAMMAR.subjects.by_name["pressure"].measured
    assert not GRAMMAR.subjects.by_name["mannitol"].measured


@pytest.mark.parametrize("kind", sorted(MEASURED))
def test_measured_value_is_a_number_of_its_kind(kind: str) -> None:
    """The field that a trend is taken of holds a number in every entry of the kind."""
    for entry in SAID[kind]:
        assert isinstance(getattr(entry, MEASURED[kind]), int | float)


def test_other_names_of_a_subject_lead_to_it() -> None:
    """What has two names has one subject."""
    for name in ("pressure", "i c p", "intracranial pressure"):
        (asked,) = GRAMMAR.parse(f"last {name}", LegSettings())
        assert asked == Question(about=About.LAST_VALUE, subject="pressure")


@pytest.mark.parametrize(
    ("read", "name"),
    [
        ("pressure, <value> [<unit>]", "pressure"),
        ("drain clamped[ for, <reason>]", "drain clamped"),
        ("<value> of something", ""),
        ("<unknown>", "<unknown>"),
    ],
)
def test_name_stands_before_the_value(read: str, name: str) -> None:
    """The name in a read-back ends at its first comma or number, without what may be left out."""
    (phrase,) = [p for p in GRAMMAR.phrases if p.entry == "pressure"]
    assert name_in(read, phrase.slots) == name
