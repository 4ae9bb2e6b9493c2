"""How soon it falls silent when the nurse falls in, through real devices: ``python -m tests.session.silence``.

An entry is said into the microphone of a PulseAudio server of its own, and a word over its read-back; microphone and
speaker are recorded side by side. No test of the gate: on a busy machine the sound server stumbles, and the
program is then deaf until it has learned its own voice anew. ``test_room`` holds it to the same, with the echo, in
simulated time.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
from contextlib import closing
from datetime import UTC, datetime
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING
from unittest.mock import patch

import numpy as np
import soundfile

from tests.pulse import DEVICE, SoundServer, sound_server
from tests.session.conftest import speak, until_spoken
from voice.dialogue.actions import Withdraw
from voice.entries.heard import SAMPLE_RATE
from voice.session.preferences import Preferences
from voice.session.progress import Spoken, Written
from voice.session.setups import Equipment, live

if TYPE_CHECKING:
    from numpy.typing import NDArray

GOAL_S = 0.25
"""After the end of a word the speaker is silent by then."""
WORD = "negative"
ENTRY = "blood pressure one twenty four over seventy six"


def main() -> None:
    """Fall in so often, and tell how long each time took; exit 1 where one took longer than the goal."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--times", type=int, default=5)
    took_s = []
    for _ in range(parser.parse_args().times):
        with (
            tempfile.TemporaryDirectory() as folder,
            sound_server() as server,
            patch.dict(os.environ, server.environment),
        ):
            took_s.append(silent_after_s(server, Path(folder)))
        sys.stdout.write(f"silent {took_s[-1]:.2f} s after the end of the word\n")
    sys.exit(max(took_s) > GOAL_S)


def silent_after_s(server: SoundServer, folder: Path) -> float:
    """Fall in once; from the end of the word to the silence of the speaker, in s."""
    files = {"mic_in": folder / "mic.wav", "speaker": folder / "speaker.wav"}
    recorders = [server.record(sink, file) for sink, file in files.items()]
    equipment = Equipment(root=folder / "legs", preferences=Preferences())
    session = live(equipment, lambda: datetime.now(UTC), microphone=DEVICE, speaker=DEVICE)
    over = speak(folder, WORD, after_s=2.2)
    with closing(session.run()) as progress:
        server.speak_into_microphone(speak(folder, "start leg", after_s=1.5))
        until_spoken("leg started", progress)
        server.speak_into_microphone(speak(folder, ENTRY, after_s=4.0))
        for one in progress:
            if isinstance(one, Spoken) and one.text.startswith("blood pressure"):
                server.speak_into_microphone(over)
            if isinstance(one, Written) and isinstance(one.action, Withdraw):
                break
        until_spoken("taken out", progress)
    for recorder in recorders:
        recorder.terminate()
        recorder.wait()
    microphone, speaker = (soundfile.read(file, dtype="int16")[0] for file in files.values())
    said, _ = soundfile.read(over, dtype="int16")
    end_s = _end_of(said[said.nonzero()[0][0] :], microphone)
    return next(at_s for at_s in _silences_s(speaker) if at_s > end_s - 0.5) - end_s


def _end_of(said: NDArray[np.int16], recording: NDArray[np.int16]) -> float:
    """Where in a recording a sound ends, in s."""
    size = 1 << (len(recording) + len(said)).bit_length()
    whole, part = (np.fft.rfft(sound.astype(np.float64), size) for sound in (recording, said))
    alike = np.fft.irfft(whole * part.conj())[: len(recording)]
    return float(alike.argmax() + len(said)) / SAMPLE_RATE


def _silences_s(recording: NDArray[np.int16]) -> list[float]:
    """When each silence of 0.2 s and more begins."""
    (loud,) = np.nonzero(np.abs(recording.astype(np.int32)) > 300)
    return [
        float(before) / SAMPLE_RATE
        for before, after in pairwise([*loud, len(recording) + SAMPLE_RATE])
        if after - before > 0.2 * SAMPLE_RATE
    ]


if __name__ == "__main__":
    main()
