"""A simulated cabin: noise, a nurse who waits for the read-back, and others who talk.

Its sound comes as from a real device: with a crystal that is not quite right, late and in bursts,
and with stretches that get lost on the way. Time is simulated, so hours pass in minutes.
"""

from __future__ import annotations

import os
import random
import tomllib
from collections import deque
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import pairwise
from pathlib import Path
from time import process_time
from typing import TYPE_CHECKING, Any

import numpy as np
from pydantic import TypeAdapter

from voice.capture.microphone import BLOCK_S, QUEUE_BLOCKS, SampleClock
from voice.capture.recordings import BLOCK_SAMPLES, read_recording
from voice.entries.heard import SAMPLE_RATE, Block
from voice.entries.kinds import Entry
from voice.session.segments import segments_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from numpy.typing import NDArray

FIXTURES = Path(__file__).parents[2] / "audio_fixtures"
LEGS = ("demo_leg", "troubled_leg")
BLOCKS_A_MINUTE = round(60 / BLOCK_S)
CRYSTAL_PPM = 100
"""How much slower than it says the device counts; what cheap crystals are allowed to be off."""
LATE_S = 0.04
"""A block reaches the program up to so much later than it ends."""
NOISE_DB = -45.0
"""Mean level of the cabin, in dB of full scale: the clips bring their own noise along."""
AFTER_BLOCKS = 10
"""Blocks of a clip that are played after the end of its speech: it fades into the cabin."""
NEEDS_MORE = {"pupils", "pupil", "spoken_note"}
"""Entries that take more than a "confirm": legbook asks, or has to be told before."""
QUEUE_S = QUEUE_BLOCKS * BLOCK_S
BREATH_S = 0.5
"""Between the end of a read-back and what the nurse says next."""


@dataclass(frozen=True)
class Doing:
    """Something that is said in the cabin: for legbook, or not."""

    clip: Path
    at_s: float
    """Not before then, and not while legbook speaks."""
    entries: tuple[Entry, ...] = ()
    """What is meant by it."""


@dataclass(frozen=True)
class Lost:
    """Sound that never arrives."""

    at_s: float
    blocks: int


@dataclass
class Minute:
    """What a minute of sound cost."""

    took_s: float = 0.0
    """Processor time for all of it."""
    slowest_s: float = 0.0
    """Processor time for the block that took longest: an answer to what was said."""
    memory_mb: float = 0.0
    """What the program held at its end."""

    def add(self, took_s: float) -> None:
        """Count one block."""
        self.took_s += took_s
        self.slowest_s = max(self.slowest_s, took_s)


@dataclass
class Cabin:
    """A source of sound that plays ``doings`` over noise, until the last is over."""

    doings: deque[Doing]
    losses: deque[Lost]
    speaking_until: Callable[[], float]
    said: list[tuple[float, Doing]] = field(default_factory=list)
    """What was said, and when on the true clock."""
    repeated: int = 0
    """How often the nurse was asked to say it again, and did."""
    minutes: list[Minute] = field(default_factory=list)
    slow: float = 0.0
    """How much slower the machine is made than it is; 0: it is always quick enough."""
    machine_s: float = 0.0
    """The machine's clock: it waits for sound, and sound waits for it."""

    def blocks(self) -> Iterator[Block]:
        """The blocks, on the clock that the program makes of samples and arrivals."""
        times, chance, cabin = SampleClock(), random.Random(8), _in_blocks([noise()])
        true_s, told_s, number = 0.0, 0.0, 0
        playing: deque[NDArray[np.int32]] = deque()
        while self.doings or playing:
            speaking = told_s < self.speaking_until()
            if len(playing) > AFTER_BLOCKS and speaking:  # legbook fell into her words: again
                playing.clear()
                self.doings.appendleft(self.said.pop()[1])
            if not playing and not speaking and self.doings and true_s >= self.doings[0].at_s:
                doing = self.doings.popleft()
                self.said.append((true_s + BREATH_S, doing))
                playing = _clip(doing.clip)
            samples = cabin[number % len(cabin)]
            if playing:
                samples = samples + playing.popleft()
            true_s += BLOCK_S * (1 + CRYSTAL_PPM / 1e6)
            number += 1
            if self.losses and true_s >= self.losses[0].at_s and not playing:
                true_s += self.losses.popleft().blocks * BLOCK_S
            if self.machine_s - true_s > QUEUE_S:  # the queue is full: it is lost
                true_s += self.machine_s - true_s - QUEUE_S
            block = Block(
                times.start_of(BLOCK_S, true_s + chance.uniform(0, LATE_S)),
                samples.clip(-32768, 32767).astype(np.int16),
                times.lost_s,
            )
            told_s = block.end_s
            if number % BLOCKS_A_MINUTE == 1:
                self.minutes.append(Minute())
            self.machine_s = max(self.machine_s, told_s)
            began_s = process_time()
            yield block
            took_s = process_time() - began_s
            self.machine_s += took_s * self.slow
            self.minutes[-1].add(took_s)
            if number % BLOCKS_A_MINUTE == 0:
                self.minutes[-1].memory_mb = memory_mb()

    def again(self) -> None:
        """Have the nurse say her last entry again, and what she said after it: it was not kept."""
        at = max(number for number, (_, doing) in enumerate(self.said) if doing.entries)
        self.doings.extendleft(doing for _, doing in reversed(self.said[at:]))
        del self.said[at:]
        self.repeated += 1


def flight(hours: float, every_s: float) -> deque[Doing]:
    """A leg of so many hours: an entry and its "confirm" every ``every_s``, and other talk."""
    pairs, others, start, end = _script()
    doings = [Doing(start, 2.0)]
    count = round(hours * 3600 / every_s)
    for number in range(count):
        at_s = 10.0 + number * every_s
        entry, confirm = pairs[number % len(pairs)]
        doings.append(Doing(entry.clip, at_s, entry.entries))
        doings.append(Doing(confirm.clip, at_s))
        if number % 3 == 2:
            doings.append(Doing(others[number // 3 % len(others)], at_s + every_s / 2))
    return deque([*doings, Doing(end, 10.0 + count * every_s)])


def memory_mb() -> float:
    """What the program holds in memory."""
    pages = int(Path("/proc/self/statm").read_text("ascii").split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


@lru_cache(maxsize=8)  # all of them would be 12 MB of what the program seems to hold
def speech(file: Path) -> NDArray[np.int16]:
    """A recording up to a little after the end of what is said in it."""
    *_, last = segments_of(file)
    sound = np.concatenate(list(read_recording(file)))
    return sound[: round(last.speech_end_s * SAMPLE_RATE) + AFTER_BLOCKS * BLOCK_SAMPLES]


def noise() -> NDArray[np.int16]:
    """The noise of the cabin, some 20 s of it."""
    sound = np.concatenate(
        [
            block
            for file in sorted((FIXTURES / "noise").glob("*.ogg"))
            for block in read_recording(file)
        ]
    ).astype(np.float64)
    level = 32768 * 10 ** (NOISE_DB / 20) / np.sqrt(np.mean(sound**2))
    samples: NDArray[np.int16] = np.rint(sound * level).clip(-32768, 32767).astype(np.int16)
    return samples


def _script() -> tuple[list[tuple[Doing, Doing]], list[Path], Path, Path]:
    """Entries with their "confirm", talk of others and questions, "start leg" and "end leg"."""
    pairs, others = [], []
    for leg in LEGS:
        rows = tomllib.loads((FIXTURES / leg / "leg.toml").read_text("utf-8"))["said"]
        clips = [FIXTURES / leg / "clips" / f"{number:03}.opus" for number, _ in enumerate(rows, 1)]
        for (row, clip), (after, answer) in pairwise(zip(rows, clips, strict=True)):
            meant = _meant(row)
            plain = not row.keys() & {"corrects", "state", "stands_for", "ago_min"}
            sure = not any(entry.kind in NEEDS_MORE for entry in meant)
            if meant and plain and sure and after["text"] == "confirm":
                pairs.append((Doing(clip, 0, meant), Doing(answer, 0)))
            if row["voice"] in {"rms", "awb", "slt"} or row["text"] == "total out":
                others.append(clip)
    return pairs, others, clips[0], clips[-1]


def _meant(row: dict[str, Any]) -> tuple[Entry, ...]:
    rows = row.get("entries") or ([row["entry"]] if "entry" in row else [])
    return TypeAdapter(tuple[Entry, ...]).validate_python(rows)


def _clip(file: Path) -> deque[NDArray[np.int32]]:
    breath = np.zeros(round(BREATH_S * SAMPLE_RATE), dtype=np.int16)
    return _in_blocks([breath, speech(file)])


def _in_blocks(parts: Iterable[NDArray[np.int16]]) -> deque[NDArray[np.int32]]:
    sound = np.concatenate(list(parts))
    whole = len(sound) // BLOCK_SAMPLES * BLOCK_SAMPLES
    return deque(sound[:whole].astype(np.int32).reshape(-1, BLOCK_SAMPLES))
