"""``legbook key``: the key that signs legs when they are sealed."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console

from voice.record.places import legs_root
from voice.record.signing import (
    KeyLockedError,
    SigningKey,
    fingerprint,
    make_key,
    read_key,
)

app = typer.Typer(
    help="The key with which this machine, or a person, signs legs that are sealed.",
    no_args_is_help=True,
)
out = Console(highlight=False, soft_wrap=True, emoji=False, markup=False)

PASSPHRASE = "LEGBOOK_KEY_PASSPHRASE"  # noqa: S105 - the name of a variable
"""Names the passphrase of the key where nobody is there to be asked."""
KeyFile = Annotated[
    Path | None,
    typer.Option("--key", metavar="FILE", help="A key file, instead of the one of this machine."),
]


def own_key_file() -> Path:
    """Where the key lies that signs legs on this machine."""
    return legs_root().parent / "seal-key.pem"


def opened_key(file: Path | None) -> SigningKey:
    """The key in ``file``, or of this machine; its passphrase is asked for where it has one.

    Raises ``KeyFileError`` where there is no key, or the passphrase is wrong.
    """
    path = file or own_key_file()
    try:
        return read_key(path, os.environ.get(PASSPHRASE))
    except KeyLockedError:
        if PASSPHRASE in os.environ:
            raise
    return read_key(path, typer.prompt("Passphrase of the key", hide_input=True))


@app.command("make")
def make(
    owner: Annotated[str, typer.Argument(metavar="OWNER", help="Whose it is: a name and a role.")],
    file: KeyFile = None,
    *,
    passphrase: Annotated[
        bool, typer.Option("--passphrase", help="Lock it with a passphrase, which is asked for.")
    ] = False,
) -> None:
    """Make a key, for its owner alone; nobody can make it anew, so keep a copy in a safe place."""
    asked = os.environ.get(PASSPHRASE) if passphrase else None
    if passphrase and not asked:
        asked = typer.prompt("Passphrase", hide_input=True, confirmation_prompt=True)
    path = file or own_key_file()
    make_key(path, owner, asked)
    out.print(f"Made: {path}")
    show(path)


@app.command("show")
def show(file: KeyFile = None) -> None:
    """Show the public key: give it to whoever is to check what you sign."""
    key = opened_key(file)
    out.print(f"Owner: {key.owner}")
    out.print(f"Fingerprint: {fingerprint(key.public)}")
    out.print("The public key, for: legbook verify LEG --key")
    out.print(f"    {key.public}")
