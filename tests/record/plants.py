"""How many planted changes `verify` finds: ``python -m tests.record.plants --times 1000 --seed 1``."""

from __future__ import annotations

import argparse
import shutil
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from random import Random

from tests.record.conftest import START, at, fill
from tests.record.planting import SEEN_BY_CODE, SEEN_BY_KEY, SEEN_INSIDE
from voice.entries.leg import LegSettings
from voice.record.events import LegEnded
from voice.record.journal import Journal
from voice.record.proof import code
from voice.record.shelf import verify
from voice.record.signing import make_key

Plant = Callable[[Path, Random], None]


def missed(
    leg: Path,
    root: Path,
    plant: Plant,
    times: int,
    chance: Random,
    *,
    noted: str | None = None,
    key: str | None = None,
) -> list[int]:
    """Plant one kind of change so often, each time into a whole leg; which of them were not found.

    ``noted`` and ``key`` are what ``verify`` is given from outside the leg's folder.
    """
    found = []
    for time in range(times):
        copy = root / leg.name
        shutil.copytree(leg, copy)
        plant(copy, chance)
        if verify(copy, noted=noted, key=key).intact:
            found.append(time)
        shutil.rmtree(root)
    return found


def main() -> None:
    """Plant every kind, and tell how many were found."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--times", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as temporary:
        leg = Path(temporary) / "leg"
        with Journal.create(
            leg, LegSettings(), START, grammar_digest="", model_digest=""
        ) as journal:
            fill(journal, 12)
            journal.append(LegEnded(at=at(40)))
            noted = code(journal.head)
        signed, key = Path(temporary) / "signed" / "leg", make_key(Path(temporary) / "key", "A")
        shutil.copytree(leg, signed)
        with Journal.open(signed, at(50)) as journal:
            journal.seal(at(50), key)
        for plant in (*SEEN_INSIDE, *SEEN_BY_CODE, *SEEN_BY_KEY):
            chance = Random(f"{asked.seed} {plant.__name__}")
            planted = signed if plant in SEEN_BY_KEY else leg
            left = missed(
                planted, Path(temporary) / "copy", plant, asked.times, chance,
                noted=noted if plant in SEEN_BY_CODE else None,
                key=key.public if plant in SEEN_BY_KEY else None,
            )  # fmt: skip
            sys.stdout.write(
                f"{plant.__name__:20} planted {asked.times}, found {asked.times - len(left)}\n"
            )


if __name__ == "__main__":
    main()
