"""The second listener with its real weights, loaded once."""

from __future__ import annotations

import pytest

from tests.hearing.conftest import acceptor_of
from voice.hearing.second.listener import WhisperModel
from voice.hearing.second.weights import find_weights


@pytest.fixture(scope="session")
def model() -> WhisperModel:
    """The network, for a few phrases."""
    return WhisperModel.open(
        find_weights(),
        acceptor_of("pressure fourteen", "pressure forty", "drain clamped", "clamped"),
        acceptor_of("e v d open", "c s f clear"),
    )
