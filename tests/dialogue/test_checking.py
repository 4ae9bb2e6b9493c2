"""A check by voice: only what is not known is asked, one question at a time."""

from __future__ import annotations

import pytest

from tests.dialogue.talking import CLOSED, WORDS, Talking, started, statement_of, two
from voice.dialogue.actions import Confirm, Keep, Remark, Say, Sound, Tone, Withdraw
from voice.dialogue.checking import QUESTION_WITHIN_S
from voice.dialogue.checks import Check
from voice.dialogue.events import FellSilent, Mute, Reminder, SpeechUnclear, TimePassed, Trouble
from voice.dialogue.state import StateName, Taken
from voice.entries.kinds.checks import CheckAnswer
from voice.entries.said import Statement

MOVE = "check before the move"
CLAMPED, STOPCOCKS, TUBING, UPRIGHT = (
    item.ask for item in WORDS.checklist("before the move").items
)


def told(talking: Talking, *texts: str) -> None:
    """Entries that were said and confirmed."""
    for text in texts:
        talking.hears(text)
        talking.hears("confirm")


def checking(*known: str) -> Talking:
    """A talk in which the check before a move has just begun."""
    talking = started()
    told(talking, *known)
    talking.hears(MOVE)
    return talking


def answers(talking: Talking) -> dict[str, str]:
    """The answers that are kept as such, by their item."""
    entries = [taken.statement.entry for taken in talking.state.taken]
    return {e.item: e.answer for e in entries if isinstance(e, CheckAnswer)}


def test_check_asks_its_first_question() -> None:
    """A check begins by name and asks one thing."""
    talking = started()
    assert talking.says(MOVE) == f"check before the move. {CLAMPED}"
    assert talking.state.name is StateName.CHECKING


def test_yes_makes_the_entry_and_is_read_back_with_the_next_question() -> None:
    """The answer is kept at once, unconfirmed, as the entry that tells it."""
    talking = checking()
    assert talking.hears("yes") == (
        Keep(1, "yes", statement_of("drain clamped for transfer")),
        Remark(1),
        Say(f"drain clamped for, transfer. {STOPCOCKS}"),
    )
    assert not talking.state.taken[0].confirmed


def test_no_is_kept_as_the_answer() -> None:
    """What is answered by "no" is kept as an answer of the check."""
    talking = checking()
    keep = talking.hears("negative")[0]
    answer = CheckAnswer(check="before the move", item="drain clamped", answer="no")
    assert keep == Keep(1, "no", Statement(entry=answer))


def test_one_confirm_at_the_end_is_for_all_answers() -> None:
    """After the last question one "confirm" keeps all answers."""
    talking = checking()
    for _ in range(3):
        talking.hears("yes")
    assert talking.says("yes") == (
        "chamber upright. check before the move done; say confirm to keep the 4 answers"
    )
    assert talking.hears("confirm") == (
        Confirm(1), Confirm(2), Confirm(3), Confirm(4), Sound(Tone.KEPT),
    )  # fmt: skip
    assert talking.state.name is StateName.LISTENING


def test_all_answers_are_read_back_when_asked() -> None:
    """Before they are confirmed, "say again" reads every answer."""
    talking = checking()
    for answer in ("yes", "no", "yes", "yes"):
        talking.hears(answer)
    assert talking.says("say again") == (
        "drain clamped for, transfer; both stopcocks off, no; tubing secured; chamber upright"
    )


def test_what_is_known_is_not_asked() -> None:
    """Of a list only that is asked which no confirmed entry of the leg tells."""
    talking = started()
    told(talking, "drain in one piece", "mount fits")
    talking.hears("spare cables packed")  # never confirmed
    asked = talking.says("check before leaving")
    assert asked.endswith("are spare pressure cables on board?")


def test_nothing_to_ask() -> None:
    """Where all is known, that is said, and no check runs."""
    talking = started()
    told(
        talking, "patient out of vehicle", "chamber upright", "tubing secured", "drain levelled", "drain zeroed",
        "both stopcocks back on", "drain open",
    )  # fmt: skip
    assert talking.says("check after the move") == "check after the move: nothing left to ask"
    assert talking.state.name is StateName.LISTENING


def test_check_that_every_answer_came_to_by_entries_has_nothing_to_confirm() -> None:
    """Where all was told by entries, each confirmed by itself, the check just says that it is done."""
    talking = checking()
    told(talking, "drain clamped for transfer", "both stopcocks off", "tubing secured")
    talking.hears("chamber upright")
    assert talking.says("confirm") == "check before the move done"
    assert talking.state.name is StateName.LISTENING


def test_an_entry_before_the_check_does_not_settle_what_must_be_new() -> None:
    """What was so an hour ago is asked again before a move."""
    talking = started()
    told(talking, "drain clamped")
    assert talking.says(MOVE).endswith(CLAMPED)


def test_any_entry_interrupts_and_may_answer() -> None:
    """An entry said in between is read back and confirmed, and the check goes on."""
    talking = checking()
    assert talking.says("pressure fourteen") == "pressure, one four"
    assert talking.hears("confirm") == (Confirm(1), Sound(Tone.KEPT), Say(CLAMPED))
    talking.hears("drain clamped for transfer")
    assert talking.hears("confirm") == (Confirm(2), Sound(Tone.KEPT), Say(STOPCOCKS))


def test_entry_that_is_not_confirmed_answers_nothing() -> None:
    """An answer by an entry counts only when it is confirmed."""
    talking = checking()
    talking.hears("drain clamped for transfer")
    assert talking.says(TimePassed(), after_s=20) == (
        f"drain clamped for, transfer: unconfirmed. / {CLAMPED}"
    )


def test_a_breath_may_answer_more_than_one() -> None:
    """Several entries in one breath settle what they tell."""
    talking = started()
    talking.hears("check after the move")
    told(talking, "drain levelled drain open")
    assert talking.state.check is not None
    left = {item.name for item in talking.state.check.open_items(talking.state.taken)}
    assert not left & {"levelled", "open again"}


def test_skipped_and_unanswered_are_told_and_kept() -> None:
    """What was passed over, or is left when the check is stopped, is said and kept as not answered."""
    talking = checking()
    talking.hears("yes")
    assert talking.says("skip that") == f"skipped. {TUBING}"
    assert talking.says("stop check") == (
        "stopped. check before the move done; not answered: both stopcocks off, "
        "tubing coiled and taped, chamber upright; say confirm to keep the answer"
    )
    assert answers(talking) == {
        "both stopcocks off": "not answered",
        "tubing coiled and taped": "not answered",
        "chamber upright": "not answered",
    }
    assert talking.hears("confirm")[-1] == Sound(Tone.KEPT)
    assert all(taken.confirmed for taken in talking.state.taken)


def test_what_was_passed_over_may_still_be_told() -> None:
    """An item that was passed over is answered by an entry that is said later."""
    talking = checking()
    talking.hears("skip")
    told(talking, "drain clamped for transfer")
    talking.hears("stop check")
    assert "drain clamped" not in answers(talking)


def test_where_yes_is_no_answer_it_is_told_what_to_say() -> None:
    """A question that wants a value says so, and is asked again."""
    talking = started()
    talking.hears("check before leaving")
    assert talking.hears("yes") == (
        Say("say drain on its own pole, or drain in one piece"),
        Say("which kind of drain?"),
    )
    assert talking.state.taken == ()


def test_scratch_that_takes_the_last_answer_back() -> None:
    """A misheard answer is taken out, and its question is asked again."""
    talking = checking()
    talking.hears("no")
    assert talking.hears("scratch that") == (
        Withdraw(1, "scratch that"),
        Say("taken out: drain clamped, no"),
        Say(CLAMPED),
    )


def test_confirm_within_a_check_confirms_nothing() -> None:
    """While a question is open "confirm" is no answer, and the question follows again."""
    talking = checking()
    talking.hears("yes")
    assert talking.says("confirm") == f"nothing to confirm / {STOPCOCKS}"
    assert not talking.state.taken[0].confirmed


def test_silence_ends_the_check() -> None:
    """A question that nobody answers does not stay open: what is left is told."""
    talking = checking()
    talking.hears("yes")
    talking.on(FellSilent(), after_s=3)
    assert talking.on(TimePassed(), after_s=QUESTION_WITHIN_S - 1) == ()
    assert talking.says(TimePassed(), after_s=1).startswith(
        "no answer. check before the move done; not answered: both stopcocks off"
    )
    talking.on(TimePassed(), after_s=20)
    assert talking.state.name is StateName.LISTENING
    assert not any(taken.confirmed for taken in talking.state.taken)


def test_a_question_that_was_not_heard_cannot_be_answered() -> None:
    """When the program's voice fails the check ends: a "yes" would answer what nobody heard."""
    talking = checking()
    talking.on(Mute())
    assert talking.state.check is None
    assert talking.hears("yes") == ()


@pytest.mark.parametrize("between", [Trouble("The disk is full."), CLOSED])
def test_what_comes_in_between_is_followed_by_the_question(between: Trouble | Reminder) -> None:
    """After trouble or a reminder the question is asked again."""
    assert checking().says(between) == f"{between.sentence} / {CLAMPED}"


def test_the_question_is_said_again() -> None:
    """The open question is repeated when asked for, and when nothing was understood twice."""
    talking = checking()
    assert talking.says("say again") == CLAMPED
    talking.on(SpeechUnclear())
    assert talking.says(SpeechUnclear()) == f"not understood. {CLAMPED}"
    assert talking.says("total out") == CLAMPED


def test_a_check_outlasts_stand_by_notes_and_questions() -> None:
    """After "resume", a note or a choice between two readings, the check goes on."""
    talking = checking()
    talking.hears("stand by")
    assert talking.says("resume") == f"listening / {CLAMPED}"
    talking.hears("take a note")
    assert talking.says(TimePassed(), after_s=20) == f"no note / {CLAMPED}"
    talking.on(two("pressure fifteen", "pressure fifty"))
    assert talking.says("no") == f"neither taken; say it again / {CLAMPED}"
    talking.on(two("pressure fifteen", "pressure fifty"))
    talking.hears("one five")
    assert talking.says("confirm") == CLAMPED


def test_one_check_at_a_time() -> None:
    """A second check does not begin while one runs, and that is said."""
    assert (
        checking().says("check before leaving") == f"check before the move is running / {CLAMPED}"
    )


def test_a_waiting_entry_stays_unconfirmed_when_a_check_begins() -> None:
    """A check leaves what waits unconfirmed, aloud."""
    talking = started()
    talking.hears("pressure fourteen")
    assert talking.says(MOVE).startswith("pressure, one four: unconfirmed. check before the move. ")


def test_no_takes_all_answers_out_at_the_end() -> None:
    """When the answers wait to be confirmed, "no" takes all of them out."""
    talking = checking()
    for _ in range(4):
        talking.hears("yes")
    assert talking.says("no") == "taken out; say it again"
    assert talking.state.taken == ()


def test_yes_is_heard_only_within_a_check() -> None:
    """Outside a check a "yes" does nothing."""
    talking = started()
    talking.hears("pressure fourteen")
    before = talking.state
    assert talking.hears("yes") == ()
    assert talking.state == before


def taken(number: int, text: str, *, confirmed: bool = True) -> Taken:
    """An entry of the leg."""
    return Taken(number, statement_of(text), confirmed=confirmed)


@pytest.mark.parametrize(
    ("entries", "levelled"),
    [
        ([taken(1, "drain levelled"), taken(2, "patient on board")], False),
        ([taken(1, "patient on board"), taken(2, "drain levelled")], True),
        ([taken(1, "patient on board"), taken(2, "drain levelled", confirmed=False)], False),
        ([taken(1, "patient on board"), taken(2, "drain levelled five minutes ago")], False),
        (
            [
                taken(1, "patient on board"),
                taken(2, "drain levelled"),
                taken(3, "patient out of vehicle"),
            ],
            False,
        ),
        ([taken(1, "drain levelled")], False),
        ([taken(5, "drain levelled")], True),
    ],
)
def test_what_a_move_undoes_must_be_told_after_it(entries: list[Taken], levelled: bool) -> None:
    """Only what was confirmed as said after the last move, or after the check began, counts."""
    check = Check(WORDS.checklist("after the move"), since=5)
    assert ("levelled" not in {item.name for item in check.open_items(entries)}) == levelled
