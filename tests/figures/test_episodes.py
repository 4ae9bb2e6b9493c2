from __future__ import annotations

from typing import TYPE_CHECKING

from tests.figures.conftest import at, entries
from voice.entries.kinds.patient import PatientEvent
from voice.entries.leg import EntryState
from voice.figures.episodes import Episode, episodes

if TYPE_CHECKING:
    from voice.entries.leg import LegEntry

SEIZURE, OVER = PatientEvent(event="seizure"), PatientEvent(event="seizure over")
AGITATION, SETTLED = PatientEvent(event="agitation"), PatientEvent(event="settled")


def spans(told: tuple[LegEntry, ...]) -> list[tuple[str, object, object]]:
    """Each episode without its mark of doubt."""
    return [(e.what, e.start_at, e.end_at) for e in episodes(told)]


def test_it_lasts_until_it_is_over() -> None:
    """A seizure lasts until it is over and agitation until the patient settles, each by itself."""
    told = entries((3, SEIZURE), (4, AGITATION), (5, OVER), (14, SETTLED), (20, SEIZURE))
    assert spans(told) == [
        ("seizure", at(3), at(5)),
        ("agitation", at(4), at(14)),
        ("seizure", at(20), None),
    ]


def test_telling_it_again_begins_nothing() -> None:
    """What is told to begin while it lasts is the same episode, from when it was first told."""
    assert spans(entries((3, SEIZURE), (4, SEIZURE), (5, OVER))) == [("seizure", at(3), at(5))]


def test_an_end_alone_is_told() -> None:
    """An end whose start was not told is an episode all the same."""
    assert spans(entries((5, OVER), (6, SETTLED))) == [
        ("seizure", None, at(5)),
        ("agitation", None, at(6)),
    ]


def test_passing_events_are_no_episodes() -> None:
    """Coughing and suctioning begin and end nothing."""
    told = entries((1, PatientEvent(event="coughing")), (2, PatientEvent(event="suctioned")))
    assert episodes(told) == ()


def test_it_is_confirmed_where_both_ends_are() -> None:
    """An episode is as doubtful as the more doubtful of its ends."""
    start, end = entries((3, SEIZURE), (5, OVER))
    doubtful = end.model_copy(update={"state": EntryState.UNCONFIRMED})
    assert episodes((start, end)) == (Episode("seizure", at(3), at(5), True),)
    assert episodes((start, doubtful)) == (Episode("seizure", at(3), at(5), False),)
