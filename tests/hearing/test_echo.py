"""Our own voice is taken out of what is heard, and nobody else's."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import pytest

from voice.entries.heard import SAMPLE_RATE, Block
from voice.hearing.echo import EchoCanceller

if TYPE_CHECKING:
    from numpy.typing import NDArray

RNG = np.random.default_rng(7)
DELAY = 1500
"""Samples from the speaker to the microphone: 94 ms."""


@dataclass
class Known:
    """What is played, from the place 0 on, which was handed over at 0 s."""

    sound: NDArray[np.int16]
    handing: bool = True

    def place_of(self, at_s: float) -> int | None:
        """Samples since 0 s."""
        return round(at_s * SAMPLE_RATE) if self.handing else None

    def played(self, first: int, count: int) -> NDArray[np.int16]:
        """The sound with silence around it."""
        around = np.zeros(8 * SAMPLE_RATE, dtype=np.int16)
        padded = np.concatenate((around, self.sound, around))
        return padded[first + len(around) :][:count]


def speech(duration_s: float) -> NDArray[np.float64]:
    """Noise that swells and falls as syllables do."""
    at_s = np.arange(round(duration_s * SAMPLE_RATE // 512 * 512)) / SAMPLE_RATE
    swell = np.clip(np.sin(2 * np.pi * 3 * at_s + RNG.uniform(0, 6)), 0, 1)
    return np.asarray(2500 * swell * np.convolve(RNG.standard_normal(len(at_s)), [1, 0.6], "same"))


def echo_of(played: NDArray[np.float64], level: float) -> NDArray[np.float64]:
    """As it comes back from a small cabin."""
    at = np.arange(800)
    walls = RNG.standard_normal(800) * np.exp(-at / 200) * 0.2
    walls[0] = 1
    late = np.concatenate((np.zeros(DELAY), np.convolve(played, walls)))
    return np.asarray(level * late[: len(played)])


def cleaned(canceller: EchoCanceller, heard: NDArray[np.float64], size: int = 512) -> list[Block]:
    """All blocks that come out when ``heard`` goes in."""
    samples = np.clip(np.rint(heard), -32768, 32767).astype(np.int16)
    return [
        canceller.clean(Block(first / SAMPLE_RATE, samples[first : first + size]))
        for first in range(0, len(samples), size)
    ]


def joined(blocks: list[Block]) -> NDArray[np.float64]:
    """Their sound."""
    return np.concatenate([block.samples for block in blocks]).astype(np.float64)


def level_db(sound: NDArray[np.float64]) -> float:
    """Mean power, in dB."""
    return float(10 * np.log10((sound**2).mean() + 1))


@pytest.mark.parametrize("level", [0.01, 0.1, 1.0])
def test_our_voice_is_taken_out(level: float) -> None:
    """After three seconds an echo, faint or as loud as it was played, is 20 dB fainter or at the last bit."""
    played = speech(8)
    heard = echo_of(played, level)
    canceller = EchoCanceller(Known(played.astype(np.int16)))
    left = joined(cleaned(canceller, heard))
    late = slice(3 * SAMPLE_RATE, None)
    assert level_db(left[late]) < max(level_db(heard[late]) - 20, 6)
    assert canceller.learned


def test_another_voice_stays() -> None:
    """What somebody says over our voice, as loud as its echo, comes out as it was said."""
    played, said = speech(5), np.zeros(5 * SAMPLE_RATE // 512 * 512)
    said[3 * SAMPLE_RATE : 4 * SAMPLE_RATE] = speech(1.1)[:SAMPLE_RATE]
    canceller = EchoCanceller(Known(played.astype(np.int16)))
    left = joined(cleaned(canceller, echo_of(played, 0.5) + said))
    over = slice(3 * SAMPLE_RATE, 4 * SAMPLE_RATE)
    assert level_db(left[over] - said[over]) < level_db(said[over]) - 7


def test_while_nothing_plays_nothing_is_changed() -> None:
    """Without sound of our own, or before it is known what is played, blocks come out as they came."""
    heard = speech(1)
    for known in (Known(np.zeros(0, np.int16)), Known(speech(1).astype(np.int16), handing=False)):
        canceller = EchoCanceller(known)
        assert np.array_equal(joined(cleaned(canceller, heard)), np.rint(heard))
        assert not canceller.learned


def test_blocks_of_any_length_keep_their_time() -> None:
    """Blocks that are no whole frames come out one after the other, and less than a frame late."""
    played = speech(2)
    heard = echo_of(played, 0.3)
    blocks = cleaned(EchoCanceller(Known(played.astype(np.int16))), heard, size=441)
    assert blocks[0].start_s == 0
    for before, after in pairwise(blocks):
        assert after.start_s == pytest.approx(before.end_s, abs=1e-9)
    assert len(heard) / SAMPLE_RATE - blocks[-1].end_s < 0.032


def test_after_a_gap_it_learns_anew() -> None:
    """Where sound was lost the way is not known any more, until enough was played again."""
    played = speech(9)
    samples = echo_of(played, 0.3).astype(np.int16)
    canceller = EchoCanceller(Known(played.astype(np.int16)))
    cleaned(canceller, echo_of(played, 0.3)[:128_000])
    assert canceller.learned
    canceller.clean(Block(8.5, samples[136_000:136_512]))
    assert not canceller.learned


@dataclass
class Reopened(Known):
    """A speaker that is opened anew: places count on, and what is handed over is heard earlier or later."""

    from_place: int = 0
    earlier: int = 0

    def place_of(self, at_s: float) -> int | None:
        """As before, and then a second further."""
        place = round(at_s * SAMPLE_RATE)
        return place + SAMPLE_RATE if place > self.from_place else place

    def played(self, first: int, count: int) -> NDArray[np.int16]:
        """A second of what was handed over was never heard."""
        later = first - SAMPLE_RATE + self.earlier if first > self.from_place + 2000 else first
        return super().played(later, count)


@pytest.mark.parametrize("earlier", [-1100, 320, 1100])
def test_a_way_whose_delay_has_changed_is_found_again_at_once(earlier: int) -> None:
    """After a jump half a second of our own voice is enough, not four; and then as much is taken out as before."""
    played = speech(11)
    heard = echo_of(played, 0.3)
    jump = 8 * SAMPLE_RATE // 512 * 512
    known = Reopened(played.astype(np.int16), from_place=jump, earlier=earlier)
    canceller = EchoCanceller(known)
    cleaned(canceller, heard[:jump])
    first = jump
    while (not canceller.learned or first == jump) and first < len(heard):
        samples = np.rint(heard[first : first + 512]).astype(np.int16)
        canceller.clean(Block(first / SAMPLE_RATE, samples))
        first += 512
    assert first - jump < 0.6 * SAMPLE_RATE
    after = slice(first, first + SAMPLE_RATE)
    left = joined(
        [
            canceller.clean(Block(at / SAMPLE_RATE, np.rint(heard[at : at + 512]).astype(np.int16)))
            for at in range(after.start, after.stop, 512)
        ]
    )
    assert level_db(left) < level_db(heard[after]) - 15


def test_another_way_is_not_taken_for_the_one_that_was_known() -> None:
    """Where the room is another after the jump, it is learned as if none had been known."""
    played = speech(11)
    jump = 8 * SAMPLE_RATE // 512 * 512
    heard = np.concatenate((echo_of(played, 0.3)[:jump], echo_of(-speech(11), 0.3)[jump:]))
    canceller = EchoCanceller(Reopened(played.astype(np.int16), from_place=jump, earlier=320))
    cleaned(canceller, heard[:jump])
    assert canceller.learned
    for first in range(jump, jump + SAMPLE_RATE, 512):
        samples = np.rint(heard[first : first + 512]).astype(np.int16)
        canceller.clean(Block(first / SAMPLE_RATE, samples))
        assert not canceller.learned
