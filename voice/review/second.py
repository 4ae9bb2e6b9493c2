"""What the second listener made of the speech, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.heard import Stand
from voice.review.heard import phrases

if TYPE_CHECKING:
    from voice.record.events import Heard

_TOLD = {
    Stand.AGREED: "It means the same.",
    Stand.DIFFERED: "That differs from the first.",
    Stand.NOTHING: "The second listener made out no phrase.",
    Stand.LATE: "The second listener was late: the first decided alone.",
    Stand.FAILED: "The second listener failed: the first decided alone.",
}


def second_told(heard: Heard) -> str | None:
    """A sentence or two; ``None`` where no second listener was asked."""
    if heard.second is None:
        return None
    told = _TOLD[heard.second.stand]
    text = second_text(heard)
    return told if text is None else f"The second listener heard “{text}”. {told}"


def second_text(heard: Heard) -> str | None:
    """The words that it heard; ``None`` where it made out none, or was not asked."""
    if heard.second is None or heard.second.stand not in {Stand.AGREED, Stand.DIFFERED}:
        return None
    return next((one.text for one in phrases(heard.second.alternatives)), None)
