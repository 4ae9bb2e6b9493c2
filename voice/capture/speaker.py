"""The speaker or headset."""

from __future__ import annotations

import math
import threading
from collections import deque
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
import soxr

from voice.capture.depth import Depth
from voice.capture.devices import USUAL, Direction, Presence, routed
from voice.capture.microphone import SampleClock
from voice.capture.portaudio import begin, let_go, portaudio
from voice.entries.errors import LegbookError
from voice.entries.heard import SAMPLE_RATE

if TYPE_CHECKING:
    from collections.abc import Callable
    from types import TracebackType
    from typing import Self

    from numpy.typing import NDArray

GONE_S = 1.0
"""Without a request for sound for this long the device is gone."""
FADE_S = 0.005
"""How long sound fades when it is cut off; without it there is a click."""
REMEMBERED_S = 10.0
"""How long it is known what was played."""


class SpeakerError(LegbookError):
    """There is no speaker, it is refused, or it has gone."""


@dataclass(frozen=True, slots=True, eq=False)
class _Played:
    """A sound that was, or will be, handed to the device."""

    first: int
    """Its place in all that is handed over, silence too, counted in samples of ``SAMPLE_RATE``."""
    samples: NDArray[np.int16]

    @property
    def end(self) -> int:
        return self.first + len(self.samples)


class Speaker:
    """One output stream that stays open, so that no word loses its beginning.

    ``clock`` is monotonic, in s. Use as a context manager, or ``close()`` it.
    """

    def __init__(self, device: str | int | None, clock: Callable[[], float]) -> None:
        """Open ``device``: a part of its name, its number, or ``None`` for the default.

        Raises ``SpeakerError`` where there is none or it is refused.
        """
        self._clock = clock
        self._lock = threading.Lock()
        self._waiting = np.zeros(0, dtype=np.int16)
        self._handed = 0  # samples handed to the device since it was opened, silence too
        self._times = SampleClock()
        self._opened_s = math.nan  # when the first of them was, by the last look at the clock
        self._asked_s = clock()
        self._ends_s = self._asked_s  # when the last sound will have been heard
        self._ended_s = -math.inf  # when it will, as was seen when its last piece was handed over
        self._period_s = 0.0  # how much sound is handed over at once
        self._played: deque[_Played] = deque()
        self._device = device
        self._route = routed(Direction.OUTPUT, device, SpeakerError)
        self._depth = Depth(self._asked_s)
        self._depth_s = self._depth.wanted_s(self._asked_s)
        self._stream = self._open()
        self._presence = Presence(Direction.OUTPUT, self._route.served_as)

    def _open(self) -> Any:
        """The running stream, as deep as is chosen now."""
        sounddevice = portaudio(SpeakerError)
        self._due_s = math.inf  # when it is to ask for sound again; the first time is never late
        try:
            own = sounddevice.query_devices(self._route.opened_as, "output")
            self._rate = int(own["default_samplerate"])
            stream = sounddevice.OutputStream(
                samplerate=self._rate,
                device=self._route.opened_as,
                channels=1,
                dtype="int16",
                latency=self._depth_s,
                callback=self._fill,
            )
            begin(stream)
        except (ValueError, sounddevice.PortAudioError):
            called = "" if self._device in {None, USUAL} else f' "{self._device}"'
            raise SpeakerError(
                f"There is no speaker{called}, or it cannot be opened. "
                "Plug one in, or name another; until then nothing is read back aloud."
            ) from None
        return stream

    def _fit(self) -> None:
        """Be as shallow as the machine can keep up with; changed only in silence."""
        depth_s = self._depth.wanted_s(self._clock())
        if depth_s == self._depth_s or self._clock() < self._ends_s:
            return
        let_go(self._stream)
        self._depth_s = depth_s
        self._times = SampleClock()
        self._asked_s = self._clock()
        self._stream = self._open()

    def play(self, samples: NDArray[np.int16], rate: int) -> float:
        """Play mono ``samples``, after what is still playing; when they will have ended, in s.

        ``rate`` is in samples a second. Returns at once. Raises ``SpeakerError`` where the device
        has gone.
        """
        stuck = self._clock() - self._asked_s > GONE_S
        if stuck or self._presence.gone or not self._stream.active:
            raise SpeakerError("The speaker has gone. Plug it in again.")
        self._fit()
        added = soxr.resample(samples, rate, self._rate)
        known = soxr.resample(samples, rate, SAMPLE_RATE)
        with self._lock:
            first = self._begin_at_a_whole_sample()
            self._played.append(_Played(first, known))
            self._waiting = np.concatenate((self._waiting, added))
            left_s = len(self._waiting) / self._rate
        self._ends_s = self._clock() + left_s + float(self._stream.latency)
        return self._ends_s

    def slipped_s(self) -> float:
        """How much later than was told the last sound will have been heard, in s; mostly 0.

        It slips where the device ran dry: a machine that was too busy to hand over what was there. Where the
        device has gone nothing more will be heard.
        """
        if self._clock() - self._asked_s > GONE_S:
            return 0.0
        with self._lock:
            left_s = len(self._waiting) / self._rate
        ends_s = self._ended_s
        if left_s:
            ends_s = self._clock() + left_s + float(self._stream.latency)
        # between two requests of the device nobody knows where it is
        return max(0.0, ends_s - self._ends_s - self._period_s)

    def stop(self) -> float:
        """Fall silent; what was waiting is dropped. When nothing more will be heard, in s."""
        with self._lock:
            fade = np.linspace(1, 0, round(FADE_S * self._rate))
            fading = self._waiting[: len(fade)] * fade[: len(self._waiting)]
            self._waiting = fading.astype(np.int16)
            self._ended_s = -math.inf
            end = (self._handed + len(self._waiting)) * SAMPLE_RATE // self._rate
            self._played = deque(
                replace(one, samples=one.samples[: max(0, end - one.first)]) for one in self._played
            )
        self._ends_s = self._clock() + FADE_S + float(self._stream.latency)
        return self._ends_s

    def place_of(self, at_s: float) -> int | None:
        """Which sample of ``SAMPLE_RATE`` was handed to the device at ``at_s``; ``None`` before the first.

        It is heard a little later, always by as much.
        """
        opened_s = self._opened_s
        return None if math.isnan(opened_s) else round((at_s - opened_s) * SAMPLE_RATE)

    def played(self, first: int, count: int) -> NDArray[np.int16]:
        """What was, or will be, handed to the device from the place ``first`` on: 16 kHz, mono."""
        sound = np.zeros(count, dtype=np.int16)
        with self._lock:
            while self._played and self._played[0].end < first - REMEMBERED_S * SAMPLE_RATE:
                self._played.popleft()
            for one in self._played:
                begin, end = max(first, one.first), min(first + count, one.end)
                if begin < end:
                    sound[begin - first : end - first] = one.samples[
                        begin - one.first : end - one.first
                    ]
        return sound

    def close(self) -> None:
        """Give the device back."""
        self._presence.close()
        let_go(self._stream)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def _begin_at_a_whole_sample(self) -> int:
        """Put so much silence before the next sound that it begins at a whole sample of 16 kHz.

        Half a sample is enough to spoil the search for our own voice in what the microphone hears.
        """
        step = self._rate // math.gcd(self._rate, SAMPLE_RATE)
        at = self._handed + len(self._waiting)
        pad = np.zeros(-at % step, dtype=np.int16)
        self._waiting = np.concatenate((self._waiting, pad))
        return (at + len(pad)) * SAMPLE_RATE // self._rate

    def _fill(self, outdata: NDArray[np.int16], frames: int, _at: object, flags: Any) -> None:
        self._asked_s, duration_s = self._clock(), frames / self._rate
        late_s = self._depth_s if flags.output_underflow else self._asked_s - self._due_s
        self._depth.asked(late_s, self._asked_s)
        self._due_s = self._asked_s + duration_s
        self._period_s = duration_s
        with self._lock:
            if len(self._waiting):
                left_s = len(self._waiting) / self._rate
                self._ended_s = self._asked_s + left_s + float(self._stream.latency)
            now, self._waiting = self._waiting[:frames], self._waiting[frames:]
            start_s = self._times.start_of(duration_s, self._asked_s + duration_s)
            self._opened_s = start_s - self._handed / self._rate
            self._handed += frames
        outdata[: len(now), 0] = now
        outdata[len(now) :] = 0
