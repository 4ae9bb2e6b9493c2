"""Where legs are kept."""

from __future__ import annotations

import os
from pathlib import Path

import platformdirs


def legs_root() -> Path:
    """Where legs are kept: under LEGBOOK_HOME where it is set, else with the user's own data."""
    home = os.environ.get("LEGBOOK_HOME")
    return (Path(home) if home else platformdirs.user_data_path("legbook")) / "legs"


def spare_root() -> Path | None:
    """Where legs go on when their own disk fails: under LEGBOOK_SPARE; ``None`` where it is not set.

    It has to lie on another disk to be of use.
    """
    spare = os.environ.get("LEGBOOK_SPARE")
    return Path(spare) / "legs" if spare else None
