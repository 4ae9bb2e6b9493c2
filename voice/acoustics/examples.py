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
    from collections.abc import Iterator, Sequence

    from voice.acoustics.competitors import Competitors
    from voice.acoustics.corpus import Utterance
    from voice.acoustics.lexicon import Lexicon, Pronunciation

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

    def __len__(self) -> int:
        return len(self.phones)


def outputs_of(phones: Sequence[str]) -> torch.Tensor:
    """Phones as outputs of the network."""
    return torch.tensor([OUTPUT[phone] for phone in phones])


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
    utterances: Sequence[Utterance], lexicon: Lexicon, rivals: Competitors, rng: random.Random
) -> Examples:
    """Look up pronunciations and draw competitors; leave out what cannot be trained on."""
    rows = []
    for u in utterances:
        words = u.text.split()
        length_s = u.samples / SAMPLE_RATE
        if length_s > LONGEST_S or not all(word in lexicon for word in words):
            continue
        spoken = pronunciations([lexicon[word] for word in words], rng)
        if min(map(len, spoken)) * _MIN_STEP_S > 0.85 * length_s:
            continue
        others = set()
        for _ in range(COMPETITOR_POOL):
            rival = rivals.draw(u.text, rng)
            if rival and (phones := phones_of(rival, lexicon, rng)) and phones not in spoken:
                others.add(phones)
        repeats = next((r for name, r in REPEATS.items() if u.set.startswith(name)), 1.0)
        rows.append(
            (u, list(map(outputs_of, spoken)), list(map(outputs_of, sorted(others))), repeats)
        )
    return Examples(
        start=torch.tensor([u.start for u, *_ in rows]),
        samples=torch.tensor([u.samples for u, *_ in rows]),
        spoken=[spoken for _, spoken, *_ in rows],
        phones=[spoken[0] for _, spoken, *_ in rows],
        rivals=[others for _, _, others, _ in rows],
        repeats=torch.tensor([repeats for *_, repeats in rows]),
    )


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
