"""The table of reminders.

A row is something that was told and asks for something else: when that is due, what is said then,
and what clears it. A sentence tells what was told and asks; it orders nothing. Where an order was
told, it decides; where it is silent, a row either has a value that is common practice, without a
source, and says "no order known", or stays silent too.
"""

from __future__ import annotations

from voice.figures.reminding.confirming import unconfirmed
from voice.figures.reminding.drains import (
    bag_still_open,
    clamped_long,
    out_of_level,
    still_closed,
    still_disconnected,
)
from voice.figures.reminding.outputs import output_near, output_reached
from voice.figures.reminding.readings import dose_due, no_pressure, zero_old
from voice.figures.reminding.rule import Rule

COMMON_PRACTICE = "common practice, no source"
THE_ORDER = "the order"

TABLE = (
    Rule(
        "line disconnected",
        still_disconnected,
        starts="“line disconnected”",
        due="2 min after it",
        ends="its steps and a call: all told",
        says="line disconnected, not yet told: {missing}",
        source=COMMON_PRACTICE,
        again_min=(3, 8),
        urgent=True,
    ),
    Rule(
        "drain closed",
        still_closed,
        starts="the drain closed for a reading",
        due="5 min after it",
        ends="drain open, clamped for another reason, ordered clamped, or catheter out",
        says="drain closed for a reading {minutes} min ago; is it open again? say drain open",
        source=COMMON_PRACTICE,
    ),
    Rule(
        "drain clamped",
        clamped_long,
        starts="the drain clamped, for whatever reason",
        due="as long after it as was ordered at most; without an order 30 min, unless it was ordered "
        "clamped, and that confirmed",
        ends="drain open, or catheter out",
        says="drain clamped for {minutes} min, {limit}; is it to stay clamped?",
        source=f"{THE_ORDER}; without one {COMMON_PRACTICE}",
    ),
    Rule(
        "output at the limit",
        output_reached,
        starts="as much in one clock hour as was ordered at most, or more",
        due="5 min after it was told",
        ends="the hour is over",
        says="output this hour {volume}, ordered at most {limit}; what is in the chamber now?",
        source=THE_ORDER,
    ),
    Rule(
        "output near the limit",
        output_near,
        starts="80 % of it; or less, but after 15 min or more on the way to reach it in the hour",
        due="as it is told",
        ends="the limit is reached, or the hour is over",
        says="output this hour {volume}, ordered at most {limit}; what is in the chamber now?",
        source=f"{THE_ORDER}; what is near, {COMMON_PRACTICE}",
    ),
    Rule(
        "pressure due",
        no_pressure,
        starts="a pressure or a drip test; with an order also the start of the leg",
        due="as long after it as was ordered; without an order 60 min",
        ends="a pressure, a drip test, or catheter out",
        says="no pressure told for {minutes} min, {ordered}; what is it now?",
        source=f"{THE_ORDER}; without one {COMMON_PRACTICE}",
    ),
    Rule(
        "leveling",
        out_of_level,
        starts="head of bed or drain level other than before; patient turned, moved, loaded or unloaded",
        due="5 min after it",
        ends="leveled or zeroed (from 2 min before it on), a level told over its reference, the next "
        "such change, or catheter out",
        says="{change} {minutes} min ago; is the drain leveled again and the chamber upright? "
        "say drain leveled",
        source=COMMON_PRACTICE,
    ),
    Rule(
        "way to the bag",
        bag_still_open,
        starts="“chamber emptied”",
        due="5 min after it",
        ends="“stopcock closed”, or emptied again",
        says="chamber emptied {minutes} min ago; is the stopcock to the bag closed? "
        "say stopcock closed",
        source=COMMON_PRACTICE,
    ),
    Rule(
        "zero due",
        zero_old,
        starts="zeroed, or the start of the leg",
        due="as long after it as was ordered; without an order never",
        ends="“drain zeroed”, or catheter out",
        says="no zero told for {hours} hours, ordered every {ordered} hours; was it zeroed again?",
        source=THE_ORDER,
    ),
    Rule(
        "dose due",
        dose_due,
        starts="a dose, or the last dose before the leg, of a drug",
        due="as long after it as was ordered for this drug; without an order never",
        ends="another dose of it, or an infusion of it",
        says="{drug} {hours} hours ago, ordered every {ordered} hours; was it given again?",
        source=THE_ORDER,
    ),
    Rule(
        "unconfirmed entries",
        unconfirmed,
        starts="an entry that stays unconfirmed",
        due="10 min after the last of them",
        ends="confirmed, corrected or taken out: all of them",
        says="{entries} unconfirmed; say read unconfirmed",
        source=COMMON_PRACTICE,
    ),
)
"""In the order in which they are said where several are due: emergencies first."""
