"""The second listener with its real weights, loaded once."""

from __future__ import annotations

import pytest

from voice.hearing.second.listener import WhisperModel
from voice.hearing.second.weights import find_weights


@pytest.fixture(scope="session")
def model() -> WhisperModel:
    """The network, for the words of a few phrases."""
    return WhisperModel.open(
        find_weights(), frozenset({"pressure", "fourteen", "forty", "drain", "clamped"})
    )
