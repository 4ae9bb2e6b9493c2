"""The table of states with consequences.

A row is a state: what starts and ends it, what is said, listed and marked because of it, and who may
overrule it. Nothing is ordered and nothing is decided here: a remark tells, asks or offers. What is
said because time has passed stands in ``voice.figures.reminding``.

Where an order was told, it goes before the usual. The usual values are common practice, without a
source, and each says so where it stands.
"""

from __future__ import annotations

from voice.figures.consequences.drains import (
    closed_after_reading,
    disconnected,
    level_in_mmhg,
    no_level,
    no_order,
)
from voice.figures.consequences.drugs import no_antibiotic
from voice.figures.consequences.fluid import pink_while_agitated, worth_a_call
from voice.figures.consequences.levels import levels_apart
from voice.figures.consequences.outputs import (
    flushed_too_often,
    hour_at_limit,
    way_to_bag_open,
)
from voice.figures.consequences.pressures import (
    above_limit,
    below_limit,
    below_target,
    drip_test_instead,
    failed_zero,
    other_scale,
    other_unit,
)
from voice.figures.consequences.rule import Moment, Rule

FAILED_ZERO = "zero failed"
"""The rule whose mark says that a pressure is not to be relied on."""

TABLE = (
    Rule(
        "line disconnected",
        disconnected,
        starts="“line disconnected”",
        ends="line clamped, end covered, site cleaned, line changed or reconnected, and a call: all told",
        says="line disconnected, not yet told: {missing}",
        at=Moment.EACH_ENTRY,
        open="Line disconnected at {since}, not told: {missing}",
        mark="not told: {missing}",
        asks=True,
        overruled="nobody; each step is told",
    ),
    Rule(
        "fluid worth a call",
        worth_a_call,
        starts="colour red or bloody, or fluid cloudy",
        ends="another look, or a call that was told, not one to the family or to dispatch",
        says="{look}: your protocol may ask for a call; no call told yet",
        at=Moment.AT_ONCE,
        open="Fluid {look} since {since}, no call told",
        mark="no call told",
        asks=True,
        overruled="local protocol and whoever is called",
    ),
    Rule(
        FAILED_ZERO,
        failed_zero,
        starts="“zero failed”",
        ends="“drain zeroed”, later",
        says="pressures are marked not to be relied on until zeroed; a drip test can be told instead",
        at=Moment.AT_ONCE,
        open="Zero failed at {since}, and has not held since: pressures are not to be relied on",
        mark="not to be relied on: zero failed {since}",
        overruled="nobody; a zero that holds",
    ),
    Rule(
        "drip test instead",
        drip_test_instead,
        starts="after a failed zero, a drip test with a level at which it drips and one at which not",
        ends="“drain zeroed”, later",
        says="by drip test between {low} and {high}: an estimate",
        at=Moment.AT_ONCE,
        open="In place of a pressure, by drip test at {since}: between {low} and {high}, an estimate",
        mark="an estimate, in place of a pressure",
        overruled="nobody; a zero that holds",
    ),
    Rule(
        "pressure above the order",
        above_limit,
        starts="a pressure above the ordered limit, not at it",
        ends="a pressure that is not",
        says="above the ordered limit of {limit}",
        at=Moment.AT_ONCE,
        open="ICP above the ordered {limit} since {since}",
        mark="above the ordered {limit}",
        overruled="whoever orders, by a new limit",
    ),
    Rule(
        "pressure below the order",
        below_limit,
        starts="a pressure below the ordered limit, not at it",
        ends="a pressure that is not",
        says="below the ordered limit of {limit}",
        at=Moment.AT_ONCE,
        open="ICP below the ordered {limit} since {since}",
        mark="below the ordered {limit}",
        overruled="whoever orders, by a new limit",
    ),
    Rule(
        "perfusion below the order",
        below_target,
        starts="a perfusion pressure, worked out, below the ordered one",
        ends="one that is not",
        says="perfusion pressure {value}, below the ordered {limit}",
        at=Moment.AT_ONCE,
        open="CPP below the ordered {limit} since {since}",
        overruled="whoever orders, by a new target",
    ),
    Rule(
        "arterial line at another level",
        levels_apart,
        starts="the arterial line zeroed at one level and the drain at another, both told",
        ends="both at one level, or the arterial line zeroed with no level told",
        says="arterial line at {arterial}, drain at {drain}; {effect}",
        at=Moment.AT_ONCE,
        open="Arterial line at {arterial}, drain at {drain}, since {since}: {effect}",
        overruled="nobody; zeroed at one level",
    ),
    Rule(
        "output at the order",
        hour_at_limit,
        starts="as much in one clock hour as was ordered at most, or more",
        ends="the hour is over",
        says="output this hour has reached the ordered {limit}",
        at=Moment.AT_ONCE,
        says_over="output of an hour that is over has reached the ordered {limit}",
        open="Output from {since} has reached the ordered {limit} an hour",
        overruled="whoever orders, by a new limit",
    ),
    Rule(
        "closed after a reading",
        closed_after_reading,
        starts="“clamped for reading”; also “drain clamped” with no reason, and a pressure within 5 min",
        ends="drain open, clamped for another reason, ordered clamped, or catheter out",
        says="the drain was closed for the reading; is it open again? say drain open",
        at=Moment.NEXT_ENTRY,
        open="Drain closed for a reading at {since}, reopening not told",
        overruled="the nurse: clamped for another reason; an order to keep it clamped",
    ),
    Rule(
        "way to the bag",
        way_to_bag_open,
        starts="“chamber emptied”",
        ends="“stopcock closed” at that time or later",
        says="chamber emptied; is the stopcock to the bag closed? say stopcock closed",
        at=Moment.NEXT_ENTRY,
        open="Chamber emptied at {since}, stopcock to the bag not told closed",
        mark="stopcock to the bag not told closed: what drained afterwards may not be measured",
        asks=True,
        overruled="nobody; it is told",
    ),
    Rule(
        "flushed beyond the order",
        flushed_too_often,
        starts="one flush more than the order allows; without an order the third (common practice)",
        ends="never by itself",
        says="this is flush {count}; {limit}",
        at=Moment.AT_ONCE,
        mark="flush {count}; {limit}",
        asks=True,
        overruled="whoever orders, by a new number of flushes",
    ),
    Rule(
        "level in mmHg",
        level_in_mmhg,
        starts="a drain level said in mmHg",
        ends="a drain level, later",
        says="levels are set in cmH2O; {level} is kept as said, and not taken for the level",
        at=Moment.AT_ONCE,
        open="Drain level told in mmHg at {since}: {level}, not taken for the level",
        mark="on the mmHg scale: not taken for the level",
        asks=True,
        overruled="nobody; a level in cmH2O",
    ),
    Rule(
        "pressure in the other unit",
        other_unit,
        starts="a pressure said in the unit that is not the leg's",
        ends="a pressure in the leg's unit",
        says="said in {said}: {value} in the unit of this leg",
        at=Moment.AT_ONCE,
        overruled="the nurse, by confirming",
    ),
    Rule(
        "pressure on the other scale",
        other_scale,
        starts="a pressure 3 mmHg or more from the last three (within 30 min, no more than 2 mmHg apart), "
        "which would be within 1 mmHg of them if it was read on the other scale",
        ends="confirmed, or another pressure",
        says="before it were {before}; read in {other} it would be {value}; if so, correct it with its unit",
        at=Moment.AT_ONCE,
        mark="may be on the other scale: read in {other} it is {value}",
        asks=True,
        overruled="the nurse, by confirming",
    ),
    Rule(
        "pink while agitated",
        pink_while_agitated,
        starts="colour pink, with agitation told up to 15 min before it or 5 min after",
        ends="at once; “settled” before it breaks the link",
        mark="while agitated, told {since}",
        overruled="the reviewer",
    ),
    Rule(
        "no level",
        no_level,
        starts="the drain opened or levelled, with neither level nor order told",
        ends="a drain level, or an order for the drain",
        says="no order told; the programme's usual level is {level} above {reference}; "
        "say the drain level, or the order",
        at=Moment.AT_ONCE,
        open="Drain in use since {since} with no level told; the programme's usual, not assumed: "
        "{level} above {reference}",
        overruled="whoever orders",
    ),
    Rule(
        "no order",
        no_order,
        starts="the drain in use, and no order for it told",
        ends="an order for the drain",
        open="No order for the drain told",
        overruled="whoever orders",
    ),
    Rule(
        "no antibiotic",
        no_antibiotic,
        starts="the leg begins",
        ends="a dose, an infusion or the last dose of an antibiotic",
        open="No antibiotic told",
        overruled="nobody; it is told, or stays listed",
    ),
)
"""In the order in which remarks are said and open states are listed: emergencies first."""
