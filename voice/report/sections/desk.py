"""What reviewers did at the desk, after the leg."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from voice.entries.review import Comment, SignOff
    from voice.report.telling import Telling


def signed(told: Telling) -> list[str]:
    """The sign-off that stands, or that none does any more; nothing where nobody signed."""
    leg = told.leg
    if leg.signed is not None:
        return [f"Signed off {_signature(told, leg.signed)}."]
    if leg.sign_offs:
        return [f"Changed after it was signed off {_signature(told, leg.sign_offs[-1])}."]
    return []


def desk(told: Telling) -> list[str]:
    """Who told of the end, every sign-off, and every remark with what it is about."""
    leg = told.leg
    about_entries = (
        f"About entry {entry.number}: {_remark(told, one)}"
        for entry in leg.entries
        for one in entry.comments
    )
    end = leg.desk_end
    return [
        *([f"End of the leg told by {end.by}, {told.time(end.at)}: {end.why}."] if end else []),
        *(f"Signed off {_signature(told, one)}." for one in leg.sign_offs),
        *(f"About the leg: {_remark(told, one)}" for one in leg.comments),
        *about_entries,
    ]


def _signature(told: Telling, one: SignOff) -> str:
    heard = f"{one.listened_to} of {one.sounds} sounds listened to"
    return f"{told.time(one.at)} by {one.by}, {heard}"


def _remark(told: Telling, one: Comment) -> str:
    return f"“{one.text}” ({one.by}, {told.time(one.at)})."
