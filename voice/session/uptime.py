"""How long the machine has been on, its sleep included."""

from __future__ import annotations

import time


def uptime_s() -> float:
    """A monotonic clock, in s, that goes on while the machine sleeps.

    On Linux ``time.monotonic`` does not: after a sleep every entry would be filed too early, and a desk
    that was left alone would be open still.
    """
    boot_time = getattr(time, "CLOCK_BOOTTIME", None)
    return time.monotonic() if boot_time is None else time.clock_gettime(boot_time)
