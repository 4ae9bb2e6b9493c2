"""The table is whole, and the page is drawn from it."""

from __future__ import annotations

from itertools import product
from pathlib import Path

import pytest

from tests.dialogue.talking import CLOSED, WORDS, heard, statement_of, two
from voice.dialogue.checks import Check
from voice.dialogue.draw import draw
from voice.dialogue.events import (
    CheckHeard,
    ChoiceHeard,
    CommandHeard,
    CorrectionHeard,
    Event,
    FellSilent,
    HalfHeard,
    Kind,
    Mute,
    NoteHeard,
    OtherSpeech,
    QuestionHeard,
    SaidOver,
    SpeechUnclear,
    TimePassed,
    Trouble,
    WholeHeard,
)
from voice.dialogue.machine import LEADS_TO, TABLE, step
from voice.dialogue.standing import END_ASKED, ignore
from voice.dialogue.state import DialogueState, StateName, Taken
from voice.entries.said import About, Question, Talk
from voice.meaning.grammar import load_grammar
from voice.meaning.listening import Listening
from voice.meaning.unfinished import Lacks

LATER = statement_of("heart rate eighty eight")
OLD = Taken(1, statement_of("pressure fourteen"), confirmed=True)
WAITING = Taken(3, statement_of("pressure eighteen"), corrects=OLD)
QUESTION = two("pressure fifteen", "pressure fifty")

STATES = {
    StateName.ASLEEP: [DialogueState()],
    StateName.STANDING_BY: [DialogueState(StateName.STANDING_BY, (OLD,), 2)],
    StateName.LISTENING: [
        DialogueState(StateName.LISTENING),
        DialogueState(StateName.LISTENING, (OLD, Taken(2, LATER)), 3, misses=1),
        DialogueState(StateName.LISTENING, (OLD, Taken(2, LATER)), 3, said=END_ASKED),
    ],
    StateName.CONFIRMING: [
        DialogueState(StateName.CONFIRMING, (Taken(2, LATER), WAITING), 4, waiting=(WAITING,)),
        DialogueState(
            StateName.CONFIRMING, (Taken(2, LATER), WAITING), 4, waiting=(WAITING,), review=()
        ),
        DialogueState(
            StateName.CONFIRMING,
            (Taken(2, LATER), WAITING),
            4,
            waiting=(WAITING,),
            said=END_ASKED,
        ),
    ],
    StateName.CHECKING: [
        DialogueState(
            StateName.CHECKING,
            (OLD, Taken(2, LATER)),
            3,
            check=Check(WORDS.checklist("after the move"), 3),
            said=said,
        )
        for said in (None, END_ASKED)
    ],
    StateName.CHOOSING: [
        DialogueState(StateName.CHOOSING, offered=(QUESTION.first, QUESTION.second)),
        DialogueState(
            StateName.CHOOSING,
            (Taken(2, LATER), WAITING),
            4,
            waiting=(WAITING,),
            offered=(QUESTION.first, QUESTION.second),
        ),
    ],
    StateName.NOTING: [DialogueState(StateName.NOTING)],
}
"""States of every name, bare and laden."""

EVENTS: dict[Kind | Talk, list[Event]] = {
    Kind.STATEMENT: [heard("pressure fourteen")],
    Kind.SEVERAL: [heard("heart rate eighty eight pressure fourteen")],
    Kind.CORRECTION: [
        CorrectionHeard("correction …", statement_of("pressure sixteen")),
        CorrectionHeard("correction …", statement_of("temperature thirty seven point two")),
    ],
    Kind.QUESTION: [QuestionHeard(Question(about=About.HOURLY_OUTPUT))],
    Kind.CHECK: [CheckHeard("before leaving")],
    Kind.CHOICE: [ChoiceHeard(15), ChoiceHeard(16)],
    Kind.TWO_READINGS: [QUESTION],
    Kind.UNCLEAR: [SpeechUnclear()],
    Kind.OTHER_SPEECH: [OtherSpeech()],
    Kind.HALF: [HalfHeard("peep", Lacks.NUMBER), HalfHeard("at nine oh five", Lacks.ENTRY)],
    Kind.WHOLE: [
        WholeHeard("…", (statement_of("pressure eighteen five minutes ago"),)),
        WholeHeard("…", (LATER,)),
    ],
    Kind.SAID_OVER: [SaidOver("drained six mils")],
    Kind.NOTE: [NoteHeard()],
    Kind.FELL_SILENT: [FellSilent()],
    Kind.TIME_PASSED: [TimePassed()],
    Kind.MUTE: [Mute()],
    Kind.TROUBLE: [Trouble("The disk is full.")],
    Kind.REMINDER: [CLOSED],
    **{talk: [CommandHeard(talk)] for talk in Talk},
}
"""Events of every kind."""


def test_table_is_whole() -> None:
    """Every state has a transition, if only to ignore it, for every kind of event."""
    assert set(TABLE) == set(product(StateName, [*Kind, *Talk]))
    assert set(EVENTS) == {*Kind, *Talk}


@pytest.mark.parametrize(("name", "kind"), TABLE, ids=str)
def test_transitions_lead_where_the_table_says(name: StateName, kind: Kind | Talk) -> None:
    """From any state any event leads to the state that is drawn, or stays, and gets there."""
    reached = {
        step(state, event, at_s, WORDS)[0].name
        for state in STATES[name]
        for event in EVENTS[kind]
        for at_s in (0.0, 100.0)
    }
    target = LEADS_TO.get(TABLE[name, kind], name)
    going_on = name is StateName.CHECKING and target is StateName.LISTENING
    assert target in reached or going_on  # the check asks on
    assert reached <= {name, target}


@pytest.mark.parametrize(("name", "kind"), TABLE, ids=str)
def test_waiting_and_offered_belong_to_their_states(name: StateName, kind: Kind | Talk) -> None:
    """An entry waits only while confirming or choosing, and readings are offered only then."""
    for state, event in product(STATES[name], EVENTS[kind]):
        after, _ = step(state, event, 100.0, WORDS)
        if after.name is StateName.CONFIRMING:
            assert after.waiting
            assert set(after.waiting) <= set(after.taken)
        if after.name not in {StateName.CONFIRMING, StateName.CHOOSING}:
            assert not after.waiting
        assert (after.offered is not None) == (after.name is StateName.CHOOSING)


@pytest.mark.parametrize("name", StateName, ids=str)
def test_all_that_can_be_heard_is_answered(name: StateName) -> None:
    """No phrase that the grammar lets through in a state is ignored there."""
    legal: set[Kind | Talk] = set()
    for phrase in load_grammar().phrases:
        if name.listening is None or name.listening not in phrase.states:
            continue
        if phrase.talk is not None:
            legal.add(phrase.talk)
        elif phrase.question is not None:
            legal.add(Kind.QUESTION)
        elif phrase.check is not None:
            legal.add(Kind.CHECK)
        elif phrase.choice:
            legal.add(Kind.CHOICE)
        elif phrase.correction:
            legal.add(Kind.CORRECTION)
        elif phrase.entry is not None:
            legal |= {Kind.STATEMENT, Kind.SEVERAL}
    answered = {kind for kind in legal if TABLE[name, kind] is not ignore}
    assert answered == legal


@pytest.mark.parametrize("kind", [*Kind, *Talk], ids=str)
def test_while_checking_there_is_a_question(kind: Kind | Talk) -> None:
    """The talk is checking only while a check runs that has something to ask."""
    for name in StateName:
        for state, event in product(STATES[name], EVENTS[kind]):
            after, _ = step(state, event, 100.0, WORDS)
            if after.name is StateName.CHECKING:
                assert after.check is not None
                assert after.check.next_item(after.taken) is not None
            assert not (after.name is StateName.LISTENING and after.check is not None)


def test_each_grammar_is_listened_with() -> None:
    """Every small grammar belongs to at least one state."""
    assert {name.listening for name in StateName} == {*Listening, None}


def test_page_is_drawn_from_the_table() -> None:
    """docs/dialogue.md is what ``python -m voice.dialogue.draw`` prints."""
    page = Path(__file__).parents[2] / "docs" / "dialogue.md"
    assert page.read_text("utf-8") == draw()
