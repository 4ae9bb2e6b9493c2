"""The desk as a person meets it: a real server, and Debian's Chromium without a screen."""

from __future__ import annotations

import shutil
import socket
import threading
import time
from contextlib import contextmanager
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import pytest
import uvicorn
from playwright.sync_api import sync_playwright

from tests.review.browser.invented import write_leg
from voice.meaning.grammar import load_grammar
from voice.meaning.handoff import load_needs
from voice.record.desk_events import ListenedTo
from voice.record.reading import read_chain
from voice.record.shelf import load
from voice.review.desk import Desk
from voice.review.doorkeeper import Doorkeeper
from voice.review.server import HOST, Server

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from playwright.sync_api import Browser, ConsoleMessage, Page, Route

    from voice.entries.leg import Leg
    from voice.meaning.grammar import Grammar

CHROMIUM = shutil.which("chromium")
FLAGS = (
    "--no-sandbox",  # the gate may run as root
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
REFUSED = ("status of 401", "status of 409", "status of 410", "status of 422")
"""The browser's own lines on answers that the page tells in a sentence."""
TABLET = {"width": 768, "height": 1024}


class OpenDesk:
    """A desk that is served, and the leg on it."""

    def __init__(self, folder: Path, server: Server, idle: threading.Event) -> None:
        self.folder = folder
        self._server = server
        self._idle = idle

    @property
    def address(self) -> str:
        """A new one, which lets one browser in."""
        return self._server.new_address()

    def leg(self) -> Leg:
        """The leg as its journal tells it."""
        return load(self.folder)

    def heard_sounds(self) -> int:
        """How many sounds were played to their end."""
        events = read_chain([self.folder]).events
        return len({event.clip for event in events if isinstance(event, ListenedTo)})

    def end_sessions(self) -> None:
        """As if nobody had used the desk for an hour, from now on."""
        self._idle.set()


@pytest.fixture(scope="session")
def grammar() -> Grammar:
    """The phrases that ship."""
    return load_grammar()


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One browser for all tests of a process."""
    if CHROMIUM is None:
        pytest.skip("chromium is not on this machine")
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield opened
        opened.close()


@contextmanager
def served(
    folder: Path, grammar: Grammar, *, readonly: bool = False, port: int = 0
) -> Iterator[OpenDesk]:
    """A desk at the leg in ``folder``, served from a thread of its own; ``port`` 0 takes any that is free."""
    idle = threading.Event()

    def clock() -> float:
        return time.monotonic() + (3600 if idle.is_set() else 0)

    desk = Desk(folder, grammar, lambda: datetime.now(UTC), readonly=readonly)
    with socket.socket() as listener:
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listener.bind((HOST, port))
        port = listener.getsockname()[1]
        server = Server(desk, Doorkeeper(clock), port, lambda _: None, tuple(load_needs()))
        config = uvicorn.Config(server.app, log_config=None, access_log=False)
        running = uvicorn.Server(config)
        thread = threading.Thread(target=running.run, args=([listener],), daemon=True)
        thread.start()
        try:
            yield OpenDesk(folder, server, idle)
        finally:
            running.should_exit = True
            thread.join(10)


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory, grammar: Grammar) -> Iterator[OpenDesk]:
    """The invented leg on a desk; tests of a module share it, each with entries of its own."""
    folder = tmp_path_factory.mktemp("legs") / "2026-05-01-1400"
    write_leg(folder)
    with served(folder, grammar) as opened:
        yield opened


@pytest.fixture
def own_leg(tmp_path: Path) -> Path:
    """The folder of an invented leg that no other test works on."""
    folder = tmp_path / "2026-05-01-1400"
    write_leg(folder)
    return folder


@contextmanager
def looking(
    browser: Browser, address: str, who: str | None = "A. Reviewer", **context: Any
) -> Iterator[Page]:
    """A page that is open at the desk, and is closed without having broken a rule.

    Nothing may be asked of another address, and the page may leave no trouble in the console.
    """
    troubles: list[str] = []
    origin = address.split("?", maxsplit=1)[0]

    def allow(route: Route) -> None:
        if route.request.url.startswith(origin):
            route.continue_()
        else:
            troubles.append(f"asked {route.request.url}")
            route.abort()

    def note(message: ConsoleMessage) -> None:
        if message.type in {"error", "warning"} and not any(r in message.text for r in REFUSED):
            troubles.append(message.text)

    opened = browser.new_context(**{"viewport": {"width": 1280, "height": 900}} | context)
    opened.set_default_timeout(10_000)
    page = opened.new_page()
    page.route("**/*", allow)
    page.on("console", note)
    page.on("pageerror", lambda error: troubles.append(str(error)))
    page.goto(address)
    wait_until_open(page)
    if who is not None:
        page.fill("#who [name=name]", who)
        page.fill("#who [name=role]", "nurse")
        page.keyboard.press("Enter")
        page.wait_for_selector("#who", state="hidden")
    yield page
    opened.close()
    assert troubles == []


def wait_until_open(page: Page) -> None:
    """Wait until the page shows the leg and takes keys."""
    page.wait_for_selector("html[data-ready]")


@pytest.fixture(scope="module")
def page(browser: Browser, desk: OpenDesk) -> Iterator[Page]:
    """One reviewer's page, on which the tests of a module follow each other."""
    with looking(browser, desk.address) as opened:
        yield opened
