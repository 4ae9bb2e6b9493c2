"""Where sound comes from, whatever it is."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

from voice.entries.errors import LegbookError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from voice.entries.heard import Block


class SourceError(LegbookError):
    """Sound stopped coming; asking the source for its blocks again goes on where that can be."""


class Source(Protocol):
    """A stream of sound on its own monotonic clock, which starts near 0."""

    def blocks(self) -> Iterator[Block]:
        """Mono blocks at 16 kHz, in order; a gap in their times tells of lost or skipped sound.

        Raises ``SourceError`` when sound stops coming. Called again, it goes on: the microphone
        is opened anew, recordings go on with the next file. Times go on, too.
        """
