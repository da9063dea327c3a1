"""Plan a shot, and compare clubs: the same question to `golfphys.plan_chip`, shown in two ways."""

import html
from typing import Any, ClassVar

import numpy as np
from matplotlib.figure import Figure

from golfphys.panels.base import Panel
from golfphys.panels.controls import Control
from golfphys.panels.drawing import Margins
from golfphys.panels.showing import length, quiet_axes
from golfphys.physics.club import BAG, DEFAULT_PLAYER, LIES, Player
from golfphys.physics.green import Green, GroundBatch, LinearTurf, Turf
from golfphys.planning import ChipPlan, CourseDraws, plan_chip
from golfphys.planning.speed_study import FIRMNESS, slope_along
from golfphys.sheets.templates import Units
from golfphys.show import plots
from golfphys.show.style import CYCLE, GREY, ROUGH, TURF, LengthUnit

LANDINGS, SHOTS = 25, 64
"""How many landing spots and errors a panel tries: fewer than a full plan, so that it answers at once."""

GREEN_SPEED = Control(name="stimp_ft", label="green speed (ft)", start=10.0, low=6.0, high=14.0, step=0.5)
SLOPE = Control(name="uphill_pct", label="slope along the line (%, uphill +)", start=0.0, low=-4.0, high=6.0, step=0.5)
TO_EDGE = Control(name="to_edge", label="ball to edge of the green", start=3.0, low=0.0, high=20.0, step=0.5, unit="m")
TO_PIN = Control(name="to_pin", label="ball to pin", start=15.0, low=2.0, high=40.0, step=0.5, unit="m")
LIE = Control(name="lie", label="lie", start="fairway", choices=tuple(LIES))
FIRM = Control(name="firmness", label="turf where it lands", start="middling", choices=tuple(FIRMNESS))


class ChipPanel(Panel):
    """Plan a chip on the stated default player, or your own: green speed, slope, lie, distances.

    Parameters
    ----------
    player : Player
        Delivery and scatter.
    turf : Turf or LinearTurf, optional
        How the green takes a landing; the published turf if left out.
    units : {"metres", "feet"}, optional
        What lengths are shown in; what the reader chose last if left out.
    **start : float or str
        Start values of the controls `stimp_ft`, `uphill_pct`, `to_edge`, `to_pin` (m) and `lie`.

    Examples
    --------
    >>> panel = ChipPanel(units="metres", to_pin=12.0)
    >>> panel.result.pick in BAG
    True
    """

    controls: ClassVar[tuple[Control, ...]] = (GREEN_SPEED, SLOPE, TO_EDGE, TO_PIN, LIE)
    figure_size = (8.5, 4.2)

    def __init__(
        self,
        *,
        player: Player = DEFAULT_PLAYER,
        turf: Turf | LinearTurf | None = None,
        units: Units | None = None,
        **start: Any,
    ) -> None:
        self.player, self.turf = player, turf
        super().__init__(units=units, **start)

    def compute(self, **values: Any) -> ChipPlan:
        """Plan the chip, with fewer trials than a full plan."""
        return _planned(self.player, self.turf, values)

    def draw(self, result: ChipPlan, figure: Figure) -> None:
        """Draw the clubs' paths from the side."""
        plots.plot_trajectories(result, ax=figure.subplots(), unit=self.unit)

    def words(self, result: ChipPlan) -> str:
        """Say which club, where to land it, and how often it ends close."""
        return plan_in_words(result, self.unit)


class MeasuredChipPanel(ChipPanel):
    """Plan a chip on a measured green: only where you stand and how the ball lies is asked.

    Parameters
    ----------
    ground : Green, GroundBatch or CourseDraws
        The green along the line of play, as `golfphys.fitted_green` or `golfphys.planning.course_draws` gives it. Of a
        batch of draws the first `SHOTS` are played.
    player : Player, optional
        Delivery and scatter; if left out those of `CourseDraws`, or else of the stated default player.
    units : {"metres", "feet"}, optional
        What lengths are shown in; what the reader chose last if left out.
    **start : float or str
        Start values of the controls `to_edge`, `to_pin` (m) and `lie`.

    Examples
    --------
    >>> panel = MeasuredChipPanel(Green.from_stimp(9.5, grade=0.01), units="metres", to_pin=12.0)
    >>> panel.result.to_pin
    12.0
    """

    controls = (TO_EDGE, TO_PIN, LIE)

    def __init__(
        self,
        ground: Green | GroundBatch | CourseDraws,
        *,
        player: Player | None = None,
        units: Units | None = None,
        **start: Any,
    ) -> None:
        self.ground, self.measured_player = ground, player
        super().__init__(units=units, **start)

    def compute(self, **values: Any) -> ChipPlan:
        """Plan the chip on the measured green."""
        return plan_chip(self.ground, player=self.measured_player, **values, landings=LANDINGS, shots=SHOTS)


class ClubsPanel(Panel):
    """Compare clubs for one chip: how far each flies and runs, its window, and how often it ends close.

    Parameters
    ----------
    player : Player
        Delivery and scatter.
    units : {"metres", "feet"}, optional
        What lengths are shown in; what the reader chose last if left out.
    **start : float or str
        Start values of the controls `stimp_ft`, `uphill_pct`, `to_edge`, `to_pin` (m), `lie` and `firmness`.

    Examples
    --------
    >>> panel = ClubsPanel(units="metres")
    >>> set(panel.result.table["club"]) == set(BAG)
    True
    """

    controls = (GREEN_SPEED, SLOPE, TO_EDGE, TO_PIN, LIE, FIRM)
    figure_size = (8.6, 3.8)
    margins = Margins(left=1.25, between=0.15)

    def __init__(self, *, player: Player = DEFAULT_PLAYER, units: Units | None = None, **start: Any) -> None:
        self.player = player
        super().__init__(units=units, **start)

    def compute(self, **values: Any) -> ChipPlan:
        """Plan the chip with every club."""
        return _planned(self.player, FIRMNESS[values["firmness"]], values)

    def draw(self, result: ChipPlan, figure: Figure) -> None:
        """Draw a row for each club: flight, run and window on the left, how often it ends close on the right."""
        ground, share = figure.subplots(1, 2, sharey=True, width_ratios=(2.6, 1.0))
        shown = LengthUnit(self.unit)
        table = result.table.set_index("club")
        clubs = [club for club in BAG if club in table.index]
        column, near = _closeness(self.unit)
        shares = table[column].to_dict()
        for row, club in enumerate(clubs):
            line = table.loc[club]
            land, rest = shown.show(line["landing_m"]), shown.show(line["landing_m"] + line["roll_m"])
            window = shown.show(np.array([line["window_low_m"], line["window_high_m"]], dtype=float))
            if np.all(np.isfinite(window)):
                ground.barh(row, window[1] - window[0], 0.66, window[0], color=CYCLE[4], alpha=0.45, linewidth=0)
            ground.plot([0, land], [row, row], color=CYCLE[0], linewidth=3, solid_capstyle="butt")
            ground.plot([land, rest], [row, row], color=CYCLE[0], linewidth=1.6, linestyle=(0, (1, 1)))
            ground.plot(land, row, "v", color=CYCLE[0], markersize=8)
            within = 100 * float(shares[club])
            share.barh(row, within, 0.6, color=CYCLE[2] if club == result.pick else GREY)
            share.annotate(f"{within:.0f} %", (within, row), (3, 0), textcoords="offset points", va="center")
        self._ground(ground, result, len(clubs))
        ground.set_yticks(range(len(clubs)), clubs)
        share.set(xlabel=f"end within {near} (%)", xlim=(0, 100))
        share.set_title("How often close")
        quiet_axes(share)

    def _ground(self, ax: Any, result: ChipPlan, rows: int) -> None:
        shown = LengthUnit(self.unit)
        edge, pin = shown.show(result.to_edge), shown.show(result.to_pin)
        ax.axvspan(0, edge, color=ROUGH, linewidth=0, zorder=0)
        ax.axvspan(edge, pin * 1.12, color=TURF, linewidth=0, zorder=0)
        ax.axvline(pin, color="black", linewidth=1.2)
        ax.annotate(" pin", (pin, -0.42), va="bottom", fontsize=9)
        ax.set(xlim=(0, pin * 1.12), ylim=(rows - 0.4, -0.75), xlabel=shown.label("from the ball"))
        ax.set_title("Flight (solid), run (dotted), window to land in (orange)")
        quiet_axes(ax)

    def words(self, result: ChipPlan) -> str:
        """Say the pick, then how the clubs follow each other."""
        ranked = result.table.sort_values("strokes")
        order = ", ".join(f"{row.club} {row.strokes:.2f}" for row in ranked.itertuples())
        return f"{plan_in_words(result, self.unit)}<br>Strokes to hole out, fewest first: {html.escape(order)}."


def _planned(player: Player, turf: Turf | LinearTurf | None, values: dict[str, Any]) -> ChipPlan:
    """Plan the chip that the controls ask about, on a green of their speed and slope."""
    green = Green.from_stimp(values["stimp_ft"], turf=turf, **slope_along(values["uphill_pct"] / 100))
    question = {name: values[name] for name in ("to_edge", "to_pin", "lie")}
    return plan_chip(green, player=player, **question, landings=LANDINGS, shots=SHOTS)


def plan_in_words(plan: ChipPlan, unit: str) -> str:
    """Return the answer of a plan in two sentences, as HTML.

    Parameters
    ----------
    plan : ChipPlan
        The plan.
    unit : str
        Symbol of the unit of length.

    Returns
    -------
    str
        The verdict, where to land it, and how often it ends close.
    """
    best = plan.table.iloc[0]
    onto = float(best["onto_green_m"])
    where = f"{length(abs(onto), unit)} {'onto the green' if onto >= 0 else 'short of the green'}"
    close, near = _closeness(unit)
    said = (
        f"<b>{html.escape(plan.verdict)}</b> {html.escape(str(best['club']).capitalize())}: land it "
        f"<b>{length(best['landing_m'], unit)}</b> out, {where}; it runs {length(best['roll_m'], unit)}. "
        f"{100 * best[close]:.0f} % end within {near}, "
        f"{best['strokes']:.2f} strokes expected."
    )
    lost = [sentence for sentence in plan.cautions if "run away" in sentence]
    return said + "".join(f" {html.escape(sentence)}" for sentence in lost)


def _closeness(unit: str) -> tuple[str, str]:
    """Return the column of a plan's table that says how often a chip ends close, and what close is, in this unit."""
    return ("within_3ft", "3 ft") if unit == "ft" else ("within_1m", "1 m")
