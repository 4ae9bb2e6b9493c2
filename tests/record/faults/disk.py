"""Lets each call on a leg's files fail in turn: ``python -m tests.record.faults.disk``.

A scripted leg is flown as often as it makes such calls; each time another one fails, once or from there
on. What was acknowledged must be there afterwards, with everything in order; the nurse must have been told;
and nothing but a sentence for her may come out of it.
"""

from __future__ import annotations

import argparse
import errno
import json
import os
import sys
import tempfile
from dataclasses import asdict, dataclass, field
from itertools import groupby
from typing import TYPE_CHECKING, NamedTuple

from tests.record.conftest import at, sound
from tests.record.faults.shim import Call, Shim, is_there, run_with_shim
from tests.record.kills import PLAN, losses, protect
from tests.spread import add_processes_to, spread
from voice.commands.handoff import write_summary
from voice.dialogue.state import StateName
from voice.entries.errors import LegbookError
from voice.entries.heard import Hearing
from voice.entries.leg import LegSettings
from voice.meaning.decision import NotForUs
from voice.record.events import Noticed
from voice.record.journal import Journal
from voice.record.places import legs_root, spare_root
from voice.record.shelf import latest, spare_folder, verify
from voice.session.keeper import Keeper, Origin, Utterance

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from voice.dialogue.actions import Record


_NEVER = 1_000_000


class Fault(NamedTuple):
    """A way in which a disk fails."""

    name: str
    calls: Call
    error: int
    for_good: bool


class Share(NamedTuple):
    """Some of the legs with a fault: in which the call ``first`` fails, and each so many-th after it."""

    fault: Fault
    spare: bool
    protected: bool
    first: int
    every: int


_FILLING = Call.CREATE | Call.WRITE
_CHANGING = Call.changing()
FAULTS = (
    Fault("full disk, for a moment", _FILLING, errno.ENOSPC, for_good=False),
    Fault("full disk", _FILLING, errno.ENOSPC, for_good=True),
    Fault("I/O error, once", _CHANGING | Call.READ, errno.EIO, for_good=False),
    Fault("dead disk", _CHANGING | Call.READ, errno.EIO, for_good=True),
    Fault("read-only disk", _FILLING | Call.REMOVE, errno.EROFS, for_good=True),
    Fault("fsync fails, once", Call.SYNC, errno.EIO, for_good=False),
    Fault("fsync fails", Call.SYNC, errno.EIO, for_good=True),
)


@dataclass
class Flight:
    """What came of one leg."""

    failed: int = 0
    """Calls that failed."""
    acknowledged: list[str] = field(default_factory=list)
    told: list[str] = field(default_factory=list)
    """Sentences for the nurse."""
    crashes: list[str] = field(default_factory=list)
    losses: list[str] = field(default_factory=list)

    @property
    def silent(self) -> bool:
        """Whether a step was not acknowledged, and nobody was told why."""
        return not self.told and len(self.acknowledged) < len(PLAN) + 2


def fly(flight: Flight) -> None:
    """Go through the plan; what is refused is said once more, and then the nurse writes by hand."""
    keeper = Keeper(Origin(legs_root(), LegSettings(), "g", "m", spare_root()))
    for number, step in enumerate(PLAN):
        if not any(_done(keeper, number, step, flight) for _attempt in range(2)):
            break
    keeper.close()
    if not flight.acknowledged:
        return
    folder = keeper.folder
    try:
        with Journal.open(folder, at(60), spare=spare_folder(folder)) as journal:
            journal.seal(at(60))
        flight.acknowledged.append("sealed")
        write_summary(folder, at(61))
        flight.acknowledged.append("summary")
    except LegbookError as error:
        flight.told.append(str(error))


def _done(keeper: Keeper, number: int, step: Sequence[Record], flight: Flight) -> bool:
    """One step, as the session does it: what is raised or noted as trouble is spoken."""
    now = at(number)
    try:
        if keeper.running:
            keeper.note_down(
                sound(number), Hearing(()), NotForUs(), StateName.LISTENING,
                start_at=now, end_at=now, now=now,
            )  # fmt: skip
        keeper.do(step, Utterance(now), now)
    except LegbookError as error:
        flight.told.append(str(error))
        return False
    else:
        flight.acknowledged.append(str(number))
        return True
    finally:
        flight.told += keeper.troubles
        keeper.troubles.clear()


def afterwards(flight: Flight) -> None:
    """With the disk well again: look for losses, and go on with the leg if it can be."""
    found = next(latest(legs_root(), spare_root()), None)
    if found is None:
        flight.losses += ["There is no leg."] if flight.acknowledged else []
        return
    folder, spare = legs_root() / found.id, spare_folder(legs_root() / found.id)
    flight.losses += losses(folder, set(flight.acknowledged), spare)
    if not found.sealed and found.leg is not None:
        with Journal.open(folder, at(90), spare=spare) as journal:
            journal.append(Noticed(at=at(90), text="The disk is well again."))
        flight.losses += verify(folder, spare).findings


def flown_with(fault: Fault, after: int, shim: Shim) -> tuple[Flight, int]:
    """A leg in a process of its own, in which the call after so many others fails; and how many there were."""
    reader, writer = os.pipe()
    child = os.fork()
    if child == 0:
        flight = Flight()
        try:
            shim.watch(legs_root().parent)
            shim.fail(
                legs_root().parent, fault.calls, fault.error, after=after, for_good=fault.for_good
            )
            fly(flight)
            flight.failed, seen = shim.failed, shim.seen
            shim.heal()
            afterwards(flight)
        except BaseException as error:  # noqa: BLE001 - whatever it is would have ended the program
            flight.crashes.append(f"{type(error).__name__}: {error}")
            seen = shim.seen
        os.write(writer, json.dumps([asdict(flight), seen]).encode())
        os._exit(0)
    os.close(writer)
    with os.fdopen(reader) as told:
        flown, seen = json.loads(told.read())
    os.waitpid(child, 0)
    return Flight(**flown), seen


def flights(share: Share) -> list[Flight]:
    """A share of the legs: one for every so many-th call that can fail so, counted in a leg in which none does."""
    warm_up()
    shim = Shim()
    _, calls = _flown_in_a_new_home(share, _NEVER, shim)
    return [
        _flown_in_a_new_home(share, after, shim)[0]
        for after in range(share.first, calls, share.every)
    ]


def _flown_in_a_new_home(share: Share, after: int, shim: Shim) -> tuple[Flight, int]:
    with tempfile.TemporaryDirectory() as temporary:
        os.environ["LEGBOOK_HOME"] = f"{temporary}/home"
        os.environ.pop("LEGBOOK_SPARE", None)
        if share.spare:
            os.environ["LEGBOOK_SPARE"] = f"{temporary}/spare"
        if share.protected:
            protect()
        return flown_with(share.fault, after, shim)


def warm_up() -> None:
    """Read once what every leg reads."""
    with tempfile.TemporaryDirectory() as temporary:
        os.environ["LEGBOOK_HOME"] = temporary
        os.environ.pop("LEGBOOK_SPARE", None)
        fly(Flight())


def shares(every: int, processes: int, *, protected: bool) -> Iterator[Share]:
    """For each fault, with a spare and without, as many shares as there are processes."""
    for fault in FAULTS:
        for spare in (True, False):
            for number in range(processes):
                first = every // 2 + number * every
                yield Share(fault, spare, protected, first, every * processes)


def table(flown: Iterable[tuple[Share, list[Flight]]]) -> Iterator[tuple[str, list[str]]]:
    """A line for each fault, and what was wrong; ``flown`` in the order of `shares`."""
    for (fault, spare), group in groupby(flown, lambda one: (one[0].fault, one[0].spare)):
        legs = [flight for _, some in group for flight in some]
        wrong = [sentence for one in legs for sentence in (*one.losses, *one.crashes)]
        wrong += [f"Nobody was told: {one.acknowledged}" for one in legs if one.silent]
        steps = sum(len(one.acknowledged) for one in legs)
        whole = sum(len(one.acknowledged) == len(PLAN) + 2 for one in legs)
        cells = (fault.name, "yes" if spare else "no", len(legs), whole, steps, len(wrong))
        yield f"| {' | '.join(map(str, cells))} |", [f"{fault.name}: {one}" for one in wrong]


def main() -> None:
    """Start again with the shim, if it is not there yet; show the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--every", type=int, default=1, help="let only every so many-th call fail")
    parser.add_argument("--protected", action="store_true", help="legs that are kept encrypted")
    add_processes_to(parser)
    asked = parser.parse_args()
    if not is_there():
        sys.exit(run_with_shim("tests.record.faults.disk", sys.argv[1:]))
    wrong = []
    sys.stdout.write(
        "| fault | spare | legs flown | whole all the same | steps acknowledged | lost or silent |\n"
        "|---|---|---|---|---|---|\n"
    )
    parts = list(shares(asked.every, asked.processes, protected=asked.protected))
    flown = spread(flights, parts, asked.processes)
    for line, sentences in table(zip(parts, flown, strict=True)):
        sys.stdout.write(f"{line}\n")
        sys.stdout.flush()
        wrong += sentences
    for sentence in wrong[:40]:
        sys.stdout.write(f"{sentence}\n")
    sys.exit(bool(wrong))


if __name__ == "__main__":
    main()
