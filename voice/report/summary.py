"""The leg summary as plain text, in the order of a spoken handoff.

It can be read by eye, aloud or by a screen reader: no columns, no signs that stand for words, and
whatever was never confirmed aloud says so where it stands.
"""

from __future__ import annotations

from textwrap import fill
from typing import TYPE_CHECKING

from voice.entries.kinds.laboratory import Laboratory
from voice.entries.leg import EntryState
from voice.report.sections.checks import checks
from voice.report.sections.consequences import doubts, not_told, open_now
from voice.report.sections.desk import desk
from voice.report.sections.drain import care, catheter, clamped, stands
from voice.report.sections.drugs import drugs
from voice.report.sections.entries import every_entry, in_doubt, notes, of_state
from voice.report.sections.fluids import fluids
from voice.report.sections.frame import heard, times, when, who_and_why
from voice.report.sections.methods import methods
from voice.report.sections.order import order
from voice.report.sections.output import output, questions
from voice.report.sections.patient import neuro, patient, ventilator, vitals
from voice.report.sections.perfusion import perfusion
from voice.report.sections.pressure import pressure
from voice.report.sections.reminders import reminders
from voice.report.sections.trouble import trouble
from voice.report.telling import CAUTION, UNTOLD, Telling, damage

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from voice.entries.leg import Leg
    from voice.meaning.handoff import Need

WIDTH = 78
"""Columns of the text."""

_UNTOLD = (UNTOLD,)


def summary_text(leg: Leg, now: datetime, needs: Sequence[Need] | None = None) -> str:
    """The summary of a leg, at most `WIDTH` columns wide.

    ``now`` (aware) is when it is asked for, or, where nobody goes on with the leg, the last that is known of it:
    a leg or a clamping that has not ended counts up to it.
    ``needs`` is what a handoff has to tell; ``None``: the list that ships.
    """
    told = Telling(leg, leg.ended_at or now)
    unit = leg.settings.pressure_unit
    sections = (
        (f"Leg {leg.id}", (when(told), *damage(told.leg), *heard(told))),
        ("Who and why", who_and_why(told)),
        ("Line", catheter(told)),
        ("The order", order(told) or _UNTOLD),
        ("Open now", open_now(told) or ("Nothing.",)),
        ("The drain now", stands(told)),
        (f"Intracranial pressure, {unit}", pressure(told) or _UNTOLD),
        ("Cerebral perfusion pressure, mmHg", perfusion(told) or _UNTOLD),
        ("Output and look", output(told) or _UNTOLD),
        ("Clamped", clamped(told) or _UNTOLD),
        ("Drain care", care(told)),
        ("Neuro checks", neuro(told) or _UNTOLD),
        ("Patient", patient(told)),
        ("Vital signs", vitals(told) or _UNTOLD),
        ("Ventilator", ventilator(told)),
        ("Drugs", drugs(told) or _UNTOLD),
        ("Fluids", fluids(told)),
        ("Laboratory", told.series(Laboratory) or _UNTOLD),
        ("Trouble, and what was done", trouble(told)),
        ("Checks", checks(told)),
        ("Reminders", reminders(told)),
        ("To be settled", [*questions(told), *doubts(told), *not_told(told, needs)]),
        ("The reviewer's desk", desk(told)),
        ("Unconfirmed", in_doubt(told)),
        ("Corrected", of_state(told, EntryState.CORRECTED)),
        ("Withdrawn", of_state(told, EntryState.WITHDRAWN)),
        ("Notes, kept as sound", notes(told)),
        ("Times of the leg", times(told)),
        ("Every entry", every_entry(told) or _UNTOLD),
        ("Method", methods(told)),
        ("Caution", (CAUTION,)),
    )
    return "\n".join(_section(title, paragraphs) for title, paragraphs in sections if paragraphs)


def _section(title: str, paragraphs: Sequence[str]) -> str:
    lines = [
        fill(" ".join(p.split()), WIDTH, initial_indent="  ", subsequent_indent="    ")
        for p in paragraphs
    ]
    return "\n".join((title, *lines, ""))
