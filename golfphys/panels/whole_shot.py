"""The whole shot with sliders: motion, club, lie, air and green in, the way of the ball out, part by part."""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.figure import Figure

from golfphys.core.units import FACTORS_TO_SI
from golfphys.panels.base import Panel
from golfphys.panels.chip import FIRM, GREEN_SPEED, LIE, SLOPE
from golfphys.panels.controls import Control
from golfphys.panels.showing import length
from golfphys.physics.club import BAG, LIES, Delivery, Launch
from golfphys.physics.flight import Air
from golfphys.physics.green import Green
from golfphys.physics.shot import Shots, Trace, trace
from golfphys.physics.strike import launch_from
from golfphys.planning.speed_study import FIRMNESS, slope_along
from golfphys.show import plots
from golfphys.show.worked.shot import PARTS, parts


@dataclass(frozen=True, kw_only=True)
class Played:
    """One shot: how it left the club, and its path.

    Parameters
    ----------
    launch : Launch
        Off the face.
    path : Trace
        From strike to rest.
    """

    launch: Launch
    path: Trace

    @property
    def shot(self) -> Shots:
        """The numbers of the whole shot."""
        return self.path.shot


class ShotPanel(Panel):
    """Play a shot from its causes: head speed, attack, lean, club and lie; wind; green speed, slope and firmness.

    Parameters
    ----------
    units : {"metres", "feet"}, optional
        What lengths are shown in; what the reader chose last if left out.
    **start : float or str
        Start values of the controls `club`, `lie`, `head_speed` (m/s), `attack_deg` (downwards negative), `lean_deg`,
        `wind` (m/s, helping positive), `stimp_ft`, `uphill_pct` and `firmness`.

    Examples
    --------
    >>> panel = ShotPanel(units="metres", club="lob wedge")
    >>> panel.result.shot.stops
    True
    """

    controls = (
        Control(name="club", label="club", start="sand wedge", choices=tuple(BAG)),
        LIE,
        Control(name="head_speed", label="head speed", start=8.0, low=4.0, high=20.0, step=0.5, unit="m_s"),
        Control(name="attack_deg", label="attack (deg, down -)", start=-4.0, low=-12.0, high=4.0, step=1.0),
        Control(name="lean_deg", label="shaft lean (deg)", start=8.0, low=-4.0, high=16.0, step=1.0),
        Control(
            name="wind", label="wind along the line, helping +", start=0.0, low=-12.0, high=12.0, step=1.0, unit="m_s"
        ),
        GREEN_SPEED,
        SLOPE,
        FIRM,
    )
    figure_size = (8.5, 3.4)

    def compute(self, **values: Any) -> Played:
        """Strike it and follow it to rest."""
        delivery = Delivery(
            speed=values["head_speed"],
            attack=math.radians(values["attack_deg"]),
            shaft_lean=math.radians(values["lean_deg"]),
        )
        launch = launch_from(BAG[values["club"]], delivery, LIES[values["lie"]])
        if not float(np.asarray(launch.angle)) > 0.02:
            raise ValueError("attack and lean leave no loft: this strike does not lift the ball")
        turf = FIRMNESS[values["firmness"]]
        green = Green.from_stimp(values["stimp_ft"], turf=turf, **slope_along(values["uphill_pct"] / 100))
        wind = Air(wind_speed=abs(values["wind"]), wind_direction=0.0 if values["wind"] >= 0 else math.pi)
        path = trace(launch, green, air=wind, time_step=0.05)
        if not path.shot.stops:
            raise ValueError("on this slope at this green speed the ball does not stop")
        return Played(launch=launch, path=path)

    def draw(self, result: Played, figure: Figure) -> None:
        """Draw the path from the side, each part in its colour."""
        plots.plot_path(result.path, ax=figure.subplots(), unit=self.unit)

    def words(self, result: Played) -> str:
        """Say how it leaves, lands and stops, and where the distance is made."""
        launch, shot, unit = result.launch, result.shot, self.unit
        metric = unit == "m"
        speed = float(np.asarray(launch.speed)) / (1.0 if metric else FACTORS_TO_SI["ft_s"])
        rpm = float(np.asarray(launch.backspin)) / FACTORS_TO_SI["rpm"]
        way = parts({"shot": result.path}).iloc[0].to_dict()
        made = ", ".join(f"{part} {length(way[part], unit)}" for part in PARTS)
        return (
            f"It leaves at {speed:.1f} {'m/s' if metric else 'ft/s'}, "
            f"{math.degrees(float(np.asarray(launch.angle))):.0f} deg up, with {rpm:.0f} rpm of backspin, lands "
            f"{math.degrees(shot.landing_angle):.0f} deg below level, stops <b>{length(shot.rest_x, unit)}</b> away: "
            f"{made}."
        )
