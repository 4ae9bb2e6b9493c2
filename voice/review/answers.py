"""Answers that take more than asking the desk."""

from __future__ import annotations

from difflib import SequenceMatcher
from typing import TYPE_CHECKING, Literal

from pydantic import ValidationError

from voice.entries.frozen import Frozen
from voice.meaning.readback import read_back
from voice.record.errors import JournalError
from voice.record.times import happened_at
from voice.report.summary import summary_text
from voice.report.wording import entry_text
from voice.review.acts import REASONS
from voice.review.desk import ClipError, ClosedError
from voice.review.guard import error
from voice.review.rows import Opened
from voice.review.typed import TypedError, typed

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from starlette.requests import Request
    from starlette.responses import JSONResponse

    from voice.entries.errors import LegbookError
    from voice.entries.leg import Leg
    from voice.entries.review import Reviewer
    from voice.meaning.handoff import Need
    from voice.review.desk import Desk


class SummaryLine(Frozen):
    """A line that both summaries have, or one of them."""

    side: Literal["same", "before", "after"]
    text: str


class Summaries(Frozen):
    """The summary of the leg as it was flown, as it stands, and line by line what differs."""

    before: str
    after: str
    lines: tuple[SummaryLine, ...]


class ToCheck(Frozen):
    """Something typed that is to be looked at before it is done."""

    text: str
    number: int | None = None
    """The entry that it is to correct."""


class Checked(Frozen):
    """What it would become."""

    written: str
    read_back: str
    time: str | None
    """When it would have happened, where that was typed with it."""


def opened(desk: Desk, who: Reviewer | None) -> Opened:
    """What a page is told when it opens."""
    view = desk.view()
    return Opened(**dict(view), readonly=desk.closed, who=who, reasons=REASONS, damage=desk.damage)


def summaries(flown: Leg, leg: Leg, now: datetime | None, needs: tuple[Need, ...]) -> Summaries:
    """The summaries of a leg as it was flown and as it stands.

    ``now`` (aware) is when they are asked for; ``None`` where no program goes on with the leg.
    """
    known = [one.known_until or one.started_at for one in (flown, leg)]
    before, after = (
        summary_text(one, max(now or last_at, last_at), needs)
        for one, last_at in zip((flown, leg), known, strict=True)
    )
    lines = tuple(_compared(before.splitlines(), after.splitlines()))
    return Summaries(before=before, after=after, lines=lines)


def _compared(before: list[str], after: list[str]) -> Iterator[SummaryLine]:
    for what, b, b_end, a, a_end in SequenceMatcher(None, before, after, False).get_opcodes():
        if what == "equal":
            yield from (SummaryLine(side="same", text=line) for line in before[b:b_end])
        else:
            yield from (SummaryLine(side="before", text=line) for line in before[b:b_end])
            yield from (SummaryLine(side="after", text=line) for line in after[a:a_end])


def checked(desk: Desk, asked: ToCheck) -> Checked:
    """What the text would become; raises ``TypedError`` where it is no entry."""
    leg = desk.leg
    corrects = None if asked.number is None else desk.entry(asked.number)
    statement, _ = typed(
        asked.text, desk.grammar, leg.settings, None if corrects is None else corrects.entry
    )
    time = None
    if statement.when is not None and corrects is not None:
        at = happened_at(statement.when, corrects.spoken_at, leg.settings.zone)
        time = f"{leg.local(at):%H:%M}"
    return Checked(
        written=entry_text(statement.entry),
        read_back=read_back(statement.entry, leg.settings, desk.grammar),
        time=time,
    )


LEG = "legbook-leg"
"""The header by which a page names the leg that it shows."""


def another_leg(request: Request, leg_id: str) -> str | None:
    """Why a page is not answered that shows another leg than this desk's: it was open before a desk was at that port.

    ``None`` where it names this leg, or asks for it the first time; what sends something must name it.
    """
    named = request.headers.get(LEG, request.query_params.get("leg"))
    if named == leg_id or (named is None and request.method == "GET"):
        return None
    return (
        f"This page is of {f'leg {named}' if named else 'no leg'}, and the desk is at leg {leg_id} now. "
        "Nothing was written: load the page again."
    )


def refused(wrong: LegbookError | ValidationError) -> JSONResponse:
    """The answer to what cannot be done."""
    match wrong:
        case ValidationError():
            first = wrong.errors(include_url=False, include_context=False)[0]
            where = ".".join(map(str, first["loc"]))
            return error(422, f"{where}: {first['msg']}" if where else first["msg"])
        case TypedError(nearest=nearest):
            return error(422, str(wrong), nearest=nearest)
    return error(_status(wrong), str(wrong))


def _status(wrong: LegbookError) -> int:
    match wrong:
        case ClosedError():
            return 423
        case ClipError(was_kept=was_kept):
            return 410 if was_kept else 404
        case JournalError():
            return 503
    return 422
