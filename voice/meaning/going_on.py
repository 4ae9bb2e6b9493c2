"""Whether whoever pauses may have more to say.

"Confirm" is all there is to say; "pressure fourteen" may be followed by "point five", and "drain clamped"
by "five minutes ago": each changes what is kept.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.meaning.expression import Either, Marked, Row, Slot, Word

if TYPE_CHECKING:
    from collections.abc import Sequence

    from voice.meaning.expression import Expression


def is_whole(expression: Expression, words: Sequence[str]) -> bool:
    """Whether ``words`` are a phrase of ``expression``, and no longer one begins with them."""
    walk = Walk(words)
    return len(words) in walk.ends(expression, 0) and not walk.goes_on


class Walk:
    """Follows an expression along the words, and notes what it asks for after the last.

    With ``to_the_end`` it goes every way, else no farther than to know that there is more to say.
    """

    def __init__(self, words: Sequence[str], *, to_the_end: bool = False) -> None:
        self._words = words
        self._to_the_end = to_the_end
        self.goes_on = False
        """Whether a word may follow after the last."""
        self.asked_for: list[Slot] = []
        """Slots that may begin after the last word."""

    def begins(self, expression: Expression) -> bool:
        """Whether the words are a phrase of ``expression``, or begin one."""
        return len(self._words) in self.ends(expression, 0) or self.goes_on

    def ends(self, node: Expression, at: int) -> set[int]:
        """Where ``node`` may end that starts at word ``at``."""
        if self.goes_on and not self._to_the_end:
            return set()
        match node:
            case Word(text):
                return self._word_ends(text, at)
            case Row(parts):
                reached = {at}
                for part in parts:
                    reached = {end for start in reached for end in self.ends(part, start)}
                return reached
            case Either(parts):
                return {end for part in parts for end in self.ends(part, at)}
            case Slot():
                return self._slot_ends(node, at)
            case Marked(part):
                return self.ends(part, at)

    def _word_ends(self, text: str, at: int) -> set[int]:
        if at == len(self._words):
            self.goes_on = True
            return set()
        return {at + 1} if self._words[at] == text else set()

    def _slot_ends(self, slot: Slot, at: int) -> set[int]:
        rest = tuple(self._words[at:])
        if not rest or rest[0] in slot.firsts:
            count = len(rest)
            self.goes_on |= any(len(form) > count and form[:count] == rest for form in slot.forms)
        if not rest:
            self.asked_for.append(slot)
        return {end for end, _ in slot.beginning(self._words, at)}
