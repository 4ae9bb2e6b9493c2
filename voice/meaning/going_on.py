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
    walk = _Walk(words)
    return len(words) in walk.ends(expression, 0) and not walk.goes_on


class _Walk:
    """Follows an expression along the words, and notes whether it asks for one after the last."""

    def __init__(self, words: Sequence[str]) -> None:
        self._words = words
        self.goes_on = False

    def ends(self, node: Expression, at: int) -> set[int]:
        """Where ``node`` may end that starts at word ``at``; nowhere any more once it goes on."""
        if self.goes_on:
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
            self.goes_on = any(len(form) > count and form[:count] == rest for form in slot.forms)
        return {end for end, _ in slot.beginning(self._words, at)}
