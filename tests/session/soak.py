"""A night in flight: hours of simulated cabin sound through everything, faster than real time.

    python -m tests.session.soak --hours 8 --every 40

prints, for each hour, how much memory the program holds, the processor time that the hour took, and
its slowest answer; then what is not as it was said, what was lost, and how far time has drifted.
"""

from __future__ import annotations

import argparse
import re
import sys
import tempfile
from collections import defaultdict, deque
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from tests.session.cabin import Cabin, Lost, flight
from voice.capture.microphone import BLOCK_S
from voice.hearing.segmenter import Segmenter
from voice.hearing.vad import SileroVad
from voice.meaning.grammar import load_grammar
from voice.record.shelf import load
from voice.session.keeper import Keeper
from voice.session.models import SHIPPED_MODEL
from voice.session.mouth import Mouth, Silent
from voice.session.progress import Spoken
from voice.session.session import Session
from voice.session.setups import Equipment
from voice.speech.synthesiser import system_synthesiser

if TYPE_CHECKING:
    from voice.entries.leg import Leg

START = datetime(2031, 5, 1, 20, 0, tzinfo=UTC)
LOSSES_BLOCKS = (4, 8, 20, 40, 100, 1000)
"""How much is lost at a time: from just more than can be told from a late block to half a minute."""


@dataclass
class Flown:
    """What became of a flight."""

    leg: Leg
    cabin: Cabin
    losses: tuple[Lost, ...]

    def differences(self) -> list[str]:
        """A line for each entry that is not as it was said, or not confirmed; none where all are.

        One that is missing does not count against those after it.
        """
        said = [str(entry) for _, doing in self.cabin.said for entry in doing.entries]
        kept = [str(one.entry) for one in self.leg.entries]
        return [
            *(
                f"said {one or 'nothing'}, kept {other or 'nothing'}"
                for one, other in unlike(said, kept)
            ),
            *(f"not confirmed: {one.entry}" for one in self.leg.entries if not one.confirmed),
        ]

    def lost_s(self) -> list[float]:
        """What was lost, in s, to a tenth."""
        return [round(loss.blocks * BLOCK_S, 1) for loss in self.losses]

    def told_s(self) -> list[float]:
        """The losses that stand in the journal, in s."""
        told = (re.match(r"Sound was lost: ([\d.]+) s", one.text) for one in self.leg.notices)
        return [float(found[1]) for found in told if found]

    def delays(self) -> list[str]:
        """How often hearing was behind, and at most how far; nothing where it never was."""
        told = (re.match(r"Hearing was up to (\d+) s", one.text) for one in self.leg.notices)
        behind_s = [int(found[1]) for found in told if found]
        return [f"{len(behind_s)} times behind, by {max(behind_s)} s at most"] if behind_s else []

    def late_s(self) -> dict[str, list[float]]:
        """By its words, how long after the beginning of its clip an entry counts as spoken, in s."""
        times = (at_s for at_s, doing in self.cabin.said for _ in doing.entries)
        late_s = defaultdict(list)
        for at_s, kept in zip(times, self.leg.entries, strict=False):
            spoken_s = (kept.spoken_at - START).total_seconds()
            late_s[kept.heard].append(spoken_s - at_s)
        return late_s

    def drift_s(self) -> float:
        """How far the times of one clip, said again and again, move against the true clock."""
        return max(max(late_s) - min(late_s) for late_s in self.late_s().values())


def unlike(said: list[str], kept: list[str]) -> list[tuple[str, str]]:
    """The fewest changes from one to the other: what was said, and what stands in its place."""
    cost = [[row + column for column in range(len(kept) + 1)] for row in range(len(said) + 1)]
    for row, one in enumerate(said, 1):
        for column, other in enumerate(kept, 1):
            cost[row][column] = min(
                cost[row - 1][column] + 1,
                cost[row][column - 1] + 1,
                cost[row - 1][column - 1] + (one != other),
            )
    found, row, column = [], len(said), len(kept)
    while row or column:
        here = cost[row][column]
        if (
            row
            and column
            and here == cost[row - 1][column - 1] + (said[row - 1] != kept[column - 1])
        ):
            row, column = row - 1, column - 1
            if said[row] != kept[column]:
                found.append((said[row], kept[column]))
        elif row and here == cost[row - 1][column] + 1:
            row -= 1
            found.append((said[row], ""))
        else:
            column -= 1
            found.append(("", kept[column]))
    return found[::-1]


def fly(root: Path, hours: float, every_s: float, loss_every_s: float, slow: float = 0.0) -> Flown:
    """Fly it, on a machine so many times slower than this one; the journal will lie under ``root``."""
    equipment = Equipment(root=root, model=SHIPPED_MODEL, grammar=load_grammar())
    mouth = Mouth(system_synthesiser(), Silent())
    losses = tuple(
        Lost(number * loss_every_s, LOSSES_BLOCKS[(number - 1) % len(LOSSES_BLOCKS)])
        for number in range(1, int(hours * 3600 / loss_every_s) + 1)
    )
    cabin = Cabin(flight(hours, every_s), deque(losses), lambda: mouth.deaf_until_s, slow=slow)
    keeper = Keeper(equipment.origin())
    session = Session(
        source=cabin,
        segmenter=Segmenter(SileroVad()),
        ears=equipment.ears(),
        words=equipment.words(),
        programme=equipment.programme(),
        mouth=mouth,
        keeper=keeper,
        zero_at=START,
        clock=(lambda: cabin.machine_s) if slow else None,
    )
    for happened in session.run():
        if isinstance(happened, Spoken) and happened.text.endswith("say it again"):
            cabin.again()
    return Flown(load(keeper.folder), cabin, losses)


def main() -> None:
    """Fly and tell."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--hours", type=float, default=8)
    parser.add_argument("--every", type=float, default=40, help="seconds from entry to entry")
    parser.add_argument(
        "--slow",
        type=float,
        default=0,
        help="so many times slower than this machine is the one flown with",
    )
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        flown = fly(Path(folder), asked.hours, asked.every, 600, asked.slow)
    sys.stdout.write("\n".join(_told(flown)) + "\n")


def _told(flown: Flown) -> list[str]:
    minutes, leg = flown.cabin.minutes, flown.leg
    lines = [
        f"Memory after the first minute: {minutes[0].memory_mb:.0f} MB",
        "| hour | most memory, MB | processor time, s | slowest answer, s |",
        "|---|---|---|---|",
    ]
    for first in range(0, len(minutes), 60):
        hour = minutes[first : first + 60]
        lines.append(
            f"| {first // 60 + 1} | {max(one.memory_mb for one in hour):.0f} "
            f"| {sum(one.took_s for one in hour):.0f} | {max(one.slowest_s for one in hour):.2f} |"
        )
    return [
        *lines,
        f"{len(leg.entries)} entries, of which not as said: {len(flown.differences())}",
        *flown.differences(),
        *flown.delays(),
        f"{leg.passed_over} times passed over, {leg.not_understood} times not understood",
        f"{flown.cabin.repeated} times asked to say it again",
        f"lost, s: {flown.lost_s()}",
        f"told, s: {flown.told_s()}",
        f"the times of one clip move by {flown.drift_s():.3f} s at most",
    ]


if __name__ == "__main__":
    main()
