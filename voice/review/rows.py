"""What the page shows of a leg: a row an entry, a gap for speech of which nothing came."""

from __future__ import annotations

from datetime import datetime
from functools import lru_cache
from typing import TYPE_CHECKING, Literal, NamedTuple

from voice.entries.frozen import Frozen
from voice.entries.leg import EntryState
from voice.entries.review import Comment, DeskEnd, DeskMark, Reviewer, SignOff
from voice.report.telling import CAUTION
from voice.report.wording import entry_text
from voice.review.ending import without_end
from voice.review.need import gap_reasons, heard_reasons, reasons
from voice.review.neighbours import Neighbours

if TYPE_CHECKING:
    from collections.abc import Sequence
    from collections.abc import Set as AbstractSet

    from voice.entries.leg import Leg, LegEntry
    from voice.meaning.grammar import Grammar
    from voice.record.events import Heard
    from voice.review.heard import Sounds
    from voice.review.need import Reason


class Remark(Frozen):
    """A comment, with its time by the leg's clock."""

    at: datetime
    time: str
    by: Reviewer
    text: str


class Signature(Frozen):
    """A sign-off, with its time by the leg's clock."""

    at: datetime
    time: str
    by: Reviewer
    sounds: int
    listened_to: int
    may_teach: bool


class Row(Frozen):
    """An entry as the page lists it."""

    number: int
    written: str
    state: EntryState
    heard: str
    spoken_at: datetime
    happened_at: datetime
    time: str
    """When it happened, by the leg's clock."""
    replaces: int | None
    replaced_by: int | None
    clip: str | None
    listened: bool
    sound_gone: bool
    """Whether its sound was kept, and had to go by the programme's policy."""
    need: int
    """The higher, the sooner somebody should look; 0 says only that nothing is known against it."""
    why_look: tuple[str, ...]
    note: bool
    """Whether it is a spoken note, of which only the sound is kept."""
    written_down: str | None
    desk: DeskMark | None
    comments: tuple[Remark, ...]


class Gap(Frozen):
    """Speech of which nothing came."""

    id: int
    """Number of its event in the journal."""
    start_at: datetime
    time: str
    clip: str | None
    listened: bool
    sound_gone: bool
    """Whether its sound was kept, and had to go by the programme's policy."""
    outcome: Literal["accept", "ask", "not_understood", "not_for_us"]
    heard: str
    """The likeliest of what it may have been, be it no phrase."""
    need: int
    why_look: tuple[str, ...]
    became: tuple[int, ...]
    """Entries that were added from it at the desk."""


class Counter(Frozen):
    """How many sounds were played at the desk, of those that can be, or were before they had to go."""

    listened: int
    of: int


class ToldNotice(Frozen):
    """Trouble of the program on the leg."""

    at: datetime
    time: str
    text: str


class ToldEnd(Frozen):
    """When the leg was over."""

    time: str | None
    """By the leg's clock; ``None`` where nobody told."""
    known: str
    """Up to when something is known of it besides, by the leg's clock."""
    desk: DeskEnd | None
    """Who told at the desk; ``None`` where it was said on the leg, or nobody told."""


class View(Frozen):
    """The leg as the desk sees it."""

    leg: str
    head: int
    """Number of the journal's last event; an act tells which one it was decided on."""
    started_at: datetime
    end: ToldEnd
    utc_offset_min: int
    pressure_unit: str
    caution: str = CAUTION
    rows: tuple[Row, ...]
    gaps: tuple[Gap, ...]
    notices: tuple[ToldNotice, ...]
    comments: tuple[Remark, ...]
    counter: Counter
    sign_off: Signature | None
    """The one that stands."""
    sign_offs: tuple[Signature, ...]


class Opened(View):
    """The leg, and what else a page has to know from the start."""

    readonly: str | None
    """Why nothing can be written; ``None`` where it can."""
    who: Reviewer | None
    """Who sits there, where that was said before."""
    reasons: dict[str, tuple[str, ...]]
    """What is offered as the reason of an act, by its name."""
    damage: tuple[str, ...]
    """What is wrong with the journal, in whole sentences."""


class Viewer:
    """Makes views of one leg, again and again while it is worked on.

    What never changes of an entry (its words, what was heard, what speaks against that) is worked
    out once.
    """

    def __init__(self, grammar: Grammar) -> None:
        self._grammar = grammar
        self._fixed: dict[int, _Fixed] = {}
        self._rows: dict[int, tuple[_Changing, Row]] = {}
        self._neighbours = Neighbours()
        self._means = lru_cache(maxsize=4096)(grammar.parse)

    def view(
        self,
        leg: Leg,
        head: int,
        sounds: Sounds,
        listened: AbstractSet[str],
        dropped: AbstractSet[str],
    ) -> View:
        """The leg as it stands after event ``head``.

        ``listened`` are the clips that were played, ``dropped`` those that had to go.
        """
        played = _Played(listened, dropped)
        far = self._neighbours.far(leg.entries)
        rows = tuple(self._row(leg, entry, sounds, played, far) for entry in leg.entries)
        gaps = tuple(_gap(leg, number, event, sounds, played) for number, event in sounds.gaps())
        named = {*(row.clip for row in rows), *(gap.clip for gap in gaps)} - {None}
        clips = {clip for clip in named if clip in listened or clip not in dropped}
        return View(
            leg=leg.id,
            head=head,
            started_at=leg.started_at,
            end=_end(leg),
            utc_offset_min=leg.settings.utc_offset_min,
            pressure_unit=leg.settings.pressure_unit,
            rows=rows,
            gaps=gaps,
            notices=tuple(
                ToldNotice(at=one.at, time=clock_time(leg, one.at), text=one.text)
                for one in leg.notices
            ),
            comments=_remarks(leg, leg.comments),
            counter=Counter(listened=len(clips & listened), of=len(clips)),
            sign_off=None if leg.signed is None else _signature(leg, leg.signed),
            sign_offs=tuple(_signature(leg, one) for one in leg.sign_offs),
        )

    def _row(
        self,
        leg: Leg,
        entry: LegEntry,
        sounds: Sounds,
        played: _Played,
        far: dict[int, Reason],
    ) -> Row:
        """The row as it was last made, where nothing of it has changed."""
        changing = _Changing(
            entry,
            entry.clip in played.listened,
            entry.clip in played.dropped,
            far.get(entry.number),
        )
        made, row = self._rows.get(entry.number, (None, None))
        if row is None or changing != made:
            row = self._new_row(leg, changing, sounds)
            self._rows[entry.number] = (changing, row)
        return row

    def _new_row(self, leg: Leg, changing: _Changing, sounds: Sounds) -> Row:
        entry, listened, gone, far = changing
        fixed = self._fixed.get(entry.number)
        if fixed is None:
            fixed = self._fixed[entry.number] = self._look(leg, entry, sounds)
        look = reasons(entry, fixed.against, far)
        return Row(
            number=entry.number,
            written=fixed.written,
            state=entry.state,
            heard=entry.heard,
            spoken_at=entry.spoken_at,
            happened_at=entry.happened_at,
            time=clock_time(leg, entry.happened_at),
            replaces=entry.replaces,
            replaced_by=entry.replaced_by,
            clip=entry.clip,
            listened=listened,
            sound_gone=gone,
            need=sum(reason.weight for reason in look),
            why_look=tuple(reason.words for reason in look),
            note=entry.is_note,
            written_down=entry.written_down,
            desk=entry.desk,
            comments=_remarks(leg, entry.comments),
        )

    def _look(self, leg: Leg, entry: LegEntry, sounds: Sounds) -> _Fixed:
        heard = sounds.of(entry.spoken_at)
        against = heard_reasons(heard, entry.heard, lambda text: self._means(text, leg.settings))
        return _Fixed(written=entry_text(entry.entry), against=against)


class _Played(NamedTuple):
    """Clips that were played, and those that cannot be any more."""

    listened: AbstractSet[str]
    dropped: AbstractSet[str]


class _Changing(NamedTuple):
    """What of a row may be otherwise the next time."""

    entry: LegEntry
    listened: bool
    gone: bool
    far: Reason | None


class _Fixed(NamedTuple):
    written: str
    against: tuple[Reason, ...]


def _gap(leg: Leg, number: int, event: Heard, sounds: Sounds, played: _Played) -> Gap:
    clip = None if event.clip is None else event.clip.name
    became = tuple(sounds.added.get(clip or "", ()))
    look = gap_reasons(event, became)
    return Gap(
        id=number,
        start_at=event.start_at,
        time=clock_time(leg, event.start_at),
        clip=clip,
        listened=clip in played.listened,
        sound_gone=clip in played.dropped,
        outcome=event.decision.outcome,
        heard=event.alternatives[0].text if event.alternatives else "",
        need=sum(reason.weight for reason in look),
        why_look=tuple(reason.words for reason in look),
        became=became,
    )


def _end(leg: Leg) -> ToldEnd:
    return ToldEnd(
        time=None if leg.ended_at is None else clock_time(leg, leg.ended_at),
        known=clock_time(leg, without_end(leg).known_until or leg.started_at),
        desk=leg.desk_end,
    )


def clock_time(leg: Leg, at: datetime) -> str:
    """By the leg's clock, with the date on any other day than that of its start."""
    local = leg.local(at)
    same_day = local.date() == leg.local(leg.started_at).date()
    return f"{local:%H:%M}" if same_day else f"{local.day} {local:%B %H:%M}"


def _remarks(leg: Leg, comments: Sequence[Comment]) -> tuple[Remark, ...]:
    return tuple(
        Remark(at=one.at, time=clock_time(leg, one.at), by=one.by, text=one.text)
        for one in comments
    )


def _signature(leg: Leg, one: SignOff) -> Signature:
    return Signature(
        at=one.at,
        time=clock_time(leg, one.at),
        by=one.by,
        sounds=one.sounds,
        listened_to=one.listened_to,
        may_teach=one.may_teach,
    )
