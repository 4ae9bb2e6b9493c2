"""Words and tones to sound, at their time."""

from __future__ import annotations

import re
import time
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Protocol

import numpy as np

from voice.capture.speaker import Speaker, SpeakerError
from voice.dialogue.actions import Tone
from voice.speech import tones
from voice.speech.ahead import Ahead
from voice.speech.manner import Manner

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from numpy.typing import NDArray

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
LONG = 60
"""Letters from which on a text is spoken sentence by sentence: the first sounds while the next is made."""
PREPARED = 2
"""Sentences of a turn that are made before it is sure to come: the next are made while the first sounds."""
DEAF_AFTER_S = 0.25
"""How long after our own sound the microphone stays deaf: echoes, and sound still in the device."""


class Player(Protocol):
    """Something that plays sound."""

    def play(self, waveform: Waveform, at_s: float) -> float:
        """Play from ``at_s``, or after what still plays; when it will have ended.

        All parts of one turn come with the time at which that began.
        Times are on the source's clock, in s. Raises ``SpeakerError`` where nothing is heard.
        """

    def slipped_s(self) -> float:
        """How much later than ``play`` told the last sound will have ended, in s; mostly 0."""

    def stop(self) -> None:
        """Fall silent at once; what was still to be played is dropped."""

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
        self._turn_s = (-1.0, 0.0)  # when the turn began, on the source's clock and the speaker's

    def play(self, waveform: Waveform, at_s: float) -> float:
        """Play at once; see ``Player``."""
        if self._speaker is None:
            self._speaker = self._open()
        if at_s != self._turn_s[0]:
            self._turn_s = (at_s, self._clock())
        try:
            self._ends_s = self._speaker.play(waveform.samples, waveform.rate_hz)
        except SpeakerError:
            self._give_back()
            raise
        return at_s + self._ends_s - self._turn_s[1]

    def slipped_s(self) -> float:
        """See ``Speaker.slipped_s``."""
        return 0.0 if self._speaker is None else self._speaker.slipped_s()

    def stop(self) -> None:
        """Fall silent; see ``Player``."""
        if self._speaker is not None:
            self._ends_s = self._speaker.stop()

    def place_of(self, at_s: float) -> int | None:
        """See ``Speaker.place_of``; ``at_s`` is on the speaker's clock."""
        return None if self._speaker is None else self._speaker.place_of(at_s)

    def played(self, first: int, count: int) -> NDArray[np.int16]:
        """See ``Speaker.played``."""
        if self._speaker is None:
            return np.zeros(count, dtype=np.int16)
        return self._speaker.played(first, count)

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

    def slipped_s(self) -> float:
        """Nothing slips."""
        return 0.0

    def stop(self) -> None:
        """Nothing is to come any more."""
        self._ends_s = 0.0

    def close(self) -> None:
        """There is no device."""


@dataclass(frozen=True, slots=True)
class _Part:
    """A tone or a sentence of a turn, and when it sounds, on the source's clock."""

    what: Tone | str
    start_s: float
    end_s: float


class Mouth:
    """Speaks, one turn at a time."""

    def __init__(
        self,
        synthesiser: Synthesiser,
        player: Player,
        mixdown: Mixdown | None = None,
        *,
        volume_percent: int = Manner().volume_percent,
    ) -> None:
        """Speak and play at so many % of full scale."""
        self._voice = Ahead(synthesiser)
        self._volume_percent = volume_percent
        self._player = player
        self._mixdown = mixdown
        self._parts: list[_Part] = []  # what sounds, or sounded last
        self._ends_s = 0.0  # when we will have ended, as it was told when we began
        self.deaf_until_s = 0.0
        """Until when the microphone is deaf, on the source's clock."""

    def prepare(self, turn: Sequence[Tone | str]) -> None:
        """Make the first words of a turn that may come next; returns at once, and whatever fails is told then."""
        texts = [what for what in _parts(turn) if not isinstance(what, Tone)]
        self._voice.prepare(texts[:PREPARED])

    def utter(self, turn: Sequence[Tone | str], at_s: float) -> float:
        """Speak the texts and play the tones of one turn; when they will have ended, in s.

        The first part sounds while the next is made. Raises ``SpeechError`` or ``SpeakerError`` where
        not all of it can be heard.
        """
        self._parts = [part for part in self._parts if part.end_s > at_s]
        ends_s, pause_s = at_s, 0.0
        for what in _parts(turn):
            sound = TONES[what] if isinstance(what, Tone) else self._voice.speak(what)
            sound = sound.at_volume(self._volume_percent)
            ends_s = self._player.play(sound.after(pause_s), at_s)
            start_s, pause_s = ends_s - sound.duration_s, PAUSE_S
            self._parts.append(_Part(what, start_s, ends_s))
            self._ends_s, self.deaf_until_s = ends_s, ends_s + DEAF_AFTER_S
            if self._mixdown is not None:
                self._mixdown.spoken(start_s, sound)
        return ends_s

    def slipped(self, at_s: float) -> bool:
        """Whether, as is seen at ``at_s``, we end later than was thought; then the microphone is deaf for longer.

        On a machine that is too busy the speaker runs dry, and plays on later: our own words would be heard as
        somebody's. It is looked for only where we should have ended: until then what was late may be made up for.
        """
        if not self._ends_s <= at_s < self.deaf_until_s:
            return False
        until_s = self._ends_s + self._player.slipped_s() + DEAF_AFTER_S
        slipped = until_s > self.deaf_until_s
        self.deaf_until_s = max(self.deaf_until_s, until_s)
        return slipped

    def unheard(self, at_s: float) -> tuple[Tone | str, ...]:
        """What had not sounded to its end by ``at_s``, in order; nothing, if only tones had not."""
        left = tuple(part.what for part in self._parts if part.end_s > at_s)
        return left if any(not isinstance(what, Tone) for what in left) else ()

    def words(self, from_s: float, to_s: float) -> str:
        """All texts that sounded in that time, whole."""
        return " ".join(
            part.what
            for part in self._parts
            if isinstance(part.what, str) and part.start_s < to_s and part.end_s > from_s
        )

    def fall_silent(self, at_s: float) -> None:
        """Say no more, and be deaf no more."""
        self._player.stop()
        self._ends_s = self.deaf_until_s = at_s
        self._parts = [
            replace(part, end_s=min(part.end_s, at_s))
            for part in self._parts
            if part.start_s < at_s
        ]

    def close(self) -> None:
        """Give the device back."""
        self._voice.close()
        self._player.close()


def _parts(turn: Sequence[Tone | str]) -> Iterator[Tone | str]:
    """Tones and texts, long ones sentence by sentence."""
    for what in turn:
        if isinstance(what, Tone) or len(what) < LONG:
            yield what
        else:
            yield from re.split(r"(?<=[.;:?]) ", what)
