"""What was ordered for the drain."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from voice.figures.order import order as order_of
from voice.report.telling import doubt
from voice.report.wording import entry_text

if TYPE_CHECKING:
    from voice.entries.kinds.order import OrderDrain, OrderEntry
    from voice.figures.facts import Fact
    from voice.report.telling import Telling


def order(told: Telling) -> list[str]:
    """The order as it stands: the last that was told of each aspect, with since when."""
    found = order_of(told.leg.entries)
    state, level = found.state, found.level
    if state and level and state.number != level.number:
        # what each of the two says of the other aspect has been overtaken or stands in the other
        level = _without(level, "state")
        state = _without(state, "level_cmh2o", "reference")
    rest = [fact for fact in found.told() if fact not in {found.state, found.level}]
    facts = [*dict.fromkeys(fact for fact in (state, level) if fact), *rest]
    return [f"{_aspect(fact.told)}, {told.time(fact.at)}{doubt(fact)}." for fact in facts]


def _aspect(entry: OrderEntry) -> str:
    """What is ordered, without the word that it is an order."""
    text = entry_text(entry).removeprefix("Order: ")
    return text[0].upper() + text[1:]


def _without(fact: Fact[OrderDrain], *fields: str) -> Fact[OrderDrain]:
    return replace(fact, told=fact.told.model_copy(update=dict.fromkeys(fields)))
