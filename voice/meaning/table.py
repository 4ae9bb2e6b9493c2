"""The tables of a phrase file: every key known, every value of the right type."""

from __future__ import annotations

import re
import tomllib
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from voice.meaning.bounds import MOST_BYTES, MOST_KEYS
from voice.meaning.phrase import GrammarError

_Shape = TypeVar("_Shape", bound=BaseModel)


_LONG_KEY = re.compile(rb"(?<![\w-])(?:[\w-]++\s*+\.\s*+){%d}" % MOST_KEYS)
_LONGEST_SHOWN = 80


def toml(raw: bytes, name: str) -> dict[str, Any]:
    """The tables of a file called ``name``; raises GrammarError."""
    if len(raw) > MOST_BYTES:
        raise GrammarError(
            f"{name} is too large: it has {len(raw)} bytes, and at most {MOST_BYTES} are read. Divide it."
        )
    if _LONG_KEY.search(raw):
        raise GrammarError(f"{name} has a key of more than {MOST_KEYS} parts.")
    try:
        return tomllib.loads(raw.decode())
    except RecursionError as error:
        raise GrammarError(f"{name} has too many brackets within each other.") from error
    except ValueError as error:
        raise GrammarError(f"{name} is not valid TOML: {error}.") from error


def shaped(shape: type[_Shape], table: Any, where: str) -> _Shape:
    """``table`` with all its keys known and of the right type.

    Raises GrammarError that tells the first fault.
    """
    try:
        return shape.model_validate(table)
    except ValidationError as error:
        fault = error.errors()[0]
        key = ".".join(map(str, fault["loc"]))
        known = ", ".join(field.alias or name for name, field in shape.model_fields.items())
        told = {
            "extra_forbidden": f'nobody knows "{key}"; known are {known}',
            "missing": f'it lacks "{key}"',
        }.get(fault["type"], f'"{key}" cannot be {_shown(fault["input"])}: {fault["msg"]}')
        raise GrammarError(f"{where}: {told}.") from error


def _shown(value: Any) -> str:
    text = repr(value)
    return text if len(text) <= _LONGEST_SHOWN else f"{text[:_LONGEST_SHOWN]} ..."
