"""How much sound lies in the speaker: as little as the machine has shown that it can keep up with."""

from __future__ import annotations

from dataclasses import dataclass

DEPTHS_S = (0.03, 0.05, 0.1, 0.2)
"""What may lie between a sample handed over and heard. Every answer comes so much later, and a word that is cut off
goes on as long. A machine that is busy needs 0.1 s, and one that others hold up needs 0.2 (docs/bench.md)."""
BEGINS_S = 0.1
"""Trusted until a request came too late for it: whoever speaks right after the first tone is heard from the first word."""
BEARS = 0.75
"""Share of a depth by which a request for sound may come too late: PortAudio asks when a quarter of it has been
played (on ALSA: blocks of 7.5, 12.5 and 25 ms at the first three)."""
FIRST_PROOF_S = 10.0
"""So long must all requests have come in time for a depth, before it is trusted."""
GROWS = 6
"""How many times longer the proof must be after each time that it was too little: a hole in a digit is worse than
a twentieth of a second."""
LONGEST_PROOF_S = 360.0


@dataclass(slots=True)
class _Proof:
    """How a depth has stood since a request came too late for it."""

    since_s: float
    needed_s: float = FIRST_PROOF_S

    def broken(self, at_s: float) -> None:
        """A request came too late for it."""
        if self.holds(at_s):
            self.needed_s = min(GROWS * self.needed_s, LONGEST_PROOF_S)
        self.since_s = at_s

    def holds(self, at_s: float) -> bool:
        """Whether it is trusted."""
        return at_s - self.since_s >= self.needed_s


class Depth:
    """Which of ``DEPTHS_S`` to use; all times are in s on one monotonic clock."""

    def __init__(self, now_s: float) -> None:
        self._proofs = {
            depth_s: _Proof(now_s - FIRST_PROOF_S if depth_s >= BEGINS_S else now_s)
            for depth_s in DEPTHS_S[:-1]
        }

    def asked(self, late_s: float, at_s: float) -> None:
        """Sound was asked for at ``at_s``, and ``late_s`` later than it was due; less than 0 is early.

        May be called from another thread.
        """
        for depth_s, proof in self._proofs.items():
            if late_s > BEARS * depth_s:
                proof.broken(at_s)

    def wanted_s(self, at_s: float) -> float:
        """The least depth, in s, that the machine has kept up with."""
        return next((d for d, proof in self._proofs.items() if proof.holds(at_s)), DEPTHS_S[-1])
