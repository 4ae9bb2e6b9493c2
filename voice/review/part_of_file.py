"""A file that lies in memory, whole or the part that a browser asks for: Safari plays no sound without."""

from __future__ import annotations

import re

from starlette.responses import Response

_ONE_RANGE = re.compile(r"bytes=(\d{1,9})-(\d{0,9})")


def as_asked(content: bytes, asked: str | None, media_type: str) -> Response:
    """The answer to a request with the header ``Range: asked`` (RFC 9110, section 14).

    Of what it may ask for one range from a place on is known; all else is answered with the whole, which
    is always allowed.
    """
    headers = {"Accept-Ranges": "bytes"}
    wanted = _ONE_RANGE.fullmatch(asked or "")
    if wanted is None:
        return Response(content, media_type=media_type, headers=headers)
    first = int(wanted[1])
    last = min(int(wanted[2] or len(content)), len(content) - 1)
    if first >= len(content) or last < first:
        headers["Content-Range"] = f"bytes */{len(content)}"
        return Response(status_code=416, headers=headers)
    headers["Content-Range"] = f"bytes {first}-{last}/{len(content)}"
    part = content[first : last + 1]
    return Response(part, status_code=206, media_type=media_type, headers=headers)
