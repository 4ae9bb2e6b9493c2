"""A check that runs: what it still has to ask, given the entries so far. Pure, and no talk yet."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from voice.dialogue.state import Taken
    from voice.meaning.checklist import Checklist, Item


@dataclass(frozen=True, slots=True)
class Check:
    """Where a check stands."""

    checklist: Checklist
    since: int
    """The number that the first entry after its beginning had, or would have had."""
    answers: tuple[tuple[str, int], ...] = ()
    """Items answered by "yes" or "no", with the entry that was made of it."""
    skipped: tuple[str, ...] = ()
    """Items that were passed over."""

    def open_items(self, taken: Iterable[Taken]) -> tuple[Item, ...]:
        """What is not known yet, in the order of the list; what was passed over among it."""
        known = tuple(taken)
        answered = {name for name, _ in self.answers}
        return tuple(
            item
            for item in self.checklist.items
            if item.name not in answered and not self._settled(item, known)
        )

    def next_item(self, taken: Iterable[Taken]) -> Item | None:
        """What is asked now; ``None`` where nothing is left to ask."""
        return next((i for i in self.open_items(taken) if i.name not in self.skipped), None)

    def _settled(self, item: Item, taken: tuple[Taken, ...]) -> bool:
        """Whether a confirmed entry tells it, and is new enough.

        An entry that was said to have happened earlier is never new: it may have been before the
        move, so it is asked.
        """
        first = self._first_new(item, taken)
        return any(
            one.confirmed
            and one.number >= first
            and (item.since == "leg" or one.statement.when is None)
            and any(pattern.fits(one.statement.entry) for pattern in item.settled)
            for one in taken
        )

    def _first_new(self, item: Item, taken: tuple[Taken, ...]) -> int:
        """The least number of an entry that is new enough to settle the item."""
        if item.since == "leg":
            return 0
        moves = [
            one.number
            for one in taken
            if any(pattern.fits(one.statement.entry) for pattern in self.checklist.moves)
        ]
        return moves[-1] if item.since == "move" and moves else self.since

    def answered(self, item: Item, number: int) -> Check:
        """With an item answered by the entry of this number."""
        return replace(self, answers=(*self.answers, (item.name, number)))

    def passed(self, item: Item) -> Check:
        """With an item passed over."""
        return replace(self, skipped=(*self.skipped, item.name))

    def without(self, numbers: Iterable[int]) -> Check:
        """With the answers of these numbers open again."""
        gone = set(numbers)
        return replace(self, answers=tuple(a for a in self.answers if a[1] not in gone))
