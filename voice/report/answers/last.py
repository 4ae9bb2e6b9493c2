"""The latest: of all entries, or of one subject."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.kinds.drain import DrainClamped, DrainZeroed, ZeroFailed
from voice.figures.drain import ClampPeriod, clamp_periods
from voice.figures.facts import facts
from voice.report.answers.asking import doubt, length

if TYPE_CHECKING:
    from voice.entries.leg import LegEntry
    from voice.entries.said import Question
    from voice.report.answers.asking import Asking


def last_entry(_: Question, asking: Asking) -> tuple[str, ...]:
    """The entry that was said last, whenever it happened."""
    counting = [entry for entry in asking.leg.entries if entry.counts]
    if not counting:
        return ("nothing kept yet",)
    last = counting[-1]
    return (f"last, {asking.told(last)}",)


def last_value(question: Question, asking: Asking) -> tuple[str, ...]:
    """The latest of a subject, with its time of day and how long ago that was."""
    last = _last(question, asking)
    if last is None:
        return (f"no {question.subject} told",)
    ago = asking.ago(last.happened_at)
    return (", ".join((asking.told(last), ago, *_since_then(last, asking))),)


def time_since(question: Question, asking: Asking) -> tuple[str, ...]:
    """How long ago the latest of a subject was; for how long it is clamped, if it is."""
    subject = asking.subject(question.subject)
    periods = clamp_periods(asking.entries)
    if periods and subject is not None and subject.fits(DrainClamped()):
        return (_clamped(periods[-1], asking),)
    last = _last(question, asking)
    if last is None:
        return (f"no {question.subject} told",)
    ago = asking.ago(last.happened_at)
    return (", ".join((ago, asking.told(last), *_since_then(last, asking))),)


def _last(question: Question, asking: Asking) -> LegEntry | None:
    subject = asking.subject(question.subject)
    return None if subject is None else asking.last(subject)


def _clamped(period: ClampPeriod, asking: Asking) -> str:
    start, unsure = asking.at(period.start_at), doubt(period.confirmed)
    if period.end_at is None:
        return f"clamped for {asking.since(period.start_at)}, {start}{unsure}"
    lasted = length(period.minutes(asking.now))
    since = asking.since(period.end_at)
    stands = (
        f"catheter out {asking.ago(period.end_at)}" if period.catheter_out else f"open for {since}"
    )
    return f"not clamped: {stands}; last clamped {start} for {lasted}{unsure}"


def _since_then(last: LegEntry, asking: Asking) -> list[str]:
    """What has happened to it since."""
    if isinstance(last.entry, DrainZeroed):
        failed = [f for f in facts(asking.entries, ZeroFailed) if f.at > last.happened_at]
        return [f"zero failed since, {asking.at(f.at)}{doubt(f.confirmed)}" for f in failed[-1:]]
    return []
