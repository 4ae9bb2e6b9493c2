"""A leg of which nobody said "end leg": when it was over, told afterwards."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.record.journal import Journal
from voice.record.shelf import spare_folder
from voice.review.ending import NOT_SAID, ended, told_end

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

    from voice.entries.review import Reviewer


def end_leg(
    folder: Path, now: datetime, by: Reviewer, time: str | None, why: str = NOT_SAID
) -> str:
    """End the leg in ``folder`` as ``by`` tells, and say so; an end that was told so before is put right.

    :param now: an aware time, when it is told; where the leg was flown by a clock ahead of that, its last event's.
    :param time: when it was over, by the leg's clock or ISO 8601; else the last that is known of it.
    :raises TypedError: as `voice.review.ending.ended`.
    :raises EndError: likewise.
    :raises JournalError: where it is sealed, damaged, being flown, or cannot be written.
    """
    with Journal.open(folder, now, spare=spare_folder(folder)) as journal:
        leg = journal.leg()
        # by a clock that was set back it is still to come
        end = ended(leg, max(now, journal.last_at or now), by, time, why)
        journal.append(end)
    signed = f" It has to be signed off again: legbook review {leg.id}" if leg.signed else ""
    return f"{told_end(leg, end)}{signed}"
