"""Phrases that fell apart at a pause: what follows soon is heard again together with what came before.

A half of a phrase may be nothing, or another phrase: "pressure fourteen", a pause, "at nine oh five" would be a
pressure of now. The sound of both halves, with less silence between them, is heard under the same grammar. They
are one phrase where that is as likely as the two are apart (`BELONGS`). What breaks off and gets no rest in time
is told (`Joining.due`), and the rest may still come as the answer to that. A time that follows soon on "confirm", and
to which nothing more comes, is heard together with what was confirmed: it may be its correction.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from voice.entries.heard import SAMPLE_RATE
from voice.entries.said import Command, ConfirmAnd, Correction, Several, Statement, Talk
from voice.hearing.segmenter import AROUND_S, LONGEST_S
from voice.meaning.decide import Likeliest, is_unknown
from voice.meaning.decision import Accept, AskBetween, Doubt, NotForUs, NotUnderstood, confirms_and
from voice.meaning.unfinished import Lacks

if TYPE_CHECKING:
    from voice.entries.heard import Alternative, Hearing, Segment
    from voice.entries.said import Meaning
    from voice.meaning.decision import Decision
    from voice.meaning.listening import Listening
    from voice.session.ears import Ears

JOIN_S = 2.5
"""Longest pause within a phrase (common practice, no source). Who has to look the value up takes longer, and is asked."""
CONFIRMED_S = 12.0
"""For so long after "confirm" a time may come (common practice, no source: as long as an answer is waited for). Later it
may be anybody's, and a correction that nobody answers leaves unconfirmed what was confirmed."""
ANSWER_S = 8.0
"""For so long after we asked for the rest it may come."""
BELONGS = 10.0
"""By so much, as a natural logarithm, two halves may be less likely together than apart. Of 12 phrases in halves none
was less likely by more than 2, and of 36 pairs of two things none by less than 15 (docs/bench.md)."""
GAINS = 5.0
"""By so much more what grows must lead other talk than the entry alone did, to be more of it: as an entry must."""

_LONGEST = LONGEST_S * SAMPLE_RATE
ENTRIES = Statement | Several | Correction | ConfirmAnd
UNFINISHED = NotUnderstood(doubt=Doubt.UNFINISHED)


@dataclass(frozen=True, slots=True)
class Part:
    """Something that was said, and what came of it."""

    segment: Segment
    hearing: Hearing
    decision: Decision
    listening: Listening
    until_s: float
    """What begins before then may be its rest."""
    kept: bool = False
    """Whether an entry that came of its sound waits to be confirmed."""
    confirmed: bool = False
    """Whether it is what was confirmed, with more that was said of it."""
    told: bool = False
    """Whether the nurse knows that its rest is missing."""

    @property
    def best(self) -> Alternative | None:
        """Its likeliest reading, other talk among them."""
        return next(iter(self.hearing.all), None)

    @property
    def is_open(self) -> bool:
        """Whether a rest is missing and nobody has been told."""
        return self.decision == UNFINISHED and not self.told

    @property
    def confirms_and(self) -> bool:
        """Whether it is a "confirm" with an entry, or the beginning of one, behind it."""
        if self.decision == UNFINISHED:
            return Talk.CONFIRM in self.hearing.beginnings[0].text.split()
        return confirms_and(self.decision)


class Joining:
    """Holds what was said last, while more may belong to it."""

    def __init__(self, ears: Ears) -> None:
        self._ears = ears
        self._first: Part | None = None
        self._confirmed: Part | None = (
            None  # what "confirm" was for, and nothing else was said since
        )
        self._last: tuple[Segment, Part | None, Part | None] | None = None  # rest, first and whole

    @property
    def half(self) -> Part | None:
        """The phrase whose rest is still waited for."""
        return self._first if self._first is not None and self._first.is_open else None

    def whole(
        self, rest: Segment, hearing: Hearing, decision: Decision, *, confirming: bool
    ) -> Part | None:
        """What was said before and ``rest``, as one; ``None``: they do not belong together.

        ``hearing`` and ``decision`` are on ``rest`` alone. ``confirming`` tells whether what was kept last still
        waits to be confirmed.
        """
        if self._last is None or self._last[0] is not rest or self._last[1] is not self._first:
            whole = None
            if self._may_belong(rest, decision, confirming=confirming):
                assert self._first is not None
                whole = self._together(self._first, rest, hearing)
            self._last = (rest, self._first, whole)
        return self._last[2]

    def goes_on(self, growing: Segment) -> bool:
        """Whether what is being said, over our own words, is more of the entry that we read back."""
        first = self._first
        if first is None or not first.kept or not _is_soon(first, growing):
            return False
        _, hearing, _ = self._ears.together(first.segment, growing, first.listening)
        before, best = first.best, next(iter(hearing.all), None)
        if before is None or best is None or is_unknown(best):
            return False
        is_more = len(best.text.split()) > len(before.text.split())
        gains = Likeliest.of(hearing.all).lead >= Likeliest.of(first.hearing.all).lead + GAINS
        return is_more and gains

    def heard(self, part: Part | None, *, confirming: bool) -> None:
        """Remember what was said, as it was acted on; ``None``: nothing can belong to it.

        Other talk in between changes nothing while a rest may still come. ``confirming`` tells whether an entry
        waited to be confirmed.
        """
        first = self._first
        waits = first is not None and (first.kept or first.decision == UNFINISHED)
        if part is not None and isinstance(part.decision, NotForUs) and waits:
            return
        if part is not None and confirming and _is_confirm(part.decision):
            until_s = part.segment.speech_end_s + CONFIRMED_S
            kept = first is not None and first.kept
            self._confirmed = (
                replace(first, kept=False, until_s=until_s) if first is not None and kept else None
            )
        elif part is None or part.decision not in (UNFINISHED, NotForUs()):
            self._confirmed = None
        self._first = part if part is not None and _can_go_on(part.decision) else None

    def corrected(self) -> Part | None:
        """What was confirmed, with the time that was said soon after and that nothing followed."""
        time, before = self.half, self._confirmed
        if time is None or before is None or not _is_soon(before, time.segment):
            return None
        part = self._together(before, time.segment, time.hearing)
        if part is None or not _is_later_time(part.decision, before.decision):
            return None
        return replace(part, confirmed=True)

    def due(self, at_s: float) -> Part | None:
        """What broke off and whose rest has not come in time."""
        half = self.half
        return half if half is not None and at_s > half.until_s else None

    def asked(self, until_s: float) -> None:
        """Its rest was asked for, in words that end by then."""
        if self._first is not None:
            self._first = replace(self._first, told=True, until_s=until_s + ANSWER_S)

    def _may_belong(self, rest: Segment, decision: Decision, *, confirming: bool) -> bool:
        first = self._first
        if first is None or rest.cut or (first.kept and not confirming):
            return False
        match decision:
            case Accept(heard=heard) if not isinstance(heard.meaning, ENTRIES):
                return False
            case Accept() | AskBetween() if not isinstance(first.decision, NotUnderstood):
                return False  # two entries
            case NotForUs() if isinstance(first.decision, NotForUs):
                return False
        asks = first.kept and decision == UNFINISHED  # an answer to what was read back: its time
        return asks or _is_soon(first, rest)

    def _together(self, first: Part, rest: Segment, alone: Hearing) -> Part | None:
        segment, hearing, decision = self._ears.together(first.segment, rest, first.listening)
        before, after = first.best, next(iter(alone.all), None)
        if before is None or after is None or len(segment.samples) > _LONGEST:
            return None
        best = hearing.all[0] if hearing.all else before
        if best.score < before.score + after.score - BELONGS:
            return None
        if isinstance(first.decision, Accept) and self._ears.has_second_thought(
            best.text, first.listening
        ):
            return None  # a correction of its own; and somebody else's, where entries are called for by a word
        match decision:
            case Accept(heard=heard) | AskBetween(first=heard) if _is_of(heard.meaning, first):
                pass
            case NotUnderstood(doubt=Doubt.UNFINISHED) if not self._begins_another(first, alone):
                pass
            case _:
                return None
        until_s = rest.speech_end_s + JOIN_S
        return replace(
            first, segment=segment, hearing=hearing, decision=decision, until_s=until_s, told=False
        )

    def _begins_another(self, first: Part, rest: Hearing) -> bool:
        """Whether ``first`` was whole and ``rest`` begins a further entry: only a time belongs to what is whole."""
        if not isinstance(first.decision, Accept) or not rest.beginnings:
            return False
        text = rest.beginnings[0].text
        return self._ears.lacks(text, first.listening) is not Lacks.ENTRY


def _is_soon(first: Part, rest: Segment) -> bool:
    return rest.start_s + AROUND_S <= first.until_s


def _is_of(meaning: Meaning, first: Part) -> bool:
    """Whether it is an entry of which ``first`` may be a part: what was whole gets no further entry beside it.

    That would be somebody else's, where entries are called for by a word: one that is called is an entry of its own.
    """
    if isinstance(meaning, ConfirmAnd) != first.confirms_and:
        return False  # nothing is confirmed by what was not understood
    match first.decision:
        case Accept(heard=heard):
            return isinstance(meaning, ENTRIES) and _count(meaning) == _count(heard.meaning)
    return isinstance(meaning, ENTRIES)


def _is_later_time(decision: Decision, before: Decision) -> bool:
    """Whether it is the entry that was taken ``before``, at a time that was not said with it."""
    match decision, before:
        case Accept(heard=now), Accept(heard=then):
            new, old = _statement(now.meaning), _statement(then.meaning)
            if new is None or old is None:
                return False
            return new.when is not None and old.when is None and new.entry == old.entry
    return False


def _statement(meaning: Meaning) -> Statement | None:
    match meaning:
        case (
            (Statement() as statement)
            | Correction(statement=statement)
            | ConfirmAnd(then=Statement() as statement)
        ):
            return statement
    return None


def _is_confirm(decision: Decision) -> bool:
    match decision:
        case Accept(heard=heard):
            return heard.meaning == Command(talk=Talk.CONFIRM)
    return False


def _count(meaning: Meaning) -> int:
    if isinstance(meaning, ConfirmAnd):
        meaning = meaning.then
    return len(meaning.statements) if isinstance(meaning, Several) else 1


def _can_go_on(decision: Decision) -> bool:
    """Whether more may belong to it: a word of the talk is whole, and a question waits for its answer."""
    match decision:
        case Accept(heard=heard):
            return isinstance(heard.meaning, ENTRIES)
        case AskBetween() | NotUnderstood(doubt=Doubt.CUT | Doubt.TOO_SOON):
            return False
    return True
