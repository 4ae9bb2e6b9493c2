"""The legs of this machine, and which one is meant: its id may be shortened to any part that only one leg has."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rapidfuzz import fuzz, process

from voice.entries.errors import LegbookError
from voice.record.durable import silent
from voice.record.errors import cause
from voice.record.places import legs_root, spare_root
from voice.record.shelf import legs

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from voice.record.shelf import KeptLeg

LAST = "last"
"""Stands for the leg that was started last."""
DEMO = "demo"
"""Stands for the invented leg that was flown last; it is kept apart from real ones."""
_NEAREST = 3


class WhichLegError(LegbookError):
    """No leg, or more than one, goes by that name, or their disk does not answer."""


def answering_root() -> Path:
    """Where the legs of this machine lie.

    Raises ``WhichLegError`` where that disk does not answer: it would look as if none had been kept.
    """
    root = legs_root()
    if (error := silent(root)) is not None:
        raise WhichLegError(
            f"The legs in {root} cannot be listed: {cause(error)}. Look at that disk, then call again."
        )
    return root


def kept_legs() -> tuple[KeptLeg, ...]:
    """All legs of this machine, as ``legs`` has them; raises ``WhichLegError`` where their disk does not answer."""
    return legs(answering_root(), spare_root())


def which_leg(asked: str, ids: Sequence[str]) -> str:
    """The one id that is ``asked``, or holds it; ``"last"`` is the last of ``ids``.

    Raises ``WhichLegError``, naming the nearest ids, where none or several do.
    """
    if not ids:
        raise WhichLegError("No leg has been kept yet. Start one with: legbook listen")
    if asked == LAST:
        return ids[-1]
    if asked in ids:
        return asked
    holding = [leg_id for leg_id in ids if asked in leg_id]
    if len(holding) == 1:
        return holding[0]
    if holding:
        raise WhichLegError(f'"{asked}" could be {_or(holding[-_NEAREST:])}. Give more of its id.')
    near = process.extract(asked, ids, scorer=fuzz.WRatio, limit=_NEAREST)
    raise WhichLegError(f'There is no leg "{asked}". Did you mean {_or([n[0] for n in near])}?')


def _or(ids: Sequence[str]) -> str:
    *rest, last = ids
    return f"{', '.join(rest)} or {last}" if rest else last
