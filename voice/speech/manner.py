"""How the program speaks: fast or slow, high or low, loud or soft."""

from __future__ import annotations

from pydantic import Field

from voice.entries.frozen import Frozen

SLOWEST_WPM, FASTEST_WPM = 80, 300
HIGHEST_PITCH = 99
SOFTEST_PERCENT, LOUDEST_PERCENT = 10, 100


class Manner(Frozen):
    """Rate, pitch and volume of the speech.

    The defaults are a guess for a loud cabin, no source; only a nurse in one can tell.
    """

    rate_wpm: int = Field(default=160, ge=SLOWEST_WPM, le=FASTEST_WPM)
    """Words a minute. A little under the usual 175 to 200: it must be followed in noise. espeak-ng
    speaks no slower than the least, and above the greatest digits run together."""
    pitch: int = Field(default=50, ge=0, le=HIGHEST_PITCH)
    """As espeak-ng counts it, 50 its own; the voices of macOS and Windows keep theirs."""
    volume_percent: int = Field(default=70, ge=SOFTEST_PERCENT, le=LOUDEST_PERCENT)
    """Peak of words and tones, in % of full scale. The default leaves room for a speaker's own bass
    boost."""
