"""``legbook review``: the reviewer's desk, as a page on this machine."""

from __future__ import annotations

from datetime import UTC, datetime
from threading import Lock, Timer
from typing import TYPE_CHECKING

from voice.commands.handoff import leave_summary, may_leave, summary_of
from voice.entries.errors import LegbookError
from voice.meaning.handoff import load_needs
from voice.record.in_use import standing_by
from voice.record.shelf import spare_folder
from voice.review.acts import SignOffLeg
from voice.review.desk import Desk
from voice.review.doorkeeper import Doorkeeper
from voice.review.server import serve
from voice.session import preferences
from voice.session.own_phrases import chosen_grammar, handoff_lists
from voice.session.uptime import uptime_s

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from voice.review.acts import Act

REVIEWED = "summary-reviewed.txt"
"""In the leg's folder; of a protected leg nothing is written in clear."""
QUIET_S = 3.0
"""How long nothing was done before the summary is left anew: of a long leg it takes half a second of
the processor, and the next act is not to wait for it."""


def review(folder: Path, show: Callable[[str], None], *, readonly: bool, port: int) -> None:
    """Open the desk at the leg in ``folder``, until it is interrupted.

    Where anything was done, the summary as the leg then stands is left beside the one that was handed
    over at its end: at a sign-off, between the acts, and at the end. Where a desk was killed before it
    could do so, the next one does.

    ``show`` tells a sentence to whoever started it; ``port`` 0 takes any that is free.

    Raises ``LegbookError`` where nothing can be read of the leg, or the port is taken.
    """
    word = preferences.load().word  # it is said on some legs, and not on others
    desk = Desk(
        folder,
        chosen_grammar().guarded(word),
        lambda: datetime.now(UTC),
        spare=spare_folder(folder),
        readonly=readonly,
    )
    needs = tuple(load_needs(*handoff_lists()))
    reviewed = ReviewedSummary(folder, show)
    if desk.closed is None and desk.was_worked_on:
        reviewed.leave_in(QUIET_S)

    desk.after_act = reviewed.after
    opened_at = desk.head
    try:
        with standing_by():
            serve(desk, Doorkeeper(uptime_s), show, needs, port)
    finally:
        reviewed.stop()
        if desk.head != opened_at and (left := reviewed.leave()) is not None:
            show(f"The summary as the leg stands now: {left}")


class ReviewedSummary:
    """`REVIEWED` of a leg, left anew on a thread of its own, so that no act waits for it.

    What was handed over is not written over: it says what was known then, with the seal of then.
    """

    def __init__(self, folder: Path, show: Callable[[str], None]) -> None:
        self._folder = folder
        self._show = show
        self._timer = Timer(0, self.leave)
        self._one_at_a_time = Lock()

    def after(self, act: Act) -> None:
        """Leave it after an act: at once where that is a sign-off, else when no other follows."""
        self.leave_in(0 if isinstance(act, SignOffLeg) else QUIET_S)

    def leave_in(self, seconds: float) -> None:
        """Leave it after so long, unless this is called again before."""
        self.stop()
        self._timer = Timer(seconds, self.leave)
        self._timer.daemon = True
        self._timer.start()

    def stop(self) -> None:
        """Leave none that was put off."""
        self._timer.cancel()

    def leave(self) -> Path | None:
        """Leave it now, and give where; ``None`` where it is not to be, or could not, and that is told."""
        if not may_leave(self._folder):
            return None
        with self._one_at_a_time:
            try:
                return leave_summary(
                    self._folder, summary_of(self._folder, datetime.now(UTC)), REVIEWED
                )
            except LegbookError as error:
                self._show(str(error))
                return None
