"""Answers in a check by voice."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from voice.entries.frozen import Frozen


class CheckAnswer(Frozen):
    """What was answered to one item of a check list, where no other entry tells it.

    It holds the words of the list as it was, so that it can be read when the list has changed.
    """

    kind: Literal["check_answer"] = "check_answer"
    check: str = Field(min_length=1)
    """Name of the list: "before leaving"."""
    item: str = Field(min_length=1)
    answer: Literal["yes", "no", "not answered"]
    """``"not answered"`` where it was asked, or left over, and nothing was said to it."""


CheckEntry = CheckAnswer
"""What comes of a check."""
