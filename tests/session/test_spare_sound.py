"""Sound that its own disk does not take."""

from __future__ import annotations

import errno
from typing import TYPE_CHECKING

from tests.session.scripted import SETTINGS, ZERO_AT, Sitting, says
from voice.record import clips
from voice.record.journal import Journal

if TYPE_CHECKING:
    from pathlib import Path

    import numpy as np
    import pytest
    from numpy.typing import NDArray

    from voice.record.data_key import DataKey
    from voice.record.events import Clip

TOLD = (
    "Sound is kept in the spare folder, because of its own disk: the disk does not answer properly. "
    "Nothing is lost. Have the disk looked at after the leg."
)


def test_sound_in_the_spare_is_told_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """That a disk fails for sound, be it for a moment, is said and noted, and each clip is there."""
    leg, spare = tmp_path / "legs" / "leg", tmp_path / "spare" / "leg"
    write = clips.write

    def fails_twice(
        folder: Path, number: int, samples: NDArray[np.int16], rate_hz: int, key: DataKey | None
    ) -> Clip:
        if folder == leg and number in {1, 3}:
            raise OSError(errno.EIO, "no")
        return write(folder, number, samples, rate_hz, key)

    monkeypatch.setattr(clips, "write", fails_twice)
    journal = Journal.create(
        leg, SETTINGS, ZERO_AT, grammar_digest="g", model_digest="m", spare=spare
    )
    said = says("pressure fourteen", "confirm", "pressure fifteen")
    sitting = Sitting(tmp_path / "legs", said, journal).run()
    assert sitting.spoken.count(TOLD) == 1
    assert [one.text for one in sitting.leg().notices] == [TOLD]
    assert clips.names([spare]) == {"0002.flac", "0004.flac"}
    assert clips.names([leg]) == {"0005.flac"}
