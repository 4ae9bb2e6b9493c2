"""``legbook review``: the reviewer's desk, as a page on this machine."""

from __future__ import annotations

import time
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from voice.commands.handoff import leave_summary, summary_of
from voice.entries.errors import LegbookError
from voice.meaning.handoff import load_needs
from voice.record.shelf import spare_folder
from voice.review.desk import Desk
from voice.review.doorkeeper import Doorkeeper
from voice.review.server import serve
from voice.session.own_phrases import chosen_grammar, handoff_lists

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

REVIEWED = "summary-reviewed.txt"
"""In the leg's folder; of a protected leg nothing is written in clear."""


def review(folder: Path, show: Callable[[str], None], *, readonly: bool, port: int) -> None:
    """Open the desk at the leg in ``folder``, until it is interrupted.

    Where anything was done, the summary as the leg then stands is left beside the one that was handed
    over at its end.

    ``show`` tells a sentence to whoever started it; ``port`` 0 takes any that is free.

    Raises ``LegbookError`` where nothing can be read of the leg, or the port is taken.
    """
    desk = Desk(
        folder,
        chosen_grammar(),
        lambda: datetime.now(UTC),
        spare=spare_folder(folder),
        readonly=readonly,
    )
    needs = tuple(load_needs(*handoff_lists()))
    opened_at = desk.head
    try:
        serve(desk, Doorkeeper(time.monotonic), show, needs, port)
    finally:
        if desk.head != opened_at:
            _leave_summary(folder, show)


def _leave_summary(folder: Path, show: Callable[[str], None]) -> None:
    """What was handed over is not written over: it says what was known then, with the seal of then."""
    try:
        left = leave_summary(folder, summary_of(folder, datetime.now(UTC)), REVIEWED)
    except LegbookError as error:
        show(str(error))
        return
    if left is not None:
        show(f"The summary as the leg stands now: {left}")
