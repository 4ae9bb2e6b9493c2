"""Speaks once and ends: text on standard input, sound into the file that is named."""

from __future__ import annotations

import sys

import pyttsx3

from voice.speech.synthesiser import WORDS_PER_MIN


def main() -> None:
    """Speak standard input into the file ``sys.argv[1]``."""
    engine = pyttsx3.init()
    engine.setProperty("rate", WORDS_PER_MIN)
    engine.save_to_file(sys.stdin.read(), sys.argv[1])
    engine.runAndWait()


if __name__ == "__main__":
    main()
