"""The leg that a crash or an empty battery broke off: the next start goes on with it."""

from __future__ import annotations

import time
from datetime import timedelta
from itertools import islice
from typing import TYPE_CHECKING

from voice.record.errors import JournalBusyError, JournalError
from voice.record.journal import Journal
from voice.record.places import legs_root, spare_root
from voice.record.shelf import latest, spare_folder

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

GOES_ON_WITHIN = timedelta(hours=2)
"""So long after the last that was written while it was flown a leg is gone on with unasked; acts of the desk come later.

Common practice, no source: hands are busy when the program has to be started again in flight, and no
other patient is taken over so soon without "end leg". That it goes on is said aloud.
"""

_LOOKED_AT = 5
"""Legs whose ids are the last: where the clock was set back, the leg that was begun last may not be the very last."""

_A_LOOK_S = 0.2
"""Longer than the lock is held by who only looks whether a leg is flown (`voice.record.shelf.is_flown`)."""


def gone_on_with(folder: Path, now: datetime) -> Journal:
    """The journal of a leg, opened to go on with it; raises as `Journal.open`."""
    try:
        return Journal.open(folder, now, spare=spare_folder(folder))
    except JournalBusyError:
        time.sleep(_A_LOOK_S)
    return Journal.open(folder, now, spare=spare_folder(folder))


def broken_off(now: datetime) -> tuple[Journal | None, str]:
    """The journal of the latest leg that has not ended, if it was broken off just before ``now`` (aware); and what to tell.

    A clock that was set back is no hindrance, and a disk that fails none to listening.

    Raises:
        JournalBusyError: where another program writes that leg.
    """
    root = legs_root()
    legs = islice(latest(root, spare_root()), _LOOKED_AT)
    leg = next((one.leg for one in legs if one.broken_off), None)
    if leg is None or leg.flown_until is None:
        return None, ""
    otherwise = (
        f"Leg {leg.id} has not ended. Go on with: legbook listen --go-on {leg.id}; "
        f"or say when it was over with: legbook end {leg.id}"
    )
    if now - leg.flown_until > GOES_ON_WITHIN:
        return None, otherwise
    folder = root / leg.id
    try:
        journal = gone_on_with(folder, now)
    except JournalBusyError:
        raise
    except JournalError as error:
        return None, f"{error} {otherwise}"
    return journal, (
        f"Leg {leg.id} was broken off and goes on. For another patient: "
        'say "end leg" twice, then "start leg".'
    )
