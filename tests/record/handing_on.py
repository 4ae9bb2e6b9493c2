"""What is made of a leg when it is over: exports, the page, and its sound let go. See ``tests.record.kills``."""

from __future__ import annotations

import json
from functools import partial
from typing import TYPE_CHECKING

from tests.record.conftest import at
from voice.commands.export import Form, export_leg, prove
from voice.commands.page import PAGE, write_page
from voice.record import protection
from voice.record.clips import names
from voice.record.retention import Policy, drop_sound
from voice.report.export.document import ExportError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator
    from pathlib import Path

POLICY = Policy(after_days=0)
DROPPED = "dropped"


def doings(folder: Path) -> Iterator[tuple[str, str, Callable[[], object]]]:
    """In order: what it is called, its mark when it is done, and how it is done.

    Of a protected leg nothing is left in clear beside it.
    """
    forms: Iterable[Form] = () if protection.lock_of([folder]) else Form
    for form in forms:
        yield "exporting", form.file_name, partial(export_leg, folder, form)
    if forms:
        yield "writing the page", PAGE, partial(write_page, folder, at(62), "a4")
    yield "dropping the sound", DROPPED, partial(drop_sound, folder, POLICY, at(63))


def faults(folder: Path, marks: set[str]) -> list[str]:
    """What of it is not there though it was acknowledged, or there by half."""
    missing = [one for one in marks if one in _FILES and not (folder / one).exists()]
    halves = [name for name in _FILES if (folder / name).exists() and not _is_whole(folder / name)]
    return [
        *(f"{name} is not there." for name in missing),
        *(f"There is half of {name}." for name in halves),
        *(["Sound is there that was dropped."] if DROPPED in marks and names([folder]) else []),
    ]


_METADATA = f"{Form.CSV.file_name}-metadata.json"
_FOR_SCREEN = "page.html"
_FILES = (*(form.file_name for form in Form), _METADATA, PAGE, _FOR_SCREEN)


def _is_whole(file: Path) -> bool:
    content = file.read_bytes()
    match file.name:
        case name if name == PAGE:
            return content.rstrip().endswith(b"%%EOF")
        case name if name == _FOR_SCREEN:
            return content.rstrip().endswith(b"</html>")
        case name if name == _METADATA:
            return isinstance(json.loads(content), dict)
    try:
        prove(file.parent, file)
    except ExportError:
        return False
    return True
