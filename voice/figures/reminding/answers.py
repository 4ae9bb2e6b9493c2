"""Which reminders are due, given what was told and what became of those that were said."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from voice.entries.reminder import ReminderKey
from voice.figures.once import once
from voice.figures.reminding.rule import Reminder
from voice.figures.reminding.table import TABLE

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import datetime

    from voice.entries.leg import Leg
    from voice.entries.reminder import ReminderTurn
    from voice.figures.reminding.rule import Cause, Rule


def due(leg: Leg, now: datetime) -> tuple[Reminder, ...]:
    """What has to be said at ``now`` (aware), in the table's order.

    What was acknowledged is never due again, and what was postponed not before the time is over.
    What was said and not answered comes again after the minutes that its row states, and no more.
    """
    found: dict[ReminderKey, Reminder] = {}
    for rule, cause in _causes(leg):
        if not cause.due(now):
            continue
        key = _key(rule, cause)
        before = (turn for turn in leg.reminders if turn.key == key)
        if not _rests(rule, before, now):
            found.setdefault(key, Reminder(key, _sentence(rule, cause, now), rule.urgent))
    return tuple(found.values())


@once
def causes(leg: Leg) -> Mapping[ReminderKey, Cause]:
    """What there is to be reminded of in all the leg, whether it was or not.

    A cause that was corrected or withdrawn is none, and some are none once they are over.
    """
    return {_key(rule, cause): cause for rule, cause in reversed(_causes(leg))}


def _key(rule: Rule, cause: Cause) -> ReminderKey:
    return ReminderKey(rule=rule.name, since=cause.since, about=cause.about)


@once
def _causes(leg: Leg) -> tuple[tuple[Rule, Cause], ...]:
    return tuple((rule, cause) for rule in TABLE for cause in rule.causes(leg))


def unanswered(leg: Leg) -> ReminderKey | None:
    """The reminder that was said last, if it was neither acknowledged nor postponed."""
    last = leg.reminders[-1:]
    return next((turn.key for turn in last if turn.became == "said"), None)


def _rests(rule: Rule, before: Iterable[ReminderTurn], now: datetime) -> bool:
    """Whether it is not to be said, after all that became of it ``before``, in that order."""
    said: list[datetime] = []
    postponed_until: datetime | None = None
    for turn in before:
        match turn.became:
            case "acknowledged":
                return True
            case "postponed":
                postponed_until, said = turn.until, []
            case "said":
                said.append(turn.at)
    if postponed_until is not None and now < postponed_until:
        return True
    if not said:
        return False
    if len(said) > len(rule.again_min):
        return True
    return now - said[0] < timedelta(minutes=rule.again_min[len(said) - 1])


def _sentence(rule: Rule, cause: Cause, now: datetime) -> str:
    minutes = int((now - cause.since) / timedelta(minutes=1))
    return rule.says.format(minutes=minutes, hours=minutes // 60, **cause.values)
