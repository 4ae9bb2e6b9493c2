"""The errors that reach a person."""

from __future__ import annotations


class LegbookError(Exception):
    """Something went wrong that a person can act on.

    The message is one or two whole sentences: what happened, to which entry or file, and what to
    do. It is shown and, in flight, spoken as it stands.
    """
