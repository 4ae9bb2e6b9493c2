"""From the end of speech to the first sound of the answer, through real devices, and where the time goes.

    python -m tests.session.latency [--second on]

speaks the phrases of a leg, each followed by "confirm" where one is due, into the microphone of a
PulseAudio server of its own, records microphone and speaker side by side, and prints for each phrase, in
s, how long after it the speaker sounds, and of that:

- pause: the silence that was waited for, from where the detector takes the speech to have ended;
- hearing: recognition and decision after the pause (what is done within it costs no time);
- keeping: the step of the talk, and writing it to the journal;
- speech: the answer becomes sound;
- sound: the rest, which is the way through both devices and what the detector errs by.

With ``--second on`` a second listener hears beside the first; how its opinions stood ("late" among them) is counted.
Last is the most memory that the program has taken.
"""

from __future__ import annotations

import argparse
import functools
import os
import resource
import sys
import tempfile
import time
from collections import Counter
from contextlib import ExitStack, closing, contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any
from unittest.mock import patch

import numpy as np
import soundfile

from tests.pulse import SoundServer, sound_server
from tests.session.conftest import speak
from voice.capture.microphone import Microphone
from voice.session.ears import Ears
from voice.session.mouth import Aloud, Mouth
from voice.session.preferences import Preferences, SecondListener
from voice.session.progress import SegmentHeard, Sounded, Spoken
from voice.session.second_listener import with_second
from voice.session.setups import Equipment, live
from voice.session.uptime import uptime_s

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

ENTRIES = (
    "pressure fourteen", "heart rate eighty eight", "color straw", "pressure twenty two",
    "drain level fifteen", "temperature thirty seven point two", "mannitol fifty grams",
    "drained twelve mils", "head midline five minutes ago",
    "blood pressure one twenty four over seventy six",
)  # fmt: skip
"""None that a remark follows upon: it would be spoken into."""
PHRASES = (
    "start leg", *(said for entry in ENTRIES for said in (entry, "confirm")),
    "total out", "last pressure", "read unconfirmed", "pressure eighteen", "no",
)  # fmt: skip
"""A leg: each entry is confirmed but the last; three questions."""
BREATH_S = 6.5
"""Silence before each phrase: the answer to the one before it has ended by then."""
_LOUD = 300
_STEP_S = 0.01
_PAUSE_S = 0.6


@dataclass
class Stages:
    """When what was done with the phrase that was spoken last, on the machine's clock, in s."""

    speech_ended_s: float = 0.0
    pause_ended_s: float = 0.0
    decided_s: float = 0.0
    answering_s: float = 0.0
    sounding_s: float = 0.0

    def lengths_s(self, whole_s: float) -> tuple[float, ...]:
        """What each stage took, the rest of ``whole_s`` last."""
        ends = (self.speech_ended_s, self.pause_ended_s, self.decided_s, self.answering_s,
                self.sounding_s)  # fmt: skip
        known = [after - before for before, after in pairwise(ends)]
        return (*known, whole_s - sum(known))


NAMES = ("pause", "hearing", "keeping", "speech", "sound")


@dataclass
class Watch:
    """Takes the time of every stage, from within the running program."""

    phrases: list[Stages] = field(default_factory=list)
    stands: Counter[str] = field(default_factory=Counter)
    """How second opinions stood."""
    _zero_s: float = 0.0  # of the microphone's own clock
    _in_pause: bool = False

    @contextmanager
    def watching(self) -> Iterator[None]:
        """The parts of the program tell this watch what they do."""
        with ExitStack() as stack:
            for owner, name, put_around in (
                (Microphone, "__init__", self._microphone),
                (Ears, "patience_s", self._patience),
                (Ears, "make_out", self._make_out),
                (Mouth, "utter", self._utter),
                (Aloud, "play", self._play),
            ):
                whole = getattr(owner, name)
                stack.enter_context(patch.object(owner, name, _around(whole, put_around)))
            yield

    def _microphone(self, call: Callable[[], Any], *_: Any) -> None:
        self._zero_s = uptime_s()
        call()

    def _patience(self, call: Callable[[], Any], *_: Any) -> Any:
        self._in_pause = True
        try:
            return call()
        finally:
            self._in_pause = False

    def _make_out(self, call: Callable[[], Any], segment: Any, *_: Any) -> Any:
        if self._in_pause:
            return call()
        self.phrases.append(Stages(self._zero_s + segment.speech_end_s, uptime_s()))
        found = call()
        self.phrases[-1].decided_s = uptime_s()
        second = found[0].second
        self.stands.update([second.stand.value] if second is not None else [])
        return found

    def _utter(self, call: Callable[[], Any], *_: Any) -> Any:
        self._first("answering_s")
        return call()

    def _play(self, call: Callable[[], Any], *_: Any) -> Any:
        self._first("sounding_s")
        return call()

    def _first(self, what: str) -> None:
        if self.phrases and not getattr(self.phrases[-1], what):
            setattr(self.phrases[-1], what, uptime_s())


def _around(whole: Callable[..., Any], put_around: Callable[..., Any]) -> Callable[..., Any]:
    """``whole`` as a method that is called by ``put_around``, which gets it and its arguments."""

    @functools.wraps(whole)
    def method(self: object, *args: Any, **options: Any) -> Any:
        return put_around(functools.partial(whole, self, *args, **options), *args)

    return method


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(prog="python -m tests.session.latency")
    parser.add_argument("--second", choices=("on", "off"), default="off")
    second = SecondListener(parser.parse_args().second)
    watch = Watch()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        with sound_server() as server, watch.watching():
            os.environ.update(server.environment)
            recorders = [
                server.record(device, folder / f"{device}.wav") for device in ("mic_in", "speaker")
            ]
            equipment = Equipment(folder / "legs", preferences=Preferences(second=second))
            equipment, told = with_second(equipment)
            _talk(server, folder, equipment)
            for recorder in recorders:
                recorder.terminate()
                recorder.wait()
        spoken = _stretches(folder / "mic_in.wav")
        answered = _stretches(folder / "speaker.wav")
    wholes_s = [
        next((start for start, _ in answered if start > end), end) - end for _, end in spoken
    ]
    if not len(wholes_s) == len(watch.phrases) == len(PHRASES):
        heard = len(watch.phrases)
        sys.exit(f"{len(PHRASES)} phrases, {len(wholes_s)} in the recording, {heard} heard")
    rows = [
        (whole_s, *stages.lengths_s(whole_s))
        for whole_s, stages in zip(wholes_s, watch.phrases, strict=True)
    ]
    sys.stdout.write("\n".join(_table(rows)) + "\n")
    memory_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    sys.stdout.write(f"{told} {dict(watch.stands)} Memory, at the most: {memory_mb:.0f} MB.\n")


def _table(rows: list[tuple[float, ...]]) -> Iterator[str]:
    """Markdown: every phrase, then median and 95 %."""
    yield f"| | whole | {' | '.join(NAMES)} |"
    yield "|---" * (len(NAMES) + 2) + "|"
    named = list(zip(PHRASES, rows, strict=True))
    for name, row in named:
        yield _line(name, row)
    entries = [row for name, row in named if name in ENTRIES]
    confirms = [row for name, row in named if name == "confirm"]
    for name, some in (("all", rows), ("entries", entries), ("confirm", confirms)):
        yield _line(f"**{name}, median**", np.median(some, axis=0))
        yield _line(f"**{name}, 95 %**", np.percentile(some, 95, axis=0))


def _line(name: str, figures: Any) -> str:
    return f"| {name} | {' | '.join(f'{figure:.2f}' for figure in figures)} |"


def _talk(server: SoundServer, folder: Path, equipment: Equipment) -> None:
    """Speak each phrase when the program has answered the one before."""
    left = list(PHRASES)
    session = live(
        equipment,
        lambda: datetime.now(UTC),
        microphone="mic",
        speaker="speaker",
    )
    with closing(session.run()) as progress:
        server.speak_into_microphone(speak(folder, left.pop(0), BREATH_S))
        answered = True
        for one in progress:
            if isinstance(one, SegmentHeard):
                answered = False
            elif isinstance(one, Spoken | Sounded) and not answered:
                answered = True
                if not left:
                    break
                server.speak_into_microphone(speak(folder, left.pop(0), BREATH_S))
    time.sleep(1)


def _stretches(recording: Path) -> list[tuple[float, float]]:
    """Beginning and end of each stretch of sound, in s."""
    samples, rate_hz = soundfile.read(recording, dtype="int16")
    step = round(_STEP_S * rate_hz)
    size = np.abs(samples[: len(samples) // step * step].astype(np.int32)).reshape(-1, step)
    loud_s = np.flatnonzero(size.max(axis=1) > _LOUD) * _STEP_S
    breaks = [0, *(np.flatnonzero(np.diff(loud_s) > _PAUSE_S) + 1), len(loud_s)]
    return [
        (float(loud_s[first]), float(loud_s[last - 1]) + _STEP_S)
        for first, last in pairwise(breaks)
    ]


if __name__ == "__main__":
    main()
