"""How well each model hears one voice: twenty prompts read aloud, teens and tens foremost.

Nothing is learnt from the voice and no sound is kept: a file on this machine holds what was heard.
"""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING

from pydantic import AwareDatetime

from voice.entries.frozen import Frozen
from voice.entries.heard import Hearing
from voice.entries.leg import LegSettings
from voice.entries.said import Command, Statement, Talk
from voice.meaning.decide import decide
from voice.meaning.decision import Accept, AskBetween
from voice.meaning.listening import Listening
from voice.meaning.narrowing import NEEDED_NUMBERS
from voice.meaning.twins import TEN_FOR_TEEN, twin_meanings
from voice.session.segments import segments_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from pathlib import Path

    from voice.entries.heard import Block, Segment
    from voice.entries.said import Meaning
    from voice.hearing.segmenter import Segmenter
    from voice.meaning.decision import Decision
    from voice.meaning.grammar import Grammar
    from voice.session.models import Model

BESIDES = (Talk.CONFIRM, Talk.NO, "drain_clamped", "drain_opened", "drain_zeroed", "pupils")
"""What is asked for besides teens and tens: the answers, and what every leg has."""
SAID_MOST = ("drained", "head_of_bed", "drug_given", "pressure")
"""Kinds whose numbers are read before those of others (common practice, no source)."""
STATE = Listening.CONFIRMING
"""What may be said when a prompt is heard: as on a leg, after a read-back."""
PATIENCE_S = 20.0
"""A prompt that nobody has read by then is passed over."""
SETTLE_S = 1.5
"""Quiet after which a prompt has been read; what is said sooner replaces what was said before."""

_SETTINGS = LegSettings()
_NUMBER_WORDS = frozenset(word for form in NEEDED_NUMBERS for word in form.split())


class Outcome(StrEnum):
    """What became of a prompt."""

    RIGHT = "right"
    """Taken, and it is what was read."""
    ASKED = "asked"
    """The nurse would be asked; what was read is one of the two."""
    MISSED = "missed"
    """Not understood, passed over, or not heard at all: it would have to be said again."""
    WRONG = "wrong"
    """Something else was taken, or offered."""


class Reading(Frozen):
    """One prompt as one model heard it."""

    prompt: str
    model: str
    heard: str
    """The likeliest words; empty where there were none."""
    outcome: Outcome
    lead: float | None
    """By how much what was read leads all that means something else, in natural log-likelihood;
    below 0 it was behind; ``None`` where one of the two is not in the list."""
    twin_lead: float | None
    """The same against its teen or ten alone."""


class VoiceCheck(Frozen):
    """One check of one voice."""

    at: AwareDatetime
    voice: str
    """What the person calls it; empty where nothing was said."""
    readings: tuple[Reading, ...]

    def models(self) -> tuple[str, ...]:
        """The models that listened, in their order."""
        return tuple(dict.fromkeys(reading.model for reading in self.readings))

    def of(self, model: str) -> dict[str, Reading]:
        """What ``model`` heard, by prompt."""
        return {r.prompt: r for r in self.readings if r.model == model}

    def right(self, model: str) -> int:
        """How many prompts ``model`` took rightly."""
        return sum(r.outcome is Outcome.RIGHT for r in self.of(model).values())


# --- prompts -----------------------------------------------------------------------------------


def prompts(grammar: Grammar) -> tuple[str, ...]:
    """The twenty prompts: every teen, then what is said most, then every ten.

    Each pair stands in a phrase that takes both, a different kind of entry for each pair as far as
    there are kinds; teen and ten are read minutes apart, so that nobody speaks them against each
    other. The phrases are the grammar's own examples. It is an error of the phrase files where too
    few examples are there: ``ValueError``.
    """
    frames = _frames(grammar)
    if not frames:
        raise ValueError("no example of the grammar takes every teen and every ten")
    pairs = [
        (frames[n % len(frames)].replace("#", teen), frames[n % len(frames)].replace("#", ten))
        for n, (teen, ten) in enumerate(TEN_FOR_TEEN.items())
    ]
    besides = [_example(grammar, wanted) for wanted in BESIDES]
    return (*(teen for teen, _ in pairs), *besides, *(ten for _, ten in pairs))


def _frames(grammar: Grammar) -> list[str]:
    """Examples with a # in the place of their only number, one for each kind of entry that takes all."""
    frames: dict[str, str] = {}
    for example in grammar.examples:
        if not isinstance(example.meaning, Statement) or example.meaning.when is not None:
            continue
        words = grammar.spelled(example.text).split()
        numbers = [n for n, word in enumerate(words) if word in _NUMBER_WORDS]
        if len(numbers) == 1:
            words[numbers[0]] = "#"
            frame = " ".join(words)
            kind = example.meaning.entry.kind
            if kind not in frames and all(
                _is_twin(grammar, frame, *p) for p in TEN_FOR_TEEN.items()
            ):
                frames[kind] = frame
    often = [frames.pop(kind) for kind in SAID_MOST if kind in frames]
    return [*often, *frames.values()]


def _is_twin(grammar: Grammar, frame: str, teen: str, ten: str) -> bool:
    one = grammar.parse(frame.replace("#", teen), _SETTINGS, STATE)
    other = grammar.parse(frame.replace("#", ten), _SETTINGS, STATE)
    return len(one) == len(other) == 1 and twin_meanings(one[0], other[0])


def _example(grammar: Grammar, wanted: Talk | str) -> str:
    for example in grammar.examples:
        match example.meaning:
            case Command(talk=talk) if talk == wanted:
                return example.text
            case Statement(entry=entry, when=None) if entry.kind == wanted:
                return example.text
    raise ValueError(f"the grammar has no example of {wanted}")


# --- hearing -----------------------------------------------------------------------------------


def recorded_utterances(files: Sequence[Path]) -> Iterator[Segment | None]:
    """The longest stretch of speech in each recording, or ``None`` where there is none.

    Raises ``RecordingError`` for a file that cannot be used.
    """
    for file in files:
        yield max(segments_of(file), key=lambda segment: len(segment.samples), default=None)


def live_utterances(
    blocks: Iterator[Block], segmenter: Segmenter, show: Callable[[str], None], texts: Sequence[str]
) -> Iterator[Segment | None]:
    """Show each prompt and give what is said then, or ``None`` where nothing is for ``PATIENCE_S``.

    Raises ``SourceError`` where the microphone fails.
    """
    for text in texts:
        show(text)
        yield _next(blocks, segmenter)


def _next(blocks: Iterator[Block], segmenter: Segmenter) -> Segment | None:
    """The last thing said before it is quiet for a while: whoever slips says it again."""
    said: Segment | None = None
    until_s: float | None = None
    for block in blocks:
        until_s = block.end_s + PATIENCE_S if until_s is None else until_s
        for segment in segmenter.feed(block):
            said, until_s = segment, segment.end_s + SETTLE_S
        if block.end_s > until_s and not segmenter.in_speech:
            break
    return said


def readings(
    model: Model, grammar: Grammar, spoken: Sequence[tuple[str, Segment | None]]
) -> Iterator[Reading]:
    """What ``model`` makes of each prompt and its sound; raises what ``Model.listener`` raises."""
    listener = model.listener(grammar, STATE)
    for prompt, segment in spoken:
        hearing = listener.hear(segment) if segment is not None else Hearing(())
        decision = decide(
            hearing,
            grammar,
            STATE,
            _SETTINGS,
            cut=segment is not None and segment.cut,
            thresholds=model.thresholds,
        )
        (meant,) = grammar.parse(prompt, _SETTINGS, STATE)
        scores = _scores(hearing, grammar)
        yield Reading(
            prompt=prompt,
            model=model.name,
            heard=hearing.alternatives[0].text if hearing.alternatives else "",
            outcome=outcome_of(decision, meant),
            lead=_lead(scores, meant, [other for other in scores if other != meant]),
            twin_lead=_lead(
                scores,
                meant,
                [o for o in scores if not isinstance(o, str) and twin_meanings(meant, o)],
            ),
        )


_Scores = dict["Meaning | str", float]
"""The best score of each meaning, and of words that have none."""


def _scores(hearing: Hearing, grammar: Grammar) -> _Scores:
    scores: _Scores = {}
    for alternative in hearing.alternatives:
        text = alternative.text
        for meaning in grammar.parse(text, _SETTINGS, STATE) or (text,):
            scores[meaning] = max(alternative.score, scores.get(meaning, alternative.score))
    return scores


def outcome_of(decision: Decision, meant: Meaning) -> Outcome:
    """What became of a prompt that means ``meant``."""
    match decision:
        case Accept(heard=heard):
            return Outcome.RIGHT if heard.meaning == meant else Outcome.WRONG
        case AskBetween(first=first, second=second):
            offered = meant in {first.meaning, second.meaning}
            return Outcome.ASKED if offered else Outcome.WRONG
    return Outcome.MISSED


def _lead(scores: _Scores, meant: Meaning, rivals: Sequence[Meaning | str]) -> float | None:
    if meant not in scores or not rivals:
        return None
    return round(scores[meant] - max(scores[rival] for rival in rivals), 2)


# --- judging -----------------------------------------------------------------------------------


class Risk(StrEnum):
    """How it stands with a teen and its ten."""

    CLEAR = "clear"
    """Both were taken rightly."""
    ASKS = "asks"
    """One at least was asked about: a question more, and no mistake."""
    REPEAT = "say again"
    """One at least was not understood: it has to be said again, best digit by digit."""
    SWAPPED = "SWAPPED"
    """One at least was taken for something else: say these digit by digit."""


_RISKS = {
    Outcome.RIGHT: Risk.CLEAR,
    Outcome.ASKED: Risk.ASKS,
    Outcome.MISSED: Risk.REPEAT,
    Outcome.WRONG: Risk.SWAPPED,
}


class Pair(Frozen):
    """A teen and its ten, as one model heard them."""

    teen: str
    ten: str
    risk: Risk
    least_lead: float | None
    """The smaller of the leads over the twin; ``None`` where no twin came into the list."""


def pairs(check: VoiceCheck, model: str) -> tuple[Pair, ...]:
    """The seven pairs, from the prompts that hold them."""
    found = []
    heard = check.of(model).values()
    for teen, ten in TEN_FOR_TEEN.items():
        both = [r for r in heard if {teen, ten} & set(r.prompt.split())]
        worst = max((_RISKS[r.outcome] for r in both), key=list(Risk).index)
        leads = [r.twin_lead for r in both if r.twin_lead is not None]
        found.append(Pair(teen=teen, ten=ten, risk=worst, least_lead=min(leads, default=None)))
    return tuple(found)
