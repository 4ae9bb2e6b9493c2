"""What can go wrong between this machine and a programme's database."""

from __future__ import annotations

from voice.entries.errors import LegbookError


class CollectError(LegbookError):
    """A leg was not sent, or a report not made; the legs of this machine are untouched."""
