"""When a leg was over of which nobody said "end leg", as a reviewer tells it."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from pydantic import ValidationError

from voice.entries.errors import LegbookError
from voice.record.desk_events import DeskEnded
from voice.report.wording import entry_text
from voice.review.times import moment

if TYPE_CHECKING:
    from datetime import datetime

    from voice.entries.leg import Leg
    from voice.entries.review import Reviewer

NOT_SAID = "nobody said so on the leg"
"""Taken for the reason where none is given."""
_TYPED_TO = timedelta(minutes=1)
"""How exactly a time is typed: what happened within it was not after it."""


class EndError(LegbookError):
    """A leg cannot have ended then, or for that reason."""


def without_end(leg: Leg) -> Leg:
    """The leg as if no end were told at the desk; one that was said on the leg stays."""
    return (
        leg if leg.desk_end is None else leg.model_copy(update={"ended_at": None, "desk_end": None})
    )


def ended(leg: Leg, now: datetime, by: Reviewer, time: str | None, why: str) -> DeskEnded:
    """The act that tells when ``leg`` was over; an end that was told so before is put right.

    :param now: an aware time, when it is told.
    :param time: when it was over, by the leg's clock or ISO 8601; else the last that is known of it.
    :raises TypedError: where ``time`` is none, is still to come, or was long before the leg.
    :raises EndError: where "end leg" was said, it was before the leg began, or before something that
        happened on it, and where ``why`` is not one line.
    """
    open_leg = without_end(leg)
    if open_leg.ended_at is not None:
        raise EndError(
            f'Leg {leg.id} ended at {leg.local(open_leg.ended_at):%H:%M}: "end leg" was said.'
        )
    last_at = open_leg.known_until or leg.started_at
    after = max(leg.counting(), key=lambda e: e.happened_at, default=None)
    at = last_at if time is None else moment(time, last_at, open_leg, now)
    happened_at = leg.started_at if after is None else after.happened_at
    at = max(known for known in (at, happened_at, last_at) if at <= known < at + _TYPED_TO)
    if at < leg.started_at:
        raise EndError(f"Leg {leg.id} began at {leg.local(leg.started_at):%H:%M}: it ended later.")
    if after is not None and after.happened_at > at:
        raise EndError(
            f"Entry {after.number}, {entry_text(after.entry)}, happened at "
            f"{leg.local(after.happened_at):%d %B %H:%M}: the leg was not over before that."
        )
    try:
        return DeskEnded(at=now, by=by, ended_at=at, why=why)
    except ValidationError:
        raise EndError("Why it is told is one line that can be printed.") from None


def told_end(leg: Leg, end: DeskEnded) -> str:
    """The act in a sentence."""
    return f"Leg {leg.id} ended {leg.local(end.ended_at):%d %B %H:%M}, as {end.by}, tells."
