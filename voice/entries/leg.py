"""A leg as it stands: what the journal's replay gives, and all that figures and reports need."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone
from enum import StrEnum

from pydantic import AwareDatetime, Field

from voice.entries.frozen import Frozen
from voice.entries.kinds import Entry
from voice.entries.kinds.drain import PressureUnit, Reference
from voice.entries.kinds.leg import SpokenNote
from voice.entries.reminder import ReminderTurn
from voice.entries.review import Comment, DeskEnd, DeskMark, SignOff


class EntryState(StrEnum):
    """How far an entry can be relied on."""

    UNCONFIRMED = "unconfirmed"
    """Heard and read back, but never confirmed aloud."""
    CONFIRMED = "confirmed"
    """The nurse confirmed it aloud."""
    REVIEWED = "reviewed"
    """A reviewer found it right, put it right or added it at the desk; `LegEntry.desk` tells who."""
    CORRECTED = "corrected"
    """Replaced by a later entry, which points to it."""
    WITHDRAWN = "withdrawn"
    """Taken away by voice, or at the desk."""


class LegSettings(Frozen):
    """What is fixed for a leg when it starts."""

    pressure_unit: PressureUnit = "mmHg"
    """The unit in which a pressure is meant when none is said."""
    utc_offset_min: int = Field(default=0, ge=-14 * 60, le=14 * 60)
    """The leg's clock, in minutes ahead of UTC; all times are stored in UTC."""
    usual_level_cmh2o: float = Field(default=15, ge=-20, le=40)
    """The programme's usual drain level over ``usual_reference`` (common practice, no source). It is
    offered where no level was told or ordered, and never taken for one."""
    usual_reference: Reference = "tragus"
    antibiotics: tuple[str, ...] = ()
    """Which drugs are antibiotics, by generic name: where none was told, that is listed as missing.
    Empty: not known, so nothing is listed."""
    pressure_drugs: tuple[str, ...] = ()
    """Which drugs may change the pressure, by generic name: after a dose of these it is told what the
    pressure did. Empty: not known, so the shipped list of drugs tells."""

    @property
    def zone(self) -> timezone:
        """The leg's clock as a time zone."""
        return timezone(timedelta(minutes=self.utc_offset_min))


class LegEntry(Frozen):
    """An entry of a leg with its times and its state."""

    number: int = Field(ge=1)
    """Counted from 1 in the order in which entries were said."""
    entry: Entry
    heard: str
    """The words that were recognised."""
    spoken_at: AwareDatetime
    happened_at: AwareDatetime
    state: EntryState
    replaces: int | None = None
    """Number of the entry that this one corrects."""
    replaced_by: int | None = None
    was_confirmed: bool = False
    """Whether it was confirmed aloud, whatever became of it since."""
    clip: str | None = None
    """Name of the sound clip in the leg's folder."""
    desk: DeskMark | None = None
    """What was last done to it at the reviewer's desk."""
    written_down: str | None = None
    """What a spoken note says, as a reviewer wrote it down."""
    comments: tuple[Comment, ...] = ()

    @property
    def confirmed(self) -> bool:
        """Whether somebody stands for it, the nurse aloud or a reviewer, and it still counts."""
        return self.state in {EntryState.CONFIRMED, EntryState.REVIEWED}

    @property
    def counts(self) -> bool:
        """Whether figures take it: neither corrected nor withdrawn."""
        return self.confirmed or self.state is EntryState.UNCONFIRMED

    @property
    def is_note(self) -> bool:
        """Whether it is a free note: only its sound is kept, so it says nothing that could be wrong."""
        return isinstance(self.entry, SpokenNote)

    @property
    def in_doubt(self) -> bool:
        """Whether it says something that counts, and nobody stands for that."""
        return self.state is EntryState.UNCONFIRMED and not self.is_note


class Notice(Frozen):
    """Trouble of the program itself during the leg (a lost microphone, a full disk)."""

    at: AwareDatetime
    text: str


DAMAGE = "Damage: "
"""Begins a notice about the journal itself, which is not as it was written."""


class Leg(Frozen):
    """One transport leg, from "start leg" to "end leg" or to what has been said so far."""

    id: str
    settings: LegSettings
    started_at: AwareDatetime
    ended_at: AwareDatetime | None = None
    desk_end: DeskEnd | None = None
    """How it came to its end where that was told at the desk, and not said on the leg."""
    flown_until: AwareDatetime | None = None
    """When the last of it was written while it went on; acts of the desk come after it. ``None``: not known."""
    entries: tuple[LegEntry, ...] = ()
    notices: tuple[Notice, ...] = ()
    reminders: tuple[ReminderTurn, ...] = ()
    """What became of the reminders, in the order in which it happened."""
    comments: tuple[Comment, ...] = ()
    """What reviewers remarked about the leg as a whole."""
    sign_offs: tuple[SignOff, ...] = ()
    """Every sign-off, also those after which something was changed."""
    signed: SignOff | None = None
    """The sign-off that stands: nothing came after it."""
    not_understood: int = Field(default=0, ge=0)
    """Stretches of speech that were for us and could not be made out."""
    passed_over: int = Field(default=0, ge=0)
    """Stretches of speech that were taken for other talk."""

    @property
    def known_until(self) -> datetime | None:
        """Its end; of a leg without one the last that is known of it, written or told to have happened.

        Up to here its figures count where no program goes on with it. ``None`` where neither is known.
        """
        if self.ended_at is not None or self.flown_until is None:
            return self.ended_at
        return max([self.flown_until, *(e.happened_at for e in self.entries if e.counts)])

    def counting(self) -> tuple[LegEntry, ...]:
        """The entries that figures take, by the time at which they happened."""
        return tuple(sorted((e for e in self.entries if e.counts), key=lambda e: e.happened_at))

    @property
    def damage(self) -> tuple[str, ...]:
        """What is wrong with the journal that it was read from, each a whole sentence."""
        return tuple(
            one.text.removeprefix(DAMAGE) for one in self.notices if one.text.startswith(DAMAGE)
        )

    def local(self, at: datetime) -> datetime:
        """``at`` on the leg's own clock."""
        return at.astimezone(self.settings.zone)
