from __future__ import annotations

import pytest

from voice.review.part_of_file import as_asked

CONTENT = b"0123456789"


@pytest.mark.parametrize(
    ("asked", "status", "body", "told"),
    [
        (None, 200, CONTENT, None),
        ("bytes=0-", 206, CONTENT, "bytes 0-9/10"),
        ("bytes=0-1", 206, b"01", "bytes 0-1/10"),
        ("bytes=8-99", 206, b"89", "bytes 8-9/10"),
        ("bytes=10-", 416, b"", "bytes */10"),
        ("bytes=5-4", 416, b"", "bytes */10"),
        ("bytes=-3", 200, CONTENT, None),
        ("bytes=0-1,4-5", 200, CONTENT, None),
        ("lines=0-1", 200, CONTENT, None),
    ],
)
def test_a_browser_gets_the_part_that_it_asks_for(
    asked: str | None, status: int, body: bytes, told: str | None
) -> None:
    """One range from a place on is answered with that part, one beyond the end refused, all else with the whole."""
    answer = as_asked(CONTENT, asked, "audio/flac")
    assert (answer.status_code, answer.body) == (status, body)
    assert answer.headers.get("content-range") == told
    assert answer.headers["accept-ranges"] == "bytes"
