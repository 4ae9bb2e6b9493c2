"""A leg of which nobody said "end leg": when it was over, told afterwards."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from pydantic import ValidationError

from voice.entries.errors import LegbookError
from voice.record.desk_events import DeskEnded
from voice.record.journal import Journal
from voice.record.shelf import spare_folder
from voice.report.wording import entry_text
from voice.review.times import moment

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

    from voice.entries.review import Reviewer

WHY = "nobody said so on the leg"
"""Taken for the reason where none is given."""
_TYPED_TO = timedelta(minutes=1)
"""How exactly a time is typed: what happened within it was not after it."""


class EndError(LegbookError):
    """A leg cannot have ended then, or for that reason."""


def end_leg(folder: Path, now: datetime, by: Reviewer, time: str | None, why: str = WHY) -> str:
    """End the leg in ``folder`` as ``by`` tells, and say so; an end that was told so before is put right.

    :param now: an aware time, when it is told; where the leg was flown by a clock ahead of that, its last event's.
    :param time: when it was over, by the leg's clock or ISO 8601; else the last that is known of it.
    :raises TypedError: where ``time`` is none, is still to come, or was long before the leg.
    :raises EndError: where it was before the leg began, or before something that happened on it, and
        where ``why`` is not one line.
    :raises EventRefusedError: where "end leg" was said.
    :raises JournalError: where it is sealed, damaged, being flown, or cannot be written.
    """
    with Journal.open(folder, now, spare=spare_folder(folder)) as journal:
        leg = journal.leg()
        now = max(now, journal.last_at or now)  # by a clock that was set back it is still to come
        open_leg = leg.model_copy(update={"ended_at": None, "desk_end": None})
        last_at = open_leg.known_until or leg.started_at
        after = max(leg.counting(), key=lambda e: e.happened_at, default=None)
        at = last_at if time is None else moment(time, last_at, open_leg, now)
        happened_at = leg.started_at if after is None else after.happened_at
        if at <= happened_at < at + _TYPED_TO:
            at = happened_at
        if at < leg.started_at:
            raise EndError(
                f"Leg {leg.id} began at {leg.local(leg.started_at):%H:%M}: it ended later."
            )
        if after is not None and after.happened_at > at:
            raise EndError(
                f"Entry {after.number}, {entry_text(after.entry)}, happened at "
                f"{leg.local(after.happened_at):%d %B %H:%M}: the leg was not over before that."
            )
        try:
            ended = DeskEnded(at=now, by=by, ended_at=at, why=why)
        except ValidationError:
            raise EndError("Why it is told is one line that can be printed.") from None
        journal.append(ended)
    signed = f" It has to be signed off again: legbook review {leg.id}" if leg.signed else ""
    return f"Leg {leg.id} ended {leg.local(at):%d %B %H:%M}, as {by}, tells.{signed}"
