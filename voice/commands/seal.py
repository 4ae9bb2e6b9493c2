"""Legs that are closed for good: sealing them, and what is told of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.commands.which_leg import kept_legs
from voice.record.errors import JournalError
from voice.record.places import legs_root
from voice.record.sealing import reason_not_to_seal, seal
from voice.record.shelf import spare_folder, verify
from voice.record.signing import fingerprint

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime
    from pathlib import Path

    from voice.entries.leg import Leg
    from voice.entries.seal import Seal
    from voice.record.shelf import KeptLeg, Verdict
    from voice.record.signing import SigningKey


def seal_leg(
    folder: Path, now: datetime, key: SigningKey | None = None, *, unsigned: bool = False
) -> str:
    """Seal the leg in ``folder``, and say so, and what is wrong with its sound; raises as `voice.record.sealing.seal`."""
    spare = spare_folder(folder)
    seal(folder, now, spare=spare, key=key, unsigned=unsigned)
    signed = f", signed with the key of {key.owner}" if key else ""
    told = f"Leg {folder.name} is sealed{signed}. Nothing more can be added to it."
    findings = verify(folder, spare).findings
    return (
        " ".join((told, "But not all of it is as it was written:", *findings)) if findings else told
    )


def seal_all(now: datetime, key: SigningKey | None = None) -> Iterator[str]:
    """Seal every leg for which a reviewer stands, and say so; one that fails, or cannot be read, is told and stops no other."""
    for one in kept_legs():
        if one.sealed or (one.leg is not None and reason_not_to_seal(one.leg)):
            continue
        if one.findings:
            yield f"Leg {one.id} is not sealed: {one.findings[0]}"
            continue
        try:
            yield seal_leg(legs_root() / one.id, now, key)
        except JournalError as error:
            yield f"Leg {one.id}: {error}"


def told_seal(leg: Leg, seal: Seal | None) -> str:
    """How a leg was closed, in a whole sentence."""
    if seal is None:
        return "It is not sealed: more can be added to it."
    told = f"It was sealed at {leg.local(seal.at):%Y-%m-%d %H:%M}, with {seal.events} events"
    if seal.signature is None:
        return f"{told}, and not signed with a key."
    return (
        f"{told}, and signed with the key of {seal.signature.by}, "
        f"{fingerprint(seal.signature.key)}."
    )


def told_sign_off(leg: Leg) -> str:
    """Whether a reviewer stands for a leg, in a whole sentence."""
    if leg.signed is not None:
        return f"{leg.signed.by}, signed it off at {leg.local(leg.signed.at):%Y-%m-%d %H:%M}."
    if leg.sign_offs:
        return "It was signed off, and something was changed since: a new sign-off is needed."
    return "No reviewer has signed it off."


def signed_off_by(leg: Leg) -> str:
    """The same in few words, for a list."""
    if leg.signed is not None:
        return leg.signed.by.name
    return "no longer" if leg.sign_offs else "not yet"


def state_of(one: KeptLeg) -> str:
    """How the record of a leg stands, in few words, for a list."""
    if one.locked:
        return "locked"
    if one.findings:
        return "damaged"
    if one.seal is None:
        return "as written"
    return "sealed, signed" if one.seal.signature else "sealed"


def told_verdict(verdict: Verdict, key: str | None) -> Iterator[str]:
    """What is told of sign-off, seal and signature of a leg that is as it was written.

    ``key`` is the public key by which that was checked, if there was one.
    """
    if verdict.leg is None:
        return
    yield told_sign_off(verdict.leg)
    yield told_seal(verdict.leg, verdict.seal)
    signature = verdict.seal.signature if verdict.seal else None
    if signature is not None and key is None:
        yield "The signature holds. That the key is the owner's, only --key with the owner's public key tells."
    elif signature is not None:
        yield "The signature holds, and it is of the key that was given."
