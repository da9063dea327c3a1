"""Panels of single laws: a roll, a bounce, a whole shot, the landing spot over green speed."""

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.figure import Figure

from golfphys.core import constants
from golfphys.core.units import FACTORS_TO_SI, METRES_PER_FOOT
from golfphys.panels.panel import Control, Subject, length
from golfphys.physics.club import BAG, LIES, Delivery, Launch
from golfphys.physics.draws import stated
from golfphys.physics.flight import Air
from golfphys.physics.green import Green
from golfphys.physics.roll import path
from golfphys.physics.rows import Status
from golfphys.physics.shot import Trace, trace
from golfphys.physics.strike import launch_from
from golfphys.planning.position import FIRMNESS, Stated, slope_along
from golfphys.planning.studies import landing_shift
from golfphys.planning.world import chips_to
from golfphys.show import plots
from golfphys.show.markup import escape
from golfphys.show.style import TURF, LengthUnit, looks
from golfphys.show.worked import PARTS, parts, same_reading

LAWS = {"alike at every speed": "constant", "grows with speed": "linear", "grows with speed squared": "quadratic"}
"""Laws of resistance in the words of the list."""
GROWTH = 0.3
"""Fraction by which resistance at the ramp's release speed exceeds that of a ball about to stop, where it grows."""
SPEEDS_FT = (6.0, 8.0, 10.0, 12.0, 14.0)

GREEN_SPEED = Control(name="stimp_ft", label="green speed (ft)", start=10.0, low=6.0, high=14.0, step=0.5)
SLOPE = Control(name="uphill_pct", label="slope of the line (%, uphill +)", start=0.0, low=-4.0, high=6.0, step=0.5)
TO_EDGE = Control(name="to_edge", label="ball to edge of the green", start=3.0, low=0.0, high=20.0, step=0.5, unit="m")
TO_PIN = Control(name="to_pin", label="ball to pin", start=15.0, low=2.0, high=40.0, step=0.5, unit="m")
CLUB = Control(name="club", label="club", start="sand wedge", choices=tuple(BAG))
LIE = Control(name="lie", label="lie", start="fairway", choices=tuple(LIES))
FIRM = Control(name="firmness", label="turf where it lands", start="middling", choices=tuple(FIRMNESS))


def green_along(values: dict[str, Any], **more: Any) -> Green:
    """Return the green of a panel's green speed and slope along the line."""
    return Green.from_stimp(values["stimp_ft"], **slope_along(values["uphill_pct"] / 100), **more)


def stimp_in_words(stimp_ft: float) -> str:
    """Return a green speed in feet and metres."""
    return f"{stimp_ft:.1f} ft ({stimp_ft * METRES_PER_FOOT:.2f} m)"


def _speed_in_words(speed: Any, unit: str) -> str:
    value = float(np.asarray(speed))
    return f"{value:.1f} m/s" if unit == "m" else f"{value / FACTORS_TO_SI['ft_s']:.0f} ft/s"


# a roll


def _rolled(values: dict[str, Any]) -> dict[str, Any]:
    """Follow the ball on the slope and on the level; the green keeps its ramp reading whatever the law."""
    law = same_reading(values["stimp_ft"], growth=GROWTH)[LAWS[values["law"]]]
    # the ball starts along x; uphill lies `heading` anticlockwise of that, and the fall is opposite to it
    fall = math.radians(values["heading_deg"]) + math.pi
    slopes, level = path(values["speed"], 0.0, law, values["slope_pct"] / 100, fall), path(values["speed"], 0.0, law)
    return {**values, "paths": {"on this slope": slopes, "on the level": level}, "law": law, "fall": fall}


def _draw_roll(result: dict[str, Any], figure: Figure, unit: str) -> None:
    """Draw speed against distance rolled, and the path from above."""
    along, above = figure.subplots(1, 2, width_ratios=(1.0, 1.7))
    paths = result["paths"]
    plots.plot_paths(paths, fall=result["fall"] if result["slope_pct"] > 0 else None, ax=above, unit=unit)
    above.set_aspect("equal", adjustable="datalim")
    above.set_facecolor(TURF)
    shown, speed_factor = LengthUnit(unit), 1.0 if unit == "m" else FACTORS_TO_SI["ft_s"]
    for name, look in looks(paths).items():
        steps = np.hypot(np.diff(paths[name].x), np.diff(paths[name].y))
        gone = shown.show(np.concatenate([[0.0], np.cumsum(steps)]))
        along.plot(gone, paths[name].speed / speed_factor, **look)
    along.set(xlabel=shown.label("rolled"), ylabel=f"speed ({unit}/s)", title="Slowing down")
    along.set_ylim(bottom=0)


def _roll_words(result: dict[str, Any], unit: str) -> str:
    """Say how far, how long and how far aside."""
    rolled = result["paths"]["on this slope"]
    head = f"Green speed {stimp_in_words(result['stimp_ft'])}. "
    if rolled.status == Status.NEVER_STOPS:
        return head + (
            f"<b>The ball does not stop</b>: the slope of {result['slope_pct']:.1f} % pulls harder than the "
            f"resistance of {100 * result['law'].constant:.1f} % holds."
        )
    reach, on_level = (math.hypot(item.x[-1], item.y[-1]) for item in result["paths"].values())
    y = float(rolled.y[-1])
    drift = f"{length(abs(y), unit, 2)} to the {'left' if y > 0 else 'right'}" if abs(y) >= 0.005 else "not at all"
    return head + (
        f"It stops <b>{length(reach, unit, 2)}</b> away after {rolled.time[-1]:.1f} s "
        f"({length(on_level, unit, 2)} on the level) and drifts {drift}."
    )


roll = Subject(
    controls=(
        replace(GREEN_SPEED, low=5.0, high=15.0),
        Control(name="slope_pct", label="slope (%)", start=0.0, low=0.0, high=8.0, step=0.5),
        Control(
            name="heading_deg", label="clockwise from uphill (deg)", start=90.0, high=360.0, step=15.0
        ),
        Control(
            name="speed", label="speed at the start", start=constants.RAMP_RELEASE_SPEED.value, low=0.3, high=4.0,
            step=0.05, unit="m_s", step_feet=0.2,
        ),
        Control(name="law", label="resistance", start="alike at every speed", choices=tuple(LAWS)),
    ),
    compute=_rolled, draw=_draw_roll, words=_roll_words, size=(8.8, 3.6), right=1.4, between=0.75,
)  # fmt: skip
"""How far, which direction, how long a ball rolls, as green speed, slope, direction, speed and law change."""


# a bounce


def _bounced(values: dict[str, Any]) -> dict[str, Trace]:
    """Strike it to land at the carry asked for, then change the spin with which it leaves the club."""
    green = Green.from_stimp(values["stimp_ft"], turf=FIRMNESS[values["firmness"]])
    bag = {values["club"]: BAG[values["club"]]}
    usual = chips_to(values["carry"], stated(green, bag=bag), values["lie"])[values["club"]]
    asked = replace(usual, backspin=float(np.asarray(usual.backspin)) * values["spin_pct"] / 100)
    return {"spin asked about": trace(asked, green), "spin as struck": trace(usual, green)}


def _bounce_words(result: dict[str, Trace], unit: str) -> str:
    """Say how it lands, how it hops and how far it runs."""
    asked, usual = result.values()
    played, change = asked.shot, asked.shot.run - usual.shot.run
    hops = hop_heights(asked)
    first = f", the first {length(hops[0], 'cm' if unit == 'm' else 'in', 0)} high" if hops else ""
    said = (
        f"It lands at {_speed_in_words(played.landing_speed, unit)}, {math.degrees(played.landing_angle):.0f} deg "
        f"below level, with {played.landing_spin / FACTORS_TO_SI['rpm']:.0f} rpm of backspin. "
        f"{played.bounces} hop{'s' if played.bounces != 1 else ''}{first}; "
        f"it stops <b>{length(played.run, unit)}</b> on"
    )
    if abs(change) < 0.05:
        return f"{said}."
    return f"{said}, {length(abs(change), unit)} {'shorter' if change < 0 else 'longer'} than with the spin as struck."


def hop_heights(path: Trace) -> list[float]:
    """Return how high each hop after the landing goes, m, in order, read off the drawn path of one shot."""
    from scipy.ndimage import label, maximum

    flying = (path.phase == "flight") & (path.time > path.shot.flight_time + 1e-9) & (path.height > 1e-6)
    hops, count = label(flying)
    return [float(top) for top in maximum(path.height, hops, range(1, count + 1))] if count else []


bounce = Subject(
    controls=(
        CLUB, LIE, FIRM,
        Control(name="spin_pct", label="spin, of that of the strike (%)", start=100.0, high=200.0, step=10.0),
        Control(name="carry", label="it lands after", start=6.0, low=1.0, high=25.0, step=0.5, unit="m"),
        GREEN_SPEED,
    ),
    compute=_bounced, words=_bounce_words, size=(8.5, 3.2),
    draw=lambda result, figure, unit: plots.plot_after_landing(result, ax=figure.subplots(), unit=unit),
)  # fmt: skip
"""What firmness and spin make of a landing."""


# the whole shot


def _played(values: dict[str, Any]) -> tuple[Launch, Trace]:
    """Strike it and follow it to rest."""
    attack, lean = math.radians(values["attack_deg"]), math.radians(values["lean_deg"])
    delivery = Delivery(speed=values["head_speed"], attack=attack, shaft_lean=lean)
    launch = launch_from(BAG[values["club"]], delivery, LIES[values["lie"]])
    if not float(np.asarray(launch.angle)) > 0.02:
        raise ValueError("attack and lean leave no loft: this strike does not lift the ball")
    wind = Air(wind_speed=abs(values["wind"]), wind_direction=0.0 if values["wind"] >= 0 else math.pi)
    played = trace(launch, green_along(values, turf=FIRMNESS[values["firmness"]]), air=wind, time_step=0.05)
    if not played.shot.stops:
        raise ValueError("on this slope at this green speed the ball does not stop")
    return launch, played


def _shot_words(result: tuple[Launch, Trace], unit: str) -> str:
    """Say how it leaves, lands and stops, and where the distance is made."""
    launch, played = result
    phases = parts({"shot": played}).iloc[0].to_dict()
    made = ", ".join(f"{part} {length(phases[part], unit)}" for part in PARTS)
    rpm = float(np.asarray(launch.backspin)) / FACTORS_TO_SI["rpm"]
    return (
        f"It leaves at {_speed_in_words(launch.speed, unit)}, {math.degrees(float(np.asarray(launch.angle))):.0f} deg "
        f"up, with {rpm:.0f} rpm of backspin, lands {math.degrees(played.shot.landing_angle):.0f} deg below level, "
        f"stops <b>{length(played.shot.rest_x, unit)}</b> away: {made}."
    )


shot = Subject(
    controls=(
        CLUB, LIE,
        Control(name="head_speed", label="head speed", start=8.0, low=4.0, high=20.0, step=0.5, unit="m_s"),
        Control(name="attack_deg", label="attack (deg, down -)", start=-4.0, low=-12.0, high=4.0, step=1.0),
        Control(name="lean_deg", label="shaft lean (deg)", start=8.0, low=-4.0, high=16.0, step=1.0),
        Control(
            name="wind", label="wind, helping +", start=0.0, low=-12.0, high=12.0, step=1.0, unit="m_s"
        ),
        GREEN_SPEED, SLOPE, FIRM,
    ),
    compute=_played, words=_shot_words, size=(8.5, 3.4),
    draw=lambda result, figure, unit: plots.plot_path(result[1], ax=figure.subplots(), unit=unit),
)  # fmt: skip
"""A shot from its causes: head speed, attack, lean, club and lie; wind; green speed, slope and firmness."""


# green speed


def _landing_spots(values: dict[str, Any]) -> dict[str, Any]:
    """Find the landing spots from which a ball stops at the pin, over green speeds and at the one asked about."""
    stimp = values["stimp_ft"]
    table = landing_shift(
        stimps_ft=sorted({*SPEEDS_FT, stimp}), to_pins=[values["to_pin"]], grades=[values["uphill_pct"] / 100],
        known=Stated(firmness=values["firmness"], lie=values["lie"]),
    )  # fmt: skip
    return {**values, "table": table, "here": table[table["stimp_ft"] == stimp].set_index("club")}


def _draw_landing_spots(result: dict[str, Any], figure: Figure, unit: str) -> None:
    ax, pin = figure.subplots(), LengthUnit(unit).show(result["to_pin"])
    known = {"to_pin": result["to_pin"], "grade": result["uphill_pct"] / 100}
    plots.plot_landing_shift(result["table"], **known, ax=ax, unit=unit)
    ax.axhline(pin, color="black", linewidth=1)
    ax.annotate("pin", (6.0, pin), (0, -3), textcoords="offset points", va="top", fontsize=9)
    ax.axvline(result["stimp_ft"], color="black", linewidth=1, linestyle=":")
    ax.set_ylim(0, 1.05 * pin)


def _landing_spot_words(result: dict[str, Any], unit: str) -> str:
    """Say, for each club, where to land it and how far a foot of green speed moves the spot."""
    here: pd.DataFrame = result["here"]
    reached = here[here["landing_m"].notna()]
    head = f"At a green speed of {stimp_in_words(result['stimp_ft'])}: "
    if reached.empty:
        return head + "<b>no club of the bag stops a ball at this pin</b> on a straight line."
    spots = "; ".join(f"{escape(str(club))} {length(row['landing_m'], unit)}" for club, row in reached.iterrows())
    shift = -reached["shift_ft_per_ft"].dropna() * (METRES_PER_FOOT / FACTORS_TO_SI["cm"] if unit == "m" else 12)
    small = "cm" if unit == "m" else "in"
    moved = f"{shift.min():.0f} to {shift.max():.0f} {small}" if len(shift) else ""
    moved = f" One foot faster, and the landing spot comes <b>{moved}</b> closer." if moved else ""
    missing = ", ".join(escape(str(club)) for club in here.index if club not in reached.index)
    return f"{head}{spots}.{moved}" + (f" Not from any landing: {missing}." if missing else "")


landing_spots = Subject(
    controls=(GREEN_SPEED, SLOPE, TO_PIN, LIE, FIRM),
    compute=_landing_spots, draw=_draw_landing_spots, words=_landing_spot_words, size=(8.4, 4.0), right=1.6,
)  # fmt: skip
"""The landing spot of every club for one pin, and how far a foot of green speed moves it."""
