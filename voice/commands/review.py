"""``legbook review``: the reviewer's desk, as a page on this machine."""

from __future__ import annotations

import time
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from voice.meaning.handoff import load_needs
from voice.record.shelf import spare_folder
from voice.review.desk import Desk
from voice.review.doorkeeper import Doorkeeper
from voice.review.server import serve
from voice.session.own_phrases import chosen_grammar, handoff_lists

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path


def review(folder: Path, show: Callable[[str], None], *, readonly: bool, port: int) -> None:
    """Open the desk at the leg in ``folder``, until it is interrupted.

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
    serve(desk, Doorkeeper(time.monotonic), show, needs, port)
