"""Recordings to meanings, without a talk: what would be heard, for measuring and for looking."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Annotated

from pydantic import Field

from voice.capture.recordings import RecordingError
from voice.entries.frozen import Frozen
from voice.entries.kinds import Entry
from voice.entries.leg import LegSettings
from voice.entries.said import ConfirmAnd, Correction, Statement
from voice.meaning.decision import Accept, Decision, Heard
from voice.meaning.listening import Listening
from voice.record.events import ScoredText
from voice.session.ears import Ears
from voice.session.models import chosen_model
from voice.session.own_phrases import chosen_grammar
from voice.session.segments import segments_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from pathlib import Path

    from voice.entries.heard import Segment
    from voice.session.models import Model


class HeardSegment(Frozen):
    """One stretch of speech in a recording, and what was made of it."""

    file: str
    start_s: float
    """From the beginning of the file, in s."""
    end_s: float
    text: str
    """The likeliest words; empty where none were made out."""
    alternatives: tuple[ScoredText, ...]
    """Likeliest first."""
    decision: Annotated[Decision, Field(discriminator="outcome")]
    entry: Entry | None
    """What would be kept; ``None`` where the nurse would be asked, or nothing is to be kept."""


def hear(
    files: Sequence[Path],
    *,
    state: Listening = Listening.CONFIRMING,
    settings: LegSettings | None = None,
    model: Model | None = None,
    on_trouble: Callable[[RecordingError], None] | None = None,
) -> Iterator[HeardSegment]:
    """What is said in ``files``, segment by segment.

    ``state`` chooses what may be said; ``CONFIRMING`` takes the most. ``model`` is the chosen one
    where none is given.

    ``on_trouble`` is told of a file that cannot be used, and the next one is taken.

    Raises ``RecordingError`` for such a file where there is no ``on_trouble``, ``ModelDamagedError`` or
    ``ModelFolderError`` where the model cannot, and ``GrammarError`` where the grammar cannot.
    """
    settings = settings or LegSettings()
    grammar = chosen_grammar()
    model = model or chosen_model()
    ears = Ears({state: model.listener(grammar, state)}, grammar, settings, model.thresholds)
    patience_s = partial(ears.patience_s, listening=state)
    for file, segment in _segments(files, patience_s, on_trouble):
        heard, decision = ears.make_out(segment, state)
        scored = tuple(ScoredText(text=a.text, score=a.score) for a in heard.alternatives)
        yield HeardSegment(
            file=str(file),
            start_s=round(segment.start_s, 3),
            end_s=round(segment.end_s, 3),
            text=scored[0].text if scored else "",
            alternatives=scored,
            decision=decision,
            entry=_entry(decision),
        )


def _segments(
    files: Sequence[Path],
    patience_s: Callable[[Segment], float],
    on_trouble: Callable[[RecordingError], None] | None,
) -> Iterator[tuple[Path, Segment]]:
    for file in files:
        try:
            for segment in segments_of(file, patience_s):
                yield file, segment
        except RecordingError as error:
            if on_trouble is None:
                raise
            on_trouble(error)


def _entry(decision: Decision) -> Entry | None:
    match decision:
        case Accept(heard=Heard(meaning=Statement(entry=entry))):
            return entry
        case Accept(heard=Heard(meaning=Correction(statement=Statement(entry=entry)))):
            return entry
        case Accept(heard=Heard(meaning=ConfirmAnd(then=Statement(entry=entry)))):
            return entry
    return None
