"""The tables of a phrase file: every key known, every value of the right type."""

from __future__ import annotations

from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from voice.meaning.phrase import GrammarError

_Shape = TypeVar("_Shape", bound=BaseModel)


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
        }.get(fault["type"], f'"{key}" cannot be {fault["input"]!r}: {fault["msg"]}')
        raise GrammarError(f"{where}: {told}.") from error
