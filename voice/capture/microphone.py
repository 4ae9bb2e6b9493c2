"""The microphone."""

from __future__ import annotations

import math
import queue
from collections import deque
from contextlib import suppress
from itertools import product
from typing import TYPE_CHECKING, Any

import numpy as np
import soxr

from voice.capture.devices import USUAL, Direction, Presence, routed
from voice.capture.portaudio import portaudio, running
from voice.capture.source import SourceError
from voice.entries.heard import SAMPLE_RATE, Block

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from numpy.typing import NDArray

BLOCK_S = 0.032
"""Length of a block; the voice activity detector takes sound in these steps."""
SERVED_IN = 4
"""A sound server is asked for a block in so many parts: it then hands each on 0.015 s sooner (docs/bench.md), and keeps
what the program is too busy to take. A device without a server keeps nothing, and is asked for whole ones."""
GONE_S = 1.0
"""Without a block for this long the device is gone."""
OPENING_S = 5.0
"""A device may take this long to wake up before its first block comes."""
LOST_S = 0.1
"""Sound is lost when the clock is this far ahead of the samples that came. Less than that may be a
sound server that holds back more than before, and is caught up with in silence."""
QUEUE_BLOCKS = 1000
"""So much sound waits while the program is busy: half a minute. What comes then is lost, and told."""
_GONE = "The microphone has gone. Plug it in again; listening goes on by itself."
_SETTLED_BLOCKS = 8  # quarter of a second: longer than devices hold sound back to send it in bursts
_SLEW_S = 0.0001  # per block; thirty times as fast as two clocks of 100 ppm drift apart
_OTHER_RATES = (48_000, 44_100, 32_000, 8_000)  # for a device that refuses the rate it names


class MicrophoneError(SourceError):
    """There is no microphone, it is refused, or it has gone."""


class SampleClock:
    """Gives each block its time, from the count of samples and the machine's clock.

    The count is smooth but misses lost sound; the clock sees all, but blocks reach it late and in
    bursts. Lost sound delays every later block for good: when even the promptest of the last
    blocks is ``LOST_S`` late, time jumps; but not while blocks come faster than they last, for then what was
    held up is on its way. The slow drift of a sound device is followed by less
    than a segment would notice.
    """

    def __init__(self) -> None:
        self._next_s: float | None = None
        self._arrived_s = -math.inf  # when the last block came
        self._late_s: deque[float] = deque(maxlen=_SETTLED_BLOCKS)
        self.lost_s = 0.0
        """How much sound was found to be lost before the last block."""

    def start_of(self, duration_s: float, arrived_s: float) -> float:
        """When a block that is ``duration_s`` long and came at ``arrived_s`` began, in s."""
        if self._next_s is None:
            self._next_s = arrived_s - duration_s
        start_s = self._next_s
        self._late_s.append(arrived_s - duration_s - start_s)
        settled = len(self._late_s) == _SETTLED_BLOCKS
        promptest_s = min(self._late_s)
        in_burst = arrived_s - self._arrived_s < duration_s / 2
        self._arrived_s = arrived_s
        self.lost_s = 0.0
        lost = settled and promptest_s > LOST_S
        if lost and not in_burst:
            start_s += promptest_s
            self.lost_s = promptest_s
            self._late_s.clear()
        elif settled and not lost:
            start_s += max(-_SLEW_S, min(_SLEW_S, promptest_s))
        self._next_s = start_s + duration_s
        return start_s


class Microphone:
    """Live sound; opened by ``blocks()`` and closed when that ends.

    ``clock`` is monotonic, in s; block times count from the making of this object.
    """

    def __init__(self, device: str | int | None, clock: Callable[[], float]) -> None:
        """``device`` is a part of the device's name, its number, or ``None`` for the default."""
        self._device = device
        self._clock = clock
        self._started_s = clock()

    def blocks(self) -> Iterator[Block]:
        """Blocks as they come in, without end; see ``Source.blocks``.

        Raises ``MicrophoneError`` when it cannot be opened, and when no sound has come for
        ``GONE_S``; called again, it opens the microphone anew.
        """
        sounddevice = portaudio(MicrophoneError)
        arrived: queue.Queue[tuple[float, NDArray[np.float32]]] = queue.Queue(QUEUE_BLOCKS)
        route = routed(Direction.INPUT, self._device, MicrophoneError)
        parts = 1 if route.served_as is None else SERVED_IN
        came: list[NDArray[np.float32]] = []  # of the block that is coming

        def keep(indata: NDArray[np.float32], _frames: int, _at: object, _flags: object) -> None:
            came.append(indata.mean(axis=1))
            if len(came) < parts:
                return
            # what does not fit is lost; the clock will tell
            with suppress(queue.Full):
                arrived.put_nowait((self._clock() - self._started_s, np.concatenate(came)))
            came.clear()

        stream, rate = self._open(sounddevice, route.opened_as, parts, keep)
        times = SampleClock()
        resampler = soxr.ResampleStream(rate, SAMPLE_RATE, 1, dtype="float32")
        held_s = 0.0  # what the resampler keeps back: it gives sound out in pieces of its own
        lost_s = 0.0
        patience_s = OPENING_S
        with running(stream), Presence(Direction.INPUT, route.served_as) as presence:
            while True:
                try:
                    at_s, samples = arrived.get(timeout=patience_s)
                except queue.Empty:
                    raise MicrophoneError(_GONE) from None
                if presence.gone:
                    raise MicrophoneError(_GONE)
                patience_s = GONE_S
                duration_s = len(samples) / rate
                start_s = times.start_of(duration_s, at_s) - held_s
                lost_s += times.lost_s
                if rate != SAMPLE_RATE:
                    samples = resampler.resample_chunk(samples)
                held_s += duration_s - len(samples) / SAMPLE_RATE
                if len(samples):
                    scaled = np.clip(np.rint(samples * 32768), -32768, 32767)
                    yield Block(start_s, scaled.astype(np.int16), lost_s)
                    lost_s = 0.0

    def _open(
        self,
        sounddevice: Any,
        device: str | int | None,
        parts: int,
        keep: Callable[..., None],
    ) -> tuple[Any, int]:
        """The stream and its sample rate: mono at 16 kHz, or the nearest to it that it takes.

        ``keep`` gets each block in so many parts.
        """
        try:
            own = sounddevice.query_devices(device, "input")
        except (ValueError, sounddevice.PortAudioError):
            raise MicrophoneError(
                f"There is no microphone{self._called()}. Plug one in, or name another."
            ) from None
        rates = dict.fromkeys((SAMPLE_RATE, int(own["default_samplerate"]), *_OTHER_RATES))
        channels_known = dict.fromkeys((1, 2, own["max_input_channels"]))
        for channels, rate in product(channels_known, rates):
            with suppress(sounddevice.PortAudioError):
                stream = sounddevice.InputStream(
                    samplerate=rate,
                    blocksize=round(BLOCK_S / parts * rate),
                    latency="high" if parts == 1 else 2 * BLOCK_S / parts,
                    device=device,
                    channels=channels,
                    dtype="float32",
                    callback=keep,
                )
                return stream, rate
        raise MicrophoneError(
            f"The microphone{self._called()} cannot be opened: it is in use by another program, "
            "or recording is not allowed. Close the other program or allow it, then start again."
        )

    def _called(self) -> str:
        return "" if self._device in {None, USUAL} else f' "{self._device}"'
