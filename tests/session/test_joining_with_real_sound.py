"""Phrases that fall apart at a pause, with real sound, a real recogniser and a real voice."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from tests.session.room import Line, Room, spoken
from tests.session.talking_over import Bench, noise
from voice.dialogue.actions import Keep
from voice.entries.heard import SAMPLE_RATE, Segment
from voice.hearing.listener import VoskListener
from voice.hearing.segmenter import AROUND_S
from voice.meaning.decide import is_unknown
from voice.meaning.decision import Accept, Doubt, NotForUs, NotUnderstood
from voice.meaning.listening import Listening
from voice.session import kept_acceptors
from voice.session.progress import Spoken, Written

if TYPE_CHECKING:
    from tests.session.room import Sound

SAID = (
    "pressure fourteen", "eyes four verbal four motor two at zero two one one", "peep one five",
    "arterial carbon dioxide four point nine", "drained six mils", "fluid clear",
    "started norepinephrine at point one micrograms per kilo per minute",
)  # fmt: skip
BROKEN = (
    ("eyes four v four motor two", "at zero two one one"),
    ("arterial carbon dioxide", "four point nine"),
    ("at ten seventeen", "c s f is clear"),
    ("head of bed", "twenty"),
)


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Bench:
    """A session's parts, loaded once."""
    return Bench(tmp_path_factory.mktemp("legs"))


def segment(text: str, snr_db: float | None = None, voice: str = "slt") -> Segment:
    """A phrase as the detector would cut it out."""
    around = np.zeros(round(AROUND_S * SAMPLE_RATE))
    sound: Sound = np.concatenate((around, spoken(text, voice), around))
    if snr_db is not None:
        sound = sound + np.resize(noise(snr_db), len(sound))
    samples = np.clip(np.rint(sound), -32768, 32767).astype(np.int16)
    return Segment(0.0, samples, len(samples) / SAMPLE_RATE - AROUND_S)


@pytest.mark.parametrize("snr_db", [None, 10.0])
def test_whole_phrases_are_heard_as_without_beginnings(bench: Bench, snr_db: float | None) -> None:
    """The same phrases come out of the same sound, in the same order and with the same scores."""
    state = Listening.CONFIRMING
    model = bench.equipment.model
    strict = VoskListener(model.opened, kept_acceptors.acceptor(bench.equipment.grammar, state))
    for text in SAID:
        sound = segment(text, snr_db)
        hearing, decision = bench.ears.make_out(sound, state)
        before = strict.hear(sound).alternatives
        assert isinstance(decision, Accept)
        assert [one.text for one in hearing.alternatives] == [one.text for one in before]
        for one, as_before in zip(hearing.alternatives, before, strict=True):
            assert one.score == pytest.approx(as_before.score, abs=0.01)  # sums in another order


@pytest.mark.parametrize("voice", ["slt", "rms", "en-us+f3"])
@pytest.mark.parametrize(
    "text",
    [
        "pressure fourteen and drained six mils",
        "no wait drain open",
        "drain clamped no wait drain open",
        "confirm drained six mils",
        "confirm heart rate eighty eight pressure twelve",
        "okay drained six mils",
        "okay so heart rate eighty eight",
    ],
)
def test_what_a_hurried_nurse_says_is_heard(bench: Bench, text: str, voice: str) -> None:
    """Nor an "and" between two entries as a digit, nor "no wait", "confirm" or "okay" before one as other talk."""
    _, decision = bench.ears.make_out(segment(text, voice=voice), Listening.CONFIRMING)
    assert isinstance(decision, Accept)
    assert decision.heard.text == text


@pytest.mark.parametrize("voice", ["slt", "rms", "en-us+f3"])
def test_a_value_alone_as_second_thought_is_told(bench: Bench, voice: str) -> None:
    """The first value is not kept, and the words can be named."""
    text = "pressure fourteen no wait sixteen"
    hearing, decision = bench.ears.make_out(segment(text, voice=voice), Listening.LISTENING)
    assert decision == NotUnderstood(doubt=Doubt.UNFINISHED)
    assert hearing.beginnings[0].text == text


@pytest.mark.parametrize(
    ("text", "voice"),
    [("come on pupils four reactive", "kal16"), ("come on temperature thirty seven", "rms")],
)
def test_no_other_word_before_an_entry_confirms(bench: Bench, text: str, voice: str) -> None:
    """However clearly the entry is heard, what sounds like "confirm" before it is held against any speech."""
    sound = segment(text, 5.0, voice)
    hearing, decision = bench.ears.make_out(sound, Listening.CONFIRMING)
    assert any(one.text.startswith("confirm ") for one in hearing.alternatives)
    assert decision == NotForUs()


def test_no_other_word_leads_into_an_entry(bench: Bench) -> None:
    """What sounds like "okay" before an entry is held against any speech, and loses."""
    sound = segment("hockey pressure fourteen", voice="rms")
    hearing, decision = bench.ears.make_out(sound, Listening.CONFIRMING)
    assert any(one.text.startswith("okay ") for one in hearing.alternatives)
    assert decision == NotForUs()


@pytest.mark.parametrize("text", ["okay", "okay so"])
def test_a_lead_in_alone_is_said_to_anybody(bench: Bench, text: str) -> None:
    """It is no phrase that broke off: nothing is waited for or asked."""
    _, decision = bench.ears.make_out(segment(text), Listening.CONFIRMING)
    assert decision == NotForUs()


@pytest.mark.parametrize("snr_db", [None, 10.0])
@pytest.mark.parametrize(
    "text", ["arterial carbon dioxide", "at ten seventeen", "fentanyl fifty", "catheter placed on"]
)
def test_nothing_is_made_up_to_end_a_phrase(bench: Bench, text: str, snr_db: float | None) -> None:
    """A phrase that broke off is heard as that, and makes no entry."""
    hearing, decision = bench.ears.make_out(segment(text, snr_db), Listening.LISTENING)
    assert decision == NotUnderstood(doubt=Doubt.UNFINISHED)
    assert hearing.beginnings[0].text == text
    assert all(is_unknown(one) or one not in hearing.beginnings for one in hearing.alternatives)


@pytest.mark.parametrize(
    ("pause_s", "snr_db"),
    [
        (1.0, 10.0),
        *(
            pytest.param(*one, marks=pytest.mark.slow)
            for one in ((0.7, None), (1.5, None), (2.4, 10.0))
        ),
    ],
)
def test_halves_become_one_entry(bench: Bench, pause_s: float, snr_db: float | None) -> None:
    """Whatever the pause, what counts at the end is the whole, and it was read back last."""
    lines = [Line("start leg"), Line("what is unconfirmed")]
    for first, rest in BROKEN:
        lines += [Line(first, pause_s=pause_s, rest=rest), Line("confirm")]
    sound = None if snr_db is None else noise(snr_db)
    room = Room(lines, noise=sound, voice="slt", patience_s=3.0)
    told = bench.sit(room)
    kept: dict[int, str] = {}
    for one in told:
        if isinstance(one, Written) and isinstance(one.action, Keep):
            kept.pop(one.action.replaces or 0, None)
            kept[one.action.number] = one.action.text
    assert list(kept.values()) == [f"{first} {rest}" for first, rest in BROKEN]
    spoken_last = [one.text for one in told if isinstance(one, Spoken)][-1]
    assert spoken_last == "head of bed, two zero"
