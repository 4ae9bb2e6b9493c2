"""Cuts the power after every change of a leg's files: ``python -m tests.record.faults.power``.

A leg is flown once, and every change of its files is written down. Then, for the moment after each change,
disks are made as a power loss may leave them: what was synced is there; of what was not, all, nothing, or
chance parts, in any order, writes torn at sectors of 512 bytes; of a folder's changes those before its
last sync, and of the later ones again all, none or some. From each disk the leg is found as by the next start:
all that had been acknowledged by then must be there, in order, and it must go on.
"""

from __future__ import annotations

import argparse
import os
import shutil
import sys
import tempfile
from dataclasses import dataclass, field
from functools import partial
from itertools import pairwise
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING, NamedTuple

from tests.record.conftest import at
from tests.record.faults.shim import Shim, is_there, run_with_shim
from tests.record.kills import Teller, go_through_a_leg, losses, protect
from tests.spread import add_to, spread, told
from voice.record.events import Noticed
from voice.record.journal import Journal
from voice.record.shelf import latest, verify

if TYPE_CHECKING:
    from collections.abc import Iterator

_SECTOR = 512
_WORDS = (b"pressure", b"mmHg", b"leg_started", b"CREATE TABLE", b"SQLite format", b"fLaC")
"""What stands in every leg, in its journal and in its sounds."""


class Change(NamedTuple):
    """One line of what the shim wrote down."""

    what: str
    path: str
    other: str
    at: int
    data: bytes


def read_log(file: Path) -> list[Change]:
    """All changes, in their order."""
    content, place, changes = file.read_bytes(), 0, []
    while place < len(content):
        end = content.index(b"\n", place)
        what, path, other, offset, length = content[place:end].decode().split("\t")
        size = int(length) if what == "write" else 0
        changes.append(Change(what, path, other, int(offset), content[end + 1 : end + 1 + size]))
        place = end + 1 + size
    return changes


@dataclass
class Content:
    """A file without its name: what is on the disk, and what is on the way there."""

    synced: bytes = b""
    waiting: list[Change] = field(default_factory=list)

    def after(self, waiting: list[Change]) -> bytes:
        """What is read once these changes have come through."""
        content = bytearray(self.synced)
        for change in waiting:
            if change.what == "truncate":
                del content[change.at :]
                content.extend(bytes(change.at - len(content)))
                continue
            content.extend(bytes(max(0, change.at - len(content))))
            content[change.at : change.at + len(change.data)] = change.data
        return bytes(content)


class Naming(NamedTuple):
    """A change of a folder: this name stands for that content from now on, or for none."""

    path: str
    content: Content | None


@dataclass
class Disk:
    """A disk that keeps what was synced and loses what it likes of the rest."""

    now: dict[str, Content] = field(default_factory=dict)
    """What programs see."""
    synced: dict[str, Content] = field(default_factory=dict)
    waiting: list[Naming] = field(default_factory=list)
    folders: set[str] = field(default_factory=set)
    """Names that are those of folders; what is in one comes and goes with it."""

    def take(self, change: Change) -> None:
        """Do what the program did."""
        match change.what:
            case "create":
                self._name(change.path, Content())
            case "unlink":
                self._name(change.path, None)
            case "rename":
                self._name(change.other, self.now[change.path])
                self._name(change.path, None)
            case "write" | "truncate":
                self.now[change.path].waiting.append(change)
            case "sync" if change.path in self.folders or change.path not in self.now:
                self._sync_folder(change.path)
            case "sync":
                content = self.now[change.path]
                content.synced, content.waiting = content.after(content.waiting), []
            case "mkdir":
                self.folders.add(change.path)
                self._name(change.path, Content())

    def _name(self, path: str, content: Content | None) -> None:
        self.waiting.append(Naming(path, content))
        if content is None:
            self.now.pop(path, None)
        else:
            self.now[path] = content

    def _sync_folder(self, folder: str) -> None:
        here = [naming for naming in self.waiting if _folder_of(naming.path) == folder]
        self.waiting = [naming for naming in self.waiting if naming not in here]
        _rename(self.synced, here)

    def after_power_loss(
        self, chance: Random | None, *, all_of_it: bool = False
    ) -> dict[str, bytes]:
        """The files after a power loss now; by ``chance`` some of what was not synced is there."""
        names = dict(self.synced)
        _rename(names, [one for one in self.waiting if all_of_it or (chance and _luck(chance))])
        return {
            path: content.after(
                content.waiting if all_of_it else _survivors(content.waiting, chance)
            )
            for path, content in names.items()
            if path not in self.folders and self._is_reached(path, names)
        }

    def _is_reached(self, path: str, names: dict[str, Content]) -> bool:
        folder = _folder_of(path)
        if folder not in self.folders:
            return True  # it was there before
        return folder in names and self._is_reached(folder, names)


def _folder_of(path: str) -> str:
    return str(Path(path).parent)


def _rename(names: dict[str, Content], namings: list[Naming]) -> None:
    for path, content in namings:
        if content is None:
            names.pop(path, None)
        else:
            names[path] = content


def _luck(chance: Random) -> bool:
    return chance.random() < 0.5


def _survivors(waiting: list[Change], chance: Random | None) -> list[Change]:
    """Those of a file's changes that came through; of a write perhaps only some sectors."""
    if chance is None:
        return []
    through = []
    for change in waiting:
        if change.what == "truncate":
            through += [change] * _luck(chance)
            continue
        first = _SECTOR - change.at % _SECTOR
        cuts = [0, *range(first, len(change.data), _SECTOR), len(change.data)]
        for begin, end in pairwise(cuts):
            if _luck(chance):
                sector = change.data[begin:end]
                through.append(change._replace(at=change.at + begin, data=sector))
    return through


def cut_after(
    changes: list[Change], number: int, chance: Random, times: int
) -> Iterator[dict[str, bytes]]:
    """The disks that a power loss just after change ``number`` may leave."""
    disk = Disk()
    for change in changes[: number + 1]:
        disk.take(change)
    yield disk.after_power_loss(None)
    yield disk.after_power_loss(None, all_of_it=True)
    for _ in range(times):
        yield disk.after_power_loss(chance)


def acknowledged(changes: list[Change]) -> set[tuple[str, str]]:
    """What had been acknowledged by then: leg and step."""
    marks = (change.other.split() for change in changes if change.what == "mark")
    return {(leg_id, what) for leg_id, what in marks}


def wrong(files: dict[str, bytes], was: Path, root: Path, marks: set[tuple[str, str]]) -> list[str]:
    """What a start from such a disk loses, or stumbles over; ``was`` is where the leg was flown."""
    shutil.rmtree(root, ignore_errors=True)
    for path, content in files.items():
        file = root / Path(path).relative_to(was)
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(content)
    found = next(latest(root), None)
    if found is None:
        return [f"There is no leg, but {sorted(marks)} were acknowledged."] if marks else []
    folder = root / found.id
    out = losses(folder, {what for _, what in marks})
    if not found.sealed and not out:
        with Journal.open(folder, at(90)) as journal:
            journal.append(Noticed(at=at(90), text="The power is back."))
        out += verify(folder).findings
    return out


def in_clear(changes: list[Change]) -> list[str]:
    """What was written of a protected leg that a stranger could read, in whatever file, for however short a time."""
    return [
        f"{change.path} held {word.decode()} in clear."
        for change in changes
        for word in _WORDS
        if word in change.data
    ]


class Marking(Teller):
    """Tells what is acknowledged by a mark between the changes."""

    def __init__(self, shim: Shim) -> None:
        """``shim`` writes the marks down."""
        super().__init__(os.open(os.devnull, os.O_WRONLY))
        self._shim = shim

    def acknowledges(self, leg_id: str, what: str) -> None:
        """Mark it."""
        self._shim.mark(f"{leg_id} {what}")


def flown(folder: Path, shim: Shim) -> list[Change]:
    """The changes of a leg's files in ``folder / "legs"``, from its start to its summary."""
    log = folder / "log"
    descriptor = os.open(log, os.O_WRONLY | os.O_CREAT)
    (folder / "legs").mkdir()
    shim.watch(folder / "legs")
    shim.log(descriptor)
    go_through_a_leg(folder / "legs", Marking(shim))
    shim.log(-1)
    shim.watch(Path("/nowhere"))
    os.close(descriptor)
    return read_log(log)


class Cuts(NamedTuple):
    """What came of cutting the power."""

    changes: int
    cuts: int
    disks: int
    bad: list[str]


def cut_everywhere(seed: int, *, every: int, times: int, protected: bool) -> Cuts:
    """Fly a leg, and cut the power after every so many-th change; raises AttributeError without the shim."""
    os.environ.pop("LEGBOOK_SPARE", None)
    chance, cuts, disks, bad = Random(seed), 0, 0, []
    with tempfile.TemporaryDirectory() as temporary:
        os.environ["LEGBOOK_HOME"] = temporary
        if protected:
            protect()
        changes = flown(Path(temporary), Shim())
        if protected:
            bad += in_clear(changes)
        for number in range(every // 2, len(changes), every):
            marks = acknowledged(changes[: number + 1])
            cuts += 1
            for files in cut_after(changes, number, chance, times):
                disks += 1
                was, root = Path(temporary) / "legs", Path(temporary) / "after"
                bad += [f"{number}: {one}" for one in wrong(files, was, root, marks)]
    return Cuts(len(changes), cuts, disks, bad)


def main() -> None:
    """Start again with the shim, if it is not there yet; cut the power, and tell what came of it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument(
        "--every", type=int, default=1, help="cut only after every so many-th change"
    )
    parser.add_argument("--times", type=int, default=4, help="disks by chance for each cut")
    add_to(parser)
    parser.add_argument("--protected", action="store_true", help="a leg that is kept encrypted")
    asked = parser.parse_args()
    if not is_there():
        sys.exit(run_with_shim("tests.record.faults.power", sys.argv[1:]))
    work = partial(cut_everywhere, every=asked.every, times=asked.times, protected=asked.protected)
    done = list(spread(work, asked.seeds, asked.processes))
    bad = [sentence for one in done for sentence in one.bad]
    sys.stdout.write(
        f"{sum(one.changes for one in done)} changes of files; power cut after "
        f"{sum(one.cuts for one in done)} of them, {sum(one.disks for one in done)} disks "
        f"({told(asked.seeds)}): {len(bad)} losses or failed starts.\n"
    )
    for sentence in bad[:20]:
        sys.stdout.write(f"{sentence}\n")
    sys.exit(bool(bad))


if __name__ == "__main__":
    main()
