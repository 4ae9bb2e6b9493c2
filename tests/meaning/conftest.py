"""Property tests here are judged by what holds, never by how long it took."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("legbook", deadline=None)
settings.load_profile("legbook")
