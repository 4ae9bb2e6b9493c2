"""Invented legs, written as journals: what was said, confirmed, corrected, and found at the desk."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from voice.entries.kinds.drain import DrainClamped, DrainOpened, Pressure
from voice.entries.kinds.order import OrderPressureLimit
from voice.entries.kinds.patient import Diagnosis
from voice.entries.leg import LegSettings
from voice.entries.reminder import ReminderKey
from voice.entries.review import Reviewer
from voice.meaning.decision import Doubt, NotUnderstood
from voice.record.desk_events import MISHEARD, MISSED, DeskEntry, SignedOff
from voice.record.events import (
    Clip,
    Confirmed,
    Heard,
    Kept,
    LegEnded,
    Reminded,
    ScoredText,
    Withdrawn,
)
from voice.record.journal import Journal

if TYPE_CHECKING:
    from pathlib import Path

    from voice.entries.kinds import Entry

START = datetime(2031, 5, 1, 14, 10, tzinfo=UTC)
REVIEWER = Reviewer(name="A. Reviewer", role="flight nurse")
CONFUSED = ("pressure fifty", "pressure fifteen")
"""What was meant, and what was heard, on a signed leg."""


class Flight:
    """A leg that is being written, with the minute after its start told with everything."""

    def __init__(self, home: Path, leg_id: str, offset_min: int = 120) -> None:
        self.folder = home / "legs" / leg_id
        self._last = 0
        self._start = START + timedelta(seconds=hash_of(leg_id))
        self.journal = Journal.create(
            self.folder, LegSettings(utc_offset_min=offset_min), self._start,
            grammar_digest="0" * 64, model_digest="1" * 64,
        )  # fmt: skip

    def at(self, minute: float) -> datetime:
        """So many minutes after the leg's start."""
        return self._start + timedelta(minutes=minute)

    def say(
        self, minute: float, entry: Entry, heard: str = "", *, confirm: bool = True,
        replaces: int | None = None,
    ) -> int:  # fmt: skip
        """Say an entry; its number."""
        self._last += 1
        at = self.at(minute)
        self.journal.append(
            Kept(
                at=at, number=self._last, entry=entry, heard=heard or entry.kind, spoken_at=at,
                happened_at=at, replaces=replaces, clip=None,
            )
        )  # fmt: skip
        if confirm:
            self.journal.append(Confirmed(at=at, number=self._last))
        return self._last

    def take_back(self, minute: float, number: int) -> None:
        """Withdraw an entry by voice."""
        self.journal.append(Withdrawn(at=self.at(minute), number=number, why="scratch that"))

    def mishear(self, minute: float, clip: str) -> None:
        """Hear something of which nothing is made."""
        at = self.at(minute)
        self.journal.append(
            Heard(
                at=at, start_at=at, end_at=at, dialogue_state="listening",
                alternatives=(ScoredText(text="pressure nine", score=-9.0),),
                decision=NotUnderstood(doubt=Doubt.FAINT), clip=Clip(name=clip, sha256="2" * 64),
            )
        )  # fmt: skip

    def remind(self, minute: float, became: str) -> None:
        """A reminder that was said, or answered."""
        self.journal.append(
            Reminded.model_validate(
                {
                    "at": self.at(minute), "became": became, "text": "drain closed",
                    "key": ReminderKey(rule="drain closed", since=self.at(1)),
                }
            )
        )  # fmt: skip

    def end(self, minute: float) -> None:
        """End the leg."""
        self.journal.append(LegEnded(at=self.at(minute)))

    def put_right(
        self, minute: float, entry: Entry, heard: str, *, said: float, replaces: int | None = None,
        clip: str | None = None,
    ) -> None:  # fmt: skip
        """Correct an entry that was misheard, or add one that was missed, at the desk."""
        self._last += 1
        at = self.at(minute)
        self.journal.append(
            DeskEntry(
                at=at, by=REVIEWER, number=self._last, entry=entry, heard=heard, spoken_at=self.at(said),
                happened_at=self.at(said), replaces=replaces, clip=clip, how="typed",
                why=MISHEARD if replaces else MISSED,
            )
        )  # fmt: skip

    def sign(self, minute: float, *, may_teach: bool = True) -> None:
        """Sign the leg off."""
        self.journal.append(
            SignedOff(at=self.at(minute), by=REVIEWER, sounds=0, listened_to=0, may_teach=may_teach)
        )

    def seal(self, minute: float) -> None:
        """Close the leg for good."""
        self.journal.seal(self.at(minute))

    def close(self) -> Path:
        """Write no more; where it lies."""
        self.journal.close()
        return self.folder


def hash_of(leg_id: str) -> float:
    """A time that is another for each leg, in seconds."""
    return sum(map(ord, leg_id)) % 60 + len(leg_id) / 1000


def busy(home: Path, leg_id: str = "2031-05-01-1610") -> Path:
    """A leg of 60 min: clamped for 8 and, in doubt, for 4 min; 35 min above the order; signed off and sealed."""
    leg = Flight(home, leg_id)
    leg.say(0, Diagnosis(diagnosis="aneurysm"), "diagnosis aneurysm")
    leg.say(1, OrderPressureLimit(value=20, unit="mmHg", side="above"))
    leg.say(2, DrainClamped(reason="loading"), "clamped for loading")
    leg.say(5, Pressure(value=15, unit="mmHg"), CONFUSED[1])
    leg.say(10, DrainOpened(), "drain open")
    leg.remind(11, "said")
    leg.remind(12, "acknowledged")
    leg.say(20, DrainClamped(), "drain clamped", confirm=False)
    leg.say(24, DrainOpened(), "drain open")
    leg.say(30, Pressure(value=24, unit="mmHg"))
    leg.say(40, Pressure(value=18, unit="mmHg"))
    wrong = leg.say(41, Pressure(value=80, unit="mmHg"))
    leg.say(42, Pressure(value=18, unit="mmHg"), replaces=wrong)
    leg.take_back(44, leg.say(43, Pressure(value=3, unit="mmHg"), confirm=False))
    leg.mishear(50, "0001.flac")
    leg.end(60)
    leg.put_right(70, Pressure(value=50, unit="mmHg"), CONFUSED[0], said=5, replaces=4)
    leg.put_right(
        71, Pressure(value=19, unit="mmHg"), "pressure nineteen", said=50, clip="0001.flac"
    )
    leg.sign(72)
    leg.seal(73)
    return leg.close()


def quiet(home: Path, leg_id: str = "2031-05-02-0900", *, minutes: float = 30) -> Path:
    """A leg with one pressure, still clamped when it ended; nobody has looked at it."""
    leg = Flight(home, leg_id)
    leg.say(5, Pressure(value=12, unit="mmHg"))
    leg.say(minutes - 6, DrainClamped(reason="unloading"))
    leg.end(minutes)
    return leg.close()
