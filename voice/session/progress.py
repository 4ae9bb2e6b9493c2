"""What a session tells whoever watches it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

    from voice.dialogue.actions import Confirm, Keep, Tone, Withdraw
    from voice.dialogue.state import StateName
    from voice.meaning.decision import Decision


@dataclass(frozen=True, slots=True)
class SegmentHeard:
    """Somebody spoke."""

    at: datetime
    text: str
    """The likeliest words; empty where none were made out."""
    decision: Decision
    state: StateName
    """Where the talk stood."""


@dataclass(frozen=True, slots=True)
class Spoken:
    """The program spoke."""

    at: datetime
    text: str


@dataclass(frozen=True, slots=True)
class Sounded:
    """A tone was played."""

    at: datetime
    tone: Tone


@dataclass(frozen=True, slots=True)
class Written:
    """Something was written to the journal."""

    at: datetime
    action: Keep | Confirm | Withdraw


@dataclass(frozen=True, slots=True)
class LegBegan:
    """A leg was started."""

    at: datetime
    folder: Path


@dataclass(frozen=True, slots=True)
class LegOver:
    """The leg was ended by voice."""

    at: datetime
    folder: Path


@dataclass(frozen=True, slots=True)
class InTrouble:
    """The program is in trouble, or out of it again; it said so where it could."""

    at: datetime
    sentence: str


@dataclass(frozen=True, slots=True)
class MinutePassed:
    """Nothing happened but that time went on."""

    at: datetime


Progress = SegmentHeard | Spoken | Sounded | Written | LegBegan | LegOver | InTrouble | MinutePassed
