"""Events as far as a leg needs them: of what was heard only what became of it.

More than half of a journal tells what was heard, and most of the time to read it goes into that;
the leg counts its outcomes and no more. That its text is what was written, the chain tells.
"""

from __future__ import annotations

from typing import Literal

from pydantic import AwareDatetime, BaseModel, ConfigDict, TypeAdapter

from voice.record.events import Event, from_text


class _InShort(BaseModel):
    """What is not looked at is passed over; that it is well-formed was seen when it was written."""

    model_config = ConfigDict(frozen=True, extra="ignore")


class DecisionInShort(_InShort):
    """What was made of it."""

    outcome: str


class HeardInShort(_InShort):
    """A `voice.record.events.Heard`, without what was heard."""

    event: Literal["heard"]
    at: AwareDatetime
    decision: DecisionInShort


_HEARD = '"event":"heard"'
"""Canonical JSON writes the event so, and no text in it: there the quotes are escaped."""
_read = TypeAdapter(HeardInShort).validator.validate_json
"""The same as the model's own method, in half the time."""


def from_text_in_short(text: str) -> Event | HeardInShort:
    """The event that ``text`` tells, in short where it tells what was heard.

    Raises:
        pydantic.ValidationError: if ``text`` is no event.
    """
    return _read(text) if _HEARD in text else from_text(text)
