"""Two people at one leg: whether what an act is about was changed since it was decided on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.record.desk_events import (
    DeskApproved,
    DeskEnded,
    DeskEntry,
    DeskEvent,
    DeskWithdrawn,
    ListenedTo,
    WrittenDown,
)
from voice.record.event_base import PutDown
from voice.record.events import Confirmed, Kept, Together, Withdrawn
from voice.review.acts import (
    AddEntry,
    Approve,
    ChangeTime,
    EndLeg,
    SignOffLeg,
    TakeAlternative,
    TypeValue,
    WithdrawEntry,
    WriteComment,
    WriteDown,
)

if TYPE_CHECKING:
    from collections.abc import Iterable

    from voice.record.events import Event
    from voice.review.acts import Act


def meanwhile(act: Act, since: Iterable[Event]) -> Event | None:
    """The last of the events ``since`` the act was decided on that stands in its way.

    A remark and a listening are in nobody's way. A sign-off is for the whole leg: whatever was
    changed is in its way. So is the end of a leg, for which acts on its entries are none.
    """
    parts = [part for event in since for part in _parts(event)]
    found = [part for part in parts if _in_the_way(act, part)]
    return found[-1] if found else None


def _parts(event: Event) -> tuple[Event, ...]:
    return event.parts if isinstance(event, Together) else (event,)


def _in_the_way(act: Act, event: Event) -> bool:
    match act:
        case SignOffLeg():
            return not isinstance(event, ListenedTo)
        case EndLeg():
            return isinstance(event, DeskEnded) or not isinstance(event, DeskEvent)
        case AddEntry(clip=str(clip)):
            return isinstance(event, PutDown) and event.clip == clip and event.replaces is None
        case WriteDown(number=number) if isinstance(event, WrittenDown):
            return event.number == number
        case (
            Approve(number=number)
            | TakeAlternative(number=number)
            | TypeValue(number=number)
            | ChangeTime(number=number)
            | WithdrawEntry(number=number)
            | WriteDown(number=number)
            | WriteComment(number=int(number))
        ):
            return number in _touched(event)
    return False


def _touched(event: Event) -> tuple[int, ...]:
    match event:
        case Kept(replaces=int(number)) | DeskEntry(replaces=int(number)):
            return (number, event.number)
        case (
            Confirmed(number=number)
            | Withdrawn(number=number)
            | DeskApproved(number=number)
            | DeskWithdrawn(number=number)
        ):
            return (number,)
    return ()
