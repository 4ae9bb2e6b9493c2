"""Spoils files that are read, and reads them: ``python -m tests.fuzz.spoilt --seconds 600 --seed 1``.

Each kind of file is made whole, then spoilt at random: bytes changed, cut out, doubled, put in, the end cut off.
Whatever its reader then gives, it must give soon, and raise nothing but a sentence for a person.
"""

from __future__ import annotations

import argparse
import json
import os
import shutil
import sys
import tempfile
import time
import zipfile
from collections import Counter
from io import BytesIO
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING, NamedTuple

import soundfile
from pydantic import ValidationError

from tests.record.conftest import START, at, fill, sound
from voice.acoustics.lexicon_file import read_lexicon
from voice.acoustics.shipped import vouch
from voice.capture.recordings import read_recording
from voice.commands.export import Form, export_leg
from voice.entries.errors import LegbookError
from voice.entries.leg import LegSettings
from voice.hearing.model import AcousticModel
from voice.meaning.drug_list import DrugList
from voice.meaning.phrase_file import PhraseFile
from voice.record.events import LegEnded
from voice.record.journal import Journal
from voice.record.shelf import legs, load, verify
from voice.report.export.document import from_json
from voice.review.acts import ACT
from voice.review.answers import refused
from voice.session import preferences
from voice.session.preferences import Preferences
from voice.training.phrases.packs import read_pack

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

SLOW_S = 5.0
"""No file of these sizes may take longer, on a busy machine."""
_GRAMMAR = Path(__file__).parents[2] / "grammar"
_DRUGS = DrugList({}, {})
_OF_A_MODEL = (
    "am/final.mdl",
    "conf/mfcc.conf",
    "conf/model.conf",
    "graph/HCLr.fst",
    "graph/disambig_tid.int",
)
_WORDS = "".join(f"word{number} {number}\n" for number in range(60)).encode() + b"[unk] 60\n"
_ACT = json.dumps({"act": "approve", "number": 3, "head": 12}).encode()
_TELLING = (0x00, 0xFF, 0x7F, 0x80, 0x20, 0x22, 0x0A)
"""Bytes at which readers stumble more often than at others."""


class Kind(NamedTuple):
    """A kind of file: its name, what it holds when it is whole, and who reads it."""

    name: str
    content: bytes
    read: Callable[[Path], object]


def _sound(form: str, subtype: str) -> bytes:
    file = BytesIO()
    soundfile.write(file, sound(), 16_000, format=form, subtype=subtype)
    return file.getvalue()


def _packed() -> bytes:
    file = BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("pack.json", json.dumps({"name": "ours", "files": {}, "key": "0" * 64}))
        archive.writestr("signature", bytes(64))
        archive.writestr("ours.toml", "phrases = []\n" * 40)
    return file.getvalue()


def _leg(folder: Path) -> Path:
    with Journal.create(
        folder, LegSettings(), START, grammar_digest="", model_digest=""
    ) as journal:
        fill(journal, 4)
        journal.append(LegEnded(at=at(40)))
    return folder


def _read_leg(folder: Path) -> None:
    verify(folder)
    legs(folder.parent)
    load(folder)
    Journal.open(folder, at(41)).close()


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


def _read_model_words(spoilt: Path) -> None:
    """Its checksums are made of what is there: they do not catch it."""
    with tempfile.TemporaryDirectory() as temporary:
        for name in _OF_A_MODEL:
            (Path(temporary) / name).parent.mkdir(exist_ok=True)
            (Path(temporary) / name).touch()
        shutil.copyfile(spoilt, Path(temporary) / "graph" / "words.txt")
        vouch(Path(temporary))
        AcousticModel.open(Path(temporary))


def _read_act(spoilt: Path) -> None:
    try:
        ACT.validate_json(spoilt.read_bytes())
    except ValidationError as error:
        refused(error)  # the answer to the page


def _exported(leg: Path) -> bytes:
    (file,) = export_leg(leg, Form.JSON, leg.with_name("exported.json"))
    return file.read_bytes()


def kinds(home: Path) -> list[Kind]:
    """All kinds; ``home`` is a folder for what they are made from."""
    leg = _leg(home / "leg")
    recordings = (("WAV", "PCM_16"), ("FLAC", "PCM_16"), ("OGG", "OPUS"))
    return [
        *(
            Kind(form, _sound(form, subtype), lambda file: list(read_recording(file)))
            for form, subtype in recordings
        ),
        Kind("journal", (leg / "journal.sqlite").read_bytes(), _in_leg("journal.sqlite", leg)),
        Kind("head", (leg / "head").read_bytes(), _in_leg("head", leg)),
        Kind("clip", (leg / "clips" / "0001.flac").read_bytes(), _in_leg("clips/0001.flac", leg)),
        Kind("preferences", Preferences().model_dump_json(indent=1).encode(), _read_preferences),
        Kind("pack", _packed(), read_pack),
        Kind("lexicon", b"nimo n iy m ow\nketa k eh t ah\n" * 9, read_lexicon),
        Kind("words", _WORDS, _read_model_words),
        Kind("act", _ACT, _read_act),
        Kind("phrases", (_GRAMMAR / "vitals.toml").read_bytes(), _read_phrases),
        Kind("export", _exported(leg), lambda file: from_json(file.read_bytes())),
    ]


def spoil(content: bytes, chance: Random) -> bytes:
    """The same with one to eight faults."""
    spoilt = bytearray(content)
    for _ in range(chance.choice((1, 1, 2, 3, 8))):
        if not spoilt:
            break
        place = chance.randrange(len(spoilt))
        length = chance.choice((1, 2, 4, 16, 200))
        match chance.randrange(6):
            case 0:
                spoilt[place] ^= 1 << chance.randrange(8)
            case 1:
                spoilt[place : place + length] = bytes([chance.choice(_TELLING)]) * length
            case 2:
                del spoilt[place : place + length]
            case 3:
                spoilt[place:place] = spoilt[place : place + length]
            case 4:
                spoilt[place:place] = chance.randbytes(length)
            case 5 if chance.random() < 0.3:
                del spoilt[place:]
            case _:
                spoilt[place] = chance.choice(_TELLING)
    return bytes(spoilt)


class Outcome(NamedTuple):
    """What came of one spoilt file."""

    kind: str
    became: str
    """ "read", "told", or what it crashed of."""


def read_spoilt(kind: Kind, content: bytes, folder: Path) -> Outcome:
    """Read one spoilt file."""
    file = folder / "spoilt.toml"
    file.write_bytes(content)
    began_s = time.perf_counter()
    try:
        kind.read(file)
        became = "read"
    except LegbookError:
        became = "told"
    except Exception as error:  # noqa: BLE001 - this is what is looked for
        became = f"{type(error).__name__}: {error}"
    if (taken_s := time.perf_counter() - began_s) > SLOW_S:
        became = f"took {taken_s:.1f} s"
    return Outcome(kind.name, became)


def spoilt_files(folder: Path, chance: Random) -> Iterator[tuple[Outcome, bytes]]:
    """Endlessly one of each kind, and what came of it."""
    all_kinds = kinds(folder)
    while True:
        for kind in all_kinds:
            content = spoil(kind.content, chance)
            yield read_spoilt(kind, content, folder), content


def is_fine(outcome: Outcome) -> bool:
    """Whether it is what must come of a spoilt file."""
    return outcome.became in {"read", "told"}


def main() -> None:
    """Spoil and read so long, keep what crashed, and tell."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=600)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--keep", type=Path, help="a folder for files that crashed their reader")
    asked = parser.parse_args()
    counts: Counter[Outcome] = Counter()
    until_s = time.monotonic() + asked.seconds
    with tempfile.TemporaryDirectory() as temporary:
        for outcome, content in spoilt_files(Path(temporary), Random(asked.seed)):
            counts[outcome] += 1
            if asked.keep and not is_fine(outcome):
                asked.keep.mkdir(parents=True, exist_ok=True)
                (asked.keep / f"{outcome.kind}-{counts.total()}").write_bytes(content)
            if time.monotonic() > until_s:
                break
    for outcome, times in sorted(counts.items()):
        sys.stdout.write(f"{outcome.kind:12} {times:7} {outcome.became}\n")
    sys.exit(not all(map(is_fine, counts)))


if __name__ == "__main__":
    main()
