"""What a JSON export says, held against what this legbook exports of the same leg: for files of an earlier one."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterator

_MAY_DIFFER = "program_version"


@dataclass(frozen=True)
class Comparison:
    """How two documents differ, by the places of their fields ("leg.entries.desk.why")."""

    otherwise: tuple[str, ...]
    """What the file tells and this legbook does not, or not so: each a place and the two values."""
    lacks_empty: tuple[str, ...]
    """Fields that the file does not have, and that say nothing of this leg."""
    lacks: tuple[str, ...]
    """Fields that the file does not have, and that say something of it."""


def compared(file: dict[str, Any], today: dict[str, Any]) -> Comparison:
    """Hold ``file``, as it was parsed, against ``today``; which program wrote it does not count."""
    found = list(_differences({**file, _MAY_DIFFER: today.get(_MAY_DIFFER)}, today, ()))
    lacks = {place for place, told in found if told is True}
    return Comparison(
        otherwise=tuple(told for _, told in found if isinstance(told, str)),
        lacks_empty=tuple(sorted({place for place, told in found if told is False} - lacks)),
        lacks=tuple(sorted(lacks)),
    )


def _differences(file: Any, today: Any, place: tuple[str, ...]) -> Iterator[tuple[str, str | bool]]:
    """By place, without numbers, a sentence; or, of a field that the file lacks, whether it says something today."""
    named = ".".join(part for part in place if not part.isdecimal())
    if isinstance(file, dict) and isinstance(today, dict):
        for name in file.keys() - today.keys():
            yield named, f"{'.'.join((*place, name))} is not known here"
        for name, value in today.items():
            if name in file:
                yield from _differences(file[name], value, (*place, name))
            else:
                yield ".".join((*filter(None, [named]), name)), _says_something(value)
    elif isinstance(file, list) and isinstance(today, list) and len(file) == len(today):
        for number, (one, other) in enumerate(zip(file, today, strict=True), 1):
            yield from _differences(one, other, (*place, str(number)))
    elif type(file) is not type(today) or file != today:
        yield (
            named,
            f"{'.'.join(place)} is {_short(file)} in the file and {_short(today)} in the leg",
        )


def _says_something(value: Any) -> bool:
    return not (value is None or value is False or value in ("", [], {}))


def _short(value: Any) -> str:
    if isinstance(value, list):
        return f"a list of {len(value)}"
    if isinstance(value, dict):
        return f"made of {len(value)} fields"
    return json.dumps(value, ensure_ascii=False)
