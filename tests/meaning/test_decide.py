"""The decision on one hearing."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice.entries.heard import Alternative, Hearing
from voice.entries.kinds.drain import Pressure
from voice.entries.leg import LegSettings
from voice.entries.said import Choice, Command, Statement, Talk
from voice.meaning.decide import Likeliest, Thresholds, decide
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

GRAMMAR = load_grammar()
SETTINGS = LegSettings()
LINES = Thresholds(entry=6, confirm=3, command=1, margin=3, twin_margin=5, command_margin=4)
CLOSE = NotUnderstood(doubt=Doubt.CLOSE)


def decided(
    *alternatives: tuple[str, float],
    state: Listening = Listening.CONFIRMING,
    cut: bool = False,
) -> Decision:
    """The decision on these words and scores."""
    hearing = Hearing(tuple(Alternative(text, score) for text, score in alternatives))
    return decide(hearing, GRAMMAR, state, SETTINGS, cut=cut, thresholds=LINES)


def accepted(decision: Decision) -> str:
    """The words that were taken."""
    assert isinstance(decision, Accept)
    return decision.heard.text


def asked(decision: Decision) -> tuple[str, str]:
    """The words between which the nurse is asked, the likelier first."""
    assert isinstance(decision, AskBetween)
    return decision.first.text, decision.second.text


def test_clear_phrase_is_taken_with_its_meaning() -> None:
    """A phrase that nothing comes near is taken."""
    decision = decided(("pressure nine", 40), ("pressure five", 20))
    assert isinstance(decision, Accept)
    assert decision.heard.meaning == Statement(entry=Pressure(value=9, unit="mmHg"))


def test_order_of_the_list_does_not_matter() -> None:
    """The likeliest is the one with the greatest score, wherever it stands."""
    assert accepted(decided(("pressure five", 20), ("pressure nine", 40))) == "pressure nine"


def test_other_words_for_the_same_meaning_are_no_rival() -> None:
    """Alternatives that mean the same count as one, by the likeliest words."""
    decision = decided(("pressure nine", 40), ("i c p nine", 39.9), ("pressure is nine", 39.8))
    assert accepted(decision) == "pressure nine"


@pytest.mark.parametrize(("lead", "question"), [(0.0, True), (2.9, True), (3.0, False)])
def test_near_rival_of_the_same_kind_is_asked_about(lead: float, question: bool) -> None:
    """Another value within the margin leads to a question, at the margin it does not."""
    decision = decided(("pressure nine", 40), ("pressure five", 40 - lead))
    if question:
        assert asked(decision) == ("pressure nine", "pressure five")
    else:
        assert accepted(decision) == "pressure nine"


@pytest.mark.parametrize(("lead", "question"), [(4.9, True), (5.0, False)])
def test_twin_needs_more_room(lead: float, question: bool) -> None:
    """A teen against its ten is asked about up to the wider margin."""
    decision = decided(("pressure fifteen", 40), ("pressure fifty", 40 - lead))
    assert isinstance(decision, AskBetween if question else Accept)


def test_one_drug_for_another_is_asked_about_however_far_behind() -> None:
    """As shipped, another drug with the same dose is asked about where it is in the list at all."""
    said = ("pentobarbital fifty milligrams", "phenobarbital fifty milligrams")
    hearing = Hearing((Alternative(said[0], 40), Alternative(said[1], 34)))
    assert asked(decide(hearing, GRAMMAR, Listening.CONFIRMING, SETTINGS)) == said


def test_opposite_reactions_are_asked_about_however_far_behind() -> None:
    """As shipped, a fixed pupil is never taken for a reactive one while the other is in the list."""
    said = ("pupils four and reactive", "pupils four unreactive")
    for texts in (said, said[::-1]):
        hearing = Hearing((Alternative(texts[0], 40), Alternative(texts[1], 34)))
        assert asked(decide(hearing, GRAMMAR, Listening.CONFIRMING, SETTINGS)) == texts


@pytest.mark.parametrize(("lead", "taken"), [(4.9, False), (5.0, True)])
def test_twin_without_a_meaning_needs_more_room(lead: float, taken: bool) -> None:
    """Where thirty would need its unit, a thirteen is taken only as far ahead as of any twin."""
    decision = decided(("glucose thirteen", 40), ("glucose thirty", 40 - lead))
    assert decision == (decision if taken else CLOSE)
    assert isinstance(decision, Accept) == taken


def test_twin_is_found_behind_other_alternatives() -> None:
    """The twin is searched for in the whole list, and its digits count as much as its word."""
    far = [(f"pressure sixty {n}", 34.0) for n in ("one", "two", "three", "four", "five")]
    decision = decided(("pressure fifteen", 40), *far, ("pressure five zero", 35.5))
    assert asked(decision) == ("pressure fifteen", "pressure five zero")


def test_near_rival_of_another_kind_is_not_understood() -> None:
    """Between two kinds of entry nobody is asked: it has to be said again."""
    assert decided(("pressure nine", 40), ("oxygen ninety", 38)) == CLOSE


def test_two_near_rivals_are_not_understood() -> None:
    """With three readings within the margins no question between two is put."""
    decision = decided(("pressure nine", 40), ("pressure five", 39), ("pressure four", 38))
    assert decision == CLOSE


@pytest.mark.parametrize(("lead", "taken"), [(3.9, False), (4.0, True)])
@pytest.mark.parametrize("command_first", [True, False])
def test_words_of_the_talk_need_more_room(lead: float, taken: bool, command_first: bool) -> None:
    """A word of the talk is taken, or passed over, only with the wider margin."""
    texts = ("confirm", "pressure nine") if command_first else ("pressure nine", "confirm")
    decision = decided((texts[0], 40), (texts[1], 40 - lead))
    assert decision == (decision if taken else CLOSE)
    assert isinstance(decision, Accept) == taken


def test_unknown_speech_is_not_for_us() -> None:
    """Where other speech is likelier than any phrase, nothing is said."""
    assert decided(("[unk]", 40), ("pressure nine", 39)) == NotForUs()


@pytest.mark.parametrize(
    ("text", "line"), [("pressure nine", 6), ("confirm", 3), ("scratch that", 1)]
)
def test_unknown_speech_close_behind_is_not_understood(text: str, line: float) -> None:
    """What hardly beats other speech is not taken, and each sort of phrase has its own line."""
    assert accepted(decided((text, 40), ("[unk]", 40 - line))) == text
    close = decided((text, 40), ("[unk]", 40 - line + 0.1))
    assert close == NotUnderstood(doubt=Doubt.FAINT)


def test_unknown_speech_far_behind_is_no_rival() -> None:
    """Other speech within a rival's margin does not stand in the way of a question."""
    decision = decided(("pressure nine", 40), ("pressure five", 39), ("[unk]", 34))
    assert asked(decision) == ("pressure nine", "pressure five")


def test_words_without_meaning_are_not_understood() -> None:
    """Values that cannot stand together are not replaced by the next best ones in silence."""
    decision = decided(
        ("blood pressure eighty over one twenty", 90),
        ("blood pressure one eighty over one twenty", 80),
    )
    assert decision == CLOSE


def test_nothing_heard_is_not_understood() -> None:
    """An empty list is told and not passed over."""
    assert decided() == NotUnderstood(doubt=Doubt.NO_WORDS)


def test_cut_segment_is_never_taken() -> None:
    """Half an utterance may be another phrase, so it has to be said again."""
    assert decided(("pressure nine", 40), cut=True) == NotUnderstood(doubt=Doubt.CUT)
    assert decided(("[unk]", 40), cut=True) == NotForUs()


def test_state_decides_what_is_legal() -> None:
    """What is not legal in the state has no meaning there."""
    assert decided(("first", 40), state=Listening.LISTENING) == CLOSE
    choice = decided(("one five", 40), state=Listening.CHOOSING)
    assert isinstance(choice, Accept)
    assert choice.heard.meaning == Choice(value=15)


@pytest.mark.parametrize(
    ("listed", "phrase", "other", "lead"),
    [
        ([("[unk]", 2), ("pressure nine", 4), ("no", 3), ("[unk] nine", 1)], "pressure nine", "[unk]", 2),
        ([("no", 3)], "no", None, math.inf),
        ([("[unk]", 2)], None, "[unk]", -math.inf),
        ([], None, None, -math.inf),
    ],
)  # fmt: skip
def test_what_is_not_in_the_list_is_infinitely_unlikely(
    listed: list[tuple[str, float]], phrase: str | None, other: str | None, lead: float
) -> None:
    """Other talk that is not listed never leads a phrase, and a phrase that is not listed never leads."""
    best = Likeliest.of(Alternative(text, score) for text, score in listed)
    assert [one and one.text for one in (best.phrase, best.other)] == [phrase, other]
    assert best.lead == lead


def test_no_question_within_a_question() -> None:
    """While the nurse chooses, a doubtful choice is not understood."""
    state = Listening.CHOOSING
    assert decided(("one five", 40), ("one nine", 39), state=state) == CLOSE


def test_phrase_with_two_meanings_is_asked_about() -> None:
    """One and the same words with two meanings are a question, not a guess."""
    text = "heart rate one hundred twenty five minutes ago"
    decision = decided((text, 90))
    assert asked(decision) == (text, text)
    assert isinstance(decision, AskBetween)
    assert decision.first.meaning != decision.second.meaning


TEXTS = [
    "pressure fifteen", "pressure fifty", "pressure nine", "oxygen ninety", "confirm", "[unk]",
    "blood pressure eighty over one twenty", "correction pressure fifteen", "scratch that",
]  # fmt: skip


@given(
    st.lists(st.tuples(st.sampled_from(TEXTS), st.floats(-50, 100)), max_size=10),
    st.sampled_from(Listening),
)
def test_only_the_likeliest_is_ever_taken(
    alternatives: list[tuple[str, float]], state: Listening
) -> None:
    """What is taken is the likeliest and leads every other meaning by the margin."""
    decision = decided(*alternatives, state=state)
    if isinstance(decision, Accept):
        text, score = max(alternatives, key=lambda a: a[1])
        (meaning,) = GRAMMAR.parse(text, SETTINGS, state)
        assert decision.heard.meaning == meaning
        for other, other_score in alternatives:
            if GRAMMAR.parse(other, SETTINGS, state) != (meaning,):
                assert score - other_score >= (1 if other == "[unk]" else LINES.margin)


@given(
    st.lists(st.tuples(st.sampled_from(TEXTS), st.floats(20, 100)), min_size=1, max_size=10),
    st.floats(0, 50),
)
def test_clearer_lead_never_makes_doubt(alternatives: list[tuple[str, float]], more: float) -> None:
    """To raise the likeliest further above the rest never turns a taken phrase into a doubt."""
    before = decided(*alternatives)
    text, score = max(alternatives, key=lambda a: a[1])
    if isinstance(before, Accept):
        assert decided(*alternatives, (text, score + more)) == before


@pytest.mark.parametrize(
    ("text", "needed"),
    [("no", LINES.command), ("resume", LINES.command), ("later ten minutes", LINES.entry)],
)
def test_a_word_of_the_talk_with_a_number_must_lead_as_an_entry(text: str, needed: float) -> None:
    """Short words need little; "later ten minutes", which talk was taken for, as much as an entry."""
    assert accepted(decided((text, 40), ("[unk]", 40 - needed))) == text
    assert decided((text, 40), ("[unk]", 40.1 - needed)) == NotUnderstood(doubt=Doubt.FAINT)


def test_confirm_alone_is_taken() -> None:
    """The word that confirms is understood when it is clear."""
    decision = decided(("confirm", 30))
    assert isinstance(decision, Accept)
    assert decision.heard.meaning == Command(talk=Talk.CONFIRM)


def broken_off(
    whole: tuple[tuple[str, float], ...], beginning: tuple[str, float], *, cut: bool = False
) -> Decision:
    """The decision where a beginning of a phrase was heard beside whole ones."""
    hearing = Hearing(
        tuple(Alternative(text, score) for text, score in whole),
        beginnings=(Alternative(*beginning),),
    )
    return decide(hearing, GRAMMAR, Listening.CONFIRMING, SETTINGS, cut=cut, thresholds=LINES)


UNFINISHED = NotUnderstood(doubt=Doubt.UNFINISHED)


@pytest.mark.parametrize(("behind", "broke_off"), [(-10.0, True), (2.9, True), (3.1, False)])
def test_a_beginning_that_is_as_likely_makes_nothing_up(behind: float, broke_off: bool) -> None:
    """An entry is taken only where the beginning of a phrase is well behind it."""
    found = broken_off(
        (("arterial carbon dioxide two", 40), ("[unk]", 10)),
        ("arterial carbon dioxide", 40 - behind),
    )
    assert (found == UNFINISHED) is broke_off
    assert isinstance(found, Accept) is not broke_off


@pytest.mark.parametrize(("lead", "found"), [(5.1, UNFINISHED), (4.9, NotForUs())])
def test_a_beginning_has_to_lead_other_talk(lead: float, found: Decision) -> None:
    """What is hardly likelier than other talk is as it would be without beginnings."""
    whole = (("[unk]", 10.0), ("peep two", 8.0))
    assert broken_off(whole, ("peep", 10.0 + lead)) == found


def test_a_beginning_alone_is_never_passed_over_in_silence() -> None:
    """Where no whole phrase was heard at all, what is likelier than other talk is at least not understood."""
    assert broken_off((("[unk]", 10.0),), ("peep", 12.0)) == NotUnderstood(doubt=Doubt.NO_WORDS)
    assert broken_off((("[unk]", 10.0),), ("peep", 9.0)) == NotForUs()


def test_a_breath_after_a_phrase_is_no_beginning() -> None:
    """More words than a whole phrase has must be likelier than it, and a word of the talk likewise."""
    whole = (("pressure nine", 40.0), ("[unk]", 10.0))
    assert isinstance(broken_off(whole, ("pressure nine a", 39.0)), Accept)
    assert broken_off(whole, ("pressure nine point", 41.0)) == UNFINISHED
    talk = (("say again", 20.0), ("[unk]", 0.0))
    assert isinstance(broken_off(talk, ("say", 19.0)), Accept)


def test_a_cut_segment_is_told_as_cut() -> None:
    """Where the detector cannot vouch for the sound, a beginning tells nothing."""
    whole = (("peep two", 20.0), ("[unk]", 0.0))
    assert broken_off(whole, ("peep", 30.0), cut=True) == NotUnderstood(doubt=Doubt.CUT)


def test_a_time_that_may_be_an_entry_is_asked_about() -> None:
    """A time before an entry and another entry before it are asked between, like twins."""
    timed, two = "at ten seventeen c s f is clear", "peep seventeen c s f is clear"
    assert asked(decided((two, 40), (timed, 36))) == (two, timed)
    assert asked(decided((timed, 40), (two, 36))) == (timed, two)
    assert accepted(decided((two, 40), (timed, 34))) == two
    assert accepted(decided((two, 40), ("at ten seventeen drain clamped", 36))) == two
