"""A machine of its own for every test, and the tiny model as if it came from elsewhere."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.hearing.tiny_model.build import lay_out

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path


@pytest.fixture(autouse=True)
def home(tmp_path: Path, move_in: Callable[[Path], Path], monkeypatch: pytest.MonkeyPatch) -> Path:
    """A machine on which there is nothing yet."""
    monkeypatch.setenv("COLUMNS", "200")
    return move_in(tmp_path / "home")


@pytest.fixture
def elsewhere(tmp_path: Path) -> Path:
    """The folder of a model that may be harmed, called "tiny"."""
    return lay_out(tmp_path / "elsewhere" / "tiny")
