"""The speaker or headset."""

from __future__ import annotations

import threading
from typing import TYPE_CHECKING

import numpy as np
import soxr

from voice.capture.portaudio import portaudio
from voice.entries.errors import LegbookError

if TYPE_CHECKING:
    from collections.abc import Callable
    from types import TracebackType
    from typing import Self

    from numpy.typing import NDArray

GONE_S = 1.0
"""Without a request for sound for this long the device is gone."""


class SpeakerError(LegbookError):
    """There is no speaker, it is refused, or it has gone."""


class Speaker:
    """One output stream that stays open, so that no word loses its beginning.

    ``clock`` is monotonic, in s. Use as a context manager, or ``close()`` it.
    """

    def __init__(self, device: str | int | None, clock: Callable[[], float]) -> None:
        """Open ``device``: a part of its name, its number, or ``None`` for the default.

        Raises ``SpeakerError`` where there is none or it is refused.
        """
        sounddevice = portaudio(SpeakerError)
        self._clock = clock
        self._lock = threading.Lock()
        self._waiting = np.zeros(0, dtype=np.int16)
        self._asked_s = clock()
        called = "" if device is None else f' "{device}"'
        try:
            own = sounddevice.query_devices(device, "output")
            self._rate = int(own["default_samplerate"])
            self._stream = sounddevice.OutputStream(
                samplerate=self._rate, device=device, channels=1, dtype="int16", callback=self._fill
            )
            self._stream.start()
        except (ValueError, sounddevice.PortAudioError):
            raise SpeakerError(
                f"There is no speaker{called}, or it cannot be opened. "
                "Plug one in, or name another; until then nothing is read back aloud."
            ) from None

    def play(self, samples: NDArray[np.int16], rate: int) -> float:
        """Play mono ``samples``, after what is still playing; when they will have ended, in s.

        ``rate`` is in samples a second. Returns at once. Raises ``SpeakerError`` where the device
        has gone.
        """
        if not self._stream.active or self._clock() - self._asked_s > GONE_S:
            raise SpeakerError("The speaker has gone. Plug it in again.")
        added = soxr.resample(samples, rate, self._rate)
        with self._lock:
            self._waiting = np.concatenate((self._waiting, added))
            left_s = len(self._waiting) / self._rate
        return self._clock() + left_s + float(self._stream.latency)

    def stop(self) -> None:
        """Fall silent; what was waiting is dropped."""
        with self._lock:
            self._waiting = self._waiting[:0]

    def close(self) -> None:
        """Give the device back."""
        self._stream.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def _fill(self, outdata: NDArray[np.int16], frames: int, _at: object, _flags: object) -> None:
        self._asked_s = self._clock()
        with self._lock:
            now, self._waiting = self._waiting[:frames], self._waiting[frames:]
        outdata[: len(now), 0] = now
        outdata[len(now) :] = 0
