"""The official small English model: where Vosk gets it from, and what has to come from there."""

from __future__ import annotations

import vosk

NAME = "vosk-model-small-en-us-0.15"
ADDRESS = f"{vosk.MODEL_PRE_URL}{NAME}.zip"
SHA256 = "30f26242c4eb449f948e42cb302dd7a686cb29a3423a8367f99ff41780942498"
"""Of the archive. Vosk's makers tell an MD5 only; this one is pinned alike by packages of different
people (an Arch Linux package, a Yocto recipe, a Homebrew formula). Looked up, never fetched here."""
