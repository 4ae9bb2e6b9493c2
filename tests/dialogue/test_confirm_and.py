"""A "confirm" and the next entry in one breath happen as the one and then the other."""

from __future__ import annotations

import pytest

from tests.dialogue.talking import Talking, meaning_of, started, statement_of
from voice.dialogue.actions import Confirm, Keep, Remark, Say, Sound, Tone
from voice.dialogue.events import decision_as_event
from voice.dialogue.state import StateName
from voice.meaning.decision import AskBetween, Heard

BOTH = "confirm drained six mils"
DRAINED = statement_of("drained six mils")
TOLD = "drained, six mils"


def waiting() -> Talking:
    """A talk in which a pressure waits for "confirm"."""
    talking = started()
    talking.hears("pressure fourteen")
    return talking


def test_what_was_read_back_is_confirmed_and_the_next_waits() -> None:
    """The first is confirmed with its tone, and the second is read back and not confirmed."""
    talking = waiting()
    assert talking.hears(BOTH) == (
        Confirm(1),
        Sound(Tone.KEPT),
        Keep(2, BOTH, DRAINED),
        Remark(2),
        Say(TOLD),
    )
    assert [one.number for one in talking.state.waiting] == [2]
    assert [one.confirmed for one in talking.state.taken] == [True, False]
    assert talking.hears("confirm") == (Confirm(2), Sound(Tone.KEPT))


def test_no_takes_out_the_second_alone() -> None:
    """What was confirmed stands, whatever becomes of what came with the "confirm"."""
    talking = waiting()
    talking.hears(BOTH)
    talking.hears("no")
    assert [(one.number, one.confirmed) for one in talking.state.taken] == [(1, True)]


def test_a_breath_behind_confirm_waits_together() -> None:
    """Several entries behind it are read back as a breath, and none of them is confirmed."""
    talking = waiting()
    said = talking.says("confirm heart rate eighty eight drained six mils")
    assert said == f"heart rate, eight eight; {TOLD}"
    assert [one.number for one in talking.state.waiting] == [2, 3]


def test_where_nothing_waits_that_is_told() -> None:
    """The entry is taken, and the nurse knows that her "confirm" was for nothing."""
    talking = started()
    assert talking.says(BOTH) == f"nothing to confirm / {TOLD}"
    assert not talking.state.taken[0].confirmed


def test_a_drug_that_is_refused_takes_no_confirm_with_it() -> None:
    """What was confirmed is, though what came with it is not kept."""
    talking = waiting()
    actions = talking.hears("confirm fentanyl fifty milligrams")
    assert actions[:2] == (Confirm(1), Sound(Tone.KEPT))
    assert isinstance(actions[2], Say)
    assert actions[2].text.startswith("not kept: fentanyl")
    assert talking.state.name is StateName.LISTENING


def test_a_doubtful_value_is_asked_about_after_the_confirm() -> None:
    """The "confirm" is not in doubt: it counts, and the question is about the new entry."""
    talking = waiting()
    first, second = (
        Heard(text=text, meaning=meaning_of(text))
        for text in ("confirm drained fifteen mils", "confirm drained fifty mils")
    )
    actions = talking.on(decision_as_event(AskBetween(first=first, second=second)))
    assert actions[:2] == (Confirm(1), Sound(Tone.KEPT))
    assert actions[2] == Say("drained: one five mils, or five zero mils?")
    assert talking.says("first") == "drained, one five mils"
    assert [one.confirmed for one in talking.state.taken] == [True, False]


def test_reading_through_the_unconfirmed_ends_with_a_new_entry() -> None:
    """What would have been read next is not read into the new entry's read-back."""
    talking = started()
    for entry in ("pressure fourteen", "temperature thirty eight", "drain clamped"):
        talking.hears(entry)
    talking.hears("read unconfirmed")
    assert talking.says(BOTH) == TOLD
    assert [one.number for one in talking.state.taken if one.confirmed] == [1]


@pytest.mark.parametrize("wait_first", [False, True])
def test_a_check_goes_on_after_the_entry_is_confirmed(*, wait_first: bool) -> None:
    """Within a check its question is asked again once, when the new entry is settled."""
    talking = started()
    question = talking.says("check after the move").rpartition(". ")[2]
    if wait_first:
        talking.hears("pressure fourteen")
        assert talking.says(BOTH) == TOLD
    else:
        assert talking.says(BOTH) == f"nothing to confirm / {TOLD}"
    assert talking.says("confirm") == question
