"""From the end of speech to the first sound of the read-back, through real devices.

    python -m tests.session.latency

speaks phrases into the microphone of a PulseAudio server of its own, records microphone and speaker
side by side, and prints how long after each phrase the speaker sounds, in s.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from contextlib import closing
from datetime import UTC, datetime
from itertools import pairwise
from pathlib import Path
from statistics import median

import numpy as np
import soundfile

from tests.pulse import DEVICE, SoundServer, sound_server
from voice.dialogue.actions import Tone
from voice.entries.heard import SAMPLE_RATE
from voice.session.progress import Sounded, Spoken
from voice.session.setups import Equipment, live
from voice.speech.espeak import EspeakNg

ENTRIES = (
    "pressure fourteen", "drain clamped", "heart rate eighty eight", "pressure twenty two",
    "drain zeroed", "temperature thirty seven point two", "mannitol fifty grams", "color straw",
)  # fmt: skip
BREATH_S = 4.0
"""Silence before each phrase: the read-back before it has ended by then."""
_LOUD = 300
_STEP_S = 0.01
_PAUSE_S = 0.6


def main() -> None:
    """Measure and print."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        with sound_server() as server:
            os.environ.update(server.environment)
            recorders = [
                subprocess.Popen(
                    ["parecord", f"--device={device}.monitor", "--file-format=wav",
                     f"--rate={SAMPLE_RATE}", "--channels=1", "--latency-msec=20",
                     str(folder / f"{device}.wav")]
                )
                for device in ("mic_in", "speaker")
            ]  # fmt: skip
            _talk(server, folder)
            for recorder in recorders:
                recorder.terminate()
                recorder.wait()
        spoken = _stretches(folder / "mic_in.wav")
        answered = _stretches(folder / "speaker.wav")
    waits_s = [
        next((start for start, _ in answered if start > end), end) - end for _, end in spoken
    ]
    listed = " ".join(f"{wait_s:.2f}" for wait_s in waits_s)
    sys.stdout.write(f"{listed}\nmedian {median(waits_s):.2f} greatest {max(waits_s):.2f}\n")


def _talk(server: SoundServer, folder: Path) -> None:
    """Start a leg, and speak each entry and its "confirm" when the program has answered."""
    left = ["start leg", *(said for entry in ENTRIES for said in (entry, "confirm"))]
    session = live(
        Equipment(root=folder / "legs"),
        lambda: datetime.now(UTC),
        microphone=DEVICE,
        speaker=DEVICE,
    )
    with closing(session.run()) as progress:
        server.speak_into_microphone(_recording(left.pop(0), folder))
        for one in progress:
            if isinstance(one, Spoken) or (isinstance(one, Sounded) and one.tone is Tone.KEPT):
                if not left:
                    break
                server.speak_into_microphone(_recording(left.pop(0), folder))
    time.sleep(1)


def _recording(text: str, folder: Path) -> Path:
    path = folder / f"{text}.wav"
    sound = EspeakNg().speak(text).at_rate(SAMPLE_RATE).samples // 2
    silence = np.zeros(round(BREATH_S * SAMPLE_RATE), dtype=np.int16)
    soundfile.write(path, np.concatenate((silence, sound)), SAMPLE_RATE)
    return path


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
