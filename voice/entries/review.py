"""What a reviewer adds at the desk, after the leg: who, when and why, beside the entries."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import AfterValidator, AwareDatetime, Field, StringConstraints

from voice.entries.frozen import Frozen


def _on_one_line(text: str) -> str:
    if not text.isprintable():
        raise ValueError("it holds signs that cannot be printed")
    return text


def _on_lines(text: str) -> str:
    for line in text.replace("\t", " ").split("\n"):
        _on_one_line(line)
    return text


Line = Annotated[
    str,
    StringConstraints(strip_whitespace=True, min_length=1, max_length=120),
    AfterValidator(_on_one_line),
]
"""One line of writing. Signs that do not show are refused: they can make a text look like another."""

Text = Annotated[
    str,
    StringConstraints(strip_whitespace=True, min_length=1, max_length=4000),
    AfterValidator(_on_lines),
]
"""Some lines of writing."""


class Reviewer(Frozen):
    """Who sits at the desk, as he or she says; legbook knows no accounts."""

    name: Line
    role: Line

    def __str__(self) -> str:
        return f"{self.name}, {self.role}"


class DeskMark(Frozen):
    """What was last done to an entry at the desk."""

    act: Literal["approved", "corrected", "added", "withdrawn"]
    at: AwareDatetime
    by: Reviewer
    why: Line


class DeskEnd(Frozen):
    """Who told at the desk when a leg was over of which nobody said so."""

    at: AwareDatetime
    """When that was told."""
    by: Reviewer
    why: Line


class Comment(Frozen):
    """What a reviewer remarked, about an entry or about the leg."""

    at: AwareDatetime
    by: Reviewer
    text: Text


class SignOff(Frozen):
    """A reviewer stands for the leg as it was then; it says nothing of what came after."""

    at: AwareDatetime
    by: Reviewer
    sounds: int = Field(ge=0)
    """How many sounds were kept of the leg."""
    listened_to: int = Field(ge=0)
    """How many of them were listened to at the desk."""
    may_teach: bool = False
    """Whether the phrases that were misheard may be told to the trainer."""
