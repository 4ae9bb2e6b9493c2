"""pyttsx3 in a child process: the synthesiser of macOS and Windows.

In one process it is known to lose utterances after the first; a fresh process for each does not.
Tried on Linux only, where the program itself uses espeak-ng instead.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

import soundfile

from voice.speech.manner import Manner
from voice.speech.synthesiser import SpeechError, run_child
from voice.speech.waveform import Waveform


class Pyttsx3:
    """Speaks through the system's own voice, in its own pitch."""

    def __init__(self, manner: Manner | None = None) -> None:
        self._manner = manner or Manner()

    def speak(self, text: str) -> Waveform:
        """Give ``text`` as sound; raises ``SpeechError`` where that fails."""
        with tempfile.TemporaryDirectory(prefix="legbook-") as folder:
            file = Path(folder) / "spoken.wav"
            rate = str(self._manner.rate_wpm)
            command = [sys.executable, "-m", "voice.speech.pyttsx3_child", str(file), rate]
            run_child(command, text, "The system's voice")
            try:
                samples, rate_hz = soundfile.read(file, dtype="int16", always_2d=True)
            except soundfile.SoundFileError:
                raise SpeechError(
                    "The system's voice gave no sound. Choose a voice in the system's settings."
                ) from None
        return Waveform(samples[:, 0].copy(), rate_hz).trimmed()
