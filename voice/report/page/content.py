"""What stands on the page, section by section; how it looks is not decided here."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from voice.entries.kinds.drugs import Weight
from voice.entries.kinds.laboratory import Laboratory
from voice.figures.perfusion import WINDOW_S
from voice.figures.pressure import GAP_S
from voice.figures.trend import series, trend
from voice.report.page.chart import Chart, chart
from voice.report.sections.consequences import doubts, not_told, open_now
from voice.report.sections.drain import catheter, clamped, stands
from voice.report.sections.drugs import drug_sums, given
from voice.report.sections.effects import answers
from voice.report.sections.entries import in_doubt
from voice.report.sections.fluids import balance
from voice.report.sections.frame import heard, times, when, who_and_why
from voice.report.sections.order import order
from voice.report.sections.output import emptied, looks, output_sums, questions
from voice.report.sections.patient import NEURO, VENTILATOR, VITALS, patient
from voice.report.sections.perfusion import perfusion_sums
from voice.report.sections.pressure import drip_test_lines, pressure_sums
from voice.report.sections.reminders import still_so
from voice.report.sections.trouble import trouble
from voice.report.telling import CAUTION, UNTOLD, Telling, damage, doubt, tenths
from voice.report.wording import label, number, value

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import datetime

    from pydantic import BaseModel

    from voice.entries.leg import Leg, LegEntry
    from voice.meaning.handoff import Need

METHOD = (
    "In the chart: hollow, never confirmed; crossed, not to be relied on; hatched, drain closed.",
    "Figures take confirmed and unconfirmed entries, not corrected or withdrawn ones.",
    "Pressures are weighted by time, straight from reading to reading.",
    f"Gaps of more than {number(GAP_S / 60)} min are not bridged.",
    f"CPP is MAP less ICP, at most {number(WINDOW_S / 60)} min apart.",
    "It holds where both were zeroed at one level; a cuff measures at the arm.",
    "Output is what the chamber rose by, spread evenly between readings; flushes come off it.",
    "What was done tells what followed, not what was caused.",
    "More: see the text summary.",
)
"""The methods in short; ``voice.report.sections.methods`` has them whole."""


@dataclass(frozen=True, slots=True)
class Section:
    """One heading of the page, and what stands under it."""

    title: str
    facts: tuple[str, ...] = ()
    """Whole sentences, the most important first."""
    history: tuple[str, ...] = ()
    """Whole sentences in the order in which things happened; where paper is short the oldest go."""
    left_out: int = 0
    """How many of them were left out."""
    urgent: bool = False
    """Whether it is not to be overlooked."""
    as_list: bool = False
    """Whether each sentence stands on a line of its own."""
    chart: Chart | None = None
    """What is drawn below it."""

    @property
    def paragraphs(self) -> tuple[str, ...]:
        """All that is left, and how much is not."""
        more = (f"{self.left_out} more: see the text summary.",) if self.left_out else ()
        return (*self.facts, *self.history, *more) or (UNTOLD,)

    def shorter(self) -> Section:
        """Without its oldest event, or where there is none, its least important fact."""
        if self.history:
            return replace(self, history=self.history[1:], left_out=self.left_out + 1)
        return replace(self, facts=self.facts[:-1], left_out=self.left_out + 1)


@dataclass(frozen=True, slots=True)
class Page:
    """The leg on one page."""

    title: str
    subtitle: str
    sections: tuple[Section, ...]
    foot: tuple[str, ...]
    """The caution, and what proves where the page comes from."""


def page(
    leg: Leg, now: datetime, seal: str | None = None, needs: Sequence[Need] | None = None
) -> Page:
    """The page of a leg.

    ``now`` (aware) is when it is asked for, or, where nobody goes on with the leg, the last that is known of it:
    a leg or a clamping that has not ended counts up to it.
    ``seal`` is that of the leg's journal, where there is one. ``needs`` is what a handoff has to tell,
    where that is not the list that ships.
    """
    told = Telling(leg, leg.ended_at or now, dated=False)
    unit = leg.settings.pressure_unit
    sections = (
        replace(_section("Damage", damage(leg)), urgent=True),
        _section("Who and why", [*who_and_why(told), *told.in_order(Weight)]),
        _section("Line", catheter(told)),
        _section("Order", order(told)),
        replace(_section("Open now", open_now(told) or ["Nothing."]), urgent=True, as_list=True),
        _section("Drain now", stands(told)),
        _section(f"ICP, {unit}", pressure_sums(told) + drip_test_lines(told)),
        replace(_section("CPP, mmHg", perfusion_sums(told)), chart=chart(told)),
        replace(_section("Done, ICP after", [], answers(told)), as_list=True),
        _section("Output and look", [*looks(told), *output_sums(told)], emptied(told)),
        _section("Drain closed", *_total_first(clamped(told))),
        _section("Neuro", [], told.in_order(*NEURO)),
        _section("Patient", [], patient(told)),
        _section("Vital signs", _latest(told, *VITALS)),
        _section("Ventilator", _latest(told, *VENTILATOR)),
        _section("Drugs", drug_sums(told), given(told)),
        _section("Fluids", balance(told)),
        _section("Laboratory", _latest(told, Laboratory)),
        _section("Trouble, answers", [], trouble(told)),
        _section("Reminders", still_so(told)),
        _section("Missing, in doubt", _missing(told, needs), in_doubt(told)),
        _section("Times", [], times(told)),
        _section("Method", METHOD),
    )
    journal = f" Seal of the journal: {seal}" if seal else ""
    return Page(
        title=f"Leg {leg.id}",
        subtitle=when(told),
        sections=tuple(one for one in sections if one.paragraphs != (UNTOLD,) or _always(one)),
        foot=(CAUTION, f"{' '.join(heard(told))} Every entry: see the text summary.{journal}"),
    )


def _always(one: Section) -> bool:
    """Whether it is told of a section that nothing was told, or it bears the chart."""
    expected = {"Who and why", "Line", "Order", "ICP", "CPP", "Output and look", "Neuro", "Drugs"}
    return one.title.split(",")[0] in expected


def _section(title: str, facts: Iterable[str], history: Iterable[str] = ()) -> Section:
    return Section(title, tuple(facts), tuple(history))


def _total_first(lines: list[str]) -> tuple[list[str], list[str]]:
    return lines[-1:], lines[:-1]


def _missing(told: Telling, needs: Sequence[Need] | None) -> list[str]:
    """What a handoff still lacks, and what a person has to settle."""
    return [*not_told(told, needs), *questions(told), *doubts(told)]


def _latest(told: Telling, *of: type[BaseModel]) -> list[str]:
    """The last of each thing that was measured, and between what it ran before."""
    groups: dict[str, list[LegEntry]] = {}
    for e in told.counting(*of):
        groups.setdefault(label(e.entry), []).append(e)
    return [f"{about} {_last_of(told, entries)}." for about, entries in groups.items()]


def _last_of(told: Telling, entries: list[LegEntry]) -> str:
    last = entries[-1]
    text = f"{value(last.entry)} at {told.time(last.happened_at)}{doubt(last)}{told.marked(last)}"
    ran = trend(series(entries, told.leg.settings.pressure_unit).readings)
    if ran is None or ran.count == 1:
        return text
    which = "systolic " if last.entry.kind == "blood_pressure" else ""
    unsure = f", unconfirmed {ran.unconfirmed}" if ran.unconfirmed else ""
    spread = f"{which}{tenths(ran.lowest)} to {tenths(ran.highest)}"
    return f"{text} ({spread} in {ran.count}{unsure})"
