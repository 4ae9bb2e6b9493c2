"""Our own canceller of our own voice against libraries, on the same sound.

    python -m tests.bench.cancellers

needs espeak-ng, flite and Debian's ``libspeexdsp1`` (PulseAudio brings it); with ``livekit`` installed as well,
WebRTC's is tried, too. The program reads back without end while its own voice comes back through a small
room, and a nurse says the words of ``tests.session.talking_over`` over it. All cancellers get the same
samples and nothing else.

- taken out: how much fainter the sound is behind it, in dB, where only the program speaks: from 2 to 4 s, when
  falling in begins to be possible, and after 8 s;
- left speech: frames there that the detector takes for speech, of those in which the program speaks;
- heard: of 18 words, those that come out as themselves with the lead that falling in asks for;
- lead: over any other speech, median of all words (one that does not come out counts as 0);
- cost: processor time for a second of sound.
"""

from __future__ import annotations

import ctypes
import sys
import time
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from typing import TYPE_CHECKING, Any

import numpy as np

from tests.session.room import DELAY_S, LEVEL, OWN_LEVEL, spoken
from tests.session.talking_over import VOICES, noise
from tests.session.talking_over import WORDS as ALL_WORDS
from voice.entries.heard import SAMPLE_RATE, Block, Segment
from voice.entries.said import Talk
from voice.hearing.echo import LONGEST_S, EchoCanceller
from voice.hearing.segmenter import VOICED, Segmenter
from voice.hearing.vad import FRAME_SAMPLES, SileroVad
from voice.meaning.decide import is_unknown
from voice.session.barge_in import CONFIRM_SURE, SURE
from voice.session.setups import Equipment
from voice.speech.espeak import EspeakNg

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from tests.session.room import Sound
    from voice.hearing.listener import Listener

    Samples = NDArray[np.int16]
    Canceller = Callable[[Samples, Samples], Samples]
    """What is heard and what is played, to what is left."""

WORDS = tuple(word for word in ALL_WORDS if not word.startswith("correction"))
"""A correction is known by its first word, while it grows: here all is heard when it is over."""
READ_BACKS = (
    "blood pressure, one two four over seven six", "pressure, one four", "heart rate, eight eight",
    "drained, one two millilitres", "temperature, three seven point two", "drain level, one five",
    "mannitol, five zero grams", "tidal volume, four five zero", "sodium, one four two",
)  # fmt: skip
ALONE_S = 20.0
"""So long the program speaks alone; it has learned by the half of it."""
SOON_S = (2.0, 4.0)
LEARNED_S = 8.0
SCENES = (
    (0.0, None, True), (-10.0, None, True), (-20.0, None, True), (-10.0, 15.0, True),
    (0.0, None, False), (-20.0, None, False),
)  # fmt: skip
"""Echo and noise against the nurse, in dB, and whether there is a room."""
EACH_S = 2.4
"""From the beginning of one word of the nurse to that of the next."""


@dataclass(frozen=True)
class Scene:
    """One recording of a microphone, and what is known about it."""

    played: Samples
    heard: Samples
    echo: Sound
    """What of it is our own voice."""
    words: tuple[tuple[str, float], ...]
    """What the nurse says, and when that begins, in s."""


def scene(voice: str, echo_db: float, snr_db: float | None, *, room: bool) -> Scene:
    """The program's own voice comes back so much louder than the nurse's, and noise so much fainter.

    Without a ``room`` it comes back once, as it does through a cable or from an earpiece on a microphone.
    """
    ends_s = ALONE_S + EACH_S * len(WORDS) + 1.0
    count = round(ends_s * SAMPLE_RATE) // FRAME_SAMPLES * FRAME_SAMPLES
    played = np.resize(_own_voice(), count).astype(np.float64)
    rng = np.random.default_rng(5)
    walls = rng.standard_normal(1900) * np.exp(-np.arange(1900) / 320) * 0.3
    walls[0] = 1.0
    if not room:
        walls = walls[:1]
    late = np.concatenate((np.zeros(round(DELAY_S * SAMPLE_RATE)), np.convolve(played, walls)))
    gain = 10 ** (echo_db / 20) * LEVEL / OWN_LEVEL / np.sqrt((walls**2).sum())
    echo = gain * late[:count]
    heard = echo.copy()
    words = []
    for number, word in enumerate(WORDS):
        at_s = ALONE_S + EACH_S * number
        said = spoken(word, voice)
        heard[round(at_s * SAMPLE_RATE) :][: len(said)] += said
        words.append((word, at_s))
    if snr_db is not None:
        heard += np.resize(noise(snr_db), count)
    return Scene(
        np.rint(played).astype(np.int16),
        np.clip(np.rint(heard), -32768, 32767).astype(np.int16),
        echo,
        tuple(words),
    )


@cache
def _own_voice() -> Samples:
    """Read-backs, one after the other."""
    voice, pause = EspeakNg(), np.zeros(SAMPLE_RATE // 5, dtype=np.int16)
    sounds = [voice.speak(text).at_rate(SAMPLE_RATE).samples for text in READ_BACKS]
    return np.concatenate([part for sound in sounds for part in (sound, pause)])


# --- the cancellers --------------------------------------------------------------------------------


def nothing(heard: Samples, _: Samples) -> Samples:
    """The sound as it is."""
    return heard


@dataclass
class _Known:
    """What is played is handed over at its own time."""

    sound: Samples

    def place_of(self, at_s: float) -> int:
        """Samples since the beginning."""
        return round(at_s * SAMPLE_RATE)

    def played(self, first: int, count: int) -> Samples:
        """From a place on."""
        places = np.arange(first, first + count)
        inside = (places >= 0) & (places < len(self.sound))
        return np.where(inside, self.sound[places.clip(0, len(self.sound) - 1)], 0).astype(np.int16)


def ours(heard: Samples, played: Samples) -> Samples:
    """``voice.hearing.echo``."""
    canceller = EchoCanceller(_Known(played))
    return np.concatenate(
        [
            canceller.clean(
                Block(first / SAMPLE_RATE, heard[first : first + FRAME_SAMPLES])
            ).samples
            for first in range(0, len(heard), FRAME_SAMPLES)
        ]
    )


class Speex:
    """The canceller of libspeexdsp, with a filter as long as ours, and its post-filter or not."""

    FRAME = 256
    _SET_RATE = _SET_ECHO_STATE = 24

    def __init__(self, *, post_filter: bool) -> None:
        self._post_filter = post_filter
        self._library = ctypes.CDLL("libspeexdsp.so.1")
        for name in ("speex_echo_state_init", "speex_preprocess_state_init"):
            getattr(self._library, name).restype = ctypes.c_void_p

    def __call__(self, heard: Samples, played: Samples) -> Samples:
        """Cancel frame by frame."""
        library, tail = self._library, round(LONGEST_S * SAMPLE_RATE)
        state = ctypes.c_void_p(library.speex_echo_state_init(self.FRAME, tail))
        rate = ctypes.c_int(SAMPLE_RATE)
        library.speex_echo_ctl(state, self._SET_RATE, ctypes.byref(rate))
        after = None
        if self._post_filter:
            after = ctypes.c_void_p(library.speex_preprocess_state_init(self.FRAME, SAMPLE_RATE))
            library.speex_preprocess_ctl(after, self._SET_ECHO_STATE, state)
        left = np.zeros_like(heard)
        for first in range(0, len(heard), self.FRAME):
            out = left[first : first + self.FRAME]
            library.speex_echo_cancellation(
                state,
                heard[first : first + self.FRAME].ctypes.data_as(ctypes.c_void_p),
                played[first : first + self.FRAME].ctypes.data_as(ctypes.c_void_p),
                out.ctypes.data_as(ctypes.c_void_p),
            )
            if after is not None:
                library.speex_preprocess_run(after, out.ctypes.data_as(ctypes.c_void_p))
        library.speex_echo_state_destroy(state)
        if after is not None:
            library.speex_preprocess_state_destroy(after)
        return left


class WebRtc:
    """The canceller of WebRTC, by way of ``livekit``."""

    FRAME = SAMPLE_RATE // 100

    def __init__(self) -> None:
        self._rtc: Any = import_module("livekit.rtc")

    def __call__(self, heard: Samples, played: Samples) -> Samples:
        """Cancel frame by frame; the rest of a frame at the end stays as it is."""
        module = self._rtc.AudioProcessingModule(echo_cancellation=True)
        left = heard.copy()
        for first in range(0, len(heard) - self.FRAME + 1, self.FRAME):
            frames = [
                self._rtc.AudioFrame(
                    sound[first : first + self.FRAME].tobytes(), SAMPLE_RATE, 1, self.FRAME
                )
                for sound in (played, heard)
            ]
            module.process_reverse_stream(frames[0])
            module.process_stream(frames[1])
            left[first : first + self.FRAME] = np.frombuffer(frames[1].data, dtype=np.int16)
        return left


def cancellers() -> dict[str, Canceller]:
    """All that can be had on this machine."""
    found: dict[str, Canceller] = {"none": nothing, "ours": ours}
    for name, make in (
        ("Speex, plain", lambda: Speex(post_filter=False)),
        ("Speex with its post-filter", lambda: Speex(post_filter=True)),
        ("WebRTC", WebRtc),
    ):
        try:
            found[name] = make()
        except (OSError, ImportError) as error:
            sys.stdout.write(f"{name} is not tried: {error}\n")
    return found


# --- what they are measured by ---------------------------------------------------------------------


def taken_out_db(scene: Scene, left: Samples, from_s: float, to_s: float) -> float:
    """How much fainter the sound is in that time, where only we speak; noise counts as sound that is left."""
    then = slice(round(from_s * SAMPLE_RATE), round(to_s * SAMPLE_RATE))
    before, after = scene.heard[then].astype(np.float64), left[then].astype(np.float64)
    return float(10 * np.log10((before**2).mean() / max((after**2).mean(), 1e-9)))


def left_speech(scene: Scene, left: Samples) -> float:
    """Share of the frames with an echo in them that pass for speech."""
    detector, frames = SileroVad(), []
    for first in range(0, round(ALONE_S * SAMPLE_RATE), FRAME_SAMPLES):
        frame = slice(first, first + FRAME_SAMPLES)
        voiced = detector.probability(left[frame]) >= VOICED
        if first >= LEARNED_S * SAMPLE_RATE and np.abs(scene.echo[frame]).max() > 30:
            frames.append(voiced)
    return float(np.mean(frames))


def leads(scene: Scene, left: Samples, listener: Listener) -> list[tuple[bool, float]]:
    """Of each word, whether it would fall in, and its lead."""
    segmenter, segments = Segmenter(SileroVad()), list[Segment]()
    for first in range(0, len(left), FRAME_SAMPLES):
        block = Block(first / SAMPLE_RATE, left[first : first + FRAME_SAMPLES])
        segments += segmenter.feed(block)
    found = []
    for word, at_s in scene.words:
        lead = max(
            (
                _lead(word, segment, listener)
                for segment in segments
                if segment.start_s < at_s + 0.4 and segment.speech_end_s > at_s + 0.2
            ),
            default=0.0,
        )
        sure = CONFIRM_SURE if word == Talk.CONFIRM else SURE
        found.append((lead >= sure, lead))
    return found


def _lead(word: str, segment: Segment, listener: Listener) -> float:
    alternatives = listener.hear(segment).alternatives
    said = [one for one in alternatives if not is_unknown(one)]
    if not said or said[0].text != word:
        return 0.0
    others = [one.score for one in alternatives if one is not said[0]]
    return max(0.0, said[0].score - max(others, default=0.0))


def main() -> None:
    """Measure and print a table."""
    equipment = Equipment()
    listener = equipment.model.interruptions(equipment.listened)
    tried = cancellers()
    sys.stdout.write("| echo | | taken out | left speech | heard | lead | cost |\n")
    sys.stdout.write("|---|---|---|---|---|---|---|\n")
    for echo_db, snr_db, room in SCENES:
        scenes = [scene(voice, echo_db, snr_db, room=room) for voice in VOICES]
        for name, canceller in tried.items():
            out_db, share, heard = [], [], list[tuple[bool, float]]()
            soon_db = []
            took_s = sound_s = 0.0
            for one in scenes:
                began_s = time.process_time()
                left = canceller(one.heard, one.played)
                took_s += time.process_time() - began_s
                sound_s += len(one.heard) / SAMPLE_RATE
                soon_db.append(taken_out_db(one, left, *SOON_S))
                out_db.append(taken_out_db(one, left, LEARNED_S, ALONE_S))
                share.append(left_speech(one, left))
                heard += leads(one, left, listener)
            told = "room" if room else "delay alone"
            if snr_db is not None:
                told += f", noise {snr_db:g} dB below her"
            sys.stdout.write(
                f"| {echo_db:g} dB, {told} | {name} | {np.mean(soon_db):.0f}, {np.mean(out_db):.0f} dB "
                f"| {100 * np.mean(share):.0f} % | {sum(sure for sure, _ in heard)} of {len(heard)} "
                f"| {np.median([lead for _, lead in heard]):.1f} | {took_s / sound_s:.4f} |\n"
            )
            sys.stdout.flush()


if __name__ == "__main__":
    main()
