"""The decision on what two listeners heard."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice.entries.heard import Alternative, Hearing, Stand
from voice.entries.leg import LegSettings
from voice.meaning.decide import decide, read
from voice.meaning.decision import (
    Accept,
    AskBetween,
    Decision,
    Doubt,
    NotForUs,
    NotUnderstood,
)
from voice.meaning.grammar import load_grammar
from voice.meaning.listening import Listening
from voice.meaning.two_opinions import (
    Weights,
    decide_by_two,
    is_asked,
    put_together,
    shipped_weights,
)

GRAMMAR = load_grammar()
SETTINGS = LegSettings()
STATE = Listening.CONFIRMING
WEIGHTS = Weights(
    first=1,
    second=1,
    first_floor=8,
    second_floor=10,
    first_other=0.5,
    second_other=0.2,
    other=-4,
    other_reach=20,
    sure=-1,
    sure_first=0.5,
    sure_second=0.5,
    sure_first_other=0.05,
    sure_second_other=-0.05,
    accept=0.97,
    ask=0.8,
    pass_over=0.9,
    twin_first=3,
    twin_second=6,
    unlike=5,
)
SURE = (("pressure nine", 40.0), ("[unk]", 10.0))


def hearing(*alternatives: tuple[str, float]) -> Hearing:
    """These words and scores."""
    return Hearing(tuple(Alternative(text, score) for text, score in alternatives))


def decided(first: Hearing, second: Hearing, weights: Weights = WEIGHTS) -> tuple[Decision, Stand]:
    """What is done, and how the second stands."""
    alone = decide(first, GRAMMAR, STATE, SETTINGS)
    return decide_by_two(first, second, GRAMMAR, STATE, SETTINGS, alone=alone, weights=weights)


def words(decision: Decision) -> tuple[str, ...]:
    """What is taken, or the two that are asked between."""
    match decision:
        case Accept(heard=heard):
            return (heard.text,)
        case AskBetween(first=first, second=second):
            return (first.text, second.text)
    return ()


def test_what_both_heard_is_taken() -> None:
    """Where both are of one opinion it is taken."""
    decision, stand = decided(hearing(*SURE), hearing(("pressure nine", -3), ("pressure five", -9)))
    assert (words(decision), stand) == (("pressure nine",), Stand.AGREED)


def test_what_the_first_was_sure_of_and_the_second_bears_out_is_taken() -> None:
    """Where both like the same best it is taken as by the first alone, unless the second took it for other talk."""
    careful = WEIGHTS.model_copy(update={"accept": 0.9999})
    near = (("pressure nine", -3), ("pressure five", -3.5))
    first = hearing(("pressure nine", 40), ("pressure five", 36), ("[unk]", 10))
    assert words(decided(first, hearing(*near), careful)[0]) == ("pressure nine",)
    assert len(words(decided(first, hearing(*near, ("[unk]", 3)), careful)[0])) == 2


def test_agreement_saves_a_question() -> None:
    """A rival that the first alone would have asked about is not asked about where the second rules it out."""
    first = hearing(("pressure nine", 40), ("pressure five", 38), ("[unk]", 10))
    assert isinstance(decide(first, GRAMMAR, STATE, SETTINGS), AskBetween)
    decision, _ = decided(first, hearing(("pressure nine", -3), ("pressure five", -12)))
    assert words(decision) == ("pressure nine",)


def test_sure_and_contradicted_is_asked_about() -> None:
    """However sure the first is, what a sure second heard otherwise is asked between the two."""
    decision, stand = decided(hearing(*SURE), hearing(("pressure five", -3), ("pressure one", -15)))
    assert isinstance(decision, AskBetween)
    assert set(words(decision)) == {"pressure nine", "pressure five"}
    assert stand is Stand.DIFFERED


@pytest.mark.parametrize(
    ("first", "second", "taken"),
    [
        ((8, 10), (6, 6), True),
        ((8, 10), (1, 6), False),  # little ahead in the second list
        ((1, 10), (6, 6), False),  # in the first
        ((8, 1), (6, 6), False),  # other talk is near in the first
    ],
)
def test_how_sure_it_is_follows_from_the_leads_in_both_lists(
    first: tuple[float, float], second: tuple[float, float], taken: bool
) -> None:
    """What leads by little in either list, or barely leads other talk, is asked about; each lead alone is not enough."""
    over_rival, over_other = first
    heard = hearing(
        ("pressure nine", 40), ("pressure five", 40 - over_rival), ("[unk]", 40 - over_other)
    )
    rival, other = second
    also = hearing(("pressure nine", -3), ("pressure five", -3 - rival), ("[unk]", -3 - other))
    careful = WEIGHTS.model_copy(update={"accept": 0.995, "sure": -4, "sure_first_other": 0.3})
    alone = NotUnderstood(
        doubt=Doubt.CLOSE
    )  # what the first was sure of and both heard is taken anyhow
    decision, _ = decide_by_two(heard, also, GRAMMAR, STATE, SETTINGS, alone=alone, weights=careful)
    assert isinstance(decision, Accept) is taken


def test_readings_of_different_kinds_are_said_again() -> None:
    """Two readings that cannot be asked between are not taken either."""
    decision, _ = decided(hearing(*SURE), hearing(("drain zeroed", -3)))
    assert decision == NotUnderstood(doubt=Doubt.CLOSE)


@pytest.mark.parametrize(
    ("lead_first", "lead_second", "taken"), [(3, 6, True), (2.9, 9, False), (9, 5.9, False)]
)
def test_a_twin_is_asked_about_unless_both_are_sure(
    lead_first: float, lead_second: float, taken: bool
) -> None:
    """A teen whose ten is in the first list is taken only where it leads it by enough in both lists."""
    first = hearing(("pressure fifteen", 40), ("pressure fifty", 40 - lead_first), ("[unk]", 10))
    second = hearing(("pressure fifteen", -3), ("pressure fifty", -3 - lead_second))
    ready = WEIGHTS.model_copy(update={"accept": 0.6, "first_floor": 10})
    alone = NotUnderstood(doubt=Doubt.CLOSE)
    decision, _ = decide_by_two(first, second, GRAMMAR, STATE, SETTINGS, alone=alone, weights=ready)
    both = ("pressure fifteen", "pressure fifty")
    assert words(decision) == (both[:1] if taken else both)


def test_words_without_a_meaning_may_be_a_twin() -> None:
    """A teen whose ten lacks its unit is a twin as well, and is never taken for it."""
    first = hearing(("fentanyl fifteen micrograms", 40), ("fentanyl fifty micrograms", 39))
    both = hearing(("fentanyl fifteen micrograms", -3))
    weights = WEIGHTS.model_copy(update={"twin_second": 20})
    assert len(words(decided(first, both, weights)[0])) == 2
    nameless = hearing(("heart rate fifteen hello", 40), ("heart rate fifty hello", 38))
    assert words(decided(nameless, both, weights)[0]) == ()


def test_what_only_the_first_understood_needs_a_lead_over_other_talk() -> None:
    """Where the second made out nothing, the first's lead decides."""
    nothing = hearing(("[unk]", -3))
    taken, stand = decided(hearing(*SURE), nothing, WEIGHTS.model_copy(update={"accept": 0.9}))
    assert (words(taken), stand) == (("pressure nine",), Stand.NOTHING)
    faint = hearing(("pressure nine", 40), ("[unk]", 34.5))
    assert decided(faint, nothing)[0] == NotUnderstood(doubt=Doubt.FAINT)


def test_talk_that_neither_understood_is_passed_over() -> None:
    """What was too faint for a phrase, and for the second is other talk, is passed over."""
    faint = hearing(("pressure nine", 40), ("[unk]", 39))
    sure = WEIGHTS.model_copy(update={"second_other": 1.0})
    assert decided(faint, hearing(("[unk]", -3)), sure)[0] == NotForUs()


def test_a_mumbled_phrase_is_taken_where_the_second_is_sure() -> None:
    """What was too faint for the first alone is taken where the second heard the same clearly."""
    faint = hearing(("pressure nine", 40), ("[unk]", 37))
    assert decide(faint, GRAMMAR, STATE, SETTINGS) == NotUnderstood(doubt=Doubt.FAINT)
    decision, _ = decided(faint, hearing(("pressure nine", -3), ("[unk]", -9)))
    assert words(decision) == ("pressure nine",)


@pytest.mark.parametrize(
    ("text", "state", "is_to_be"),
    [
        ("pressure nine", Listening.LISTENING, True),
        ("pressure nine", Listening.CONFIRMING, True),
        ("pressure nine", Listening.CHECKING, True),
        ("pressure nine", Listening.ASLEEP, False),
        ("first", Listening.CHOOSING, False),
        ("confirm", Listening.CONFIRMING, False),
        ("no", Listening.CONFIRMING, False),
        ("[unk]", Listening.LISTENING, False),
    ],
)
def test_only_what_may_be_an_entry_is_heard_twice(
    text: str, state: Listening, is_to_be: bool
) -> None:
    """Words of the talk, other talk, and what is said before a leg are the first listener's alone."""
    heard = hearing((text, 40), ("[unk]", 10))
    assert is_asked(decide(heard, GRAMMAR, state, SETTINGS), state) is is_to_be


def test_what_was_cut_is_not_heard_twice() -> None:
    """Half an utterance stays half, whoever hears it; what was close or faint may be made out by two."""
    assert not is_asked(NotUnderstood(doubt=Doubt.CUT), STATE)
    assert is_asked(NotUnderstood(doubt=Doubt.CLOSE), STATE)


SCORES = st.floats(-60, 60)
TEXTS = st.sampled_from(
    [
        "pressure nine",
        "pressure five",
        "pressure fifteen",
        "pressure fifty",
        "confirm",
        "[unk]",
        "x",
    ]
)
HEARINGS = st.lists(st.tuples(TEXTS, SCORES), max_size=6).map(lambda one: hearing(*one))


@given(HEARINGS, HEARINGS)
def test_nothing_is_taken_that_neither_heard(first: Hearing, second: Hearing) -> None:
    """Probabilities add up to 1; whatever is taken or asked stands in one of the lists, and is not other talk as well."""
    alone = decide(first, GRAMMAR, STATE, SETTINGS)
    if not is_asked(alone, STATE):
        return
    one, other = (read(hearing, GRAMMAR, STATE, SETTINGS) for hearing in (first, second))
    together = put_together(one, other, WEIGHTS)
    shares, of_other = together.probabilities(WEIGHTS)
    assert sum(shares) + of_other == pytest.approx(1)
    decision, _ = decided(first, second)
    listed = {one.text for one in (*first.alternatives, *second.alternatives)}
    assert set(words(decision)) <= listed
    if isinstance(decision, Accept) and decision != alone:
        assert together.odds_of_other(WEIGHTS) < math.log(1 / WEIGHTS.accept - 1)


def test_the_shipped_weights_are_sane() -> None:
    """They can be read, and what they take is more probable than anything else together."""
    assert shipped_weights().accept > 0.5
