"""Study green speed: where each club must land for one pin, from slow greens to fast ones."""

import html
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.figure import Figure

from golfphys.core.units import FACTORS_TO_SI, METRES_PER_FOOT
from golfphys.panels.base import Panel
from golfphys.panels.chip import FIRM, GREEN_SPEED, LIE, SLOPE, TO_PIN
from golfphys.panels.drawing import Margins
from golfphys.panels.showing import green_speed, length
from golfphys.physics.club import BAG, DEFAULT_PLAYER, Player
from golfphys.planning.speed_study import landing_shift
from golfphys.sheets.templates import Units
from golfphys.show.style import LengthUnit, looks

SPEEDS = (6.0, 8.0, 10.0, 12.0, 14.0)
"""Green speeds in ft that are always computed; the one asked about comes with them."""


@dataclass(frozen=True, kw_only=True)
class SpeedStudy:
    """Landing spots over green speed.

    Parameters
    ----------
    table : DataFrame
        What `golfphys.planning.speed_study.landing_shift` returned.
    stimp_ft : float
        The green speed asked about.
    to_pin : float
        Distance from ball to pin, m.
    """

    table: pd.DataFrame
    stimp_ft: float
    to_pin: float

    @property
    def here(self) -> pd.DataFrame:
        """The rows of the green speed asked about, by club, in the order of the bag."""
        return self.table[self.table["stimp_ft"] == self.stimp_ft].set_index("club")


class GreenSpeedPanel(Panel):
    """Study green speed: the landing spot of every club for one pin, and how far a foot of green speed moves it.

    Parameters
    ----------
    player : Player
        Whose delivery it is.
    units : {"metres", "feet"}, optional
        What lengths are shown in; what the reader chose last if left out.
    **start : float or str
        Start values of the controls `stimp_ft`, `uphill_pct`, `to_pin` (m), `lie` and `firmness`.

    Examples
    --------
    >>> panel = GreenSpeedPanel(units="metres")
    >>> bool((panel.result.here["shift_ft_per_ft"] < 0).all())
    True
    """

    controls = (GREEN_SPEED, SLOPE, TO_PIN, LIE, FIRM)
    figure_size = (8.4, 4.0)
    margins = Margins(right=1.6)

    def __init__(self, *, player: Player = DEFAULT_PLAYER, units: Units | None = None, **start: Any) -> None:
        self.player = player
        super().__init__(units=units, **start)

    def compute(self, **values: Any) -> SpeedStudy:
        """Find the landing spots from which a ball stops at the pin."""
        stimps = sorted({*SPEEDS, values["stimp_ft"]})
        table = landing_shift(
            stimps_ft=stimps,
            to_pins=[values["to_pin"]],
            grades=[values["uphill_pct"] / 100],
            firmness=values["firmness"],
            lie=values["lie"],
            player=self.player,
        )
        return SpeedStudy(table=table, stimp_ft=values["stimp_ft"], to_pin=values["to_pin"])

    def draw(self, result: SpeedStudy, figure: Figure) -> None:
        """Draw the landing spot of each club against green speed."""
        ax, shown = figure.subplots(), LengthUnit(self.unit)
        for club, look in looks(list(BAG)).items():
            line = result.table[result.table["club"] == club]
            landing = shown.show(line["landing_m"].to_numpy(float))
            if np.all(np.isnan(landing)):
                continue
            ax.plot(line["stimp_ft"], landing, marker="o", markersize=3.5, **look)
        pin = shown.show(result.to_pin)
        ax.axhline(pin, color="black", linewidth=1)
        ax.annotate("pin", (6.0, pin), (0, -3), textcoords="offset points", va="top", fontsize=9)
        ax.axvline(result.stimp_ft, color="black", linewidth=1, linestyle=":")
        ax.set(xlabel="green speed (ft)", ylabel=shown.label("where it must land"), ylim=(0, 1.05 * pin))
        ax.set_title("The faster the green, the shorter the landing")
        if ax.get_legend_handles_labels()[0]:
            handles, names = ax.get_legend_handles_labels()
            ax.legend(handles[::-1], names[::-1], loc="upper left", bbox_to_anchor=(1.0, 1.0))

    def words(self, result: SpeedStudy) -> str:
        """Say, for each club, where to land it and how far a foot of green speed moves the spot."""
        here, unit = result.here, self.unit
        reached = here[here["landing_m"].notna()]
        head = f"At a green speed of {green_speed(result.stimp_ft)}: "
        if reached.empty:
            return head + "<b>no club of the bag stops a ball at this pin</b> on a straight line."
        spots = "; ".join(
            f"{html.escape(str(club))} {length(row['landing_m'], unit)}" for club, row in reached.iterrows()
        )
        shift = -reached["shift_ft_per_ft"].dropna()
        moved = ""
        if len(shift):
            factor = 12 if unit == "ft" else METRES_PER_FOOT / FACTORS_TO_SI["cm"]
            low, high = (f"{factor * value:.0f}" for value in (shift.min(), shift.max()))
            small = "cm" if unit == "m" else "in"
            moved = f" One foot faster, and the spot comes <b>{low} to {high} {small}</b> closer."
        missing = [str(club) for club in here.index if club not in reached.index]
        none = f" Not from any landing: {html.escape(', '.join(missing))}." if missing else ""
        return f"{head}{spots}.{moved}{none}"
