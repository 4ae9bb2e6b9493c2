"""What tests of commands share."""

from __future__ import annotations

import pytest

from voice.session import second_listener
from voice.session.second_listener import Found


@pytest.fixture(autouse=True)
def _one_listener(monkeypatch: pytest.MonkeyPatch) -> None:
    """Commands do not load a second listener, which takes seconds."""
    monkeypatch.setattr(second_listener, "find_second", lambda *_, **__: Found(None, "It is off."))
