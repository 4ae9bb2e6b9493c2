"""Spoils files that are read, and reads them: ``python -m tests.fuzz.spoilt --seconds 600 --seeds 1-2``.

Each kind of file is made whole, then spoilt at random: bytes changed, cut out, doubled, put in, the end cut off.
Whatever its reader then gives, it must give soon, and raise nothing but a sentence for a person.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from collections import Counter
from functools import partial
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING, NamedTuple

from tests.fuzz.kinds import kinds
from tests.spread import add_to, spread, told
from voice.entries.errors import LegbookError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tests.fuzz.kinds import Kind

SLOW_S = 5.0
"""No file of these sizes may take longer, of the processor: the clock on the wall goes by who else is at work."""
_TELLING = (0x00, 0xFF, 0x7F, 0x80, 0x20, 0x22, 0x0A)
"""Bytes at which readers stumble more often than at others."""


def spoil(content: bytes, chance: Random) -> bytes:
    """The same with one to eight faults."""
    spoilt = bytearray(content)
    for _ in range(chance.choice((1, 1, 2, 3, 8))):
        if not spoilt:
            break
        place = chance.randrange(len(spoilt))
        length = chance.choice((1, 2, 4, 16, 200))
        match chance.randrange(6):
            case 0:
                spoilt[place] ^= 1 << chance.randrange(8)
            case 1:
                spoilt[place : place + length] = bytes([chance.choice(_TELLING)]) * length
            case 2:
                del spoilt[place : place + length]
            case 3:
                spoilt[place:place] = spoilt[place : place + length]
            case 4:
                spoilt[place:place] = chance.randbytes(length)
            case 5 if chance.random() < 0.3:
                del spoilt[place:]
            case _:
                spoilt[place] = chance.choice(_TELLING)
    return bytes(spoilt)


class Outcome(NamedTuple):
    """What came of one spoilt file."""

    kind: str
    became: str
    """ "read", "told", or what it crashed of."""


def read_spoilt(kind: Kind, content: bytes, folder: Path) -> Outcome:
    """Read one spoilt file."""
    file = folder / "spoilt.toml"
    file.write_bytes(content)
    began_s = time.process_time()
    try:
        kind.read(file)
        became = "read"
    except LegbookError:
        became = "told"
    except Exception as error:  # noqa: BLE001 - this is what is looked for
        became = f"{type(error).__name__}: {error}"
    if (taken_s := time.process_time() - began_s) > SLOW_S:
        became = f"took {taken_s:.1f} s"
    return Outcome(kind.name, became)


def spoilt_files(folder: Path, chance: Random) -> Iterator[tuple[Outcome, bytes]]:
    """Endlessly one of each kind, and what came of it."""
    all_kinds = kinds(folder)
    while True:
        for kind in all_kinds:
            content = spoil(kind.content, chance)
            yield read_spoilt(kind, content, folder), content


def is_fine(outcome: Outcome) -> bool:
    """Whether it is what must come of a spoilt file."""
    return outcome.became in {"read", "told"}


def spoil_so_long(seed: int, *, seconds: float, keep: Path | None) -> Counter[Outcome]:
    """How often came what; a file that crashed its reader goes into the folder ``keep``."""
    counts: Counter[Outcome] = Counter()
    until_s = time.monotonic() + seconds
    with tempfile.TemporaryDirectory() as temporary:
        for outcome, content in spoilt_files(Path(temporary), Random(seed)):
            counts[outcome] += 1
            if keep and not is_fine(outcome):
                keep.mkdir(parents=True, exist_ok=True)
                (keep / f"{outcome.kind}-{seed}-{counts.total()}").write_bytes(content)
            if time.monotonic() > until_s:
                break
    return counts


def main() -> None:
    """Spoil and read so long, keep what crashed, and tell."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=600, help="for each seed")
    add_to(parser)
    parser.add_argument("--keep", type=Path, help="a folder for files that crashed their reader")
    asked = parser.parse_args()
    work = partial(spoil_so_long, seconds=asked.seconds, keep=asked.keep)
    counts = sum(spread(work, asked.seeds, asked.processes), Counter[Outcome]())
    for outcome, times in sorted(counts.items()):
        sys.stdout.write(f"{outcome.kind:14} {times:7} {outcome.became}\n")
    sys.stdout.write(f"{counts.total()} files, {told(asked.seeds)}\n")
    sys.exit(not all(map(is_fine, counts)))


if __name__ == "__main__":
    main()
