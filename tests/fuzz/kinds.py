"""The kinds of files that are spoilt: each made whole, and who reads it."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import tempfile
import zipfile
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import soundfile
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from pydantic import ValidationError

from tests.record.conftest import START, at, fill, sound
from voice.acoustics.lexicon_file import read_lexicon
from voice.acoustics.shipped import vouch
from voice.capture.recordings import read_recording
from voice.commands.export import Form, export_leg
from voice.entries.leg import LegSettings
from voice.entries.review import Reviewer
from voice.hearing.model import AcousticModel
from voice.meaning.checklist import load_checklists
from voice.meaning.drug_list import DrugList
from voice.meaning.grammar import load_grammar, read_grammar
from voice.meaning.handoff import load_needs
from voice.meaning.phrase_file import PhraseFile
from voice.record import protection
from voice.record.converting import convert
from voice.record.events import LegEnded
from voice.record.journal import Journal
from voice.record.protection import NAME, OPENED, PASSPHRASE, lock_with, mark, new_data_key
from voice.record.shelf import legs, load, verify
from voice.record.signing import make_key, read_key
from voice.report.export.document import from_json
from voice.review.acts import Asked
from voice.review.answers import ToCheck, refused
from voice.session import preferences
from voice.session.preferences import Preferences
from voice.training.phrases.misheard import read_misheard
from voice.training.phrases.packs import Pack, read_pack

if TYPE_CHECKING:
    from collections.abc import Callable

_GRAMMAR = Path(__file__).parents[2] / "grammar"
_DRUGS = DrugList({}, {}, {})
_OF_A_MODEL = (
    "am/final.mdl",
    "conf/mfcc.conf",
    "conf/model.conf",
    "graph/HCLr.fst",
    "graph/disambig_tid.int",
)
_WORDS = "".join(f"word{number} {number}\n" for number in range(60)).encode() + b"[unk] 60\n"
_WITH_WORDS = Path(__file__).parents[1] / "hearing" / "openfst" / "with_words.fst"
_MISHEARD = b'{"phrase": "pressure fourteen", "heard": ["pressure forty"], "count": 2}\n'
_ACT = json.dumps(
    {
        "by": {"name": "A. Reviewer", "role": "nurse"},
        "act": {"act": "approve", "number": 3, "head": 12},
    }
).encode()
_SIGNER = Ed25519PrivateKey.from_private_bytes(bytes(32))
_OURS = b"phrases = []\n" * 40
_TYPED = json.dumps({"text": "pressure fourteen", "number": 3}).encode()
_REVIEWER = json.dumps({"name": "Reviewer", "role": "charge nurse"}).encode()
_PASSPHRASE = b"four words or more"


class Kind(NamedTuple):
    """A kind of file: its name, what it holds when it is whole, and who reads it."""

    name: str
    content: bytes
    read: Callable[[Path], object]


def _sound(form: str, subtype: str) -> bytes:
    file = BytesIO()
    soundfile.write(file, sound(), 16_000, format=form, subtype=subtype)
    return file.getvalue()


def _packed(listing: bytes) -> bytes:
    file = BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("pack.json", listing)
        archive.writestr("signature", _SIGNER.sign(listing))
        archive.writestr("ours.toml", _OURS)
    return file.getvalue()


def _listing() -> bytes:
    pack = Pack(
        name="ours",
        packed_at=START,
        key=_SIGNER.public_key().public_bytes_raw().hex(),
        files={"ours.toml": hashlib.sha256(_OURS).hexdigest()},
    )
    return pack.model_dump_json().encode()


def _read_listing(spoilt: Path) -> None:
    """Whoever signs a pack may sign anything."""
    spoilt.write_bytes(_packed(spoilt.read_bytes()))
    read_pack(spoilt)


def _leg(folder: Path) -> Path:
    with Journal.create(
        folder, LegSettings(), START, grammar_digest="", model_digest=""
    ) as journal:
        fill(journal, 4)
        journal.append(LegEnded(at=at(40)))
    return folder


def _sealed_leg(folder: Path, key: Path) -> Path:
    with Journal.open(_leg(folder), at(41)) as journal:
        journal.seal(at(42), make_key(key, "Reviewer"))
    return folder


def _protected_leg(folder: Path) -> Path:
    key, usual = new_data_key(), protection.COST
    protection.COST = 2  # each spoilt file opens it anew
    lock = lock_with(key, _PASSPHRASE)
    protection.COST = usual
    OPENED.take(key)
    mark(_leg(folder), lock)
    convert(folder, None, lock)
    return folder


def _read_leg(folder: Path) -> None:
    verify(folder)
    legs(folder.parent)
    load(folder)
    Journal.open(folder, at(41)).close()


def _in_locked_leg(name: str, whole: Path) -> Callable[[Path], None]:
    """The same with a protected leg, which is opened anew."""
    read_it = _in_leg(name, whole)

    def read(spoilt: Path) -> None:
        os.environ[PASSPHRASE] = _PASSPHRASE.decode()
        OPENED.forget()
        read_it(spoilt)

    return read


def _in_leg(name: str, whole: Path) -> Callable[[Path], None]:
    """Reads a leg in which the file ``name`` is the spoilt one."""

    def read(spoilt: Path) -> None:
        with tempfile.TemporaryDirectory() as temporary:
            folder = Path(temporary) / "legs" / whole.name
            shutil.copytree(whole, folder)
            shutil.copyfile(spoilt, folder / name)
            _read_leg(folder)

    return read


def _read_preferences(spoilt: Path) -> None:
    with tempfile.TemporaryDirectory() as temporary:
        os.environ["LEGBOOK_HOME"] = temporary
        shutil.copyfile(spoilt, Path(temporary) / "preferences.json")
        preferences.load()


def _read_phrases(spoilt: Path) -> None:
    list(PhraseFile(spoilt.name, spoilt.read_bytes()).phrases(_DRUGS))


def _read_drugs(spoilt: Path) -> None:
    read_grammar([spoilt, _GRAMMAR / "drugs.toml"])


def _in_folder(read: Callable[[Path], object]) -> Callable[[Path], None]:
    """Reads it by a name that no reader remembers, alone in a folder."""

    def read_it(spoilt: Path) -> None:
        with tempfile.TemporaryDirectory() as temporary:
            shutil.copyfile(spoilt, Path(temporary) / spoilt.name)
            read(Path(temporary) / spoilt.name)

    return read_it


def _read_checks(spoilt: Path) -> None:
    load_checklists(load_grammar(), LegSettings(), spoilt.parent)


def _in_model(name: str) -> Callable[[Path], None]:
    """Reads a model in which the file ``name`` is the spoilt one; its checksums are made of what is there."""

    def read(spoilt: Path) -> None:
        with tempfile.TemporaryDirectory() as temporary:
            for needed in _OF_A_MODEL:
                (Path(temporary) / needed).parent.mkdir(exist_ok=True)
                (Path(temporary) / needed).touch()
            shutil.copyfile(spoilt, Path(temporary) / name)
            vouch(Path(temporary))
            AcousticModel.open(Path(temporary))

    return read


def _read_request(read: Callable[[bytes], object]) -> Callable[[Path], None]:
    """Reads what the page sends, and answers what it cannot read as the desk does."""

    def read_it(spoilt: Path) -> None:
        try:
            read(spoilt.read_bytes())
        except ValidationError as error:
            refused(error)

    return read_it


def _exported(leg: Path) -> bytes:
    (file,) = export_leg(leg, Form.JSON, leg.with_name("exported.json"))
    return file.read_bytes()


def kinds(home: Path) -> list[Kind]:
    """All kinds; ``home`` is a folder for what they are made from."""
    load_grammar()  # is read once, and takes its time
    leg = _leg(home / "leg")
    sealed = _sealed_leg(home / "sealed", home / "key")
    protected = _protected_leg(home / "protected")
    recordings = (("WAV", "PCM_16"), ("FLAC", "PCM_16"), ("OGG", "OPUS"))
    in_legs = (
        ("journal", "journal.sqlite", leg, _in_leg),
        ("head", "head", leg, _in_leg),
        ("clip", "clips/0001.flac", leg, _in_leg),
        ("sealed", "journal.sqlite", sealed, _in_leg),
        ("lock", NAME, protected, _in_locked_leg),
        ("locked_journal", "journal.sqlite", protected, _in_locked_leg),
        ("locked_clip", "clips/0001.flac", protected, _in_locked_leg),
    )
    grammar_files: tuple[tuple[str, str, Callable[[Path], object]], ...] = (
        ("phrases", "vitals.toml", _read_phrases),
        ("drugs", "drug_list.toml", _read_drugs),
        ("checks", "checks/before_move.toml", _in_folder(_read_checks)),
        ("needs", "handoff/needs.toml", _in_folder(load_needs)),
    )
    return [
        *(
            Kind(form, _sound(form, subtype), lambda file: list(read_recording(file)))
            for form, subtype in recordings
        ),
        *(
            Kind(name, (whole / file).read_bytes(), read(file, whole))
            for name, file, whole, read in in_legs
        ),
        *(Kind(name, (_GRAMMAR / file).read_bytes(), read) for name, file, read in grammar_files),
        Kind("preferences", Preferences().model_dump_json(indent=1).encode(), _read_preferences),
        Kind("pack", _packed(_listing()), read_pack),
        Kind("listing", _listing(), _read_listing),
        Kind("lexicon", b"nimo N IY M OW\nketa K EH T AH\n" * 9, read_lexicon),
        Kind("misheard", _MISHEARD * 9, read_misheard),
        Kind("words", _WORDS, _in_model("graph/words.txt")),
        Kind("transducer", _WITH_WORDS.read_bytes(), _in_model("graph/Gr.fst")),
        Kind("key", (home / "key").read_bytes(), read_key),
        Kind("act", _ACT, _read_request(Asked.model_validate_json)),
        Kind("typed", _TYPED, _read_request(ToCheck.model_validate_json)),
        Kind("reviewer", _REVIEWER, _read_request(Reviewer.model_validate_json)),
        Kind("export", _exported(leg), lambda file: from_json(file.read_bytes())),
    ]
