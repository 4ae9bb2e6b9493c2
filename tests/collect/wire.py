"""A wire between a machine and a database that can be cut after so many bytes."""

from __future__ import annotations

import socket
from contextlib import contextmanager, suppress
from threading import Lock, Thread
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from collections.abc import Iterator

Side = Literal["asked", "answered"]


class Wire:
    """Passes on what it gets, and counts it; once enough went over one side, both ends are cut."""

    def __init__(self, behind: int, cut_after: int | None = None, side: Side = "asked") -> None:
        self._behind = behind
        self._cut_after = cut_after
        self._side = side
        self._lock = Lock()
        self.passed: dict[Side, int] = {"asked": 0, "answered": 0}
        self._listening = socket.create_server(("127.0.0.1", 0))
        self.port = int(self._listening.getsockname()[1])

    def serve(self) -> None:
        """Pass on one connection."""
        with suppress(OSError):
            asking, _ = self._listening.accept()
            answering = socket.create_connection(("127.0.0.1", self._behind))
            ways: list[tuple[Side, socket.socket, socket.socket]] = [
                ("asked", asking, answering), ("answered", answering, asking),
            ]  # fmt: skip
            threads = [Thread(target=self._pass_on, args=way) for way in ways]
            for thread in threads:
                thread.start()
            for thread in threads:
                thread.join()
            for end in (asking, answering):
                end.close()

    def _pass_on(self, side: Side, source: socket.socket, sink: socket.socket) -> None:
        with suppress(OSError):
            while content := source.recv(4096):
                if side == self._side and self._cut_after is not None:
                    content = content[: max(self._cut_after - self.passed[side], 0)]
                with self._lock:
                    self.passed[side] += len(content)
                sink.sendall(content)
                if side == self._side and self.passed[side] == self._cut_after:
                    break
        for end in (source, sink):
            with suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)

    def close(self) -> None:
        """Take no connection any more."""
        with suppress(OSError):
            self._listening.shutdown(socket.SHUT_RDWR)
        self._listening.close()


@contextmanager
def wire(behind: int, cut_after: int | None = None, side: Side = "asked") -> Iterator[Wire]:
    """A wire for one connection to the port ``behind``."""
    laid = Wire(behind, cut_after, side)
    thread = Thread(target=laid.serve)
    thread.start()
    try:
        yield laid
    finally:
        laid.close()
        thread.join()
