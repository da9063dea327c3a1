"""Explore a roll: green speed, slope, direction, start speed and law of resistance."""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.figure import Figure

from golfphys.core import constants
from golfphys.panels.base import Panel
from golfphys.panels.controls import Control
from golfphys.panels.drawing import Margins
from golfphys.panels.showing import green_speed, length, side
from golfphys.physics.green import Resistance
from golfphys.physics.roll import RollStatus, path
from golfphys.physics.roll.marching import Path
from golfphys.show.style import CYCLE, GREY, TURF, LengthUnit
from golfphys.show.worked.rolling import same_reading

LAWS = {
    "alike at every speed": "constant",
    "grows with speed": "linear",
    "grows with speed squared": "quadratic",
}
"""Laws of resistance in the words of the list."""

GROWTH = 0.3
"""Part by which resistance at the ramp's release speed exceeds that of a ball about to stop, where it grows."""


@dataclass(frozen=True, kw_only=True)
class Rolled:
    """One roll, and the same on the level.

    Parameters
    ----------
    way, level : Path
        The roll asked about, and the same start on a level green.
    resistance : Resistance
        The law with its numbers.
    grade : float
        Slope, rise over run.
    fall_direction : float
        Where the ground falls, rad, anticlockwise from the line on which the ball starts.
    stimp_ft : float
        Green speed.
    """

    way: Path
    level: Path
    resistance: Resistance
    grade: float
    fall_direction: float
    stimp_ft: float


class RollPanel(Panel):
    """Explore a roll: how far, which way, how long, as green speed, slope, direction, speed and law change.

    Parameters
    ----------
    units : {"metres", "feet"}, optional
        What lengths are shown in; what the reader chose last if left out.
    **start : float or str
        Start values of the controls `stimp_ft`, `slope_pct`, `heading_deg` (clockwise from straight uphill), `speed`
        (m/s) and `law` (a name of `LAWS`).

    Examples
    --------
    >>> panel = RollPanel(units="metres")
    >>> round(float(panel.result.way.x[-1]), 2)
    3.05
    """

    controls = (
        Control(name="stimp_ft", label="green speed (ft)", start=10.0, low=5.0, high=15.0, step=0.5),
        Control(name="slope_pct", label="slope (%)", start=0.0, low=0.0, high=8.0, step=0.5),
        Control(
            name="heading_deg",
            label="direction, clockwise from uphill (deg)",
            start=90.0,
            low=0.0,
            high=360.0,
            step=15.0,
        ),
        Control(
            name="speed",
            label="speed at the start",
            start=constants.RAMP_RELEASE_SPEED.value,
            low=0.3,
            high=4.0,
            step=0.05,
            unit="m_s",
            step_feet=0.2,
        ),
        Control(name="law", label="resistance", start="alike at every speed", choices=tuple(LAWS)),
    )
    figure_size = (8.4, 3.6)
    margins = Margins(left=0.95, between=0.75)

    def compute(self, **values: Any) -> Rolled:
        """Follow the ball; the green keeps its ramp reading whatever the law."""
        law = same_reading(values["stimp_ft"], growth=GROWTH)[LAWS[values["law"]]]
        grade = values["slope_pct"] / 100
        # the ball starts along x; uphill lies `heading` anticlockwise of that, and the fall is opposite to it
        fall = math.radians(values["heading_deg"]) + math.pi
        return Rolled(
            way=path(values["speed"], 0.0, law, grade, fall),
            level=path(values["speed"], 0.0, law),
            resistance=law,
            grade=grade,
            fall_direction=fall,
            stimp_ft=values["stimp_ft"],
        )

    def draw(self, result: Rolled, figure: Figure) -> None:
        """Draw the way from above, and speed against distance rolled."""
        above, along = figure.subplots(1, 2, width_ratios=(1.5, 1.0))
        shown = LengthUnit(self.unit)
        for way, name, look in ((result.level, "on the level", GREY), (result.way, "on this slope", CYCLE[0])):
            x, y = shown.show(way.x), shown.show(way.y)
            line = "--" if look == GREY else "-"
            above.plot(x, y, line, color=look, label=name)
            if way.status == RollStatus.STOPPED:
                above.plot(x[-1], y[-1], "o", color=look)
            gone = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x), np.diff(y)))])
            along.plot(gone, way.speed / self._speed_factor, line, color=look, label=name)
        above.plot(0, 0, "s", color="black", markersize=6)
        _fit_window(above)
        if result.grade > 0:
            _arrow(above, result.fall_direction)
        above.set_facecolor(TURF)
        above.set(xlabel=shown.label("along the start line"), ylabel=shown.label("to the left"))
        above.set_title("Seen from above")
        above.legend(loc="upper left")
        along.set(xlabel=shown.label("rolled"), ylabel=f"speed ({'m/s' if self.unit == 'm' else 'ft/s'})")
        along.set_ylim(bottom=0)
        along.set_title("Slowing down")

    @property
    def _speed_factor(self) -> float:
        return self._control("speed").factor(self.units)

    def words(self, result: Rolled) -> str:
        """Say how far, how long and how far aside."""
        way, unit = result.way, self.unit
        head = f"Green speed {green_speed(result.stimp_ft)}. "
        if way.status == RollStatus.NEVER_STOPS:
            return head + (
                f"<b>The ball does not stop</b>: the slope of {100 * result.grade:.1f} % pulls harder than the "
                f"resistance of {100 * result.resistance.constant:.1f} % holds."
            )
        reach = math.hypot(way.x[-1], way.y[-1])
        on_level = math.hypot(result.level.x[-1], result.level.y[-1])
        return head + (
            f"It stops <b>{length(reach, unit, 2)}</b> away after {way.time[-1]:.1f} s "
            f"({length(on_level, unit, 2)} on the level) and drifts {side(float(way.y[-1]), unit)}."
        )


def _fit_window(ax: Any) -> None:
    """Show the whole way at one scale in both directions, with room about a straight one."""
    (low_x, high_x), (low_y, high_y) = ax.get_xlim(), ax.get_ylim()
    wide = max(high_x - low_x, 1.0)
    tall = max(high_y - low_y, 0.62 * wide)
    wide = max(wide, tall / 0.62)
    middle_x, middle_y = (low_x + high_x) / 2, (low_y + high_y) / 2
    ax.set(xlim=(middle_x - wide / 2, middle_x + wide / 2), ylim=(middle_y - tall / 2, middle_y + tall / 2))
    ax.set_aspect("equal")


def _arrow(ax: Any, fall: float) -> None:
    x, y = 0.87, 0.16
    half = 0.07
    tip, tail = (
        (x + half * math.cos(fall), y + half * math.sin(fall)),
        (x - half * math.cos(fall), y - half * math.sin(fall)),
    )
    look: dict[str, Any] = {"arrowstyle": "-|>", "color": "black", "linewidth": 2}
    ax.annotate("", tip, tail, "axes fraction", "axes fraction", arrowprops=look)
    ax.annotate("downhill", (x, 0.015), xycoords="axes fraction", ha="center", fontsize=9)
