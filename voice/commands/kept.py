"""The commands for legs that have been kept: to show, review, write, check, seal and clear them."""

from __future__ import annotations

from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from pydantic import ValidationError
from rich.console import Console
from rich.table import Table

from voice.commands import demo, keys
from voice.commands.drop_sound import drop_sounds
from voice.commands.end import end_leg
from voice.commands.export import Form, export_leg, prove, summary_of_export, told_damage
from voice.commands.handoff import summary_of, write_summary
from voice.commands.seal import seal_all, seal_leg, signed_off_by, state_of, told_verdict
from voice.commands.which_leg import DEMO, LAST, kept_legs, which_leg
from voice.entries.review import Reviewer
from voice.record.places import legs_root
from voice.record.proof import code
from voice.record.reading import leg_folders
from voice.record.retention import Policy
from voice.record.shelf import is_flown, leg_ids, spare_folder, verify
from voice.record.signing import public_key
from voice.report.page.paper import Paper
from voice.review.ending import NOT_SAID

if TYPE_CHECKING:
    from voice.entries.leg import Leg
    from voice.record.shelf import KeptLeg

app = typer.Typer()
out = Console(highlight=False, soft_wrap=True, emoji=False, markup=False)

_PANEL = "Legs that have been kept"
"""Under this heading they stand in the help."""

LegArgument = Annotated[
    str,
    typer.Argument(
        metavar="LEG",
        help=f'The leg\'s id as "legbook legs" lists it, or a part of it; "{LAST}" is the last, '
        f'"{DEMO}" that of the last demo.',
    ),
]


def leg_folder(asked: str) -> Path:
    """The folder of the leg that is meant; raises ``WhichLegError`` where none or several may be."""
    if asked == DEMO:
        return demo.last_flown()
    root = legs_root()
    ids = [leg.id for leg in kept_legs()]
    if asked not in ids and asked in leg_ids(demo.legs_root()):
        return demo.legs_root() / asked  # so every sentence that names it tells how to get there
    return root / which_leg(asked, ids)


@app.command("summary", rich_help_panel=_PANEL)
def summary(
    leg: LegArgument = LAST,
    file: Annotated[
        Path | None, typer.Option(help="Write it into this file as well.", metavar="FILE")
    ] = None,
    exported: Annotated[
        Path | None,
        typer.Option("--from", help="Of a leg that was exported as JSON.", metavar="FILE"),
    ] = None,
) -> None:
    """Show the summary of a leg, in the order of a handoff."""
    if exported is not None:
        out.print(summary_of_export(exported))
        return
    folder = leg_folder(leg)
    if file is None:
        out.print(summary_of(folder, _now()))
    else:
        out.print(write_summary(folder, _now(), file))


@app.command("review", rich_help_panel=_PANEL)
def review_leg(
    leg: LegArgument = LAST,
    *,
    readonly: Annotated[
        bool, typer.Option("--readonly", help="To look only: nothing can be changed.")
    ] = False,
    port: Annotated[
        int, typer.Option(min=0, max=65535, help="Of this machine; else any that is free.")
    ] = 0,
) -> None:
    """Open the reviewer's desk: look through a leg in the browser, and put its record right."""
    from voice.commands.review import review  # noqa: PLC0415 - what serves is slow to import

    with suppress(KeyboardInterrupt):
        review(leg_folder(leg), out.print, readonly=readonly, port=port)


@app.command("page", rich_help_panel=_PANEL)
def one_page(
    leg: LegArgument = LAST,
    *,
    paper: Annotated[Paper, typer.Option(help="What it is to be printed on.")] = "a4",
    file: Annotated[
        Path | None,
        typer.Option(
            "--out",
            help="Where to, instead of the leg's folder; the HTML beside it.",
            metavar="PDF",
        ),
    ] = None,
) -> None:
    """Write a leg on one page with its chart: as PDF to print, and as HTML to be read aloud."""
    from voice.commands.page import write_page  # noqa: PLC0415 - what draws is slow to import

    for written in write_page(leg_folder(leg), _now(), paper, file):
        out.print(f"Written: {written}")


@app.command("export", rich_help_panel=_PANEL)
def export(
    leg: LegArgument = LAST,
    *,
    to: Annotated[Form, typer.Option(help="For whom: docs/exports.md.")],
    file: Annotated[
        Path | None,
        typer.Option("--out", help="Where to, instead of the leg's folder.", metavar="FILE"),
    ] = None,
    identity: Annotated[
        bool,
        typer.Option(
            "--identity/--no-identity", help="Without: no id, date, seal, words or sound clips."
        ),
    ] = True,
) -> None:
    """Write a leg for other programs; each file names the seal of the leg's journal."""
    folder = leg_folder(leg)
    for written in export_leg(folder, to, file, identity=identity):
        out.print(f"Written: {written}")
    if told := told_damage(folder):
        out.print(told)


@app.command("legs", rich_help_panel=_PANEL)
def list_legs() -> None:
    """List the legs that have been kept, the oldest first."""
    kept = kept_legs()
    if not kept:
        out.print(f"No leg has been kept in {legs_root()} yet. Start one with: legbook listen")
        return
    table = Table(box=None, pad_edge=False)
    for heading in ("leg", "started", "ended", "entries", "unconfirmed", "signed off", "journal"):
        table.add_column(heading, no_wrap=heading != "signed off")  # a name may fold, an id never
    for one in kept:
        table.add_row(*_row(one))
    out.print(table)


@app.command("verify", rich_help_panel=_PANEL)
def verify_leg(
    leg: LegArgument = LAST,
    *,
    noted: Annotated[
        str | None,
        typer.Option("--code", help="A code from a summary or a page, or a whole seal."),
    ] = None,
    key: Annotated[
        str | None,
        typer.Option(
            help="A public key: that the leg was sealed and signed with it.", metavar="KEY"
        ),
    ] = None,
    exported: Annotated[
        Path | None,
        typer.Option("--export", help="Check that this file was exported of it.", metavar="FILE"),
    ] = None,
) -> None:
    """Check that a leg's journal is as it was written: nothing changed, removed or lost."""
    folder = leg_folder(leg)
    signer = public_key(key) if key else None
    verdict = verify(folder, spare_folder(folder), noted, signer)
    for sentence in (*verdict.findings, *verdict.notes):
        out.print(sentence)
    if not verdict.intact:
        out.print(f"Leg {verdict.leg_id} is NOT as it was written. Leave its folder as it is.")
        raise typer.Exit(1)
    events = verdict.head.number
    told = "1 event" if events == 1 else f"{events} events"
    out.print(f"Leg {verdict.leg_id} is as it was written: {told}.")
    if noted:
        out.print(f"It had the seal {noted} that was noted: up to there nothing was changed since.")
    for sentence in told_verdict(verdict, signer):
        out.print(sentence)
    out.print(f"Its code, to compare with one on paper: {code(verdict.head)}")
    out.print(f"Its whole seal: {verdict.head.hash}")
    if exported is not None:
        out.print(prove(folder, exported))


@app.command("end", rich_help_panel=_PANEL)
def end(
    leg: LegArgument,
    *,
    name: Annotated[str, typer.Option("--by", prompt="Your name", help="Who tells it: a name.")],
    role: Annotated[str, typer.Option(prompt="Your role", help="And the role.")],
    time: Annotated[
        str | None,
        typer.Option(
            "--at", metavar="TIME", help="Like 14:55, by the leg's clock; else its last event."
        ),
    ] = None,
    why: Annotated[str, typer.Option(help="Why it is told now.")] = NOT_SAID,
) -> None:
    """Say when a leg was over that was broken off, or of which nobody said "end leg"."""
    try:
        by = Reviewer(name=name, role=role)
    except ValidationError:
        raise typer.BadParameter(
            "A name and a role are one line each that can be printed."
        ) from None
    from voice.commands.review import ReviewedSummary  # noqa: PLC0415 - what serves is slow to import

    folder = leg_folder(leg)
    out.print(end_leg(folder, _now(), by, time, why))
    if left := ReviewedSummary(folder, out.print).leave():
        out.print(f"The summary as the leg stands now: {left}")


@app.command("seal", rich_help_panel=_PANEL)
def seal(
    leg: Annotated[
        str | None,
        typer.Argument(metavar="LEG", help="Which leg.", show_default=False),
    ] = None,
    *,
    every: Annotated[
        bool, typer.Option("--all", help="Every leg that a reviewer has signed off.")
    ] = False,
    sign: Annotated[
        bool, typer.Option("--sign", help="And sign it, with the key of this machine.")
    ] = False,
    key: keys.KeyFile = None,
    unsigned: Annotated[
        bool, typer.Option("--unsigned", help="Though no reviewer has signed it off.")
    ] = False,
) -> None:
    """Close a leg for good, once it is signed off: nothing can be added or put right any more."""
    if (leg is None) != every or (every and unsigned):
        raise typer.BadParameter("Name one leg, or --all that a reviewer has signed off.")
    signer = keys.opened_key(key) if sign or key else None
    if leg is None:
        told = list(seal_all(_now(), signer)) or ["No leg is signed off and not sealed."]
    else:
        told = [seal_leg(leg_folder(leg), _now(), signer, unsigned=unsigned)]
    for sentence in told:
        out.print(sentence)


@app.command("drop-sound", rich_help_panel=_PANEL)
def drop_sound(
    leg: Annotated[
        str | None,
        typer.Argument(metavar="LEG", help="One leg; else all.", show_default=False),
    ] = None,
    *,
    signed: Annotated[
        bool, typer.Option("--signed", help="Of legs that a reviewer has signed off.")
    ] = False,
    after_days: Annotated[
        int | None,
        typer.Option(metavar="DAYS", min=0, help="Of legs that ended so many days ago."),
    ] = None,
) -> None:
    """Remove the kept sound of legs, for good, by the programme's policy; all else stays."""
    if not signed and after_days is None:
        raise typer.BadParameter("Say whose sound may go: --signed, --after-days, or both.")
    folders = [leg_folder(leg)] if leg else [legs_root() / one.id for one in kept_legs()]
    told = list(drop_sounds(folders, Policy(signed, after_days), _now()))
    for sentence in told or ["No sound had to go."]:
        out.print(sentence)


def _row(one: KeptLeg) -> tuple[str, ...]:
    state = state_of(one)
    if one.leg is None:
        return (one.id, "", "", "", "", "", state)
    leg = one.leg
    in_doubt = sum(entry.in_doubt for entry in leg.entries)
    return (
        one.id,
        f"{leg.local(leg.started_at):%H:%M}",  # its day is in the id
        _ended(one, leg),
        str(len(leg.entries)),
        str(in_doubt),
        signed_off_by(leg),
        state,
    )


def _ended(one: KeptLeg, leg: Leg) -> str:
    """When it ended; else whether it still goes on."""
    if leg.ended_at:
        return f"{leg.local(leg.ended_at):%H:%M}"
    folder = legs_root() / one.id
    flown = is_flown(leg, one.last_at, leg_folders(folder, spare_folder(folder)))
    return "not yet" if flown else "broken off"


def _now() -> datetime:
    return datetime.now(UTC).astimezone()
