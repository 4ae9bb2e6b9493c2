"""Who is let in to the desk: an address that works once, and a session that ends when nobody uses it."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from voice.entries.review import Reviewer

IDLE_MIN = 15
"""Minutes without use after which a session ends (common practice, no source)."""
TOKEN_MIN = 60
"""Minutes for which an address that nobody used can be used (common practice, no source)."""


@dataclass
class Session:
    """One browser that was let in."""

    used_s: float
    """When it was last used, by the clock that was passed in."""
    who: Reviewer | None = None
    """Who sits there, once that was said."""


class Doorkeeper:
    """Gives out addresses that work once, and knows the sessions that came of them."""

    def __init__(self, clock: Callable[[], float], idle_min: float = IDLE_MIN) -> None:
        """``clock`` gives seconds that never go back."""
        self._clock = clock
        self._idle_s = idle_min * 60
        self._tokens: dict[str, float] = {}
        self._sessions: dict[str, Session] = {}

    def new_token(self) -> str:
        """Something nobody can guess, which opens one session."""
        token = secrets.token_urlsafe(32)
        self._tokens[token] = self._clock()
        return token

    @property
    def waits(self) -> bool:
        """Whether a token waits to be used."""
        now_s = self._clock()
        return any(now_s - made_s < TOKEN_MIN * 60 for made_s in self._tokens.values())

    def open(self, token: str) -> str | None:
        """The key of a new session; ``None`` where the token is unknown, too old or was used."""
        known = _find(token, self._tokens)
        if known is None or self._clock() - self._tokens.pop(known) >= TOKEN_MIN * 60:
            return None
        key = secrets.token_urlsafe(32)
        self._sessions[key] = Session(self._clock())
        return key

    def session(self, key: str, *, use: bool = True) -> Session | None:
        """The session of this key; ``None`` where there is none, or it was not used for too long.

        With ``use`` it counts as used now.
        """
        known = _find(key, self._sessions)
        if known is None:
            return None
        session = self._sessions[known]
        now_s = self._clock()
        if now_s - session.used_s >= self._idle_s:
            del self._sessions[known]
            return None
        if use:
            session.used_s = now_s
        return session

    def close(self, key: str) -> None:
        """End a session."""
        self._sessions.pop(key, None)


def _find(asked: str, known: Iterable[str]) -> str | None:
    """``asked``, if it is one of those; how long that takes tells nothing of them."""
    told = asked.encode(errors="replace")
    found = [one for one in known if secrets.compare_digest(one.encode(), told)]
    return found[0] if found else None
