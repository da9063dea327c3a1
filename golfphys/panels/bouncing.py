"""Explore a bounce: club, lie, firmness of the turf and spin, from landing to rest."""

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from matplotlib.figure import Figure

from golfphys.core.units import FACTORS_TO_SI
from golfphys.panels.base import Panel
from golfphys.panels.chip import FIRM, GREEN_SPEED, LIE
from golfphys.panels.controls import Control
from golfphys.panels.showing import length
from golfphys.physics.club import BAG, DEFAULT_PLAYER, LIES, Launch
from golfphys.physics.green import Green
from golfphys.physics.shot import Shots, Trace, trace
from golfphys.planning.chips import landing_tables
from golfphys.planning.speed_study import FIRMNESS
from golfphys.show import plots


@dataclass(frozen=True, kw_only=True)
class Bounced:
    """One landing with everything after it, and the same with the spin that the strike gives.

    Parameters
    ----------
    asked, usual : Trace
        With the spin asked about, and as struck.
    """

    asked: Trace
    usual: Trace

    @property
    def shot(self) -> Shots:
        """The numbers of the shot asked about."""
        return self.asked.shot


class BouncePanel(Panel):
    """Explore a bounce: what firmness and spin make of a landing.

    Parameters
    ----------
    units : {"metres", "feet"}, optional
        What lengths are shown in; what the reader chose last if left out.
    **start : float or str
        Start values of the controls `club`, `lie`, `firmness`, `spin_pct` (of the spin that the strike gives), `carry`
        (m) and `stimp_ft`.

    Examples
    --------
    >>> panel = BouncePanel(units="metres", club="sand wedge")
    >>> panel.result.shot.bounces > 0
    True
    """

    controls = (
        Control(name="club", label="club", start="sand wedge", choices=tuple(BAG)),
        LIE,
        FIRM,
        Control(name="spin_pct", label="spin, of what the strike gives (%)", start=100.0, high=200.0, step=10.0),
        Control(name="carry", label="it lands after", start=6.0, low=1.0, high=25.0, step=0.5, unit="m"),
        GREEN_SPEED,
    )
    figure_size = (8.5, 3.2)

    def compute(self, **values: Any) -> Bounced:
        """Strike it to land at the carry asked for, then change the spin with which it leaves the club."""
        green = Green.from_stimp(values["stimp_ft"], turf=FIRMNESS[values["firmness"]])
        club, lie, carry = BAG[values["club"]], LIES[values["lie"]], values["carry"]
        (table,) = landing_tables([club], lie, DEFAULT_PLAYER, green, farthest=carry + 2.0)
        if not table.reach[0] <= carry <= table.reach[1]:
            low, high = table.reach
            raise ValueError(f"carry is {carry:g} m; this club lands a chip from {low:.1f} to {high:.1f} m away")
        found = table.launch(carry)
        usual = Launch(*(float(np.asarray(item)) for item in (found.speed, found.angle, found.backspin)))
        asked = replace(usual, backspin=float(np.asarray(usual.backspin)) * values["spin_pct"] / 100)
        return Bounced(asked=trace(asked, green), usual=trace(usual, green))

    def draw(self, result: Bounced, figure: Figure) -> None:
        """Draw the ball's way from just before it lands to rest, from the side."""
        paths = {"spin asked about": result.asked, "spin as struck": result.usual}
        plots.plot_after_landing(paths, ax=figure.subplots(), unit=self.unit)

    def words(self, result: Bounced) -> str:
        """Say how it lands, how it hops and how far it runs."""
        shot, unit, change = result.shot, self.unit, result.shot.roll_distance - result.usual.shot.roll_distance
        metric = unit == "m"
        speed = f"{shot.landing_speed:.1f} m/s" if metric else f"{shot.landing_speed / FACTORS_TO_SI['ft_s']:.0f} ft/s"
        hops = hop_heights(result.asked)
        first = f", the first {length(hops[0], 'cm' if metric else 'in', 0)} high" if hops else ""
        said = (
            f"It lands at {speed}, {math.degrees(shot.landing_angle):.0f} deg below level, with "
            f"{shot.landing_spin / FACTORS_TO_SI['rpm']:.0f} rpm of backspin. "
            f"{shot.bounces} hop{'s' if shot.bounces != 1 else ''}{first}; "
            f"it stops <b>{length(shot.roll_distance, unit)}</b> on"
        )
        if abs(change) < 0.05:
            return f"{said}."
        how = "shorter" if change < 0 else "longer"
        return f"{said}, {length(abs(change), unit)} {how} than with the spin as struck."


def hop_heights(path: Trace) -> list[float]:
    """Return how high each hop after the landing goes, m, read off the drawn path.

    Parameters
    ----------
    path : Trace
        The path of one shot.

    Returns
    -------
    list of float
        One height for each hop, in order.
    """
    flying = (path.phase == "flight") & (path.time > path.shot.flight_time + 1e-9)
    found, height = [], 0.0
    for up, z in zip(flying, path.height, strict=True):
        if up and z > 1e-6:
            height = max(height, float(z))
        elif height:
            found.append(height)
            height = 0.0
    return [*found, height] if height else found
