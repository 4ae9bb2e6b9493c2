"""The arterial line zeroed at another level than the drain."""

from __future__ import annotations

from tests.figures.consequences.told import leg, open_now, said, said_at
from voice.entries.kinds.drain import DrainLevel, DrainLevelled
from voice.entries.kinds.vitals import ArterialZeroed

RULE = "arterial line at another level"
AT_HEART = ArterialZeroed(reference="heart")
AT_TRAGUS = ArterialZeroed(reference="tragus")
DRAIN_AT_TRAGUS = DrainLevelled(reference="tragus")


def test_heart_and_tragus_are_told_at_once_and_stay_open() -> None:
    """Whichever of the two levels is told last, it is said that the perfusion pressure is too high."""
    sentence = (
        "arterial line at heart, drain at tragus; with the head up, the perfusion pressure reads "
        "too high"
    )
    assert said(leg((1, DRAIN_AT_TRAGUS), (2, AT_HEART)), RULE) == [sentence]
    told = leg((1, AT_HEART), (2, DRAIN_AT_TRAGUS))
    assert said(told, RULE) == [sentence]
    (listed,) = open_now(told, RULE)
    assert listed.startswith(
        "Arterial line at heart, drain at tragus, since 14:02: with the head up"
    )


def test_it_is_said_once() -> None:
    """Telling the same levels again says nothing more."""
    level = DrainLevel(level_cmh2o=10, reference="tragus")
    told = leg((1, DRAIN_AT_TRAGUS), (2, AT_HEART), (3, level), (4, AT_HEART), (5, DrainLevelled()))
    assert said_at(told, RULE) == [2]


def test_one_level_ends_it() -> None:
    """Zeroed at the drain's level, or with no level told, nothing is open."""
    for end in (AT_TRAGUS, ArterialZeroed()):
        told = leg((1, DRAIN_AT_TRAGUS), (2, AT_HEART), (3, end))
        assert open_now(told, RULE, 2.5)
        assert open_now(told, RULE) == []


def test_unknown_levels_say_nothing_aloud() -> None:
    """Where one of the two was never told, there is nothing to compare."""
    assert open_now(leg((1, AT_HEART), (2, DrainLevelled())), RULE) == []
    assert open_now(leg((1, DRAIN_AT_TRAGUS)), RULE) == []


def test_tragus_and_midbrow_differ_by_their_height() -> None:
    """Two levels at the head are not called too high: it depends on how the head lies."""
    told = leg((1, DrainLevelled(reference="midbrow")), (2, AT_TRAGUS))
    (remark,) = said(told, RULE)
    assert remark.endswith("at midbrow; the perfusion pressure is off by the height between")


def test_a_third_level_begins_it_anew() -> None:
    """From heart to midbrow, with the drain at the tragus, it is told again what that does."""
    told = leg((1, DRAIN_AT_TRAGUS), (2, AT_HEART), (3, ArterialZeroed(reference="midbrow")))
    assert said_at(told, RULE) == [2, 3]
    assert len(open_now(told, RULE)) == 1
