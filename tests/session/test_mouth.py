"""Words and tones at their time."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from tests.session.scripted import ScriptedVoice
from voice.capture.speaker import Speaker, SpeakerError
from voice.dialogue.actions import Tone
from voice.session.mouth import DEAF_AFTER_S, PAUSE_S, TONES, Aloud, Mouth, Silent
from voice.speech.espeak import EspeakNg
from voice.speech.waveform import Waveform

if TYPE_CHECKING:
    from numpy.typing import NDArray

SECOND = Waveform(np.ones(16_000, dtype=np.int16), 16_000)


class FakeSpeaker(Speaker):
    """A speaker that is done three seconds later than its clock says, or gone."""

    def __init__(self, *, gone: bool = False) -> None:
        self.gone = gone
        self.closed = False

    def play(self, samples: NDArray[np.int16], rate: int) -> float:
        """Done at 103 s."""
        assert len(samples) == rate
        if self.gone:
            raise SpeakerError("The speaker has gone.")
        return 103.0

    def stop(self) -> float:
        """Silent at 100 s."""
        return 100.0

    def close(self) -> None:
        """Remember it."""
        self.closed = True


def test_one_turn_is_one_sound() -> None:
    """Tone and words of a turn follow on each other after a short pause."""
    mouth = Mouth(ScriptedVoice(), Silent())
    ends_s = mouth.utter([Tone.TROUBLE, "one", "two"], 10.0)
    lasts_s = TONES[Tone.TROUBLE].duration_s + 2 * 1.0 + 2 * PAUSE_S
    assert ends_s == pytest.approx(10 + lasts_s, abs=0.001)
    assert mouth.deaf_until_s == ends_s + DEAF_AFTER_S


def test_a_long_text_is_spoken_sentence_by_sentence() -> None:
    """The first sentence sounds while the next is made, and all of it is told as one."""
    mouth = Mouth(ScriptedVoice(), Silent())
    long = "pressure, one eight: unconfirmed. output, two two; total, one four six millilitres"
    ends_s = mouth.utter([long], 0.0)
    assert ends_s == pytest.approx(4 * 1.0 + 3 * PAUSE_S, abs=0.001)
    assert mouth.words(0.0, ends_s) == long


@pytest.mark.parametrize("percent", [35, 70, 100])
def test_words_and_tones_are_as_loud_as_chosen(percent: int) -> None:
    """Both peak at the chosen share of full scale, and nothing is cut off at the top."""
    played: list[Waveform] = []

    class Player(Silent):
        def play(self, waveform: Waveform, at_s: float) -> float:
            played.append(waveform)
            return super().play(waveform, at_s)

    Mouth(EspeakNg(), Player(), volume_percent=percent).utter([Tone.KEPT, "confirm"], 0.0)
    peaks = [int(np.abs(sound.samples.astype(int)).max()) for sound in played]
    assert peaks == pytest.approx([327.67 * percent] * 2, abs=10)


class Slipping(Silent):
    """A speaker that runs dry."""

    late_s = 0.0

    def slipped_s(self) -> float:
        """As told."""
        return self.late_s


def test_the_microphone_is_deaf_until_the_last_word_has_sounded() -> None:
    """Where the speaker ran dry that is later than was thought; it is looked for at the end alone."""
    player = Slipping()
    mouth = Mouth(ScriptedVoice(), player)
    ends_s = mouth.utter(["one"], 0.0)
    player.late_s = 0.4
    assert not mouth.slipped(ends_s - 0.1)
    assert mouth.slipped(ends_s + 0.1)
    assert mouth.deaf_until_s == ends_s + 0.4 + DEAF_AFTER_S
    assert not mouth.slipped(ends_s + 0.1)
    player.late_s = 0.1
    assert not mouth.slipped(ends_s + 0.2)
    assert mouth.deaf_until_s == ends_s + 0.4 + DEAF_AFTER_S
    assert not mouth.slipped(ends_s + 1.0)


def test_what_is_cut_off_is_known() -> None:
    """At any time it is known which parts had not sounded, and a cut takes back nothing that had."""
    mouth = Mouth(ScriptedVoice(), Silent())
    mouth.utter(["one", "two", "three"], 0.0)
    assert mouth.unheard(0.5) == ("one", "two", "three")
    assert mouth.unheard(1.0) == ("two", "three")
    assert mouth.words(0.9, 1.3) == "one two"
    mouth.fall_silent(1.5)
    assert mouth.deaf_until_s == 1.5
    assert mouth.unheard(1.5) == ()
    assert mouth.words(0.0, 9.0) == "one two"
    assert mouth.utter(["four"], 2.0) == pytest.approx(3.0)


def test_parts_that_are_made_late_end_later() -> None:
    """The time that making a part takes is not lost: its end is told from when it was given."""
    now_s = iter([100.0, 100.5])
    player = Aloud(FakeSpeaker, lambda: next(now_s))
    assert player.play(SECOND, 7.0) == 10.0
    assert player.play(SECOND, 7.0) == 10.0
    player.stop()


def test_silent_player_takes_its_time() -> None:
    """What is played while something plays comes after it."""
    player = Silent()
    assert [player.play(SECOND, at_s) for at_s in (5.0, 5.2, 9.0)] == [6.0, 7.0, 10.0]


def test_speakers_clock_need_not_be_the_sources() -> None:
    """The end is told on the source's clock."""
    assert Aloud(FakeSpeaker, lambda: 100.0).play(SECOND, 7.0) == 10.0


def test_speaker_that_has_gone_is_opened_anew() -> None:
    """After a failure the speaker is given back, and the next words try a new one."""
    speakers = [FakeSpeaker(gone=True), FakeSpeaker()]
    left = iter(speakers)
    player = Aloud(lambda: next(left), lambda: 100.0, sleep=lambda _: None)
    with pytest.raises(SpeakerError):
        player.play(SECOND, 7.0)
    assert speakers[0].closed
    assert player.play(SECOND, 7.0) == 10.0
    player.close()
    assert speakers[1].closed


def test_last_words_are_played_out() -> None:
    """The speaker is given back only when all that it was given has been played."""
    speaker, slept_s = FakeSpeaker(), list[float]()
    player = Aloud(lambda: speaker, lambda: 100.0, slept_s.append)
    player.play(SECOND, 7.0)
    player.close()
    assert slept_s == [3.0]
    assert speaker.closed


def test_no_speaker_at_all() -> None:
    """Without a speaker from the start there is nothing to open anew."""

    def none_there() -> Speaker:
        raise SpeakerError("There is no speaker.")

    with pytest.raises(SpeakerError):
        Aloud(none_there, lambda: 0.0)
