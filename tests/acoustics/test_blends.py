"""Which voices go into the speakers that nobody is."""

from __future__ import annotations

import random
from typing import TYPE_CHECKING

import numpy as np
import pytest

from voice.acoustics.blends import blended, may_be_mixed, styles

if TYPE_CHECKING:
    from pathlib import Path


@pytest.mark.parametrize(
    ("voice", "expected"),
    [
        ("jf_alpha", False),  # a stranger
        ("am_michael", False),  # kept out for tests
        ("zf_xiaobei", False),  # to choose between trainings by
        ("zf_xiaoni", True),
        ("af_bella", True),
    ],
)
def test_no_voice_of_a_test_is_mixed(voice: str, expected: bool) -> None:
    """A voice that any test hears goes into no blend."""
    assert may_be_mixed(voice) is expected


def test_a_blend_is_made_of_the_vectors_for_its_length(tmp_path: Path) -> None:
    """A seed gives one speaker, another seed another, and a text's length chooses the vectors."""
    for name, value in (("one", 1.0), ("two", 2.0), ("three", 4.0)):
        vectors = np.stack([np.full(256, value), np.full(256, 100 * value)])
        vectors.astype(np.float32).tofile(tmp_path / f"{name}.bin")
    voices = styles(tmp_path)
    short, again = (blended(voices, 1, random.Random(3)) for _ in range(2))
    assert np.array_equal(short, again)
    assert not np.array_equal(short, blended(voices, 1, random.Random(4)))
    assert np.allclose(blended(voices, 2, random.Random(3)), 100 * short, rtol=1e-4)
    timbre, manner = short[:128], short[128:]
    assert np.ptp(timbre) < 1e-4 > np.ptp(manner)
    assert not np.isclose(timbre[0], manner[0])
