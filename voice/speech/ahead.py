"""Speech that is made before it is needed.

What a text sounds like depends on nothing but the text and the voice, so it can be made while the
program waits whether more is said, and costs no time when it is due.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable
    from concurrent.futures import Future

    from voice.speech.synthesiser import Synthesiser
    from voice.speech.waveform import Waveform


class Ahead:
    """A synthesiser that can be told what it may have to say soon."""

    def __init__(self, synthesiser: Synthesiser) -> None:
        """``synthesiser`` is used from one more thread, one text at a time in it."""
        self._synthesiser = synthesiser
        self._thread = ThreadPoolExecutor(1, "speech")
        self._coming: dict[str, Future[Waveform]] = {}

    def prepare(self, texts: Iterable[str]) -> None:
        """Begin to make these, and forget what was prepared before; returns at once."""
        for last in self._coming.values():
            last.cancel()
        self._coming = {
            text: self._thread.submit(self._synthesiser.speak, text)
            for text in dict.fromkeys(texts)
        }

    def speak(self, text: str) -> Waveform:
        """Give ``text`` as sound; raises ``SpeechError`` where that fails."""
        coming = self._coming.pop(text, None)
        if coming is None or coming.cancel():  # what has not been begun is not waited for
            return self._synthesiser.speak(text)
        return coming.result()

    def close(self) -> None:
        """Make nothing more."""
        self._thread.shutdown(wait=False, cancel_futures=True)
