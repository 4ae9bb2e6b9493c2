"""What is shown while a leg runs: a line an event, or the leg at a glance."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING, Protocol

from voice.commands.show import line
from voice.dialogue.state import StateName
from voice.report.screen import screen
from voice.session.progress import LegOver, MinutePassed

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime, tzinfo

    from rich.console import Console

    from voice.entries.leg import Leg
    from voice.session.progress import Progress

CLEAR = "\x1b[H\x1b[2J"
"""Empties a terminal and goes to its first line; its own colours stay."""
_TALK = {
    StateName.ASLEEP: "no leg, say start leg",
    StateName.STANDING_BY: "standing by, say resume",
    StateName.LISTENING: "listening",
    StateName.CONFIRMING: "waits for confirm",
    StateName.CHECKING: "check runs",
    StateName.CHOOSING: "which of the two",
    StateName.NOTING: "takes a note",
}


class Watched(Protocol):
    """What a session lets be seen of it."""

    @property
    def state(self) -> StateName:
        """Where the talk stands."""

    @property
    def leg(self) -> Leg | None:
        """The leg that runs."""


class Lines:
    """A line an event."""

    def __init__(self, out: Console, zone: tzinfo) -> None:
        """``zone`` is the leg's clock."""
        self._out = out
        self._zone = zone

    def show(self, event: Progress) -> None:
        """Show it below what was shown before."""
        if not isinstance(event, MinutePassed):
            self._out.print(line(event, self._zone))


class Glance:
    """The leg at a glance, shown anew when it has changed.

    On a terminal it takes the place of what was shown; in a file or a pipe it follows below it.
    """

    def __init__(
        self,
        out: Console,
        session: Watched,
        width: Callable[[], int] = lambda: shutil.get_terminal_size().columns,
    ) -> None:
        self._out = out
        self._session = session
        self._width = width
        self._shown = ""

    def show(self, event: Progress) -> None:
        """Show how the leg stands after it."""
        text = self._text(event.at)
        if text == self._shown or isinstance(event, LegOver):  # the summary follows
            return
        self._shown = text
        if self._out.is_terminal:
            self._out.file.write(CLEAR)
        else:
            text += "\n"
        self._out.print(text, markup=False)

    def _text(self, at: datetime) -> str:
        return screen(self._session.leg, _TALK[self._session.state], at, self._width())
