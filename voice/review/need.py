"""What most needs a human first: reasons to look at an entry, each with a weight and in words.

The weights only bring an order into the list. An entry without a reason is one against which
nothing is known, which does not make it right: only its sound tells.

All weights and limits are common practice, no source; the leads are compared with those of
`voice.meaning.decide`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from voice.entries.heard import Stand
from voice.entries.leg import EntryState
from voice.meaning.decide import SHIPPED, Likeliest
from voice.meaning.decision import AskBetween
from voice.meaning.twins import TEN_FOR_TEEN, twin_words
from voice.review.heard import phrases, was_for_us, why
from voice.review.second import second_text

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from voice.entries.leg import LegEntry
    from voice.record.events import Heard

UNCONFIRMED = 100
NOTHING_CAME = 90
NEAR_RIVAL = 60
FAR = 50
NOT_WRITTEN_DOWN = 40
TWIN_HEARD = 45
TWIN = 25
RIVAL = 30
DIFFERED = 55
UNHEARD = 20
ASKED = 30
FAINT = 20
NO_SOUND = 15
DOSE = 10
OTHER_TALK = 5

NEAR = SHIPPED.margin
"""A rival as near as this would have been asked about."""
NOT_FAR = 2 * NEAR
FAINT_LEAD = 2 * SHIPPED.entry

DOSES = frozenset({"drug_given", "infusion_started", "infusion_changed"})
_TEENS = frozenset(TEN_FOR_TEEN)
_TENS = frozenset(TEN_FOR_TEEN.values())
_ONES = frozenset({"one", "two", "three", "four", "five", "six", "seven", "eight", "nine"})


class Reason(NamedTuple):
    """Why an entry needs a look."""

    weight: int
    words: str


def heard_reasons(
    heard: Heard | None, words: str, means: Callable[[str], object]
) -> tuple[Reason, ...]:
    """What speaks against an entry in how it was heard, as ``words``; it never changes.

    ``means`` gives what a phrase means: another wording of the same is no rival.
    """
    found: list[Reason] = []
    if has_twin(words):
        found.append(Reason(TWIN, "a teen or a ten, which sound alike"))
    if heard is None:
        return tuple(found)
    if heard.clip is None:
        found.append(Reason(NO_SOUND, "its sound was not kept"))
    if isinstance(heard.decision, AskBetween):
        found.append(Reason(ASKED, "two readings were near, and the nurse was asked"))
    likely = phrases(heard.alternatives)
    close = [one for one in likely[1:] if likely[0].score - one.score < NOT_FAR]
    meant = means(likely[0].text) if close else ()
    for rival in [one for one in close if means(one.text) != meant][:1]:
        near = likely[0].score - rival.score < NEAR
        told = f"“{rival.text}” is {'nearly as' if near else 'also'} likely"
        found.append(Reason(NEAR_RIVAL if near else RIVAL, told))
    if any(twin_words(likely[0].text, one.text) for one in likely[1:]):
        found.append(Reason(TWIN_HEARD, "teen and ten are both among what was heard"))
    second = second_text(heard)
    if heard.second is not None and heard.second.stand is Stand.DIFFERED and likely and second:
        told = f"two listeners heard “{likely[0].text}” and “{second}”"
        found.append(Reason(DIFFERED, told))
    if heard.second is not None and heard.second.stand is Stand.NOTHING:
        found.append(Reason(UNHEARD, "the second listener made out no phrase"))
    if likely and Likeliest.of(heard.alternatives).lead < FAINT_LEAD:
        found.append(Reason(FAINT, "hardly more like a phrase than like other talk"))
    return tuple(found)


def has_twin(words: str) -> bool:
    """Whether a teen, or a ten without ones, is among the words: "fifteen", "fifty", not "fifty one"."""
    listed = words.split()
    following = [*listed, ""][1:]
    return any(
        word in _TEENS or (word in _TENS and after not in _ONES)
        for word, after in zip(listed, following, strict=True)
    )


def reasons(entry: LegEntry, heard: Sequence[Reason], far: Reason | None) -> tuple[Reason, ...]:
    """Why ``entry`` needs a look, the weightiest first; none where a reviewer stands for it.

    ``heard`` comes of `heard_reasons`, ``far`` of `voice.review.neighbours`.
    """
    if not entry.counts or entry.state is EntryState.REVIEWED:
        return ()
    found = list(heard)
    if entry.is_note:
        if entry.written_down is not None:
            return ()
        found.append(Reason(NOT_WRITTEN_DOWN, "a note that nobody has written down yet"))
    elif entry.in_doubt:
        found.append(Reason(UNCONFIRMED, "never confirmed aloud"))
    if far is not None:
        found.append(far)
    if found and entry.entry.kind in DOSES:
        found.append(Reason(DOSE, "a dose"))
    return tuple(sorted(found, key=lambda reason: -reason.weight))


def gap_reasons(heard: Heard, added: Sequence[int]) -> tuple[Reason, ...]:
    """Why speech of which nothing came needs a look; none where an entry was added from it."""
    if added:
        return ()
    return (Reason(NOTHING_CAME if was_for_us(heard) else OTHER_TALK, why(heard)),)
