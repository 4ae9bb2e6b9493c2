from __future__ import annotations

from typing import TYPE_CHECKING

from tests.review.bench import Bench, long_leg

if TYPE_CHECKING:
    from pathlib import Path


def test_a_long_leg_is_worked_on_without_waiting(tmp_path: Path) -> None:
    """What an act costs hardly grows with the leg; the bench has the true figures."""
    bench = Bench(long_leg(tmp_path, 200))
    assert bench.open().cpu_s < 1
    acts = [bench.act("approve", number=number) for number in range(1, 6)]
    assert min(act.cpu_s for act in acts) < 0.1
    bench.close()
