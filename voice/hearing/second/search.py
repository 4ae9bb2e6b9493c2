"""The likeliest legal phrases, token by token, beside what would be written without any grammar.

The decoder weighs a beam of unfinished phrases at once, all of them with as many tokens; each may go on only
with tokens that lead to a legal phrase. One more text goes its own way, always with the likeliest token: what
it reaches is what any speech reaches.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from voice.hearing.second.writings import number_words

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    from numpy.typing import NDArray

    from voice.hearing.second.network import Decoder, Sound, Told
    from voice.hearing.second.phrases import Node, Phrases, Step

BEAM = 12
"""Phrases that are gone on with at once; measured in docs/second-listener.md."""
WIDTH = 8.0
"""A phrase that is so far behind the likeliest, in natural logarithm, is given up."""
A_STEP = 0.8
"""What a phrase gains with each step, in natural logarithm: by itself Whisper likes to end too early. A step is a
word, or a whole number, so that a longer number has no more of it."""
MOST_TOKENS = 48


@dataclass(frozen=True, slots=True)
class Found:
    """A phrase, or what was written freely, with its natural log-likelihood."""

    words: tuple[str, ...]
    tokens: tuple[int, ...]
    score: float


@dataclass(frozen=True, slots=True)
class Frame:
    """The tokens that stand around and between words."""

    opening: tuple[int, ...]
    """Begin every text."""
    end: int
    marks: Collection[int] = ()
    """Say nothing."""
    stop: int = -1
    """The one of them that may stand at the end."""


class _Begun(NamedTuple):
    """A phrase that is not finished."""

    row: int
    """Which of the texts weighed last it continues."""
    token: int
    score: float
    state: int
    node: Node
    words: tuple[str, ...]
    between: bool
    """Whether it stands between words."""
    marked: bool = False


def search(
    decoder: Decoder, sound: Sound, phrases: Phrases, frame: Frame, *, most: int
) -> tuple[list[Found], Found]:
    """The likeliest ``most`` phrases, likeliest first, and what is written without a grammar.

    The free text is followed as long as phrases are; one that is not over has a greater score than it
    would have in the end.
    """
    weights, told = _opened(decoder, sound, frame)
    begun = [_Begun(0, frame.opening[-1], 0.0, 0, phrases.at(0), (), between=True, marked=True)]
    free: list[int] = []
    free_score = 0.0
    free_row: int | None = 0
    finished: dict[tuple[str, ...], float] = {}
    figures = list(phrases.figures)
    for _ in range(MOST_TOKENS):
        for words, score in _endings(begun, weights, phrases, frame):
            # writings of one phrase that differ in length: as likely as all of them together
            finished[words] = float(np.logaddexp(score, finished.get(words, -math.inf)))
        if free_row is not None:
            likeliest = int(weights[free_row].argmax())
            free.append(likeliest)
            free_score += float(weights[free_row, likeliest])
            if likeliest == frame.end:
                free_row = None
        begun = _best(_continued(begun, weights, phrases, figures, frame), finished, most)
        if not begun:
            break
        rows = [one.row for one in begun]
        last = [one.token for one in begun]
        if free_row is not None:
            rows.append(free_row)
            last.append(free[-1])
            free_row = len(begun)
        begun = [one._replace(row=row) for row, one in enumerate(begun)]
        weights, told = decoder.weigh(last, sound, told.of(rows))
    found = [Found(words, (), score) for words, score in finished.items()]
    found.sort(key=lambda one: -one.score)
    return found[:most], Found((), tuple(free), free_score)


def _opened(decoder: Decoder, sound: Sound, frame: Frame) -> tuple[NDArray[np.float32], Told]:
    """What is weighed after the tokens that every text begins with."""
    first, *others = frame.opening
    weights, told = decoder.weigh([first], sound)
    for token in others:
        weights, told = decoder.weigh([token], sound, told)
    return weights, told


def _endings(
    begun: list[_Begun], weights: NDArray[np.float32], phrases: Phrases, frame: Frame
) -> Iterator[tuple[tuple[str, ...], float]]:
    for one in begun:
        over = one.between and (not one.marked or one.token == frame.stop)
        if over and one.words and one.state in phrases.finals:
            yield (
                one.words,
                one.score + float(weights[one.row, frame.end]) - phrases.finals[one.state],
            )


def _continued(
    begun: list[_Begun],
    weights: NDArray[np.float32],
    phrases: Phrases,
    figures: list[int],
    frame: Frame,
) -> Iterator[_Begun]:
    for one in begun:
        of_row = weights[one.row]
        for token, node in one.node.after.items():
            score = one.score + float(of_row[token])
            if node.after:
                yield one._replace(token=token, score=score, node=node, between=False, marked=False)
            for step in node.ended:
                yield _after(one, token, score, step, phrases)
        if one.between and not one.marked:
            for mark in frame.marks:
                score = one.score + float(of_row[mark])
                yield one._replace(token=mark, score=score, marked=True)
        if one.between:
            likely = of_row[figures]
            for n in np.flatnonzero(likely > of_row.max() - WIDTH):
                said = phrases.said(one.state, phrases.figures[figures[n]])
                if said is not None:
                    yield _after(one, figures[n], one.score + float(likely[n]), said, phrases)


def _after(one: _Begun, token: int, score: float, step: Step, phrases: Phrases) -> _Begun:
    words = (*one.words, *step.words)
    root = phrases.at(step.target)
    gained = A_STEP * _steps(one.words, step.words) - step.cost
    return _Begun(one.row, token, score + gained, step.target, root, words, between=True)


def _steps(before: tuple[str, ...], words: tuple[str, ...]) -> int:
    """How many of ``words`` do not go on with a number that has begun."""
    numbers = number_words()
    along = pairwise((*(before[-1:] or ("",)), *words))
    return sum(one not in numbers or other not in numbers for one, other in along)


def _best(
    begun: Iterator[_Begun], finished: dict[tuple[str, ...], float], most: int
) -> list[_Begun]:
    """Those that are worth going on with."""
    writings: dict[tuple[tuple[str, ...], int, bool], _Begun] = {}
    for one in begun:
        # of several writings of the same words only the likeliest goes on
        key = (one.words, id(one.node), one.marked)
        if key not in writings or writings[key].score < one.score:
            writings[key] = one
    best = sorted(writings.values(), key=lambda one: -one.score)[:BEAM]
    over = sorted(finished.values(), reverse=True)[:most]
    least = max([one.score for one in best[:1]] + over[:1], default=0.0) - WIDTH
    if len(over) == most:
        least = max(least, over[-1])
    return [one for one in best if one.score > least]
