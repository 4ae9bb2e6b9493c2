"""What would be heard of a phrase: its meaning, its read-back, and the alternatives of a sound."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

from voice.capture.microphone import Microphone
from voice.entries.leg import LegSettings
from voice.entries.said import Command
from voice.hearing.segmenter import Segmenter
from voice.hearing.vad import SileroVad
from voice.meaning.decide import decide
from voice.meaning.decision import Accept, AskBetween
from voice.meaning.listening import Listening
from voice.training.voice_check import live_utterances

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from voice.entries.heard import Segment
    from voice.meaning.decision import Decision
    from voice.meaning.grammar import Grammar
    from voice.session.models import Model

_SETTINGS = LegSettings()
_SHOWN = 6


def meanings(text: str, grammar: Grammar) -> Iterator[str]:
    """Lines on what ``text`` means and how it is read back."""
    found = grammar.parse(text, _SETTINGS)
    if not found:
        yield f'"{text}" is no phrase: nothing would be kept.'
    for meaning in found:
        states = [str(s) for s in Listening if meaning in grammar.parse(text, _SETTINGS, s)]
        spoken = grammar.read_back(meaning, _SETTINGS)
        steers = " (a word to the program)" if isinstance(meaning, Command) else ""
        yield f'"{text}" is read back as "{spoken}"{steers}; legal while {", ".join(states)}.'
    if len(found) > 1:
        yield "It means more than one thing, so it would be asked about each time."


def heard(segment: Segment | None, model: Model, grammar: Grammar) -> Iterator[str]:
    """Lines on what is made of a sound: the alternatives with their scores, and the decision."""
    if segment is None:
        yield "No speech was found in it."
        return
    hearing = model.listener(grammar, Listening.CONFIRMING).hear(segment)
    best = hearing.alternatives[0].score if hearing.alternatives else 0.0
    for alternative in hearing.alternatives[:_SHOWN]:
        yield f"  {alternative.score - best:+6.1f}  {alternative.text}"
    decision = decide(
        hearing,
        grammar,
        Listening.CONFIRMING,
        _SETTINGS,
        cut=segment.cut,
        thresholds=model.thresholds,
    )
    yield _told(decision, grammar)


def _told(decision: Decision, grammar: Grammar) -> str:
    match decision:
        case Accept(heard=one):
            return f'  taken, and read back: "{grammar.read_back(one.meaning, _SETTINGS)}"'
        case AskBetween(first=one, second=other):
            return f'  asked: "{one.text}", or "{other.text}"?'
    return "  not understood, or passed over as other talk"


def spoken_live(show: Callable[[str], None], microphone: str | None) -> Segment | None:
    """What is said into the microphone now; raises ``MicrophoneError``."""
    blocks = Microphone(microphone, time.monotonic).blocks()
    return next(live_utterances(blocks, Segmenter(SileroVad()), show, ["Say the phrase now."]))
