"""Whether psycopg is there: it is no part of what legbook runs with, since no leg needs it."""

from __future__ import annotations

from voice.collect.errors import CollectError


def need_driver() -> None:
    """Raise `CollectError`, with the way to it, where psycopg is not installed."""
    try:
        import psycopg  # noqa: F401, PLC0415 - is there only where it was asked for
    except ImportError:
        raise CollectError(
            "Collecting needs psycopg, which legbook does not bring along. Install it with: "
            '.venv/bin/pip install "psycopg[binary]". No leg needs it.'
        ) from None
