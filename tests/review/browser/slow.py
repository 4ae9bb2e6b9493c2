"""A slow machine, or a slow way to it, as a page meets it."""

from __future__ import annotations

import time
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from playwright.sync_api import APIResponse, Page, Route

_AT_MOST_S = 20


@contextmanager
def held(page: Page, address: str, by: str | None = None) -> Iterator[Callable[[], None]]:
    """In this block nothing reaches the desk that is asked of ``address``; after it all does.

    ``by`` holds only what such a part of the page asks for ("fetch", "media"). Gives what waits until
    something was asked.
    """
    asked: list[Route] = []

    def hold(route: Route) -> None:
        if by in {None, route.request.resource_type}:
            asked.append(route)
        else:
            route.fallback()

    page.route(address, hold)
    yield lambda: _wait(page, asked)
    page.unroute(address, hold)
    for route in asked:
        route.fallback()


@contextmanager
def late(page: Page, address: str) -> Iterator[Callable[[], None]]:
    """The desk answers ``address`` at once, but its first answer comes after this block, as it was then.

    Gives what waits until that was asked.
    """
    answered: list[tuple[Route, APIResponse]] = []

    def hold(route: Route) -> None:
        if answered:
            route.fallback()
        else:
            answered.append((route, route.fetch()))

    page.route(address, hold)
    yield lambda: _wait(page, answered)
    page.unroute(address, hold)
    ((route, answer),) = answered
    with page.expect_response(lambda one: one.url == route.request.url):
        route.fulfill(response=answer)


def _wait(page: Page, caught: list[Route] | list[tuple[Route, APIResponse]]) -> None:
    until = time.monotonic() + _AT_MOST_S
    while not caught:
        assert time.monotonic() < until, "nothing was asked"
        page.wait_for_timeout(20)
