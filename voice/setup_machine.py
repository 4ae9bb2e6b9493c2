"""Set-up on first use: system packages, virtual environment, pinned packages, in that order.

Standard library only: it runs before anything is installed. What has been set up is noted in a
stamp inside ``.venv``, written last. A stamp that fits lets the next call start at once; no stamp
means that a set-up was broken off, and the environment is made afresh.

Everything is installed from a lock file that names the hash of each file, so that what was tested
is what runs. ``requirements.lock`` is what legbook needs; ``requirements-dev.lock`` holds the same
and the tools of the gate.
"""

from __future__ import annotations

import ctypes
import hashlib
import importlib.util
import json
import os
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from voice.entries.errors import LegbookError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

ROOT = Path(__file__).resolve().parents[1]
RUN_LOCK = "requirements.lock"
DEV_LOCK = "requirements-dev.lock"


class SetupError(LegbookError):
    """The machine cannot be made ready; the sentence says what the person has to do."""


@dataclass(frozen=True)
class SystemPackage:
    """A package of the system, by Debian's name, and how to see whether it is there."""

    name: str
    present: Callable[[], bool]


def _library(name: str) -> Callable[[], bool]:
    def present() -> bool:
        try:
            ctypes.CDLL(name)
        except OSError:
            return False
        return True

    return present


def _program(name: str) -> Callable[[], bool]:
    return lambda: shutil.which(name) is not None


VENV_MODULE = SystemPackage(
    "python{}.{}-venv".format(*sys.version_info),
    lambda: importlib.util.find_spec("ensurepip") is not None,
)
"""Debian takes the part of ``venv`` that brings pip out of its Python."""

SOUND = (
    SystemPackage("libportaudio2", _library("libportaudio.so.2")),
    SystemPackage("libsndfile1", _library("libsndfile.so.1")),
    SystemPackage("espeak-ng", _program("espeak-ng")),
)
"""Microphone and speaker, sound files, and the voice of the read-back."""

SOUND_SERVER = (
    SystemPackage("pulseaudio", _program("pulseaudio")),
    SystemPackage("pulseaudio-utils", _program("pactl")),
    SystemPackage(
        "libasound2-plugins",
        lambda: any(Path("/usr/lib").glob("*/alsa-lib/libasound_module_pcm_pulse.so")),
    ),
)
"""A sound server without a sound card: the tests' microphone and speaker."""

BROWSER = (SystemPackage("chromium", _program("chromium")),)
"""A browser without a screen: the tests look at the reviewer's desk in it."""

COMPILER = (
    SystemPackage("gcc", _program("cc")),
    SystemPackage("libc6-dev", lambda: Path("/usr/include/stdio.h").exists()),
)
"""The tests let a disk fail by a shim in C."""

DATABASE = (
    SystemPackage("postgresql", lambda: any(Path("/usr/lib/postgresql").glob("*/bin/initdb"))),
)
"""The tests send legs to a PostgreSQL that they start themselves."""

STRANGERS = (SystemPackage("flite", _program("flite")),)
"""Voices that legbook never speaks with itself: the tests let them speak to it."""

FOR_TESTS = (*SOUND_SERVER, *BROWSER, *COMPILER, *DATABASE, *STRANGERS)
"""What the gate needs beside what legbook needs."""


def command(arguments: Sequence[str]) -> list[str]:
    """The command that does what was asked for, on a machine made ready for it.

    :param arguments: what stood after ``python3 voice``; ``test`` is the gate, all else legbook's.
    :raises SetupError: where the machine cannot be made ready.
    """
    testing = list(arguments[:1]) == ["test"]
    python = str(prepare(ROOT, testing=testing))
    module = ["voice.gate", *arguments[1:]] if testing else ["voice.cli", *arguments]
    # -P: a folder "voice" that happens to lie in the current directory is not taken for this one.
    return [python, "-P", "-m", *module]


def prepare(root: Path, *, testing: bool) -> Path:
    """Set up what is not set up yet, and return the Python to go on with.

    :param testing: whether the tools and the sound server of the gate are needed as well.
    :raises SetupError: where a step fails and a person has to act.
    """
    venv = root / ".venv"
    python = venv / "bin" / "python"
    stamp = venv / "legbook-setup.json"
    locks = (RUN_LOCK, DEV_LOCK) if testing else (RUN_LOCK,)
    wanted = {"root": str(root)} | {name: _digest(root / name) for name in locks}
    wanted |= {"system": _names(SOUND)} | (
        {"system for tests": _names(FOR_TESTS)} if testing else {}
    )

    done = _read(stamp) if python.is_file() else {}
    if wanted.items() <= done.items():
        return python

    print("legbook: setting up; this happens once and takes a minute or two.", flush=True)
    if sys.platform == "linux":
        install_system((VENV_MODULE, *SOUND, *(FOR_TESTS if testing else ())))
    elif os.name != "posix":
        raise SetupError(
            "This set-up knows Linux and macOS only. Make a virtual environment by hand, install "
            f"{RUN_LOCK} and this folder into it with pip, then call legbook."
        )
    # An environment that was moved, or broken off half-way, is not to be mended.
    if done.get("root") != str(root):
        _must([sys._base_executable, "-m", "venv", "--clear", str(venv)], _NO_VENV)  # type: ignore[attr-defined]  # noqa: SLF001
    stamp.unlink(missing_ok=True)
    pip = [str(python), "-m", "pip", "install", "-qq", "--no-deps"]
    _must([*pip, "--require-hashes", "-r", str(root / locks[-1])], _NO_PACKAGES)
    _must([*pip, "--no-build-isolation", "--editable", str(root)], _NO_PACKAGES)
    stamp.write_text(json.dumps(wanted, indent=1) + "\n", encoding="utf-8")
    return python


def install_system(packages: Sequence[SystemPackage]) -> None:
    """Install those system packages that are not there, where that is allowed.

    :raises SetupError: naming what is missing, where it may not or cannot be installed.
    """
    missing = [package for package in packages if not package.present()]
    if not missing:
        return
    names = [package.name for package in missing]
    apt = _apt_get()
    if apt:
        print(f"legbook: installing {', '.join(names)}.", flush=True)
        install = [*apt, "install", "-y", "-q", "--no-install-recommends", *names]
        # A first try without fresh lists is quick; old or no lists are the usual reason to fail.
        if _quietly(install) or (_quietly([*apt, "update", "-q"]) and _quietly(install)):
            importlib.invalidate_caches()
            missing = [package for package in missing if not package.present()]
            if not missing:
                return
    names = [package.name for package in missing]
    raise SetupError(
        f"This machine lacks {', '.join(names)} and legbook could not install that itself. "
        f"Install it (on Debian: sudo apt-get install {' '.join(names)}), then call again."
    )


def _apt_get() -> list[str]:
    """The start of an apt-get command that needs no password; empty where there is none."""
    if shutil.which("apt-get") is None:
        return []
    command = ["env", "DEBIAN_FRONTEND=noninteractive", "apt-get", "-o", "DPkg::Lock::Timeout=120"]
    if os.geteuid() == 0:
        return command
    if shutil.which("sudo") and _quietly(["sudo", "-n", "true"]):
        return ["sudo", "-n", *command]
    return []


_NO_VENV = (
    "The virtual environment .venv could not be made (the lines above say why). "
    "Look whether this folder can be written to and the disk has room, then call again."
)
_NO_PACKAGES = (
    "The Python packages could not be installed (the lines above say why). "
    "The first call needs a network and about 400 MB of disk; call again when there is one."
)


def _must(command: Sequence[str], otherwise: str) -> None:
    if subprocess.run(command, check=False).returncode:
        raise SetupError(otherwise)


def _quietly(command: Sequence[str]) -> bool:
    """Whether the command succeeded; what it said is not shown."""
    return subprocess.run(command, check=False, capture_output=True).returncode == 0


def _names(packages: Sequence[SystemPackage]) -> str:
    return " ".join(package.name for package in packages)


def _digest(lock: Path) -> str:
    try:
        return hashlib.sha256(lock.read_bytes()).hexdigest()
    except OSError:
        raise SetupError(
            f"The file {lock.name} is not there, so this copy of legbook is not whole. "
            "Clone it again."
        ) from None


def _read(stamp: Path) -> dict[str, str]:
    """What the last finished set-up noted; empty where none finished."""
    try:
        done = json.loads(stamp.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return done if isinstance(done, dict) else {}
