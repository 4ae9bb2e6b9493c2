"""espeak-ng as a child process: Linux's synthesiser."""

from __future__ import annotations

import re
import shutil
import tomllib
import wave
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

import numpy as np

from voice.speech.manner import Manner
from voice.speech.synthesiser import SpeechError, run_child
from voice.speech.waveform import Waveform

if TYPE_CHECKING:
    from collections.abc import Mapping

VOICE = "en-us"
DIGIT_PAUSE_MS = 80
"""Pause between two digits, so that "one five" is two words and not one."""

RESPELLINGS: Mapping[str, str] = tomllib.loads(
    (Path(__file__).parent / "respelling.toml").read_text("utf-8")
)
"""Words that it would speak badly, each in its own phoneme mnemonics."""

_RESPELLED = re.compile(rf"\b(?:{'|'.join(RESPELLINGS)})\b")
_DIGITS = "zero|one|two|three|four|five|six|seven|eight|nine|point"
_BETWEEN_DIGITS = re.compile(rf"(?<=\b)({_DIGITS}) (?=(?:{_DIGITS})\b)")


class EspeakNg:
    """Speaks through the program ``espeak-ng``, which takes a few hundredths of a second."""

    def __init__(self, manner: Manner | None = None) -> None:
        """Find the program; raises ``SpeechError`` where it is not installed."""
        program = shutil.which("espeak-ng")
        if program is None:
            raise SpeechError(
                "Nothing can be spoken: espeak-ng is missing. "
                "Install it (on Debian: apt install espeak-ng) and start again."
            )
        self._program = program
        self._manner = manner or Manner()

    def speak(self, text: str) -> Waveform:
        """Give ``text`` as sound; raises ``SpeechError`` where that fails."""
        command = [
            self._program,
            "-v",
            VOICE,
            "-s",
            str(self._manner.rate_wpm),
            "-p",
            str(self._manner.pitch),
            "-m",
            "--stdin",
            "--stdout",
        ]
        sound = run_child(command, _marked_up(text), "espeak-ng")
        if not sound:
            raise SpeechError("espeak-ng gave no sound. Entries are kept all the same.")
        # the head promises more than there is, since its length is not known when it is written
        with wave.open(BytesIO(sound)) as recording:
            samples = np.frombuffer(recording.readframes(recording.getnframes()), dtype="<i2")
            return Waveform(samples.astype(np.int16), recording.getframerate()).trimmed()


def _marked_up(text: str) -> str:
    """As SSML, with a pause between each two digits, and in phonemes what would be spoken badly."""
    paused = _BETWEEN_DIGITS.sub(rf'\1<break time="{DIGIT_PAUSE_MS}ms"/> ', escape(text))
    return _RESPELLED.sub(lambda word: f"[[{RESPELLINGS[word[0]]}]]", paused)
