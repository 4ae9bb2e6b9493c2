"""``legbook protect``: legs are kept encrypted, opened by a passphrase or a key file."""

from __future__ import annotations

import os
import secrets
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.console import Console

from voice.commands.which_leg import answering_root
from voice.entries.errors import LegbookError
from voice.record import protecting
from voice.record.converting import Converted, convert
from voice.record.durable import make_file, make_folder
from voice.record.errors import JournalBusyError, JournalError, cause
from voice.record.in_use import changing
from voice.record.only_writer import is_written
from voice.record.places import spare_root
from voice.record.protection import OPENED, OtherMachineError, own_files, own_lock
from voice.record.reading import leg_folders
from voice.record.shelf import leg_ids, spare_folder

if TYPE_CHECKING:
    from collections.abc import Callable

    from voice.record.protection import Lock


app = typer.Typer(
    help="Keep legs encrypted on the disk, opened by a passphrase or a key file.",
    invoke_without_command=True,
)
out = Console(highlight=False, soft_wrap=True, emoji=False, markup=False)

NEW_PASSPHRASE = "LEGBOOK_NEW_PASSPHRASE"  # noqa: S105 - the name of a variable
"""Names the passphrase to be chosen where nobody is there to be asked."""
_SHORTEST = 12
"""Letters of a passphrase: with scrypt before it, four words at random are far from being guessed (common practice)."""
_KEY_FILE_BYTES = 32
_GO_ON = "Go on with: legbook protect on"
KeyFile = Annotated[
    Path | None,
    typer.Option(
        "--key-file",
        metavar="FILE",
        help="A file that opens them, on a stick for example, instead of a passphrase; made where it is not there.",
    ),
]


@app.callback()
def state(context: typer.Context) -> None:
    """Say whether legs are protected, and how they are opened."""
    if context.invoked_subcommand is not None:
        return
    lock = own_lock()
    if lock is None:
        out.print(
            unprotected_beside_protected()
            or "Protection is off: legs are kept in clear. Switch it on with: legbook protect on"
        )
        return
    by = f"the key file {lock.key_file}" if lock.key_file else "a passphrase"
    if not lock.on:
        out.print(f"Switching protection off was broken off; some legs are still opened by {by}.")
        out.print("Go on with: legbook protect off")
        return
    out.print(f"Protection is on. The legs are opened by {by}.")
    if lock.renewing:
        out.print(f"Some legs are still under the key of before. {_GO_ON}")


def unprotected_beside_protected() -> str | None:
    """A sentence where a new leg would be kept in clear on a machine whose legs are protected; raises LegbookError."""
    count = protecting.forgotten((folder, spare) for _, folder, spare in _legs())
    if count == 0:
        return None
    return (
        f"New legs are kept in clear, though {count} of the legs here are protected: the file that protects this "
        f"machine is gone ({own_files()[0]}). Put it back from a copy, or choose anew with: legbook protect on"
    )


@app.command("on")
def switch_on(key_file: KeyFile = None) -> None:
    """Encrypt all legs of this machine, and each that begins from now on."""
    with changing():
        before = own_lock()
        if before is not None and key_file is not None:
            raise LegbookError("Protection was on before. For a key file: legbook protect change")
        if before is None:
            lock = protecting.switch_on(_new_secret(key_file), key_file)
        else:  # broken off, or some leg could not be changed
            lock = protecting.switch_on(b"")
        _for_every_leg(lambda folder, spare: convert(folder, spare, lock))
        protecting.renewed()
        out.print("Protection is on.")
        _tell_what_is_in_clear()
        _tell_what_opens(lock)


@app.command("off")
def switch_off() -> None:
    """Keep all legs in clear again."""
    with changing():
        lock = protecting.switch_off()
        _for_every_leg(lambda folder, spare: convert(folder, spare, lock))
        protecting.forget_key()
    out.print("Protection is off: all legs of this machine are kept in clear.")


@app.command("change")
def change(
    key_file: KeyFile = None,
    *,
    new_key: Annotated[
        bool,
        typer.Option(
            "--new-key",
            help="And write all legs anew under another key: where an old passphrase or key file is known to others.",
        ),
    ] = False,
) -> None:
    """Open the legs with another passphrase, or another key file, from now on."""
    with changing():
        if new_key:
            _need_no_leg_written()
        OPENED.key(protecting.needed_lock())
        secret = _new_secret(key_file)
        if new_key:
            _renew(secret, key_file)
            return
        lock = protecting.change(secret, key_file)

        def anew(folder: Path, spare: Path | None) -> Converted:
            protecting.lock_anew(folder, spare, lock)
            return Converted(0)

        _for_every_leg(anew)
    out.print(
        "Changed. Copies of legs that were made before are still opened by what opened them then."
    )


def _renew(secret: bytes, key_file: Path | None) -> None:
    lock = protecting.renew(secret, key_file)
    out.print("From now on the new one opens the legs; each is written anew under another key.")
    try:
        _for_every_leg(lambda folder, spare: convert(folder, spare, lock))
    except LegbookError as error:
        raise LegbookError(f"{error} {_GO_ON}") from error
    protecting.renewed()
    out.print("All legs of this machine are under the new key.")
    _tell_what_is_in_clear()
    _tell_what_opens(lock)
    out.print("Copies that were made before are still opened by what opened them then.")


def _need_no_leg_written() -> None:
    for name, folder, spare in _legs():
        if is_written(leg_folders(folder, spare)):
            raise JournalBusyError(
                f"Leg {name} is being written by another running legbook: end that first. Nothing was changed."
            )


def _tell_what_is_in_clear() -> None:
    for _name, folder, spare in _legs():
        for file in protecting.left_in_clear(folder, spare):
            out.print(f"In clear, to be removed where it is not needed: {file}")


def _tell_what_opens(lock: Lock) -> None:
    if lock.opens == "passphrase":
        out.print(
            "Nobody can open the legs without the passphrase. Keep it where the legs are not."
        )
    else:
        out.print(
            f"Nobody can open the legs without the file {lock.key_file}. Keep a copy elsewhere."
        )


def _legs() -> list[tuple[str, Path, Path | None]]:
    """All of this machine: id, folder, and where it may have gone on; raises WhichLegError."""
    root = answering_root()
    return [(name, root / name, spare_folder(root / name)) for name in leg_ids(root, spare_root())]


def _for_every_leg(do: Callable[[Path, Path | None], Converted]) -> None:
    """Do it to every leg of the machine, and say what could not be done; raises LegbookError then."""
    left, all_legs = 0, _legs()
    for number, (name, folder, spare) in enumerate(all_legs, 1):
        try:
            done = do(folder, spare)
        except OtherMachineError as error:
            out.print(str(error))
        except JournalError as error:
            out.print(str(error))
            left += 1
        else:
            if done.changed:
                out.print(
                    f"Leg {name}, {number} of {len(all_legs)}: files changed: {done.changed}."
                )
            for sound in done.unopened:
                out.print(
                    f"Leg {name}: sound clip {sound} stays as it is. No key opens it: it was changed, or is another leg's."
                )
    if left:
        raise LegbookError(
            f"{left} legs are as they were, and can be read as before. When that is mended, do it again."
        )


def _new_secret(key_file: Path | None) -> bytes:
    """What is to open the legs from now on."""
    if key_file is not None:
        return _key_file(key_file)
    given = os.environ.get(NEW_PASSPHRASE) or typer.prompt(
        "New passphrase, four words or more", hide_input=True, confirmation_prompt=True
    )
    if len(given) < _SHORTEST:
        raise LegbookError(
            f"That is too short: take four words that do not belong together, {_SHORTEST} letters at least."
        )
    return str(given).encode()


def _key_file(file: Path) -> bytes:
    try:
        if not file.exists():
            make_folder(file.parent)
            make_file(file, secrets.token_hex(_KEY_FILE_BYTES).encode())
        content = file.read_bytes()
    except OSError as error:
        raise LegbookError(f"The key file {file} cannot be used: {cause(error)}.") from error
    if len(content) < _KEY_FILE_BYTES:
        raise LegbookError(f"{file} is too short for a key file: name one that is not there yet.")
    return content


def asked(what: str) -> str:
    """What a person types, unseen."""
    return str(typer.prompt(what, hide_input=True))
