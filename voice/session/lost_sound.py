"""Sound that was lost between the microphone and us: none of it may go unreported.

Each loss is noted in the journal. One in which a phrase may have gone is told aloud as well; many
small ones are told together, so that a machine that is too slow does not fill the journal.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from voice.entries.heard import Block

TOGETHER_S = 10.0
"""Losses within so long are told together (no source)."""
ALOUD_S = 1.0
"""Loss that is told aloud: the shortest phrases take about as long."""
SPOKEN = "Sound was lost. Say again what was not read back."


@dataclass(frozen=True, slots=True)
class Loss:
    """Sound that was lost since the last one was told."""

    sentence: str
    """For the journal."""
    aloud: bool
    """Whether the nurse has to be told."""


class LostSound:
    """Adds up what was lost, and says when it is to be told."""

    def __init__(self) -> None:
        self._lost_s: list[float] = []
        self._told_s = float("-inf")

    def after(self, block: Block) -> Loss | None:
        """What is to be told, now that ``block`` has come; mostly nothing."""
        if block.lost_s:
            self._lost_s.append(block.lost_s)
        if not self._lost_s or (max(self._lost_s) < ALOUD_S and self._waits(block.start_s)):
            return None
        lost_s, self._lost_s = self._lost_s, []
        self._told_s = block.start_s
        pieces = f", in {len(lost_s)} pieces" if len(lost_s) > 1 else ""
        return Loss(f"Sound was lost: {sum(lost_s):.1f} s{pieces}.", sum(lost_s) >= ALOUD_S)

    def _waits(self, at_s: float) -> bool:
        return at_s < self._told_s + TOGETHER_S
