"""What the talk remembers between two events."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING

from voice.entries.said import ClockTime, Statement
from voice.entries.subject import subject_of
from voice.figures.reminding import unanswered
from voice.meaning.listening import Listening

if TYPE_CHECKING:
    from collections.abc import Iterable

    from voice.dialogue.actions import Answer, Say
    from voice.dialogue.checks import Check
    from voice.entries.leg import Leg
    from voice.entries.reminder import ReminderKey
    from voice.meaning.checklist import Item
    from voice.meaning.decision import Heard


class StateName(StrEnum):
    """Where the talk stands."""

    ASLEEP = "asleep"
    """No leg runs."""
    STANDING_BY = "standing by"
    """Deaf to everything but "resume"."""
    LISTENING = "listening"
    CONFIRMING = "confirming"
    """An entry was read back and waits for "confirm"."""
    CHECKING = "checking"
    """A question of a check was asked."""
    CHOOSING = "choosing"
    """Two readings were offered."""
    NOTING = "noting"
    """The next words are kept as sound."""

    @property
    def listening(self) -> Listening | None:
        """The grammar that is listened with; ``None`` where words are not made out.

        Without a leg, entries are listened for all the same: one that was said before "start leg"
        must be refused aloud, not passed over in silence.
        """
        return _LISTENING[self]


_LISTENING: dict[StateName, Listening | None] = {
    StateName.ASLEEP: Listening.LISTENING,
    StateName.STANDING_BY: Listening.ASLEEP,
    StateName.LISTENING: Listening.LISTENING,
    StateName.CONFIRMING: Listening.CONFIRMING,
    StateName.CHECKING: Listening.CHECKING,
    StateName.CHOOSING: Listening.CHOOSING,
    StateName.NOTING: None,
}


@dataclass(frozen=True, slots=True)
class Taken:
    """An entry of this leg that counts."""

    number: int
    statement: Statement
    confirmed: bool = False
    corrects: Taken | None = None
    """The entry that stands again when this one is withdrawn."""

    @property
    def subject(self) -> tuple[str, ...]:
        """What it is about: its kind, and the side, drug or analyte where it has one."""
        return subject_of(self.statement.entry)


@dataclass(frozen=True, slots=True)
class DialogueState:
    """All that the talk remembers; nothing else does."""

    name: StateName = StateName.ASLEEP
    taken: tuple[Taken, ...] = ()
    """Entries that count, by number."""
    next_number: int = 1
    waiting: tuple[Taken, ...] = ()
    """What "confirm" would confirm, in the order in which it is read back; all of it is in ``taken``."""
    read: tuple[int, ...] = ()
    """Numbers of the entries that were read back last; some may count no more."""
    offered: tuple[Heard, Heard] | None = None
    """The two readings to choose from."""
    check: Check | None = None
    """The check that runs, whatever is said in between."""
    said: Say | Answer | None = None
    """What "say again" repeats."""
    reading: Answer | None = None
    """The answer, and the part of it, that "next part" goes on from."""
    review: tuple[int, ...] | None = None
    """Numbers of the unconfirmed entries still to be read; ``None`` while they are not gone through."""
    reminded: ReminderKey | None = None
    """The reminder that was said last, while it can be acknowledged or postponed."""
    misses: int = 0
    """How often in a row something for us was not understood."""
    quiet_since_s: float = 0.0
    """Since when the nurse could have answered, or has not been told that it stands by; on the source's clock."""

    @classmethod
    def resumed(cls, leg: Leg) -> DialogueState:
        """The talk as it goes on after a break in a leg that has not ended."""
        entries = {entry.number: entry for entry in leg.entries}

        def taken(number: int) -> Taken:
            entry = entries[number]
            local = leg.local(entry.happened_at)
            earlier = entry.happened_at < entry.spoken_at
            when = ClockTime(hour=local.hour, minute=local.minute) if earlier else None
            return Taken(
                number=number,
                statement=Statement(entry=entry.entry, when=when),
                confirmed=entry.confirmed or entry.was_confirmed,
                corrects=None if entry.replaces is None else taken(entry.replaces),
            )

        return cls(
            name=StateName.LISTENING,
            taken=tuple(taken(entry.number) for entry in leg.entries if entry.counts),
            next_number=max(entries, default=0) + 1,
            reminded=unanswered(leg),
        )

    @property
    def last(self) -> tuple[Taken, ...]:
        """What she heard of last: what waits, else what was read back last, else the newest entry."""
        read = tuple(one for one in self.taken if one.number in self.read)
        return self.waiting or read or self.taken[-1:]

    @property
    def asks(self) -> tuple[StateName, tuple[Taken, ...], Item | None]:
        """What an answer would be to: while this is the same, so is the question."""
        asked = None if self.check is None else self.check.next_item(self.taken)
        return self.name, self.waiting, asked

    def with_taken(self, *added: Taken, without: Iterable[Taken] = ()) -> DialogueState:
        """With entries added, and others taken out, by number."""
        numbers = {taken.number for taken in (*added, *without)}
        stay = [taken for taken in self.taken if taken.number not in numbers]
        return replace(self, taken=tuple(sorted((*stay, *added), key=lambda t: t.number)))
