"""A sound for the page: its picture, how loud it was column by column, and as a browser plays it."""

from __future__ import annotations

from io import BytesIO

import numpy as np
import soundfile

from voice.entries.frozen import Frozen

COLUMNS = 400
"""As many as a picture across the page can show."""
_FULL_SCALE = 32_768


class Waveform(Frozen):
    """The loudest sample of each of up to `COLUMNS` stretches of equal length."""

    length_s: float
    peaks: tuple[float, ...]
    """Each from 0 to 1, which is full scale."""


def waveform(clip: bytes) -> Waveform:
    """The picture of a clip, a sound file.

    Raises:
        OSError: where it cannot be read as sound.
    """
    samples, rate_hz = _read(clip)
    loudness = np.abs(samples.astype(np.int32))
    starts = np.linspace(0, len(samples), min(COLUMNS, len(samples)), endpoint=False, dtype=np.intp)
    peaks = np.maximum.reduceat(loudness, starts) / _FULL_SCALE
    return Waveform(
        length_s=len(samples) / rate_hz, peaks=tuple(round(float(peak), 4) for peak in peaks)
    )


def as_wav(clip: bytes) -> bytes:
    """The clip, a sound file, as WAV: from any place in it a browser plays on.

    Chromium does not from a place in the last third of a second of a FLAC file: it waits there for ever.

    Raises:
        OSError: where it cannot be read as sound.
    """
    samples, rate_hz = _read(clip)
    wav = BytesIO()
    soundfile.write(wav, samples, rate_hz, format="WAV", subtype="PCM_16")
    return wav.getvalue()


def _read(clip: bytes) -> tuple[np.ndarray[tuple[int], np.dtype[np.int16]], int]:
    """Its samples, of the first channel, and how many there are a second."""
    try:
        samples, rate_hz = soundfile.read(BytesIO(clip), dtype="int16", always_2d=True)
    except soundfile.LibsndfileError as error:
        raise OSError(f"The clip cannot be read as sound: {error}") from error
    return samples[:, 0], rate_hz
