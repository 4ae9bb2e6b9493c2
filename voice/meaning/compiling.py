"""Compiles an acceptor in a process of its own.

Compiling the shipped phrases takes some 150 MB, most of which Python never gives back; a leg would
carry them all night. The child, ``python -m voice.meaning.compiling``, gets the pickled expression on its
standard input and gives the acceptor as ``voice.meaning.acceptor_bytes`` has it.
"""

from __future__ import annotations

import pickle
import subprocess
import sys
from typing import TYPE_CHECKING

from voice.meaning.acceptor_bytes import as_bytes, from_bytes
from voice.meaning.automaton import compile_acceptor
from voice.meaning.expression import slots_of

if TYPE_CHECKING:
    from voice.meaning.acceptor import Acceptor
    from voice.meaning.expression import Expression

COMMAND = (sys.executable, "-m", "voice.meaning.compiling")
LONGEST_S = 300.0
"""A child that takes longer hangs: the shipped phrases take 5 s."""
FEW_FORMS = 10_000
"""So few ways of filling all slots are compiled sooner than a child starts (1,148,000 in all phrases)."""


def compiled_apart(expression: Expression) -> Acceptor:
    """The acceptor of ``expression``; made here if it is small, or no other process can be had."""
    if sum(len(slot.forms) for slot in slots_of(expression)) <= FEW_FORMS:
        return compile_acceptor(expression)
    try:
        done = subprocess.run(
            COMMAND,
            input=pickle.dumps(expression),
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            timeout=LONGEST_S,
            check=True,
        )
        return from_bytes(done.stdout)
    except (OSError, ValueError, subprocess.SubprocessError):
        return compile_acceptor(expression)


def main() -> None:
    """Compile what comes in."""
    expression: Expression = pickle.load(sys.stdin.buffer)  # noqa: S301 - from our own parent
    sys.stdout.buffer.write(as_bytes(compile_acceptor(expression)))


if __name__ == "__main__":
    main()
