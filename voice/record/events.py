"""What the journal holds: one frozen event for each thing that happened, in the order it happened.

Nothing is ever changed: a correction is a further entry that points to the one it replaces, and
the leg as it stands is the replay of all events (`voice.record.replay`).
"""

from __future__ import annotations

import json
from typing import Annotated, Literal

from pydantic import Field, TypeAdapter

from voice.entries.frozen import Frozen
from voice.entries.heard import Stand
from voice.entries.leg import LegSettings
from voice.entries.reminder import ReminderKey
from voice.entries.seal import Signature
from voice.meaning.decision import Decision
from voice.record.desk_events import DeskEvent
from voice.record.event_base import EventBase, Instant, PutDown

Sha256 = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
"""A SHA-256 digest in hexadecimal."""


class LegStarted(EventBase):
    """Always the first event."""

    event: Literal["leg_started"] = "leg_started"
    leg_id: str
    settings: LegSettings
    grammar_digest: str
    """Which phrases were legal."""
    model_digest: str
    """Which acoustic model heard them."""
    program_version: str


class HeardBy(EventBase):
    """A leg was gone on with: from here on these phrases and this model count."""

    event: Literal["heard_by"] = "heard_by"
    grammar_digest: str
    model_digest: str


class Clip(Frozen):
    """A stretch of kept sound, as a FLAC file in the leg's ``clips`` folder."""

    name: str = Field(pattern=r"^[0-9]{4,}\.flac$")
    sha256: Sha256
    """Of the file's bytes."""


class ScoredText(Frozen):
    """One thing that may have been said; of ``score`` only differences within a list count."""

    text: str
    score: float = Field(allow_inf_nan=False)


class SecondHeard(Frozen):
    """What a second listener made of the same sound."""

    stand: Stand
    """How that stands to what the first made of it."""
    alternatives: tuple[ScoredText, ...] = Field(default=(), max_length=5)
    """Likeliest first; their scores cannot be compared with the first listener's."""


class Heard(EventBase):
    """One stretch of speech and what was made of it, whether or not an entry came of it."""

    event: Literal["heard"] = "heard"
    start_at: Instant
    end_at: Instant
    alternatives: tuple[ScoredText, ...]
    """Likeliest first; empty where nothing was made out."""
    second: SecondHeard | None = None
    """``None`` where no second listener was asked: there was none, or it is asked about entries only."""
    decision: Annotated[Decision, Field(discriminator="outcome")]
    dialogue_state: str
    """The state of the talk in which it was heard."""
    clip: Clip | None = None
    """``None`` where the sound could not be kept."""


class Kept(PutDown):
    """An entry was taken down; it is unconfirmed until a `Confirmed` follows."""

    event: Literal["kept"] = "kept"


class Confirmed(EventBase):
    """The nurse confirmed an entry aloud."""

    event: Literal["confirmed"] = "confirmed"
    number: int


class Withdrawn(EventBase):
    """The nurse took an entry away; if it corrected another, that one stands again."""

    event: Literal["withdrawn"] = "withdrawn"
    number: int
    why: str
    """The words that took it away."""


class Together(EventBase):
    """Several entries of one breath were kept, confirmed or withdrawn: all of them, or none."""

    event: Literal["together"] = "together"
    parts: tuple[Annotated[Kept | Confirmed | Withdrawn, Field(discriminator="event")], ...] = (
        Field(min_length=2)
    )


class Reminded(EventBase):
    """A reminder was said, or the nurse acknowledged or postponed it."""

    event: Literal["reminded"] = "reminded"
    key: ReminderKey
    became: Literal["said", "acknowledged", "postponed"]
    text: str
    """The sentence that was said to her; else the words by which she answered it."""
    until: Instant | None = None
    """For how long it was postponed."""


class Noticed(EventBase):
    """Trouble of the program itself, in a whole sentence."""

    event: Literal["noticed"] = "noticed"
    text: str


class Continued(EventBase):
    """The first event of a further journal file, opened because the one before failed."""

    event: Literal["continued"] = "continued"
    why: str
    """The failure, in a whole sentence."""


class LegEnded(EventBase):
    """The leg ended; a late entry may still follow."""

    event: Literal["leg_ended"] = "leg_ended"


class SoundDropped(EventBase):
    """Kept sound is removed by the programme's policy; its hashes stay, in the events that named it."""

    event: Literal["sound_dropped"] = "sound_dropped"
    clips: tuple[str, ...] = Field(min_length=1)
    why: str
    """The policy, in a whole sentence."""


class Sealed(EventBase):
    """The leg was closed: afterwards sound may go by policy, and nothing else can be added."""

    event: Literal["sealed"] = "sealed"
    head: Sha256
    """The chain's head just before."""
    signature: Signature | None = None
    """Over that head; ``None`` where it was sealed without a key."""


Event = Annotated[
    LegStarted
    | HeardBy
    | Heard
    | Kept
    | Confirmed
    | Withdrawn
    | Together
    | Reminded
    | Noticed
    | Continued
    | LegEnded
    | DeskEvent
    | SoundDropped
    | Sealed,
    Field(discriminator="event"),
]
"""Any event; the field ``event`` tells which."""

_EVENT: TypeAdapter[Event] = TypeAdapter(Event)


def to_text(event: Event) -> str:
    """The event as canonical JSON: keys sorted, no spaces, no NaN; this text is what is hashed."""
    return json.dumps(
        event.model_dump(mode="json"),
        sort_keys=True,
        separators=(",", ":"),
        ensure_ascii=False,
        allow_nan=False,
    )


def from_text(text: str) -> Event:
    """The event that `to_text` wrote.

    Raises:
        pydantic.ValidationError: if ``text`` is no event.
    """
    return _EVENT.validate_json(text)
