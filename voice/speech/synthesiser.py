"""Text to sound, whatever does it."""

from __future__ import annotations

import subprocess
import sys
from functools import lru_cache
from typing import TYPE_CHECKING, Protocol

from voice.entries.errors import LegbookError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from voice.speech.manner import Manner
    from voice.speech.waveform import Waveform

CHILD_MAY_TAKE_S = 10.0
"""Longest time for one sentence; a child process that takes longer hangs."""
REMEMBERED = 50
"""Sentences that are kept as sound: a leg's few fixed phrases and its common values. Each holds 0.1 MB and takes
0.02 s to make; 200 of them were half of what grew in a night (docs/bench.md)."""


class SpeechError(LegbookError):
    """Nothing can be spoken, or this sentence could not be."""


class Synthesiser(Protocol):
    """Speaks text."""

    def speak(self, text: str) -> Waveform:
        """Give ``text`` as sound.

        Raises ``SpeechError`` where that fails.
        """


class Remembering:
    """Keeps what was spoken before, so that it comes at once."""

    def __init__(self, synthesiser: Synthesiser) -> None:
        self._speak = lru_cache(maxsize=REMEMBERED)(synthesiser.speak)

    def speak(self, text: str) -> Waveform:
        """Give ``text`` as sound; raises ``SpeechError`` where that fails."""
        return self._speak(text)


def system_synthesiser(manner: Manner | None = None) -> Synthesiser:
    """The synthesiser of this system, speaking as ``manner`` says.

    Linux speaks through espeak-ng: pyttsx3 loses every second utterance there. macOS and Windows
    have good voices behind pyttsx3.

    Raises ``SpeechError`` where it is not installed.
    """
    if sys.platform == "linux":
        from voice.speech.espeak import EspeakNg  # noqa: PLC0415  (one of two is needed)

        return Remembering(EspeakNg(manner))
    from voice.speech.pyttsx3_speech import Pyttsx3  # noqa: PLC0415

    return Remembering(Pyttsx3(manner))


def run_child(command: Sequence[str], text: str, name: str) -> bytes:
    """Run a synthesiser with ``text`` on its standard input; what it printed.

    Raises ``SpeechError`` where it fails or hangs.
    """
    try:
        done = subprocess.run(
            command, input=text.encode(), capture_output=True, timeout=CHILD_MAY_TAKE_S, check=True
        )
    except subprocess.TimeoutExpired:
        raise SpeechError(
            f"{name} did not finish speaking. Entries are kept all the same."
        ) from None
    except subprocess.CalledProcessError as error:
        said = error.stderr.decode(errors="replace").strip().splitlines()
        why = f": {said[-1]}" if said else ""
        raise SpeechError(f"{name} cannot speak{why}. Entries are kept all the same.") from None
    return done.stdout
