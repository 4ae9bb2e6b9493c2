"""Speaks once and ends: text on standard input, sound into the file that is named, at so many words a minute."""

from __future__ import annotations

import sys

import pyttsx3


def main() -> None:
    """Speak standard input into the file ``sys.argv[1]``, at ``sys.argv[2]`` words a minute."""
    engine = pyttsx3.init()
    engine.setProperty("rate", int(sys.argv[2]))
    engine.save_to_file(sys.stdin.read(), sys.argv[1])
    engine.runAndWait()


if __name__ == "__main__":
    main()
