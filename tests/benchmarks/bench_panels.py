"""How long a panel takes to answer: ``python tests/benchmarks/bench_panels.py``.

For each panel every slider is moved by a step, over and over, as a reader would; what is timed is everything that the
kernel does between the slider's message and the new words and picture. Printed are the median and the slowest of the
answers, and the processor time of the median, which is what the wall shows on a machine with nothing else to do.
"""

import os
import statistics
import sys
import tempfile
import time
from pathlib import Path

os.environ["GOLFPHYS_HOME"] = tempfile.mkdtemp()
sys.path.insert(0, str(Path(__file__).parent.parent.parent))

from golfphys import panels
from golfphys.panels.base import Panel

KINDS: tuple[type[Panel], ...] = (
    panels.RollPanel,
    panels.BouncePanel,
    panels.ShotPanel,
    panels.ChipPanel,
    panels.ClubsPanel,
    panels.GreenSpeedPanel,
    panels.MeasuringPanel,
)
ROUNDS = 4


def answers(panel: Panel) -> list[tuple[float, float]]:
    """Return wall and processor seconds of each answer."""
    sliders = [item for item in panel.inputs.values() if hasattr(item, "step")]
    found = []
    for step in (1, 1, -1, -1)[:ROUNDS]:
        for slider in sliders:
            value = min(max(slider.value + step * slider.step, slider.min), slider.max)
            if value == slider.value:
                continue
            wall, busy = time.perf_counter(), time.process_time()
            slider.value = value
            found.append((time.perf_counter() - wall, time.process_time() - busy))
    return found


def main() -> None:
    """Time every panel."""
    print(f"{'panel':<18}{'first (ms)':>12}{'median':>9}{'slowest':>9}{'processor':>11}   answers")
    for kind in KINDS:
        start = time.perf_counter()
        panel = kind()
        first = time.perf_counter() - start
        times = answers(panel)
        walls, busy = zip(*times, strict=True)
        print(
            f"{kind.__name__:<18}{1e3 * first:>12.0f}{1e3 * statistics.median(walls):>9.0f}{1e3 * max(walls):>9.0f}"
            f"{1e3 * statistics.median(busy):>11.0f}   {len(times)}"
        )


if __name__ == "__main__":
    main()
