"""The end of a leg: its summary, with the seal of its journal, is left in its folder."""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING

from voice.entries.errors import LegbookError
from voice.meaning.handoff import load_needs
from voice.record.durable import replace_file
from voice.record.proof import code
from voice.record.protection import lock_of
from voice.record.reading import leg_folders
from voice.record.shelf import head_of, leave, load_until, spare_folder
from voice.report.summary import summary_text
from voice.session.own_phrases import handoff_lists

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime
    from pathlib import Path

SUMMARY = "summary.txt"


class SummaryError(LegbookError):
    """The summary cannot be written; the journal has all that it would say."""


def summary_of(folder: Path, now: datetime) -> str:
    """The summary of the leg in ``folder`` as it stands, and at its foot the journal's seal.

    Whoever holds the summary can tell by it that events were cut off the end later, or that the whole
    folder was put back to an earlier state: nothing inside the folder tells of that.

    :param now: an aware time, up to which a leg that goes on counts.
    :raises JournalError: where nothing can be read of the leg.
    :raises GrammarError: where the programme's list for a handoff cannot be read.
    """
    spare = spare_folder(folder)
    head = head_of(folder, spare)
    leg, until = load_until(folder, now, spare)
    return (
        f"{summary_text(leg, until, load_needs(*handoff_lists()))}\n\n"
        f'The journal\n  {head.number} events. "legbook verify {folder.name} --code CODE" proves it by '
        f"this code:\n    {code(head)}\n  Its whole seal:\n    {head.hash}"
    )


def write_summary(folder: Path, now: datetime, file: Path | None = None) -> str:
    """Write the summary of the leg in ``folder`` as it stands, and return it.

    :param now: an aware time, up to which a leg that goes on counts.
    :param file: where to; else it is left in the leg's folder (`leave_summary`).
    :raises JournalError: where nothing can be read of the leg.
    :raises SummaryError: where the file cannot be written.
    """
    text = summary_of(folder, now)
    if file is None:
        leave_summary(folder, text)
    else:
        with _writing(folder, file):
            replace_file(file, _content(text))
    return text


def may_leave(folder: Path) -> bool:
    """Whether a summary is left unasked: of a protected leg nothing is written in clear."""
    return lock_of(leg_folders(folder, spare_folder(folder))) is None


def leave_summary(folder: Path, text: str, name: str = SUMMARY) -> Path | None:
    """Leave a summary of the leg in its folder, or in its spare, and say where.

    Of a protected leg nothing is written in clear unasked: ``None``.

    :raises SummaryError: where neither can be written.
    """
    if not may_leave(folder):
        return None
    with _writing(folder, folder / name):
        return leave(folder, name, _content(text))


def _content(text: str) -> bytes:
    return f"{text}\n".encode()


@contextmanager
def _writing(folder: Path, file: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise SummaryError(
            f"The summary cannot be written to {file} ({error.strerror}). "
            f"The leg itself is safe: show it with: legbook summary {folder.name}"
        ) from error
