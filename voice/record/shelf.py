"""Looking at legs that are kept: list them, load one, verify one. Nothing here writes a journal."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from voice.entries.leg import DAMAGE, Leg, Notice
from voice.record import clips, headfile, signing
from voice.record.durable import listed, replace_file
from voice.record.errors import JournalError
from voice.record.events import Heard
from voice.record.only_writer import is_written
from voice.record.places import spare_root
from voice.record.proof import contradiction
from voice.record.protection import LockedError
from voice.record.reading import Chain, leg_folders, parts, read_chain

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from datetime import datetime
    from pathlib import Path

    from voice.entries.seal import Seal
    from voice.record.chain import Head


def spare_folder(folder: Path) -> Path | None:
    """Where the leg in ``folder`` goes on, or went on, when its own disk fails."""
    root = spare_root()
    return None if root is None else root / folder.name


def leave(folder: Path, name: str, content: bytes) -> Path:
    """Write a file for people into a leg's folder, or into its spare if need be; say where.

    Raises:
        OSError: where neither can be written.
    """
    failures = []
    for there in leg_folders(folder, spare_folder(folder)):
        try:
            replace_file(there / name, content)
        except OSError as error:
            failures.append(error)
        else:
            return there / name
    raise failures[0]


def free_leg_id(root: Path, started_at: datetime, spare_root: Path | None = None) -> str:
    """An id that no leg has yet, from the date and time by the leg's clock."""
    stem = started_at.strftime("%Y-%m-%d-%H%M")
    roots = [root] if spare_root is None else [root, spare_root]
    taken = {path.name for base in roots for path in listed(base, f"{stem}*")}
    candidates = (stem if n == 1 else f"{stem}-{n}" for n in range(1, len(taken) + 2))
    return next(name for name in candidates if name not in taken)


@dataclass(frozen=True)
class Verdict:
    """What `verify` found."""

    leg_id: str
    head: Head
    """Compare it with what was noted outside the machine."""
    seal: Seal | None
    """How the leg was closed; ``None`` where it was not. A signature that does not hold is among the findings."""
    leg: Leg | None
    """``None`` where nothing can be read of it."""
    findings: tuple[str, ...]
    """Signs that something was changed, removed or lost, each a whole sentence."""
    notes: tuple[str, ...]
    """Traces of a crash or a failed disk, by which nothing was lost."""

    @property
    def sealed(self) -> bool:
        """Whether nothing that was said or done can be added any more."""
        return self.seal is not None

    @property
    def intact(self) -> bool:
        """Whether the leg is as it was written."""
        return not self.findings


def verify(
    folder: Path, spare: Path | None = None, noted: str | None = None, key: str | None = None
) -> Verdict:
    """Check everything a leg's folder holds against its hashes.

    Whoever can write to the folder can also work out a wholly new chain, or cut off its end, head file
    and all: only what comes from outside the machine tells of that. ``noted`` is a seal or its code;
    ``key`` the public key (in hexadecimal) with which the leg is to have been sealed.

    Raises:
        JournalError: where there is no leg in the folder.
        CodeError: where ``noted`` is no seal and no code.
    """
    folders = leg_folders(folder, spare)
    chain = _chain(folder, spare, in_short=False)
    kept = [event.clip for event in chain.events if isinstance(event, Heard) and event.clip]
    gone = clips.dropped(chain.events)
    faults = [
        fault for clip in kept if clip.name not in gone and (fault := clips.fault(folders, clip))
    ]
    seal = chain.replay.seal
    against = [
        contradiction(noted, chain.rows) if noted else None,
        signing.contradiction(key, seal) if key else None,
    ]
    there = clips.names(folders)
    unnamed = sorted(there - {clip.name for clip in kept})
    return Verdict(
        leg_id=folder.name,
        head=chain.head,
        seal=seal,
        leg=chain.replay.leg() if chain.last_at else None,
        findings=(*chain.findings, *faults, *filter(None, against)),
        notes=(
            *chain.notes,
            *(f"No event names sound clip {name}." for name in unnamed),
            *([f"By policy the sound of {len(gone)} stretches was dropped."] if gone else []),
            *(
                f"Sound clip {name} was to be dropped and is there."
                for name in sorted(gone & there)
            ),
        ),
    )


def head_of(folder: Path, spare: Path | None = None) -> Head:
    """Where a leg's chain stands; the sound clips are not looked at.

    Raises:
        JournalError: where there is no leg in the folder.
    """
    return _chain(folder, spare).head


def load(folder: Path, spare: Path | None = None) -> Leg:
    """A leg as it stands, from its folder.

    Where the journal is damaged, all that is still as it was written, with the damage told among
    the notices.

    Raises:
        JournalError: where there is no leg in the folder, or nothing can be read of it.
    """
    return _leg(folder, _chain(folder, spare))


def load_until(folder: Path, now: datetime, spare: Path | None = None) -> tuple[Leg, datetime]:
    """The same, and up to when what is not over counts.

    That is ``now`` (aware) while a program goes on with the leg; else its end, and of one that was broken off
    the last that is known of it. Where the desk wrote last, who writes just now is the desk.
    """
    chain = _chain(folder, spare)
    leg = _leg(folder, chain)
    flown = is_flown(leg, chain.last_at, leg_folders(folder, spare))
    known_until = leg.known_until or now
    return leg, max(now, known_until) if flown else known_until  # a clock may have been set back


def is_flown(leg: Leg, last_at: datetime | None, folders: Iterable[Path]) -> bool:
    """Whether a program goes on with a leg just now; ``last_at`` is when its last event was written."""
    return leg.ended_at is None and leg.flown_until == last_at and is_written(folders)


def load_with_chain(folder: Path, spare: Path | None = None) -> tuple[Leg, Chain]:
    """The same, with all that its journal holds, read at one moment. Raises as `load`."""
    chain = _chain(folder, spare, in_short=False)
    return _leg(folder, chain), chain


@dataclass(frozen=True)
class KeptLeg:
    """A leg in the list."""

    id: str
    leg: Leg | None
    """``None`` where nothing can be read of it."""
    seal: Seal | None
    """How it was closed; ``None`` where it was not."""
    findings: tuple[str, ...]
    """What is wrong with its journal; the sound clips are not looked at."""
    last_at: datetime | None = None
    """When its last event was written; ``None`` where nothing can be read of it."""
    locked: bool = False
    """Whether it is protected, and what opens it was not given."""

    @property
    def sealed(self) -> bool:
        """Whether nothing that was said or done can be added any more."""
        return self.seal is not None

    @property
    def broken_off(self) -> bool:
        """Whether it can be gone on with."""
        return self.leg is not None and self.leg.ended_at is None and not self.findings


def legs(root: Path, spare_root: Path | None = None) -> tuple[KeptLeg, ...]:
    """All legs under ``root``, oldest first; those that cannot be read, damaged or locked, last."""
    kept = [
        one for folder in _leg_folders(root, spare_root) if (one := _looked_at(folder, spare_root))
    ]
    readable = [(one.leg.started_at, one.id, one) for one in kept if one.leg is not None]
    return (*(one for _, _, one in sorted(readable)), *(one for one in kept if one.leg is None))


def latest(root: Path, spare_root: Path | None = None) -> Iterator[KeptLeg]:
    """The legs under ``root``, by their ids from the last to the first."""
    for folder in reversed(list(_leg_folders(root, spare_root))):
        if one := _looked_at(folder, spare_root):
            yield one


def _looked_at(folder: Path, spare_root: Path | None) -> KeptLeg | None:
    """A leg in the list; ``None`` where nothing was ever written of it."""
    try:
        chain = _chain(folder, spare_root / folder.name if spare_root else None)
    except LockedError as error:
        return KeptLeg(folder.name, None, None, (str(error),), locked=True)
    return _kept(folder, chain) if chain.begun else None


def leg_ids(root: Path, spare_root: Path | None = None) -> list[str]:
    """The ids of all legs under ``root``, in time; nothing is read of them."""
    return [folder.name for folder in _leg_folders(root, spare_root)]


def _leg_folders(root: Path, spare_root: Path | None) -> Iterator[Path]:
    names = {
        path.parent.name
        for base in (root, spare_root)
        if base is not None
        for pattern in ("*/journal*.sqlite", f"*/{headfile.NAME}")
        for path in listed(base, pattern)
    }
    return (root / name for name in sorted(names, key=_in_time))


def _in_time(leg_id: str) -> tuple[list[int], str]:
    """Orders ids by their date, time and number."""
    return [int(digits) for digits in re.findall(r"[0-9]+", leg_id)], leg_id


def _kept(folder: Path, chain: Chain) -> KeptLeg:
    try:
        leg = _leg(folder, chain)
    except JournalError:
        leg = None
    return KeptLeg(folder.name, leg, chain.replay.seal, tuple(chain.findings), chain.last_at)


def _chain(folder: Path, spare: Path | None, *, in_short: bool = True) -> Chain:
    folders = leg_folders(folder, spare)
    chain = read_chain(folders, in_short=in_short)
    if not (chain.begun or parts(folders)):
        raise JournalError(f"There is no leg in {folder}.")
    return chain


def _leg(folder: Path, chain: Chain) -> Leg:
    if chain.last_at is None:
        raise JournalError(
            f"Nothing can be read of leg {folder.name}: {chain.findings[0]} "
            "Keep its folder: the sound clips may still tell what was said."
        )
    leg = chain.replay.leg()
    damage = (Notice(at=chain.last_at, text=f"{DAMAGE}{finding}") for finding in chain.findings)
    return leg.model_copy(update={"notices": (*leg.notices, *damage)})
