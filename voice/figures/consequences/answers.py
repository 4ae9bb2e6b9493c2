"""What the table has to say of a leg: aloud, on the entries, and of what is open."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.leg import EntryState
from voice.figures.consequences.rule import Moment, Remark, Sentence
from voice.figures.consequences.table import TABLE

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from datetime import datetime

    from voice.entries.leg import Leg, LegEntry
    from voice.figures.consequences.rule import Rule, Spell


def remarks(leg: Leg, number: int, now: datetime) -> tuple[Remark, ...]:
    """What has to be said aloud because entry ``number`` has just been kept, in the table's order.

    What was said in one breath is taken as one: all of it is said with the last entry of the breath,
    and nothing with the others. ``now`` is aware. Later entries are left out of account, so that the
    same is said again when the leg is gone through afterwards.
    """
    after = as_of(leg, number)
    entry = next((one for one in after.entries if one.number == number and one.counts), None)
    if entry is None:
        return ()
    breath = [one.number for one in leg.entries if one.spoken_at == entry.spoken_at]
    if number != max(breath):
        return ()
    before = as_of(leg, min(breath) - 1)
    found: list[Remark] = []
    for rule in TABLE:
        if rule.at is None:
            continue
        holding = [spell for spell in rule.spells(after) if spell.holds(now)]
        if rule.at is Moment.NEXT_ENTRY:
            holding = [spell for spell in holding if _is_next(after, spell, entry)]
        said = [_remark(rule, spell) for spell in holding]
        if said and rule.at is Moment.AT_ONCE:
            held = [_remark(rule, s) for s in rule.spells(before) if s.holds(now)]
            said = [remark for remark in said if remark not in held]
        found += said
        if rule.says_over:
            found += _known_too_late(rule, before, after, now)
    return tuple(dict.fromkeys(found))


def marks(leg: Leg) -> dict[int, tuple[Sentence, ...]]:
    """Why an entry is marked, by its number; entries without a mark are left out."""
    found: dict[int, tuple[Sentence, ...]] = {}
    for number, sentence in _marks(leg, TABLE):
        found[number] = (*found.get(number, ()), sentence)
    return found


def to_settle(leg: Leg, now: datetime) -> tuple[tuple[int, Sentence], ...]:
    """The marks that a person has to settle, each with the number of its entry, in that order.

    What `open_states` lists at ``now`` is left out.
    """
    asking = (rule for rule in TABLE if rule.asks)
    return tuple(sorted(_marks(leg, asking, open_at=now), key=lambda marked: marked[0]))


def open_states(leg: Leg, now: datetime) -> tuple[Sentence, ...]:
    """What is open at ``now`` (aware), in the table's order."""
    return tuple(
        _sentence(rule, spell, rule.open)
        for rule in TABLE
        if rule.open
        for spell in rule.spells(leg)
        if spell.holds(now)
    )


def as_of(leg: Leg, number: int) -> Leg:
    """The leg as it stood when entry ``number`` was the last.

    Withdrawn entries stay so: when that was is not told here.
    """
    return leg.model_copy(update={"entries": tuple(_entries_as_of(leg, number))})


def _entries_as_of(leg: Leg, number: int) -> Iterator[LegEntry]:
    for one in leg.entries:
        if one.number > number:
            continue
        if one.replaced_by is not None and one.replaced_by > number:
            state = EntryState.CONFIRMED if one.was_confirmed else EntryState.UNCONFIRMED
            yield one.model_copy(update={"state": state, "replaced_by": None})
        else:
            yield one


def _known_too_late(rule: Rule, before: Leg, after: Leg, now: datetime) -> list[Remark]:
    """That a state became known which was over by ``now``; of several the last, for one is enough."""
    known = [(spell.since, spell.values) for spell in rule.spells(before)]
    new = [spell for spell in rule.spells(after) if (spell.since, spell.values) not in known]
    over = [spell for spell in new if spell.until is not None and spell.until <= now]
    return [
        Remark(rule.name, spell.since, rule.says_over.format(**spell.values)) for spell in over[-1:]
    ]


def _is_next(leg: Leg, spell: Spell, entry: LegEntry) -> bool:
    """Whether ``entry`` belongs to the first breath after that of the spell's entry."""
    about = next((one for one in leg.entries if one.number == spell.number), None)
    if about is None or entry.spoken_at <= about.spoken_at:
        return False
    later = (one.spoken_at for one in leg.entries if one.number > about.number)
    return entry.spoken_at == min(at for at in later if at > about.spoken_at)


def _marks(
    leg: Leg, rules: Iterable[Rule], open_at: datetime | None = None
) -> Iterator[tuple[int, Sentence]]:
    """The marks of some rules, without those of states that are listed as open."""
    for rule in rules:
        for spell in rule.spells(leg) if rule.mark else ():
            if open_at is not None and rule.open and spell.holds(open_at):
                continue
            sentence = _sentence(rule, spell, rule.mark)
            yield from ((number, sentence) for number in spell.marked)


def _remark(rule: Rule, spell: Spell) -> Remark:
    return Remark(rule.name, spell.since, rule.says.format(**spell.values))


def _sentence(rule: Rule, spell: Spell, template: str) -> Sentence:
    return Sentence(rule.name, spell.since, spell.number, template, spell.values)
