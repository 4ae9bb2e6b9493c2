"""A lead-in, as "okay": it may stand before an entry or a question, means nothing, and has to be heard."""

from __future__ import annotations

import random

import pytest

from tests.dialogue.talking import SETTINGS, meaning_of
from tests.meaning.acceptors import accepts
from voice.entries.heard import Alternative, Hearing
from voice.entries.said import Command
from voice.meaning.decide import decide
from voice.meaning.decision import Accept, NotForUs
from voice.meaning.expression import wordings
from voice.meaning.grammar import load_grammar
from voice.meaning.leading_in import ROOM, led_into, with_rival
from voice.meaning.listening import Listening
from voice.meaning.phrase import STATEMENT_STATES
from voice.meaning.readback import read_back
from voice.meaning.unfinished import Lacks

GRAMMAR = load_grammar()
STATE = Listening.CONFIRMING
LEAD_INS = [" ".join(w) for p in GRAMMAR.phrases if p.lead_in for w in wordings(p.expression)]
DRAWN = 200


def test_what_stands_behind_it_means_what_it_means_alone() -> None:
    """With a lead-in an entry, a breath, a correction or a question is legal, means the same and is read back alike."""
    rng = random.Random(7)
    acceptor = GRAMMAR.acceptor(STATE)
    for number in range(DRAWN):
        text, said = GRAMMAR.sample(rng, STATE)
        if isinstance(said, Command) or text.split()[0] in {"confirm", *LEAD_INS[0].split()}:
            continue
        led = f"{LEAD_INS[number % len(LEAD_INS)]} {text}"
        assert GRAMMAR.parse(led, SETTINGS, STATE) == GRAMMAR.parse(text, SETTINGS, STATE), led
        assert accepts(acceptor, led)
        assert read_back(meaning_of(led), SETTINGS) == read_back(said, SETTINGS)


@pytest.mark.parametrize("lead_in", LEAD_INS)
@pytest.mark.parametrize(
    "text",
    [
        "confirm", "no", "negative", "scratch that", "confirm drained six mils", "stand by", "end leg",
        "start leg", "yes", "skip that", "first", "one five", "",
    ],
)  # fmt: skip
def test_nothing_is_settled_behind_it(lead_in: str, text: str) -> None:
    """No word of the talk may have a lead-in, "confirm" before all, and none is one itself."""
    for state in Listening:
        assert not GRAMMAR.is_phrase(f"{lead_in} {text}", state)


@pytest.mark.parametrize("lead_in", LEAD_INS)
def test_it_stands_at_the_beginning_and_once(lead_in: str) -> None:
    """Not behind an entry, between two, behind a correction, or twice: there nobody has said why."""
    for text in (
        f"drain clamped {lead_in}",
        f"heart rate eighty eight {lead_in} pressure fourteen",
        f"correction {lead_in} pressure fourteen",
        f"{lead_in} {lead_in} pressure fourteen",
    ):
        assert GRAMMAR.parse(text, SETTINGS) == ()


def test_it_is_heard_where_entries_are() -> None:
    """Neither before a leg nor while two readings are offered."""
    for state in Listening:
        legal = GRAMMAR.is_phrase("okay pressure fourteen", state)
        assert legal == (state in STATEMENT_STATES)


def test_it_goes_behind_an_attention_word() -> None:
    """Where entries are called for it stands behind the call, and calls nothing itself."""
    guarded = GRAMMAR.guarded("secretary")
    assert guarded.is_phrase("secretary okay pressure fourteen", STATE)
    assert not guarded.is_phrase("okay pressure fourteen", STATE)
    assert guarded.is_lead_in("secretary okay")
    assert not guarded.is_lead_in("secretary")


def hearing(*texts: str) -> Hearing:
    """These, each a little less likely than the one before."""
    return Hearing(tuple(Alternative(text, 40.0 - 2 * n) for n, text in enumerate(texts)))


def test_other_speech_is_its_rival() -> None:
    """Where a lead-in is likeliest, other speech is tried in its place, behind the same call."""
    acceptor = led_into(hearing("okay so pressure fourteen", "okay pressure forty"), GRAMMAR)
    assert acceptor is not None
    for text in ("[unk] pressure fourteen", "[unk] pressure forty"):
        assert accepts(acceptor, text)
    assert not accepts(acceptor, "pressure fourteen")
    called = led_into(hearing("secretary okay pressure fourteen"), GRAMMAR.guarded("secretary"))
    assert called is not None
    assert accepts(called, "secretary [unk] pressure fourteen")
    for texts in (("pressure fourteen", "okay pressure fourteen"), ("okay",), ("[unk]",), ()):
        assert led_into(hearing(*texts), GRAMMAR) is None


OTHER = Hearing((Alternative("[unk] pressure fourteen", 40.0), Alternative("[unk]", 0.0)))


@pytest.mark.parametrize("lead", [0.5, -0.5])
def test_it_counts_only_where_other_speech_is_no_likelier(lead: float) -> None:
    """Where other speech in its place leads by enough the entry is passed over, else that does not count at all."""
    heard = Hearing(
        (Alternative("okay pressure fourteen", 40.0 - ROOM + lead), Alternative("[unk]", 30.0))
    )
    decision = decide(with_rival(heard, OTHER, GRAMMAR), GRAMMAR, STATE, SETTINGS)
    assert isinstance(decision, Accept if lead > 0 else NotForUs)


def test_before_a_confirm_other_speech_counts_though_it_is_behind() -> None:
    """The rival of a "confirm" stays in the list: by how much it is led is asked for."""
    heard = Hearing((Alternative("confirm pressure fourteen", 43.0), Alternative("[unk]", 30.0)))
    assert OTHER.alternatives[0] in with_rival(heard, OTHER, GRAMMAR).alternatives


def test_what_broke_off_behind_it_is_asked_for_as_without() -> None:
    """The rest that is lacking is that of the entry, and a second thought is one behind an entry."""
    assert GRAMMAR.lacks("okay pressure", STATE) is Lacks.NUMBER
    assert GRAMMAR.lacks("okay at nine", STATE) is Lacks.ENTRY
    assert not GRAMMAR.has_second_thought("okay correction pressure eighteen", STATE)
    assert GRAMMAR.has_second_thought("okay drain clamped no wait drain open", STATE)
