"""What is trained on: utterances with their pronunciations and with what is easily heard instead."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING

import torch

from voice.acoustics.competitors import phones_of
from voice.acoustics.features import SAMPLE_RATE
from voice.acoustics.topology import OUTPUT

if TYPE_CHECKING:
    import random
    from collections.abc import Iterable, Iterator, Sequence

    from voice.acoustics.competitors import Competitors
    from voice.acoustics.corpus import Utterance
    from voice.acoustics.lexicon import Lexicon, Pronunciation
    from voice.acoustics.taken_for import Misheard

REPEATS = {
    "human-speech_commands": 2.0,
    "human-fsdd": 1.5,
    "human-librispeech": 4.0,
    "human-wuw2": 2.0,
    "synthetic-neural": 1.5,
    "synthetic-blends": 1.5,
}
"""How often an utterance of a set is used in one round; the others once. People outweigh voices."""
COMPETITOR_POOL = 6
"""Competitors kept for an utterance."""
BATCH_S = 900.0
BATCH_MOST = 320
"""A batch holds at most so many seconds, padding included, and so many utterances."""
PRONUNCIATIONS_MOST = 8
LONGEST_S = 16.0
_BATCH_STEP = 32
"""Batches have whole numbers of these rows: each new shape costs planning time."""
_MIN_STEP_S = 0.03
"""One output covers so much time; an utterance must have more of them than phones."""


@dataclass(slots=True)
class Examples:
    """What is trained on, as tensors: one row for each utterance."""

    start: torch.Tensor
    samples: torch.Tensor
    spoken: list[list[torch.Tensor]]
    """All pronunciations of each utterance, as outputs of the network."""
    phones: list[torch.Tensor]
    """The pronunciation in use."""
    rivals: list[list[torch.Tensor]]
    repeats: torch.Tensor
    talk: torch.Tensor
    """True for speech that is no command; it may have no phones, and is then there for its rivals alone."""

    def __len__(self) -> int:
        return len(self.phones)


def outputs_of(phones: Sequence[str]) -> torch.Tensor:
    """Phones as outputs of the network."""
    return torch.tensor([OUTPUT[phone] for phone in phones], dtype=torch.long)


def pronunciations(
    words: Sequence[Sequence[Pronunciation]], rng: random.Random
) -> dict[Pronunciation, None]:
    """Some ways to say a row of words, each given with its pronunciations.

    The commonest of every word first, then the last of every word (the British one, where there is
    one), then mixtures.
    """
    ways = [[spoken[0] for spoken in words], [spoken[-1] for spoken in words]]
    ways += [list(map(rng.choice, words)) for _ in range(PRONUNCIATIONS_MOST - len(ways))]
    return dict.fromkeys(tuple(itertools.chain(*way)) for way in ways)


def prepare(
    utterances: Sequence[Utterance],
    lexicon: Lexicon,
    rivals: Competitors,
    rng: random.Random,
    misheard: Iterable[Misheard] = (),
) -> Examples:
    """Look up pronunciations and draw competitors; leave out what cannot be trained on.

    ``misheard`` are competitors that were heard; those of talk are its only ones, and pieces of talk
    become rows of their own.
    """
    heard = {(m.start, m.samples): m for m in misheard}
    rows = []
    for u in utterances:
        words = u.text.split()
        length_s = u.samples / SAMPLE_RATE
        if length_s > LONGEST_S or not words or not all(word in lexicon for word in words):
            continue
        spoken = pronunciations([lexicon[word] for word in words], rng)
        if min(map(len, spoken)) * _MIN_STEP_S > 0.85 * length_s:
            continue
        taken_for = heard.pop((u.start, u.samples), None)
        others = {} if taken_for is None else _phones(taken_for, lexicon, rng)
        talk = taken_for is not None and taken_for.talk
        for _ in range(0 if talk else COMPETITOR_POOL):
            rival = rivals.draw(u.text, rng)
            if rival and (phones := phones_of(rival, lexicon, rng)):
                others[phones] = None
        kept = [outputs_of(phones) for phones in others if phones not in spoken]
        repeats = next((r for name, r in REPEATS.items() if u.set.startswith(name)), 1.0)
        rows.append((u.start, u.samples, list(map(outputs_of, spoken)), kept, repeats, talk))
    for m in heard.values():
        if m.talk and (others := _phones(m, lexicon, rng)):
            kept = [outputs_of(phones) for phones in others]
            rows.append((m.start, m.samples, [outputs_of(())], kept, 1.0, True))
    start, samples, spoken_ways, rival_phones, repeated, is_talk = zip(*rows, strict=True)
    return Examples(
        start=torch.tensor(start),
        samples=torch.tensor(samples),
        spoken=list(spoken_ways),
        phones=[ways[0] for ways in spoken_ways],
        rivals=list(rival_phones),
        repeats=torch.tensor(repeated),
        talk=torch.tensor(is_talk),
    )


def _phones(misheard: Misheard, lexicon: Lexicon, rng: random.Random) -> dict[Pronunciation, None]:
    """The phones of the phrases that were heard, where they fit into the time."""
    fitting = int(0.85 * misheard.samples / SAMPLE_RATE / _MIN_STEP_S)
    found: dict[Pronunciation, None] = {}
    for phrase in misheard.phrases:
        words = phrase.split()
        if all(word in lexicon for word in words):
            found |= pronunciations([lexicon[word] for word in words], rng)
    return {phones: None for phones in found if len(phones) <= fitting}


def batches(examples: Examples) -> Iterator[torch.Tensor]:
    """One round through the examples in random batches of about equal length."""
    whole = examples.repeats.floor()
    again = torch.rand(len(examples)) < examples.repeats - whole
    order = torch.repeat_interleave(torch.arange(len(examples)), (whole + again).long())
    jittered = examples.samples[order] + torch.rand(len(order)) * SAMPLE_RATE
    order = order[jittered.argsort()]
    made, first = [], 0
    while first < len(order):
        seconds = int(examples.samples[order[first]]) / SAMPLE_RATE + 0.5
        size = max(1, min(BATCH_MOST, int(BATCH_S / seconds)) // _BATCH_STEP) * _BATCH_STEP
        made.append(order[first : first + size])
        first += size
    if len(made) > 1:
        made.pop()  # of odd size
    yield from (made[place] for place in torch.randperm(len(made)).tolist())
