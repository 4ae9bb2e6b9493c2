"""Breaks off a change of the key at every call on a file: ``python -m tests.record.faults.renewal``.

Two protected legs, one of them gone on in its spare folder, are written anew under another key. That is done as often as
it makes calls which change something: each time it is killed at another one, or that one fails, once or from there on; and after
each change disks are made as a power loss may leave them (`tests.record.faults.power`). From each the legs must open by
the one passphrase or the other, whole and the same as before; the command must go on; and afterwards nothing of a leg may open
by the key of before. None of all that is written may hold a word in clear.
"""

from __future__ import annotations

import argparse
import errno
import json
import os
import shutil
import sys
import tempfile
from contextlib import suppress
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING, NamedTuple

from tests.record.conftest import START, at, fill, kept, sound
from tests.record.faults.disk import FAULTS, Fault
from tests.record.faults.power import Change, Content, Disk, in_clear, read_log
from tests.record.faults.shim import Call, Shim, is_there, run_with_shim
from voice.entries.errors import LegbookError
from voice.entries.leg import LegSettings
from voice.record import protecting, protection
from voice.record.clips import FOLDER
from voice.record.converting import convert
from voice.record.errors import JournalError
from voice.record.events import LegEnded
from voice.record.journal import Journal
from voice.record.part import key_that_opens
from voice.record.places import legs_root, spare_root
from voice.record.protection import NAME, OPENED, PASSPHRASE, Lock, open_with, own_lock
from voice.record.reading import leg_folders, parts
from voice.record.shelf import leg_ids, spare_folder, verify

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from voice.record.chain import Head
    from voice.record.data_key import DataKey

OLD, NEW = "tall pines and rain", "another day of rain"
_NEVER = 1_000_000


class Machine(NamedTuple):
    """A machine before the change."""

    template: Path
    """Its files, to be copied."""
    home: Path
    """Where each copy lies."""
    heads: dict[str, Head]
    old_key: DataKey


def made(folder: Path) -> Machine:
    """Two protected legs; the second goes on in its spare folder, with sound in both."""
    home = folder / "home"
    live_in(home)
    protection.COST = 2
    OPENED.forget()
    OPENED.ask = None
    lock = protecting.switch_on(OLD.encode())
    for leg_id in ("2026-05-01-1400", "2026-05-02-1400"):
        at_home = legs_root() / leg_id
        with Journal.create(
            at_home, LegSettings(), START, grammar_digest="", model_digest="",
            spare=spare_folder(at_home),
        ) as journal:  # fmt: skip
            fill(journal, 2)
            if leg_id.startswith("2026-05-02"):
                _go_on_elsewhere(journal)
            journal.append(LegEnded(at=at(40)))
    heads = {one: verify(*where).head for one, where in legs().items()}
    shutil.copytree(home, folder / "template")
    return Machine(folder / "template", home, heads, OPENED.key(lock))


def live_in(home: Path) -> None:
    """Let legs lie there."""
    os.environ["LEGBOOK_HOME"], os.environ["LEGBOOK_SPARE"] = str(home), str(home / "spare")


def _go_on_elsewhere(journal: Journal) -> None:
    assert journal._part is not None
    journal._part.close()
    with suppress(JournalError):
        journal.append(kept(3))
    journal.carry_on(at(3))
    journal.append(kept(3, minute=3))
    journal.add_clip(sound(9))


def legs() -> dict[str, tuple[Path, Path | None]]:
    """Where each leg lies."""
    ids = leg_ids(legs_root(), spare_root())
    return {one: (legs_root() / one, spare_folder(legs_root() / one)) for one in ids}


def anew(machine: Machine) -> None:
    """The machine as it was before the change; only what opened it then is known."""
    shutil.rmtree(machine.home, ignore_errors=True)
    shutil.copytree(machine.template, machine.home)
    OPENED.forget()
    os.environ[PASSPHRASE] = OLD


def change_key() -> None:
    """As `legbook protect change --new-key` does it."""
    through_all_legs(protecting.renew(NEW.encode()))


def through_all_legs(lock: Lock) -> None:
    """Every leg under the newest key."""
    for folder, spare in legs().values():
        convert(folder, spare, lock)
    protecting.renewed()


def wrong(machine: Machine) -> list[str]:
    """What is not as it must be after the change was broken off, and after it was gone on with by a new start."""
    OPENED.forget()
    lock = own_lock()
    if lock is None:
        return ["The machine has lost its lock."]
    changed = open_with(lock, NEW.encode()) is not None
    os.environ[PASSPHRASE] = NEW if changed else OLD
    found = [f"Broken off: {one}" for one in _not_whole(machine)]
    if changed:
        through_all_legs(protecting.switch_on(b""))  # legbook protect on
    else:
        change_key()
    OPENED.forget()
    os.environ[PASSPHRASE] = NEW
    found += [f"Gone on with: {one}" for one in (*_not_whole(machine), *_of_before(machine))]
    return found


def _not_whole(machine: Machine) -> Iterator[str]:
    if set(legs()) != set(machine.heads):
        yield f"There are the legs {sorted(legs())}."
    for leg_id, where in legs().items():
        verdict = verify(*where)
        yield from verdict.findings
        if verdict.head != machine.heads[leg_id]:
            yield f"Leg {leg_id} is another one."


def _of_before(machine: Machine) -> Iterator[str]:
    """What the old key or the old passphrase opens, and what lies about half done."""
    lock = own_lock()
    if lock is None or lock.renewing:
        yield "The change is not over."
    for where in legs().values():
        for path in parts(leg_folders(*where)).values():
            if key_that_opens(path, [machine.old_key]) is not None:
                yield f"{path} opens by the old key."
    for path in machine.home.rglob("*"):
        if path.parent.name == FOLDER and machine.old_key.open_sound(path.name, path.read_bytes()):
            yield f"{path} opens by the old key."
        if path.name == NAME and open_with(
            Lock.model_validate_json(path.read_bytes()), OLD.encode()
        ):
            yield f"{path} opens by the old passphrase."
        if ".new" in path.name:
            yield f"{path} was left half done."


# --- killed, and failing ----------------------------------------------------------------------------


class Told(NamedTuple):
    """What a child tells in the end."""

    seen: int
    """Calls that change something."""
    crash: str = ""
    wrong: tuple[str, ...] = ()


def in_child(machine: Machine, do: Callable[[], Told]) -> Told | None:
    """What a child that did it tells; ``None`` of one that was killed."""
    anew(machine)
    reader, writer = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            told = do()
        except BaseException as error:  # noqa: BLE001 - whatever it is would have ended the program
            told = Told(0, f"{type(error).__name__}: {error}")
        os.write(writer, json.dumps(told).encode())
        os._exit(0)
    os.close(writer)
    with os.fdopen(reader) as pipe:
        said = pipe.read()
    os.waitpid(child, 0)
    return Told(*json.loads(said)) if said else None


def counted(machine: Machine, shim: Shim, kinds: Call) -> int:
    """How many calls there are at which the change can be broken off so."""

    def do() -> Told:
        shim.watch(machine.home)
        shim.fail(machine.home, kinds, errno.EIO, after=_NEVER, for_good=False)
        change_key()
        return Told(shim.seen)

    told = in_child(machine, do)
    assert told is not None
    assert not told.crash, told.crash
    return told.seen


def killed(machine: Machine, shim: Shim, after: int) -> list[str]:
    """What is wrong after the program was killed at one call."""

    def do() -> Told:
        shim.watch(machine.home)
        shim.kill(machine.home, Call.changing(), after=after)
        change_key()
        return Told(shim.seen, crash="It was not killed.")

    told = in_child(machine, do)
    return wrong(machine) if told is None else [told.crash]


def failed(machine: Machine, shim: Shim, after: int, fault: Fault) -> list[str]:
    """What is wrong after one call failed, or all from there on, and the disk was well again."""

    def do() -> Told:
        shim.watch(machine.home)
        shim.fail(machine.home, fault.calls, fault.error, after=after, for_good=fault.for_good)
        with suppress(LegbookError):  # a sentence is what is asked for
            change_key()
        seen, missed = shim.seen, not shim.failed
        shim.heal()
        return Told(seen, "No call failed." if missed else "", tuple(wrong(machine)))

    told = in_child(machine, do)
    assert told is not None
    return [*filter(None, [told.crash]), *told.wrong]


# --- the power fails --------------------------------------------------------------------------------


def logged(machine: Machine, shim: Shim, log: Path) -> list[Change]:
    """Every change of a file."""

    def do() -> Told:
        shim.watch(machine.home)
        shim.log(os.open(log, os.O_WRONLY | os.O_CREAT))
        change_key()
        return Told(0)

    told = in_child(machine, do)
    assert told is not None
    assert not told.crash, told.crash
    return read_log(log)


def disk_of(machine: Machine) -> Disk:
    """The machine's disk before the change."""
    disk = Disk()
    for path in machine.template.rglob("*"):
        if path.is_file():
            name = str(machine.home / path.relative_to(machine.template))
            disk.now[name] = disk.synced[name] = Content(path.read_bytes())
    return disk


def without_power(
    machine: Machine, changes: list[Change], number: int, chance: Random
) -> Iterator[list[str]]:
    """What is wrong on each of three disks that a power loss after change ``number`` may leave."""
    disk = disk_of(machine)
    for change in changes[: number + 1]:
        disk.take(change)
    for files in (
        disk.after_power_loss(None),
        disk.after_power_loss(None, all_of_it=True),
        disk.after_power_loss(chance),
    ):
        shutil.rmtree(machine.home)
        for path, content in files.items():
            Path(path).parent.mkdir(parents=True, exist_ok=True)
            Path(path).write_bytes(content)
        yield wrong(machine)


# --- all of it --------------------------------------------------------------------------------------


def broken_off(every: int, seed: int) -> Iterator[tuple[str, int, list[str]]]:
    """By kind: how it was broken off, how often, and what was wrong then."""
    shim = Shim()
    with tempfile.TemporaryDirectory() as temporary:
        machine = made(Path(temporary))
        calls = range(every // 2, counted(machine, shim, Call.changing()), every)
        yield (
            "killed",
            len(calls),
            [f"{n}: {one}" for n in calls for one in killed(machine, shim, n)],
        )
        for fault in FAULTS:
            calls = range(every // 2, counted(machine, shim, fault.calls), every)
            yield (
                fault.name,
                len(calls),
                [f"{n}: {one}" for n in calls for one in failed(machine, shim, n, fault)],
            )
        changes = logged(machine, shim, Path(temporary) / "log")
        cuts = range(every // 2, len(changes), every)
        chance = Random(seed)
        yield (
            "power cut",
            len(cuts) * 3,
            in_clear(changes)
            + [
                f"{n}: {one}"
                for n in cuts
                for disk in without_power(machine, changes, n, chance)
                for one in disk
            ],
        )


def main() -> None:
    """Start again with the shim, if it is not there yet; show the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument(
        "--every", type=int, default=1, help="break off only at every so many-th call"
    )
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    if not is_there():
        sys.exit(run_with_shim("tests.record.faults.renewal", sys.argv[1:]))
    sys.stdout.write("| broken off | times | lost, left, or in clear |\n|---|---|---|\n")
    bad: list[str] = []
    for name, times, sentences in broken_off(asked.every, asked.seed):
        sys.stdout.write(f"| {name} | {times} | {len(sentences)} |\n")
        sys.stdout.flush()
        bad += [f"{name}, {one}" for one in sentences]
    for sentence in bad[:40]:
        sys.stdout.write(f"{sentence}\n")
    sys.exit(bool(bad))


if __name__ == "__main__":
    main()
