"""Closing a leg for good, by a person's act after the sign-off (docs/decisions/0017-sealing.md)."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.record.errors import EventRefusedError, JournalError
from voice.record.journal import Journal

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

    from voice.entries.leg import Leg
    from voice.record.signing import SigningKey


def reason_not_to_seal(leg: Leg, *, unsigned: bool = False) -> str | None:
    """Why a leg is not to be sealed as it stands, in a whole sentence; else ``None``.

    ``unsigned``: it may be sealed though no reviewer stands for it.
    """
    if leg.ended_at is None:
        return (
            f"Leg {leg.id} has not ended, so it is not sealed. "
            f"Say when it was over with: legbook end {leg.id}"
        )
    if leg.signed is not None or unsigned:
        return None
    why = (
        "something was changed after it was signed off"
        if leg.sign_offs
        else "no reviewer has signed it off"
    )
    return (
        f"Leg {leg.id} is not sealed: {why}. "
        f"Sign it off with: legbook review {leg.id}; or seal it without, with --unsigned."
    )


def seal(
    folder: Path,
    at: datetime,
    *,
    spare: Path | None = None,
    key: SigningKey | None = None,
    unsigned: bool = False,
) -> None:
    """Seal the leg in ``folder``, and sign it with ``key``; where its file fails, in a new one.

    ``at`` is aware. Killed at any moment, the leg is sealed and signed, or neither.

    Raises:
        EventRefusedError: where it is not to be sealed.
        JournalError: where it is sealed already, damaged, busy, or cannot be written.
    """
    with Journal.open(folder, at, spare=spare) as journal:
        if reason := reason_not_to_seal(journal.leg(), unsigned=unsigned):
            raise EventRefusedError(reason)
        try:
            journal.seal(at, key)
        except JournalError:
            journal.carry_on(at)
            journal.seal(at, key)
