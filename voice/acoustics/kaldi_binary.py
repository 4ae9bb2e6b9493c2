"""Kaldi's binary form of the few things a model file is made of.

Source: Kaldi, ``base/io-funcs.h`` and ``matrix/kaldi-matrix.cc``; all numbers little-endian.
"""

from __future__ import annotations

import struct
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable
    from typing import BinaryIO

    from numpy.typing import NDArray


class KaldiWriter:
    """Writes tokens and numbers, one after another, to an open binary file."""

    def __init__(self, file: BinaryIO) -> None:
        self._file = file
        file.write(b"\0B")

    def token(self, *names: str) -> None:
        """A word such as ``<Nnet3>``, each with the space that ends it."""
        for name in names:
            self._file.write(name.encode() + b" ")

    def line(self, text: str = "") -> None:
        """A line of plain text."""
        self._file.write(text.encode() + b"\n")

    def integer(self, value: int) -> None:
        """A 32-bit integer."""
        self._file.write(struct.pack("<bi", 4, value))

    def real(self, value: float) -> None:
        """A 32-bit real number."""
        self._file.write(struct.pack("<bf", 4, value))

    def integers(self, values: Iterable[int]) -> None:
        """A list of 32-bit integers."""
        array = np.fromiter(values, dtype="<i4")
        self._file.write(struct.pack("<bi", 4, len(array)) + array.tobytes())

    def vector(self, values: NDArray[np.floating]) -> None:
        """A vector of 32-bit reals."""
        self.token("FV")
        self.integer(len(values))
        self._file.write(values.astype("<f4").tobytes())

    def matrix(self, values: NDArray[np.floating]) -> None:
        """A matrix of 32-bit reals, row by row."""
        self.token("FM")
        self.integer(values.shape[0])
        self.integer(values.shape[1])
        self._file.write(np.ascontiguousarray(values, dtype="<f4").tobytes())
