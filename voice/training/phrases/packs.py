"""Packs: proven phrases and words in one signed file, to be installed on other machines.

A pack is a zip archive of phrase files, ``lexicon.txt``, the proofs, check lists, ``pack.json`` (name, who packed
it, and the SHA-256 of each file) and ``signature`` (Ed25519, over ``pack.json``). The key that signs
is made with the first pack and stays on its machine; its fingerprint is read out or compared by
telephone, so that whoever installs knows from whom the phrases come. There is no code in a pack, and
nothing but the names above is taken out of it.

Source: RFC 8032 for the signature (by the package ``cryptography``).
"""

from __future__ import annotations

import hashlib
import os
import re
import shutil
import tempfile
import zipfile
import zlib
from pathlib import Path
from typing import TYPE_CHECKING

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from pydantic import AwareDatetime, Field, ValidationError

from voice.acoustics import shipped
from voice.acoustics.lexicon_file import read_lexicon
from voice.entries.errors import LegbookError
from voice.entries.frozen import Frozen
from voice.meaning.table import toml
from voice.record.signing import fingerprint
from voice.session.own_phrases import (
    Layer,
    hearing_folder,
    layers,
    phrase_files,
    phrases_root,
    taught_words,
)
from voice.training.phrases.checker import check
from voice.training.phrases.holding import faults_of
from voice.training.phrases.proof import was_changed

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from voice.training.phrases.faults import Fault

ENDING = ".legpack"
_LISTING, _SIGNATURE = "pack.json", "signature"
_NAMES = re.compile(
    r"(checks/)?[a-z0-9_-]{1,60}\.toml|[a-z0-9_-]{1,60}\.proof\.json|lexicon\.txt|handoff/needs\.toml"
)
MOST_FILES = 60
MOST_BYTES = 2_000_000
"""Of all files unpacked; phrase files are a few kilobytes each."""


class PackError(LegbookError):
    """A pack cannot be made or installed."""


class Pack(Frozen):
    """What ``pack.json`` says."""

    name: str = Field(pattern=r"^[a-z0-9_-]{1,40}$")
    packed_at: AwareDatetime
    key: str = Field(pattern=r"^[0-9a-f]{64}$")
    """The public key in hexadecimal."""
    files: dict[str, str]
    """The SHA-256 of each file."""

    @property
    def fingerprint(self) -> str:
        """The key in few letters, to be compared by voice: "3f2a 91bc 04d7 e6a8"."""
        return fingerprint(self.key)


def make_pack(layer: Layer, name: str, into: Path, now: datetime) -> tuple[Path, Pack]:
    """Pack everything in ``layer`` into a file in the folder ``into``.

    Raises ``PackError`` where there is nothing to pack, where a file is not proven, or where the
    pack cannot be written.
    """
    files = {f.name: f.read_bytes() for f in sorted(layer.folder.glob("*")) if f.is_file()}
    files |= {f.relative_to(layer.folder).as_posix(): f.read_bytes() for f in layer.lists}
    if not any(file.endswith(".toml") for file in files):
        raise PackError(
            "There are no proven phrases to pack. Prove some with: legbook phrases prove"
        )
    unproven = [f for f in layer.files if f"{f.stem}.proof.json" not in files]
    if unproven:
        raise PackError(
            f"{unproven[0].name} has no proof, so it is not packed. Put it back to the drafts with: "
            f"legbook phrases remove {unproven[0].stem}; then prove it."
        )
    for f in layer.files:
        if was_changed(f.name, files[f.name], files[f"{f.stem}.proof.json"]):
            raise PackError(
                f"{f.name} was changed after it was proven, so it is not packed. Put it back to the "
                f"drafts with: legbook phrases remove {f.stem}; then prove it."
            )
    key = _own_key()
    try:
        pack = Pack(
            name=name,
            packed_at=now,
            key=key.public_key().public_bytes_raw().hex(),
            files={file: hashlib.sha256(raw).hexdigest() for file, raw in files.items()},
        )
    except ValidationError as error:
        raise PackError(
            f'A pack cannot be called "{name}": take small letters, figures, - and _.'
        ) from error
    listing = pack.model_dump_json(indent=1).encode()
    target = into / f"{name}{ENDING}"
    if target.exists():
        raise PackError(f"There is already a file {target}. Move it, or take another name.")
    try:
        into.mkdir(parents=True, exist_ok=True)
        with zipfile.ZipFile(target, "x", zipfile.ZIP_DEFLATED) as archive:
            for file, raw in {_LISTING: listing, _SIGNATURE: key.sign(listing), **files}.items():
                archive.writestr(file, raw)
    except OSError as error:
        raise PackError(
            f"The pack {target} cannot be written: {error}. Name another folder."
        ) from error
    return target, pack


def _own_key() -> Ed25519PrivateKey:
    """The key of this machine, made at first use; only its owner can read the file."""
    file = phrases_root() / "signing-key"
    try:
        if file.is_file():
            return Ed25519PrivateKey.from_private_bytes(bytes.fromhex(file.read_text("ascii")))
        key = Ed25519PrivateKey.generate()
        file.parent.mkdir(parents=True, exist_ok=True)
        with os.fdopen(os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as out:
            out.write(key.private_bytes_raw().hex())
    except (OSError, ValueError) as error:
        raise PackError(
            f"The key that signs packs, {file}, cannot be used: {error}. Put it back from a copy, or "
            "move it away: the next pack makes a new one, whose fingerprint is another."
        ) from error
    return key


_UNREADABLE = (
    OSError,
    KeyError,
    ValueError,
    EOFError,
    RuntimeError,  # a password is asked for, or a way of packing is not known
    zipfile.BadZipFile,
    zlib.error,
)
"""What a damaged archive ends in."""


def read_pack(file: Path) -> tuple[Pack, Mapping[str, bytes]]:
    """What a pack says and holds, once the signature and every file were compared.

    Raises ``PackError`` where it is damaged, changed, too large, or holds what no pack holds.
    """
    try:
        with zipfile.ZipFile(file) as archive:
            infos = archive.infolist()
            if len(infos) > MOST_FILES or sum(info.file_size for info in infos) > MOST_BYTES:
                raise PackError(
                    f"{file.name} is too large for a pack of phrases. Nothing is taken from it."
                )
            names = [info.filename for info in infos]
            strange = [
                n for n in names if n not in {_LISTING, _SIGNATURE} and not _NAMES.fullmatch(n)
            ]
            if strange or len(set(names)) != len(names):
                raise PackError(
                    f"{file.name} holds {', '.join(map(repr, strange)) or 'a file twice'}, which no pack of "
                    "phrases holds. Nothing is taken from it."
                )
            # the sizes that the archive tells may be wrong: no more is read than they allow
            raw = {i.filename: archive.open(i).read(MOST_BYTES + 1) for i in infos}
        if sum(map(len, raw.values())) > MOST_BYTES:
            raise PackError(
                f"{file.name} is too large for a pack of phrases. Nothing is taken from it."
            )
        listing, signature = raw.pop(_LISTING), raw.pop(_SIGNATURE)
        pack = Pack.model_validate_json(listing)
        Ed25519PublicKey.from_public_bytes(bytes.fromhex(pack.key)).verify(signature, listing)
    except InvalidSignature as error:
        raise PackError(
            f"The signature of {file.name} is not right: it was changed after it was packed. "
            "Have it sent again."
        ) from error
    except _UNREADABLE as error:
        raise PackError(
            f"{file.name} is no pack of phrases, or is damaged ({error}). Have it sent again."
        ) from error
    if {name: hashlib.sha256(data).hexdigest() for name, data in raw.items()} != pack.files:
        raise PackError(
            f"A file in {file.name} is not what was signed. Nothing is taken from it; have it sent again."
        )
    return pack, raw


def unpacked(pack: Pack, raw: Mapping[str, bytes], folder: Path) -> Layer:
    """Write the files of a pack that was read into ``folder``, as a layer."""
    folder.mkdir(parents=True)
    for name, data in raw.items():
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_bytes(data)
    (folder / _LISTING).write_text(pack.model_dump_json(indent=1), "utf-8")
    return Layer(folder)


def install(pack: Pack, raw: Mapping[str, bytes]) -> Layer:
    """Put a pack that was read among those that are listened for, in the place of an older one.

    Raises ``PackError`` where an older one of that name is signed by another key, or is damaged.
    """
    root = phrases_root() / "packs"
    root.mkdir(parents=True, exist_ok=True)
    place = root / pack.name
    if place.is_dir() and (old := _installed(place)).key != pack.key:
        raise PackError(
            f'The pack "{pack.name}" that is installed was signed by another key ({old.fingerprint}). Ask '
            f"whose this one is; if it is right, first: legbook phrases remove {pack.name}"
        )
    with tempfile.TemporaryDirectory(dir=root, prefix=".") as passing:
        made = unpacked(pack, raw, Path(passing) / pack.name).folder
        if place.is_dir():
            shutil.move(place, Path(passing) / "old")
        made.rename(place)
    return Layer(place)


def _installed(place: Path) -> Pack:
    try:
        return Pack.model_validate_json((place / _LISTING).read_bytes())
    except (OSError, ValidationError) as error:
        raise PackError(
            f'The pack "{place.name}" that is installed is damaged: it no longer says who signed it. '
            f"Take it away first, with: legbook phrases remove {place.name}"
        ) from error


def _list_name(file: Path) -> str:
    """By what a check list is started, or which list it is otherwise: one of that name stands."""
    return str(toml(file.read_bytes(), file.name).get("check", "what is left"))


def fits(pack: Pack, raw: Mapping[str, bytes]) -> tuple[Fault, ...]:
    """Check a pack that was read beside everything that is listened for on this machine.

    Returned is what sounds like a phrase that was added here: the pack was proven without it. Raises ``PackError`` where a phrase has a fault here that must be mended.
    """
    with tempfile.TemporaryDirectory(prefix="legbook-") as passing:
        layer = unpacked(pack, raw, Path(passing) / pack.name)
        older = phrases_root() / "packs" / pack.name
        others = [file for file in phrase_files() if file.parent != older]
        there = [other for other in layers() if other.folder != older]
        lists = set(map(_list_name, layer.lists))
        if twice := lists & {_list_name(file) for other in there for file in other.lists}:
            raise PackError(
                f'There is a list "{min(twice)}" on this machine already, and only one can stand. Take '
                "it away first, or have the pack made without it."
            )
        if twice := {f.name for f in layer.files} & {f.name for f in others}:
            raise PackError(
                f"There is a phrase file {min(twice)} on this machine already. Have it packed under "
                "another name."
            )
        words = read_lexicon(hearing_folder(layer) / shipped.LEXICON)
        names = [file.name for file in layer.files]
        files = [*others, *layer.files]
        faults = check(files, words, names)
        taught = {word for one in (*there, layer) for word in one.words}
        lost = faults_of(files, taught, [*there, layer])
        lost -= faults_of(phrase_files(), taught_words(), layers())
        if must := [*map(str, (fault for fault in faults if fault.must_be_mended)), *sorted(lost)]:
            raise PackError(f"The pack does not fit this machine: {must[0]} Nothing was installed.")
    added = [f"({file.name})" for other in there for file in other.files]
    return tuple(fault for fault in faults if any(name in fault.text for name in added))
