"""Words and tones to sound, at their time."""

from __future__ import annotations

import time
from contextlib import suppress
from typing import TYPE_CHECKING, Protocol

from voice.capture.speaker import Speaker, SpeakerError
from voice.dialogue.actions import Tone
from voice.speech import tones
from voice.speech.waveform import joined

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from voice.session.mixdown import Mixdown
    from voice.speech.synthesiser import Synthesiser
    from voice.speech.waveform import Waveform

TONES = {
    Tone.HEARD: tones.RISING,
    Tone.NOT_UNDERSTOOD: tones.FALLING,
    Tone.KEPT: tones.SINGLE,
    Tone.TROUBLE: tones.THREE,
}
PAUSE_S = 0.2
"""Between a tone and words, or two sentences, of one turn."""
DEAF_AFTER_S = 0.25
"""How long after our own sound the microphone stays deaf: echoes, and sound still in the device."""


class Player(Protocol):
    """Something that plays sound."""

    def play(self, waveform: Waveform, at_s: float) -> float:
        """Play from ``at_s``, or after what still plays; when it will have ended.

        Times are on the source's clock, in s. Raises ``SpeakerError`` where nothing is heard.
        """

    def close(self) -> None:
        """Give the device back, when what plays has ended."""


class Aloud:
    """Plays through the speaker; a speaker that has gone is opened anew the next time."""

    def __init__(
        self,
        open_speaker: Callable[[], Speaker],
        clock: Callable[[], float],
        sleep: Callable[[float], None] = time.sleep,
    ) -> None:
        """``clock`` is the speaker's, in s; it need not start with the source's."""
        self._open = open_speaker
        self._clock = clock
        self._sleep = sleep
        self._speaker: Speaker | None = open_speaker()
        self._ends_s = 0.0  # on the speaker's clock

    def play(self, waveform: Waveform, at_s: float) -> float:
        """Play at once; see ``Player``."""
        if self._speaker is None:
            self._speaker = self._open()
        try:
            self._ends_s = self._speaker.play(waveform.samples, waveform.rate_hz)
        except SpeakerError:
            self._give_back()
            raise
        return at_s + self._ends_s - self._clock()

    def close(self) -> None:
        """Give the device back when the last word has been played."""
        if self._speaker is not None:
            self._sleep(max(0.0, self._ends_s - self._clock()))
            self._give_back()

    def _give_back(self) -> None:
        if self._speaker is not None:
            with suppress(Exception):  # a device that has gone may fail in any way
                self._speaker.close()
            self._speaker = None


class Silent:
    """Plays nothing, and takes as long as it would."""

    def __init__(self) -> None:
        self._ends_s = 0.0

    def play(self, waveform: Waveform, at_s: float) -> float:
        """Let time pass; see ``Player``."""
        self._ends_s = max(self._ends_s, at_s) + waveform.duration_s
        return self._ends_s

    def close(self) -> None:
        """There is no device."""


class Mouth:
    """Speaks, one turn at a time."""

    def __init__(
        self, synthesiser: Synthesiser, player: Player, mixdown: Mixdown | None = None
    ) -> None:
        self._synthesiser = synthesiser
        self._player = player
        self._mixdown = mixdown
        self.deaf_until_s = 0.0
        """Until when the microphone is deaf, on the source's clock."""

    def utter(self, turn: Sequence[Tone | str], at_s: float) -> float:
        """Speak the texts and play the tones of one turn; when they will have ended, in s.

        Raises ``SpeechError`` or ``SpeakerError`` where not all of it can be heard.
        """
        parts = [
            TONES[part] if isinstance(part, Tone) else self._synthesiser.speak(part)
            for part in turn
        ]
        waveform = joined(parts, PAUSE_S)
        ends_s = self._player.play(waveform, at_s)
        if self._mixdown is not None:
            self._mixdown.spoken(ends_s - waveform.duration_s, waveform)
        self.deaf_until_s = ends_s + DEAF_AFTER_S
        return ends_s

    def close(self) -> None:
        """Give the device back."""
        self._player.close()
