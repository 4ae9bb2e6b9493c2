"""``legbook collect``: legs into a programme's database, and a report across them.

What it does stands in `voice.collect`, which needs psycopg: that is imported when a person asks for it,
and never before.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.console import Console

from voice.collect.code import leg_code, short
from voice.collect.driver import need_driver
from voice.collect.errors import CollectError
from voice.collect.parcel import nameless
from voice.commands.which_leg import kept_legs, which_leg
from voice.record.durable import replace_file
from voice.record.errors import cause
from voice.record.places import legs_root
from voice.record.shelf import load_with_chain, spare_folder

if TYPE_CHECKING:
    from voice.record.shelf import KeptLeg

app = typer.Typer(
    help="Many crews: send sealed legs to a programme's database, and report across them.",
    no_args_is_help=True,
)
out = Console(highlight=False, soft_wrap=True, emoji=False, markup=False)

To = Annotated[
    str,
    typer.Option(
        "--to",
        metavar="ADDRESS",
        help='As PostgreSQL has it: "host=… dbname=… user=…", a URL, "service=NAME"; no password.',
    ),
]
Unchecked = Annotated[
    bool,
    typer.Option("--unchecked", help="Do not check which machine answers; else TLS proves it."),
]


@app.command("send")
def send(
    asked: Annotated[
        list[str] | None,
        typer.Argument(metavar="LEG", help="Their ids, or parts of them.", show_default=False),
    ] = None,
    *,
    to: To,
    every: Annotated[bool, typer.Option("--all", help="All legs that are sealed.")] = False,
    unsealed: Annotated[
        bool, typer.Option("--unsealed", help="Those too that ended and may still change.")
    ] = False,
    unchecked: Unchecked = False,
) -> None:
    """Send sealed legs, without identity and without sound; what is there stays as it is."""
    if bool(asked) == every:
        raise typer.BadParameter("Say which legs: LEG..., or --all.")
    need_driver()
    from voice.collect.programme import send_legs  # noqa: PLC0415 - psycopg may not be there

    kept = kept_legs()
    if every:
        wanted = [one.id for one in kept if _goes(one, unsealed=unsealed)]
    else:
        ids = [one.id for one in kept]
        wanted = list(dict.fromkeys(which_leg(one, ids) for one in asked or ()))
    folders = [legs_root() / leg for leg in wanted]
    well = True
    for told in send_legs(to, folders, unchecked=unchecked, unsealed=unsealed):
        out.print(told.sentence)
        well &= told.well
    if not folders:
        out.print("No leg is sealed. Seal one with: legbook seal; or give --unsealed.")
    if not well:
        raise typer.Exit(1)


def _goes(one: KeptLeg, *, unsealed: bool) -> bool:
    """Whether it belongs to all that go; one that is damaged is tried, to be told of: its seal may be what was lost."""
    if one.leg is None or one.sealed or one.findings:
        return True
    return unsealed and one.leg.ended_at is not None


@app.command("codes")
def codes() -> None:
    """Tell by which code each leg of this machine goes in the database."""
    for one in kept_legs():
        if one.leg is not None:
            folder = legs_root() / one.id
            leg, chain = load_with_chain(folder, spare_folder(folder))
            out.print(f"{one.id}  {short(leg_code(nameless(leg, chain).leg, chain.events))}")


@app.command("report")
def report(
    source: Annotated[str, typer.Option("--from", metavar="ADDRESS", help="As for send.")],
    *,
    file: Annotated[
        Path | None,
        typer.Option("--csv", help="Write it into this file as a table.", metavar="FILE"),
    ] = None,
    unchecked: Unchecked = False,
) -> None:
    """Report across all legs that were sent: time clamped, limits passed, corrections, confusions."""
    need_driver()
    from voice.collect.programme import report_of  # noqa: PLC0415 - psycopg may not be there
    from voice.collect.report import to_csv, to_text  # noqa: PLC0415

    figures = report_of(source, unchecked=unchecked)
    if file is None:
        out.print(to_text(figures))
        return
    try:
        replace_file(file, to_csv(figures).encode())
    except OSError as error:
        raise CollectError(f"{file} cannot be written: {cause(error)}.") from error
    out.print(f"Written: {file}")


@app.command("prepare")
def prepare(to: To, *, unchecked: Unchecked = False) -> None:
    """For whoever runs the database: make its tables and views, or those that are missing."""
    need_driver()
    from voice.collect.programme import make_tables  # noqa: PLC0415 - psycopg may not be there

    made = make_tables(to, unchecked=unchecked)
    out.print(f"Made: {', '.join(made)}." if made else "Everything is there already.")
