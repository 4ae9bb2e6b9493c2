"""The gate: everything that must hold before a change is taken, in one go.

``python3 voice test`` comes here. Every check runs, even after another has failed, so that one call
shows all there is to mend. Arguments go to pytest; with any, coverage is not taken, since a part of
the tests covers a part of the code.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

ROOT = Path(__file__).resolve().parents[1]

CHECKS: tuple[tuple[str, ...], ...] = (
    ("ruff", "format", "--check"),
    ("ruff", "check"),
    ("mypy",),
    ("lint-imports",),
)
"""Commands of the virtual environment, run in the top folder."""

WHOLE = (
    "--cov",
    "--cov-report=term:skip-covered",
    "-n",
    "auto",
    "--maxprocesses",
    "4",
    "--dist",
    "loadfile",  # the tests of a page follow each other
)
"""What pytest is told when all tests run: with coverage, on each core (a process takes 0.5 GB)."""


def main(arguments: Sequence[str]) -> int:
    """Run every check, then the tests; return 0 where all of it holds, else 1."""
    commands = [*CHECKS, ("pytest", *(arguments or WHOLE))]
    failed = [" ".join(command) for command in commands if not _holds(command)]
    if failed:
        print(f"Does not hold: {', '.join(failed)}.", file=sys.stderr)
    return 1 if failed else 0


def _holds(command: Sequence[str]) -> bool:
    program, *arguments = command
    print(f"\n== {' '.join(command)}", flush=True)
    path = Path(sys.executable).parent / program
    return subprocess.run([path, *arguments], cwd=ROOT, check=False).returncode == 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
