"""Events to a leg: the same events give the same leg, every time."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Self, get_args

from voice.entries.leg import EntryState, Leg, LegEntry, Notice
from voice.entries.reminder import ReminderTurn
from voice.entries.review import DeskEnd
from voice.entries.seal import Seal
from voice.record.desk_events import (
    Commented,
    DeskApproved,
    DeskEnded,
    DeskEvent,
    DeskWithdrawn,
    WrittenDown,
)
from voice.record.desk_replay import DeskReplay
from voice.record.errors import EventRefusedError
from voice.record.event_base import PutDown
from voice.record.events import (
    Confirmed,
    Continued,
    Heard,
    Kept,
    LegEnded,
    LegStarted,
    Noticed,
    Reminded,
    Sealed,
    SoundDropped,
    Together,
    Withdrawn,
)
from voice.record.in_short import HeardInShort

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from voice.record.events import Event


_AFTER_THE_SEAL = SoundDropped | Continued
"""The programme's policy lets sound go, and a disk may fail just then; neither tells of the leg."""

_AFTERWARDS = frozenset({*get_args(DeskEvent), *get_args(_AFTER_THE_SEAL), Sealed})
"""What may be written long after the leg itself; also a further file's first event, where the desk opens it."""

_HEARD = (HeardInShort, Heard)
"""Half of a journal: these go the short way. Whether something is *not* of a type takes pydantic half a
microsecond to tell, so what is frequent is asked for first, here and below."""


class Replay:
    """A leg growing event by event.

    `check` says whether an event fits, `add` takes it, `leg` gives the leg as it stands.
    """

    def __init__(self) -> None:
        self._started: LegStarted | None = None
        self._ended_at: datetime | None = None
        self._flown_until: datetime | None = None
        self._events = 0
        self._seal: Seal | None = None
        self._kept: dict[int, PutDown] = {}
        self._confirmed: set[int] = set()
        self._withdrawn: set[int] = set()
        self._replaced_by: dict[int | None, int] = {}
        self._notices: list[Notice] = []
        self._reminders: list[ReminderTurn] = []
        self._outcomes: Counter[str] = Counter()
        self._desk = DeskReplay()
        self._leg: Leg | None = None  # as it stands, once somebody has asked
        self._entries: dict[int, LegEntry] = {}  # likewise

    @classmethod
    def of(cls, events: Iterable[Event]) -> Self:
        """All these events taken; raises `EventRefusedError` where one contradicts those before it."""
        story = cls()
        for event in events:
            story.add(event)
        return story

    @property
    def seal(self) -> Seal | None:
        """How the leg was closed; ``None`` where it was not."""
        return self._seal

    @property
    def sealed(self) -> bool:
        """Whether nothing that was said or done can be added any more."""
        return self._seal is not None

    @property
    def next_number(self) -> int:
        """The number of the next entry."""
        return next(reversed(self._kept), 0) + 1

    def check(self, event: Event | HeardInShort) -> None:
        """Raise `EventRefusedError` where the event contradicts what came before."""
        if self.sealed and not isinstance(event, _AFTER_THE_SEAL):
            raise EventRefusedError("The leg is sealed: nothing can be added to it.")
        if (self._started is None) != (type(event) is LegStarted):
            raise EventRefusedError(
                "The leg has not been started."
                if self._started is None
                else "The leg has been started already."
            )
        if isinstance(event, _HEARD):
            return
        match event:
            case PutDown():
                self._check_new(event)
            case (
                Confirmed(number=number)
                | Withdrawn(number=number)
                | DeskApproved(number=number)
                | DeskWithdrawn(number=number)
            ):
                self._check_counts(number)
            case Commented(number=int(number)) | WrittenDown(number=number):
                self._check_is_there(number)
            case Together(parts=parts):
                self._check_parts(parts)
            case LegEnded() if self._ended_at or self._desk.end:
                raise EventRefusedError("The leg has ended already.")
            case DeskEnded():
                self._check_end(event)
            case _:
                pass

    def _check_new(self, event: PutDown) -> None:
        if event.number < self.next_number:
            raise EventRefusedError(f"Entry {event.number} is there already.")
        if event.replaces is not None:
            self._check_counts(event.replaces)

    def _check_parts(self, parts: tuple[Kept | Confirmed | Withdrawn, ...]) -> None:
        """Each must fit by itself, and no two may be about one entry."""
        named: list[int] = []
        for part in parts:
            self.check(part)
            named.append(part.number)
            if isinstance(part, Kept) and part.replaces is not None:
                named.append(part.replaces)
        if len(set(named)) < len(named):
            raise EventRefusedError("One entry is named twice in what belongs together.")
        kept = [part.number for part in parts if isinstance(part, Kept)]
        if kept != sorted(kept):
            raise EventRefusedError("New entries are out of order in what belongs together.")

    def _check_end(self, event: DeskEnded) -> None:
        if self._ended_at is not None:
            raise EventRefusedError('The leg has ended already: "end leg" was said.')
        assert self._started is not None, "only LegStarted passes before"
        if not self._started.at <= event.ended_at <= event.at:
            raise EventRefusedError("A leg does not end before it began, or after it is said to.")

    def _check_is_there(self, number: int) -> None:
        if number not in self._kept:
            raise EventRefusedError(f"There is no entry {number}.")

    def _check_counts(self, number: int) -> None:
        self._check_is_there(number)
        if (state := self._state(number)) in {EntryState.CORRECTED, EntryState.WITHDRAWN}:
            raise EventRefusedError(f"Entry {number} no longer counts: it was {state}.")

    def add(self, event: Event | HeardInShort) -> None:
        """Take the event; raise `EventRefusedError`, with nothing changed, where it does not fit."""
        self.check(event)
        self._events += 1
        self._leg = None
        if isinstance(event, _HEARD):
            self._outcomes[event.decision.outcome] += 1
            self._desk.flown_on()
            self._flown_until = event.at
            return
        if type(event) not in _AFTERWARDS:
            self._flown_until = event.at
        for part in event.parts if type(event) is Together else (event,):
            self._take(part)
            self._forget(getattr(part, "number", None))

    def _forget(self, number: int | None) -> None:
        """Work an entry anew that something became of, and with it the one that it replaces."""
        if number is not None:
            self._entries.pop(number, None)
            self._entries.pop(self._kept[number].replaces or 0, None)

    def _take(self, event: Event) -> None:
        """`HeardBy` tells whoever looks into the journal: the leg is the same."""
        match event:
            case Kept() | Confirmed() | Withdrawn():
                self._desk.flown_on()
            case _:
                self._desk.take(event)
        match event:
            case PutDown(number=number):
                self._kept[number] = event
                self._replaced_by[event.replaces] = number
            case Confirmed(number=number):
                self._confirmed.add(number)
            case LegStarted():
                self._started = event
            case Withdrawn(number=number) | DeskWithdrawn(number=number):
                self._withdrawn.add(number)
                self._replaced_by.pop(self._kept[number].replaces, None)
            case Reminded(at=at, key=key, became=became, until=until):
                self._reminders.append(ReminderTurn(key=key, at=at, became=became, until=until))
            case Noticed(at=at, text=text) | Continued(at=at, why=text):
                self._notices.append(Notice(at=at, text=text))
            case LegEnded(at=at):
                self._ended_at = at
            case Sealed(at=at, head=head, signature=signature):
                self._seal = Seal(at=at, events=self._events - 1, head=head, signature=signature)

    def leg(self) -> Leg:
        """The leg as it stands, the same object until the next event.

        Raises `EventRefusedError` where it was never started.
        """
        if self._started is None:
            raise EventRefusedError("The leg has not been started.")
        if self._leg is None:
            self._leg = self._worked_out(self._started)
        return self._leg

    def _worked_out(self, started: LegStarted) -> Leg:
        for number, kept in self._kept.items():
            if number not in self._entries:
                self._entries[number] = self._entry(kept)
        end = self._desk.end
        return Leg(
            id=started.leg_id,
            settings=started.settings,
            started_at=started.at,
            ended_at=end.ended_at if end else self._ended_at,
            desk_end=end and DeskEnd(at=end.at, by=end.by, why=end.why),
            flown_until=self._flown_until,
            entries=tuple(self._entries[number] for number in self._kept),
            notices=tuple(self._notices),
            reminders=tuple(self._reminders),
            not_understood=self._outcomes["not_understood"],
            passed_over=self._outcomes["not_for_us"],
            comments=self._desk.comments(),
            sign_offs=tuple(self._desk.sign_offs),
            signed=self._desk.signed,
        )

    def _state(self, number: int) -> EntryState:
        if number in self._withdrawn:
            return EntryState.WITHDRAWN
        if number in self._replaced_by:
            return EntryState.CORRECTED
        if number in self._desk.marks:
            return EntryState.REVIEWED
        return EntryState.CONFIRMED if number in self._confirmed else EntryState.UNCONFIRMED

    def _entry(self, kept: PutDown) -> LegEntry:
        return LegEntry(
            number=kept.number,
            entry=kept.entry,
            heard=kept.heard,
            spoken_at=kept.spoken_at,
            happened_at=kept.happened_at,
            state=self._state(kept.number),
            was_confirmed=kept.number in self._confirmed,
            replaces=kept.replaces,
            replaced_by=self._replaced_by.get(kept.number),
            clip=kept.clip,
            desk=self._desk.marks.get(kept.number),
            written_down=self._desk.written_down.get(kept.number),
            comments=self._desk.comments(kept.number),
        )


def replay(events: Iterable[Event]) -> Leg:
    """The leg that these events tell.

    Raises:
        EventRefusedError: where an event contradicts those before it, or none starts the leg.
    """
    return Replay.of(events).leg()
