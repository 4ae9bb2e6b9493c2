"""An invented leg with everything that a reviewer meets, each with a short sound."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Literal

import numpy as np

from voice.entries.heard import SAMPLE_RATE
from voice.entries.kinds.leg import SpokenNote
from voice.entries.leg import LegSettings
from voice.entries.said import Statement
from voice.meaning.decision import Accept, Doubt, NotForUs, NotUnderstood
from voice.meaning.decision import Heard as HeardWords
from voice.record.events import Confirmed, Heard, Kept, LegEnded, ScoredText
from voice.record.journal import Journal

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

    from voice.entries.kinds import Entry
    from voice.meaning.decision import Decision
    from voice.meaning.grammar import Grammar
    from voice.record.events import Clip

START = datetime(2026, 5, 1, 14, 0, tzinfo=UTC)
SETTINGS = LegSettings()
_CLOSE, _FAR = -1.0, -9.0
_MINUTE = timedelta(minutes=1)


@dataclass(frozen=True)
class Said:
    """One stretch of speech, with what else it may have been."""

    text: str
    rivals: tuple[str, ...] = ()
    became: Literal["confirmed", "unconfirmed", "note", "nothing", "other talk"] = "confirmed"
    sound_s: float = 0.3
    samples: NDArray[np.int16] | None = None
    """Its sound; else a tone."""


LEG = (
    Said("order call above twenty two"),
    Said("drain level ten above tragus"),
    Said("mean pressure eighty two"),
    Said("pressure fourteen", ("pressure forty",)),
    Said("pressure fifteen", ("pressure fifty",), "unconfirmed"),
    Said("pressure sixteen", ("pressure sixty",)),
    Said("pressure seventeen"),
    Said("heart rate eighty eight"),
    Said("heart rate ninety"),
    Said("heart rate ninety two"),
    Said("oxygen ninety seven"),
    Said("oxygen ninety six"),
    Said("oxygen ninety eight"),
    Said("wheels up"),
    Said("drain clamped"),
    Said("drain open"),
    Said("mannitol fifty grams", ("mannitol fifteen grams",)),
    Said("chamber at ten"),
    Said("chamber at sixteen"),
    Said("", became="note"),
    Said("", became="note"),
    Said("pressure nineteen", ("pressure ninety",), "nothing"),
    Said("pressure eighteen", ("pressure eighty",), "nothing"),
    Said("", became="other talk"),
    Said("carbon dioxide thirty six"),
    Said("carbon dioxide thirty eight"),
)
"""A minute apart; those that became something are entries 1, 2, 3 …"""


def write_leg(
    folder: Path, grammar: Grammar, said: tuple[Said, ...] = LEG, apart: timedelta = _MINUTE
) -> None:
    """Write the leg into a new folder, with its sounds; it has ended."""
    with Journal.create(folder, SETTINGS, START, grammar_digest="", model_digest="") as journal:
        for nth, one in enumerate(said, start=1):
            _write(journal, START + nth * apart, one, grammar)
        journal.append(LegEnded(at=START + (len(said) + 1) * apart))


def _write(journal: Journal, at: datetime, one: Said, grammar: Grammar) -> None:
    clip = journal.add_clip(_tone(one.sound_s) if one.samples is None else one.samples)
    journal.append(_heard(at, one, grammar, clip))
    if one.became in {"nothing", "other talk"}:
        return
    entry = SpokenNote() if one.became == "note" else _entry(one.text, grammar)
    number = journal.next_number
    journal.append(
        Kept(
            at=at, number=number, entry=entry, heard=one.text,
            spoken_at=at, happened_at=at, clip=clip.name,
        )
    )  # fmt: skip
    if one.became == "confirmed":
        journal.append(Confirmed(at=at + timedelta(seconds=5), number=number))


def _heard(at: datetime, one: Said, grammar: Grammar, clip: Clip) -> Heard:
    decision: Decision
    if one.became in {"note", "other talk"}:
        decision = NotForUs()
    elif one.became == "nothing":
        decision = NotUnderstood(doubt=Doubt.CLOSE)
    else:
        statement = Statement(entry=_entry(one.text, grammar))
        decision = Accept(heard=HeardWords(text=one.text, meaning=statement))
    likely = [ScoredText(text=one.text, score=0.0)] if one.text else []
    rivals = [ScoredText(text=text, score=_CLOSE) for text in one.rivals]
    return Heard(
        at=at,
        start_at=at,
        end_at=at + timedelta(seconds=one.sound_s),
        alternatives=(*likely, *rivals, ScoredText(text="[unk]", score=_FAR)),
        decision=decision,
        dialogue_state="listening",
        clip=clip,
    )


def _entry(text: str, grammar: Grammar) -> Entry:
    (meaning,) = grammar.parse(text, SETTINGS)
    assert isinstance(meaning, Statement), text
    return meaning.entry


def _tone(length_s: float) -> NDArray[np.int16]:
    at = np.arange(round(length_s * SAMPLE_RATE)) / SAMPLE_RATE
    return np.asarray(4000 * np.sin(2 * np.pi * 440 * at), dtype=np.int16)
