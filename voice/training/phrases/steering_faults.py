"""Phrases that come too near to the words by which an entry is kept or taken back."""

from __future__ import annotations

from itertools import product
from typing import TYPE_CHECKING

from voice.entries.said import Talk
from voice.training.phrases.faults import Fault, Sort
from voice.training.phrases.frames import frames, spoken
from voice.training.phrases.phone_distance import distance

if TYPE_CHECKING:
    from collections.abc import Iterator

    from voice.acoustics.lexicon_file import Lexicon
    from voice.meaning.grammar import Grammar
    from voice.meaning.phrase import Phrase

_DECIDING = {Talk.CONFIRM, Talk.SCRATCH_THAT}
NEAR = 1.5
"""Words nearer than this to a deciding one are told: farther than other wordings, for more is lost. No source."""


def steering_faults(phrase: Phrase, grammar: Grammar, line: int | None) -> Iterator[Fault]:
    """What would confirm but "confirm" itself, and an entry that swallows a word that keeps or takes back."""
    if phrase.talk is Talk.CONFIRM:
        for frame in frames(phrase):
            if frame.tokens != ("confirm",):
                text = (
                    f'"{frame.text}" would confirm. Crews say such words to each other, and an entry would be '
                    'kept that nobody has listened to: nothing but "confirm" does.'
                )
                yield Fault(Sort.CONFIRMS, phrase.file, line, text)
                return
    if phrase.entry is None:
        return
    words = {f.tokens for p in grammar.phrases if p.talk in _DECIDING for f in frames(p)}
    for frame in frames(phrase):
        for told in words:
            if any(frame.tokens[at : at + len(told)] == told for at in range(len(frame.tokens))):
                yield Fault(
                    Sort.SWALLOWS,
                    phrase.file,
                    line,
                    f'"{frame.text}" has "{" ".join(told)}" in it, by which an entry is kept or taken back: '
                    "said in one breath it would be a new entry instead. Take another word.",
                )
                return


def like_steering(
    phrase: Phrase, grammar: Grammar, lexicon: Lexicon, line: int | None
) -> Iterator[Fault]:
    """An entry with words in it that sound like one that keeps or takes back: the nearest."""
    if phrase.entry is None:
        return
    known = {f.tokens for p in grammar.phrases if p.talk in _DECIDING for f in frames(p)}
    near = []
    for told in known:
        parts = {
            frame.tokens[at : at + len(told)]: frame.text
            for frame in frames(phrase)
            for at in range(len(frame.tokens) - len(told) + 1)
        }
        for part, text in parts.items():
            ways = product(spoken(part, lexicon), spoken(told, lexicon))
            far = min(distance(one, other, NEAR) for one, other in ways)
            if part != told and far <= NEAR:
                near.append((far, " ".join(part), " ".join(told), text))
    for far, words, deciding, text in sorted(near)[:1]:
        shown = (
            f'"{words}" in "{text}" and "{deciding}" are {far:.1f} apart: where one is heard as the other, an '
            "entry is kept or taken back that nobody meant, or is not."
        )
        yield Fault(Sort.SOUNDS_ALIKE, phrase.file, line, shown, far)
