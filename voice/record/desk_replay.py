"""What the acts of the desk come to: marks on entries, remarks, sign-offs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from voice.entries.review import Comment, DeskMark, SignOff
from voice.record.desk_events import (
    Commented,
    DeskApproved,
    DeskEnded,
    DeskEntry,
    DeskWithdrawn,
    ListenedTo,
    SignedOff,
    WrittenDown,
)
from voice.record.events import Continued, Sealed, SoundDropped

if TYPE_CHECKING:
    from pydantic import BaseModel


class DeskReplay:
    """What was done at the desk, growing event by event; what is said on the leg passes through."""

    def __init__(self) -> None:
        self.marks: dict[int, DeskMark] = {}
        """By entry, what was last done to it."""
        self.written_down: dict[int, str] = {}
        """By spoken note, what it says."""
        self.sign_offs: list[SignOff] = []
        self.end: DeskEnded | None = None
        """When the leg was over, where that was told at the desk."""
        self._comments: dict[int | None, list[Comment]] = {}
        self._signed = False

    @property
    def signed(self) -> SignOff | None:
        """The sign-off that stands; ``None`` where something came after it.

        Listening, dropping the sound, sealing, and going on in a new file because a disk failed do not count.
        """
        return self.sign_offs[-1] if self._signed else None

    def comments(self, number: int | None = None) -> tuple[Comment, ...]:
        """The remarks about an entry; without ``number``, those about the leg."""
        return tuple(self._comments.get(number, ()))

    def flown_on(self) -> None:
        """Something was heard or kept on the leg."""
        self._signed = False

    def take(self, event: BaseModel) -> None:
        """Take what was done; it is known to fit."""
        self._signed = isinstance(event, SignedOff) or (
            self._signed and isinstance(event, ListenedTo | SoundDropped | Sealed | Continued)
        )
        match event:
            case DeskEntry(number=number, replaces=replaces):
                self._mark(number, event, "added" if replaces is None else "corrected")
                if event.how == "time" and replaces in self.written_down:
                    self.written_down[number] = self.written_down[replaces]
            case DeskApproved(number=number):
                self._mark(number, event, "approved")
            case DeskWithdrawn(number=number):
                self._mark(number, event, "withdrawn")
            case Commented(at=at, by=by, text=text):
                about = self._comments.setdefault(event.number, [])
                about.append(Comment(at=at, by=by, text=text))
            case WrittenDown(number=number, text=text):
                self.written_down[number] = text
            case DeskEnded():
                self.end = event
            case SignedOff(at=at, by=by):
                self.sign_offs.append(
                    SignOff(
                        at=at,
                        by=by,
                        sounds=event.sounds,
                        listened_to=event.listened_to,
                        may_teach=event.may_teach,
                    )
                )

    def _mark(
        self,
        number: int,
        event: DeskEntry | DeskApproved | DeskWithdrawn,
        act: Literal["approved", "corrected", "added", "withdrawn"],
    ) -> None:
        self.marks[number] = DeskMark(act=act, at=event.at, by=event.by, why=event.why)
