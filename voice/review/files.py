"""The files of the page, read once when the desk is opened: a page asks for all of them at once."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from starlette.responses import Response

from voice.review.guard import error

if TYPE_CHECKING:
    from starlette.requests import Request

FOLDER = Path(__file__).parent / "static"
_TYPES = {".js": "text/javascript", ".css": "text/css", ".svg": "image/svg+xml"}
"""Of what is sent; what else lies in the folder is not."""


class PageFiles:
    """Every file of the page, by its path below `FOLDER`."""

    def __init__(self) -> None:
        self._files = {
            path.relative_to(FOLDER).as_posix(): (path.read_bytes(), _TYPES[path.suffix])
            for path in sorted(FOLDER.rglob("*"))
            if path.suffix in _TYPES
        }

    @property
    def modules(self) -> tuple[str, ...]:
        """The scripts of our own: a browser that is not told finds them one after the other."""
        return tuple(name for name in self._files if "/" not in name and name.endswith(".js"))

    async def send(self, request: Request) -> Response:
        """The file that is asked for."""
        found = self._files.get(request.path_params["name"])
        if found is None:
            return error(404, "There is no such file.")
        content, media_type = found
        return Response(content, media_type=media_type)
