"""Speech that is made before it is needed."""

from __future__ import annotations

import threading

import numpy as np
import pytest

from voice.speech.ahead import Ahead
from voice.speech.synthesiser import SpeechError
from voice.speech.waveform import Waveform


class Counting:
    """Notes what it is to speak, and can be held up."""

    def __init__(self) -> None:
        self.spoken: list[str] = []
        self.begun = threading.Event()
        self.may_end = threading.Event()
        self.may_end.set()

    def speak(self, text: str) -> Waveform:
        """A sample for each letter."""
        self.spoken.append(text)
        self.begun.set()
        assert self.may_end.wait(5)
        if text == "broken":
            raise SpeechError("nothing can be spoken")
        return Waveform(np.ones(len(text), dtype=np.int16), 16_000)


def test_what_was_prepared_is_not_made_again() -> None:
    """A prepared text is made once, and given out when it is asked for, even while it is being made."""
    voice = Counting()
    ahead = Ahead(voice)
    voice.may_end.clear()
    ahead.prepare(["one", "one"])
    assert voice.begun.wait(5)
    voice.may_end.set()
    assert len(ahead.speak("one").samples) == 3
    assert voice.spoken == ["one"]
    ahead.close()


def test_what_was_not_prepared_is_made_at_once() -> None:
    """Another text than was foreseen waits for nothing, nor does one whose turn had not come."""
    voice = Counting()
    ahead = Ahead(voice)
    voice.may_end.clear()
    ahead.prepare(["foreseen", "behind it"])
    assert voice.begun.wait(5)
    threading.Timer(0.2, voice.may_end.set).start()
    assert len(ahead.speak("behind it").samples) == 9
    assert len(ahead.speak("other").samples) == 5
    ahead.prepare(["next"])
    ahead.close()
    assert voice.spoken[:3] == ["foreseen", "behind it", "other"]


def test_what_fails_is_told_when_it_is_due() -> None:
    """Preparing never fails; asking for what could not be made does."""
    ahead = Ahead(Counting())
    ahead.prepare(["broken"])
    with pytest.raises(SpeechError, match="nothing can be spoken"):
        ahead.speak("broken")
    ahead.close()
