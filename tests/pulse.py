"""A sound server of the test's own: a microphone that can be played into, a speaker to record.

``paplay`` into ``mic_in`` comes out of the microphone; what is played to the default output can
be recorded from ``speaker.monitor``.
"""

from __future__ import annotations

import os
import subprocess
import tempfile
import time
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

DEVICE = "pulse"
"""The name by which PortAudio knows the sound server."""

_BEFORE_ALL_PROGRAMS = 9  # of what is tried with `chrt -r 5`, too
_AT_ONCE = "norewinds=1"  # without it an idle null sink hands its sound on every two seconds
_SET_UP = """
load-module module-native-protocol-unix socket={socket} auth-anonymous=1
load-module module-null-sink sink_name=speaker rate=48000 norewinds=1
load-module module-null-sink sink_name=mic_in rate=48000 norewinds=1
load-module module-remap-source source_name=mic master=mic_in.monitor
set-default-sink speaker
set-default-source mic
"""


@dataclass(frozen=True, slots=True)
class SoundServer:
    """A running PulseAudio, found by its clients through ``environment``."""

    folder: Path
    process: subprocess.Popen[bytes]

    @property
    def environment(self) -> dict[str, str]:
        """What a program needs to find this server and no other."""
        return {
            "PULSE_SERVER": f"unix:{self.folder / 'native'}",
            "PULSE_RUNTIME_PATH": str(self.folder),
            "PULSE_COOKIE": str(self.folder / "cookie"),
            "XDG_CONFIG_HOME": str(self.folder),
        }

    def speak_into_microphone(
        self, recording: Path, microphone: str = "mic"
    ) -> subprocess.Popen[bytes]:
        """Play ``recording`` into a microphone; the process ends when it has been played."""
        return self._started("paplay", f"--device={microphone}_in", str(recording))

    def plug_in_microphone(self, name: str, description: str, rate_hz: int = 48_000) -> list[str]:
        """Add a microphone; what it gives back is for ``pull_out``."""
        told = f"device.description='{description}'"
        return [
            self._load("module-null-sink", f"sink_name={name}_in", f"rate={rate_hz}", _AT_ONCE),
            self._load("module-remap-source", f"source_name={name}", f"master={name}_in.monitor",
                       f"rate={rate_hz}", f'source_properties="{told}"'),
        ]  # fmt: skip

    def plug_in_speaker(self, name: str, description: str) -> list[str]:
        """Add a speaker; what it gives back is for ``pull_out``."""
        told = f"device.description='{description}'"
        return [
            self._load(
                "module-null-sink", f"sink_name={name}", f'sink_properties="{told}"', _AT_ONCE
            )
        ]

    def pull_out(self, plugged_in: list[str]) -> None:
        """Take a device away."""
        for module in reversed(plugged_in):
            self._pactl("unload-module", module)

    def _load(self, *module: str) -> str:
        return self._pactl("load-module", *module).strip()

    def _pactl(self, *command: str) -> str:
        return subprocess.run(
            ["pactl", *command],
            env=os.environ | self.environment,
            capture_output=True,
            check=True,
            text=True,
        ).stdout

    def record_speaker(self, target: Path) -> subprocess.Popen[bytes]:
        """Record what the speaker plays to a WAV file (16 kHz mono), until it is terminated."""
        return self.record("speaker", target)

    def record(self, sink: str, target: Path) -> subprocess.Popen[bytes]:
        """Record what is played into ``sink``, as ``record_speaker`` does."""
        return self._started("parecord", f"--device={sink}.monitor", "--file-format=wav",
                             "--rate=16000", "--channels=1", "--latency-msec=20", str(target))  # fmt: skip

    def _started(self, *command: str) -> subprocess.Popen[bytes]:
        """A client that plays or records for the test, as promptly as a person or a wire would."""
        client = subprocess.Popen(command, env=os.environ | self.environment)
        _put_first(client.pid)
        return client

    def play_speaker_into_microphone(self, level_db: float) -> None:
        """From now on the microphone hears the speaker, so much louder or fainter, in dB."""
        # adjust_time=0: else the delay wanders, which no real speaker's does
        self._load("module-loopback", "source=speaker.monitor", "sink=mic_in", "latency_msec=40",
                   "adjust_time=0")  # fmt: skip
        inputs = self._pactl("list", "short", "sink-inputs").split()
        self._pactl("set-sink-input-volume", inputs[0], f"{level_db}dB")

    def unplug(self) -> None:
        """Take the sound server away under its clients."""
        self.process.kill()
        self.process.wait()


@contextmanager
def sound_server() -> Iterator[SoundServer]:
    """A sound server that lives as long as the block."""
    with tempfile.TemporaryDirectory(prefix="pulse-") as name:
        folder = Path(name)
        script = folder / "set-up.pa"
        script.write_text(_SET_UP.format(socket=folder / "native"))
        places = {
            "HOME": name,
            "XDG_CONFIG_HOME": name,
            "XDG_RUNTIME_DIR": name,
            "PULSE_RUNTIME_PATH": name,
            "PULSE_STATE_PATH": name,
        }
        process = subprocess.Popen(
            ["pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=-1", "--use-pid-file=no",
             "--disable-shm=yes", "--log-level=error", f"--file={script}"],
            env=os.environ | places,
            stderr=subprocess.DEVNULL,
        )  # fmt: skip
        server = SoundServer(folder, process)
        try:
            _wait_for(server)
            _put_first(process.pid)
            yield server
        finally:
            server.unplug()


def _put_first(process: int) -> None:
    """Let it go before all else, as a desktop's sound server does: else it waits while others compute."""
    for thread in Path(f"/proc/{process}/task").iterdir():
        with suppress(OSError):  # it takes a right that not everybody has
            os.sched_setscheduler(
                int(thread.name), os.SCHED_RR, os.sched_param(_BEFORE_ALL_PROGRAMS)
            )


def _wait_for(server: SoundServer) -> None:
    until = time.monotonic() + 10
    while time.monotonic() < until:
        sources = subprocess.run(
            ["pactl", "list", "short", "sources"],
            env=os.environ | server.environment,
            capture_output=True,
            text=True,
            check=False,
        )
        if "mic\t" in sources.stdout:
            return
        time.sleep(0.1)
    raise RuntimeError("The sound server did not start.")
