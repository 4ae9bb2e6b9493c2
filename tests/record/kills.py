"""Kills the program at random moments of a leg: ``python -m tests.record.kills --kills 250 --seeds 1-40``.

A child goes through a scripted leg with the parts that write (``Keeper``, the summary, the seal) and
tells each step over a pipe: before it begins, and when it is acknowledged, which is when the nurse would
hear her tone; the leg's exports, its page, and dropping its sound come last. It is killed at a random moment; the next child finds the leg as the next start of
legbook does, and goes on. After every kill the disk must hold all that was acknowledged.
"""

from __future__ import annotations

import argparse
import gc
import os
import shutil
import signal
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass, field
from functools import partial
from math import inf
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING

from tests.record import handing_on
from tests.record.conftest import at, sound
from tests.spread import add_to, spread, told
from voice.commands.handoff import SUMMARY, write_summary
from voice.dialogue.actions import Confirm, EndLeg, Keep, StartLeg, Withdraw
from voice.dialogue.state import StateName
from voice.entries.heard import Hearing
from voice.entries.kinds.drain import Pressure
from voice.entries.leg import LegSettings
from voice.entries.said import Statement
from voice.meaning.decision import NotForUs
from voice.record import protecting, protection
from voice.record.events import Confirmed, Kept, LegEnded, LegStarted, Together, Withdrawn
from voice.record.journal import Journal
from voice.record.part import is_plain
from voice.record.reading import leg_folders, parts, read_chain
from voice.record.shelf import latest, verify
from voice.session.keeper import Keeper, Origin, Utterance

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from voice.dialogue.actions import Record
    from voice.record.events import Event

_SEAL_DIGITS = 64


def keep(number: int, replaces: int | None = None) -> Keep:
    """A pressure, with a value by which its place in the leg is known."""
    entry = Pressure(value=number, unit="mmHg")
    return Keep(number, f"pressure {number}", Statement(entry=entry), replaces)


PLAN: tuple[tuple[Record, ...], ...] = (
    (StartLeg(),),
    (keep(1),),
    (Confirm(1),),
    (keep(2),),
    (keep(3, replaces=2),),
    (Confirm(3),),
    (keep(4), keep(5), keep(6)),
    (Confirm(4), Confirm(5), Confirm(6)),
    (keep(7),),
    (Withdraw(7, "scratch that"),),
    (keep(8),),
    (EndLeg(),),
)
"""What is asked of the journal, step by step; each is one event."""
STEPS = LegStarted | Kept | Confirmed | Withdrawn | Together | LegEnded
"""The events that they become; what was heard, and the program's own, stand between them."""


def as_records(event: Event) -> tuple[Record, ...]:  # noqa: PLR0911 - one for each kind
    """The step that became ``event``."""
    match event:
        case Together(parts=parts):
            return tuple(record for part in parts for record in as_records(part))
        case Kept(number=number, entry=Pressure(value=value), replaces=replaces):
            return (keep(number, replaces),) if value == number else ()
        case Confirmed(number=number):
            return (Confirm(number),)
        case Withdrawn(number=number, why=why):
            return (Withdraw(number, why),)
        case LegStarted():
            return (StartLeg(),)
        case LegEnded():
            return (EndLeg(),)
    return ()


def steps(events: Iterable[Event]) -> tuple[tuple[Record, ...], ...]:
    """The steps that a journal holds."""
    return tuple(as_records(event) for event in events if isinstance(event, STEPS))


def protect() -> None:
    """Keep each leg from now on encrypted; what opens them is known to this program and its children."""
    protection.COST = 2
    protecting.switch_on(b"four words or more")


# --- the child -----------------------------------------------------------------------------------


@dataclass
class Teller:
    """The child's end of the pipe."""

    pipe: int

    def begins(self, what: str) -> None:
        """What is about to be done."""
        os.write(self.pipe, f"> {what}\n".encode())

    def acknowledges(self, leg_id: str, what: str) -> None:
        """What the nurse may rely on from now on."""
        os.write(self.pipe, f"{leg_id} {what}\n".encode())


def go_through_legs(root: Path, tell: Teller) -> None:
    """Go on with the leg that was broken off, then begin others, until killed."""
    while True:
        hand_on(go_through_a_leg(root, tell), tell)


def go_through_a_leg(root: Path, tell: Teller) -> Path:
    """One leg to its summary, or what is left of it; where it lies."""
    tell.begins("finding the leg")
    found = next(latest(root), None)
    keeper, done = Keeper(Origin(root, LegSettings(), "g", "m")), 0
    if found is not None and found.broken_off:
        keeper = Keeper(
            Origin(root, LegSettings(), "g", "m"), Journal.open(root / found.id, at(30))
        )
        done = len(steps(read_chain([keeper.folder]).events))
        tell.begins("going on with the leg")
        keeper.go_on(at(30))
    elif found is not None and not found.sealed:
        hand_off(root / found.id, tell)
        return root / found.id
    for number, step in enumerate(PLAN[done:], done):
        speak_and_keep(keeper, number, step, tell)
    hand_off(keeper.folder, tell)
    return keeper.folder


def speak_and_keep(keeper: Keeper, number: int, step: Sequence[Record], tell: Teller) -> None:
    """One step of the plan, with the sound and the words by which it was asked for."""
    now = at(number)
    if keeper.running:
        tell.begins("keeping sound and words")
        keeper.note_down(
            sound(number), Hearing(()), NotForUs(), StateName.LISTENING,
            start_at=now, end_at=now, now=now,
        )  # fmt: skip
    tell.begins(
        {0: "starting a leg", len(PLAN) - 1: "ending a leg"}.get(number, "writing an entry")
    )
    keeper.do(step, Utterance(now), now)
    tell.acknowledges(keeper.folder.name, str(number))


def hand_off(folder: Path, tell: Teller) -> None:
    """Seal a leg that has ended, and leave its summary."""
    tell.begins("sealing")
    with Journal.open(folder, at(60)) as journal:
        journal.seal(at(60))
    tell.acknowledges(folder.name, "sealed")
    tell.begins("writing the summary")
    write_summary(folder, at(61))
    tell.acknowledges(folder.name, "summary")


def hand_on(folder: Path, tell: Teller) -> None:
    """All that is made of a leg that is over."""
    for doing, mark, do in handing_on.doings(folder):
        tell.begins(doing)
        do()
        tell.acknowledges(folder.name, mark)


# --- the parent ----------------------------------------------------------------------------------


@dataclass
class Tally:
    """What became of the kills."""

    kills: Counter[str] = field(default_factory=Counter)
    """What the program was at when it was killed."""
    acknowledged: set[tuple[str, str]] = field(default_factory=set)
    losses: list[str] = field(default_factory=list)
    """Anything that was not as it must be, in whole sentences."""
    legs: set[str] = field(default_factory=set)
    """Legs that no child goes on with any more: checked for the last time and cleared away."""

    def take(self, told: str) -> None:
        """What a child told before it was killed."""
        lines = told.splitlines()
        doing = [line for line in lines if line.startswith("> ")]
        idle = not lines or not lines[-1].startswith("> ")
        self.kills["between two steps" if idle else doing[-1].removeprefix("> ")] += 1
        for line in lines:
            if not line.startswith("> "):
                leg_id, what = line.split()
                self.acknowledged.add((leg_id, what))

    def check(self, root: Path) -> None:
        """Hold what lies on the disk against what was acknowledged."""
        last = next(latest(root), None)
        for leg_id in {leg_id for leg_id, _ in self.acknowledged} - self.legs:
            marks = {what for one, what in self.acknowledged if one == leg_id}
            self.losses += [f"Leg {leg_id}: {loss}" for loss in losses(root / leg_id, marks)]
            if last is None or last.id != leg_id:
                self.legs.add(leg_id)
                shutil.rmtree(root / leg_id)


def losses(folder: Path, marks: set[str], spare: Path | None = None) -> list[str]:
    """What of a leg is not there though it was acknowledged, or not as it must be."""
    verdict = verify(folder, spare)
    found = list(verdict.findings)
    there = steps(read_chain(leg_folders(folder, spare)).events)
    if there != PLAN[: len(there)]:
        found.append("The steps are not those of the plan, in its order, each once.")
    acknowledged = 1 + max((int(mark) for mark in marks if mark.isdecimal()), default=-1)
    if len(there) < acknowledged:
        found.append(f"{acknowledged} steps were acknowledged and {len(there)} are there.")
    if "sealed" in marks and not verdict.sealed:
        found.append("It is not sealed.")
    summaries = [one / SUMMARY for one in leg_folders(folder, spare) if (one / SUMMARY).exists()]
    if any(len(summary.read_text("utf-8").split()[-1]) != _SEAL_DIGITS for summary in summaries):
        found.append("There is half a summary.")
    protected = protection.own_lock() is not None
    if protected and any(map(_is_in_clear, parts(leg_folders(folder, spare)).values())):
        found.append("A protected leg was written in clear.")
    if protected and summaries:
        found.append("There is a summary in clear of a protected leg.")
    if "summary" in marks and not (summaries or protected):
        found.append("The summary is not there.")
    return [*found, *handing_on.faults(folder, marks)]


def _is_in_clear(part: Path) -> bool:
    return part.stat().st_size > 0 and is_plain(part)


def kill_once(root: Path, delay_s: float) -> str:
    """Run a child and kill it after ``delay_s``; what it told."""
    reader, writer = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.close(reader)
            go_through_legs(root, Teller(writer))
        finally:
            os._exit(1)
    os.close(writer)
    with os.fdopen(reader) as told:
        first = told.readline()
        time.sleep(delay_s)
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        return first + told.read()


def longest_s(root: Path) -> float:
    """How long a child goes through a whole leg, measured; what is read once is read by then."""
    silent = Teller(os.open(os.devnull, os.O_WRONLY))
    for _ in range(2):
        began_s = time.perf_counter()
        hand_on(go_through_a_leg(root / "measured", silent), silent)
        taken_s = time.perf_counter() - began_s
    os.close(silent.pipe)
    gc.freeze()  # children copy less
    return taken_s


def run(root: Path, kills: int, seed: int, seconds: float = inf) -> Tally:
    """Kill so many children, each at a random moment of a leg, and check after each; at most so long."""
    until_s = time.monotonic() + seconds
    chance, tally = Random(seed), Tally()
    within_s = longest_s(root)
    for _ in range(kills):
        tally.take(kill_once(root / "legs", chance.uniform(0, within_s)))
        tally.check(root / "legs")
        if time.monotonic() > until_s:
            break
    return tally


def run_in_a_new_home(
    seed: int, *, kills: int, seconds: float, folder: Path | None, protected: bool
) -> Tally:
    """The same, in a temporary folder."""
    os.environ.pop("LEGBOOK_SPARE", None)
    with tempfile.TemporaryDirectory(dir=folder) as temporary:
        os.environ["LEGBOOK_HOME"] = temporary
        if protected:
            protect()
        return run(Path(temporary), kills, seed, seconds)


def main() -> None:
    """Kill, and show the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=250, help="for each seed")
    parser.add_argument("--seconds", type=float, default=inf, help="at most, for each seed")
    add_to(parser)
    parser.add_argument("--folder", type=Path, help="where; else a temporary folder")
    parser.add_argument("--protected", action="store_true", help="legs that are kept encrypted")
    asked = parser.parse_args()
    work = partial(
        run_in_a_new_home, kills=asked.kills, seconds=asked.seconds, folder=asked.folder,
        protected=asked.protected,
    )  # fmt: skip
    tallies = list(spread(work, asked.seeds, asked.processes))
    kills = sum((tally.kills for tally in tallies), Counter[str]())
    losses = [loss for tally in tallies for loss in tally.losses]
    rows = "".join(f"| {what} | {count} |\n" for what, count in kills.most_common())
    sys.stdout.write(
        f"| killed while | times |\n|---|---|\n{rows}\n"
        f"{kills.total()} kills, {told(asked.seeds)}: "
        f"{sum(len(tally.acknowledged) for tally in tallies)} steps acknowledged in "
        f"{sum(len(tally.legs) for tally in tallies)} whole legs, {len(losses)} losses.\n"
    )
    for loss in losses[:20]:
        sys.stdout.write(f"{loss}\n")
    sys.exit(bool(losses))


if __name__ == "__main__":
    main()
