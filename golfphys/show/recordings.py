"""Recordings and films: what was heard, the ball's track over a frame, where to put the phone, and what it is worth.

What it is worth is shown on one invented course, fitted with and without it.
"""

import math
from collections.abc import Mapping

import numpy as np
import pandas as pd

from golfphys import invented
from golfphys.fitting.course_fit import CourseFit
from golfphys.fitting.joint import fit
from golfphys.physics.green import Green, Resistance
from golfphys.planning.plan import plan_chip
from golfphys.planning.search import search_spots
from golfphys.planning.swings import swings_for
from golfphys.recordings.filmed import Track, View, along
from golfphys.recordings.heard import Heard, Onsets
from golfphys.recordings.opening import Grey, Sound
from golfphys.show.style import CYCLE, GREY, TURF, Axes, LengthUnit, finish, new_axes, picture

SHOWN_POINTS = 4000  # columns into which a recording is gathered for drawing


@picture()
def plot_heard(sound: Sound, onsets: Onsets, heard: Heard | None = None, *, ax: Axes | None = None) -> Axes:
    """Draw the loudness of a recording in time, every onset found with its number, and the events chosen."""
    ax = new_axes(ax, 8.0, 3.6)
    pieces = np.array_split(np.abs(sound.signal), min(SHOWN_POINTS, len(sound.signal)))
    loud = 20 * np.log10(np.array([piece.max() for piece in pieces]) + 1e-5)
    ax.plot(np.linspace(0.0, sound.duration, loud.size), loud, color=GREY, linewidth=0.6)
    events = {number: name for name, number in heard.events.items()} if heard else {}
    top = float(loud.max())
    floor = float(np.quantile(loud, 0.02))
    for number, time in enumerate(onsets.table["time"]):
        chosen = number in events
        ax.axvline(time, color=CYCLE[1] if chosen else CYCLE[0], linewidth=1.6 if chosen else 0.8, alpha=0.8)
        ax.annotate(str(number + 1), (time, floor - 6), ha="center", fontsize=8, color=CYCLE[1] if chosen else CYCLE[0])
        if chosen:
            ax.annotate(events[number], (time, top + 3), rotation=30, fontsize=9, color=CYCLE[1])
    ax.set(xlim=(0.0, sound.duration), ylim=(floor - 8, top + 20))
    words = "What was heard: every onset with its number" + (", those taken in orange" if events else "")
    return finish(ax, "time (s)", "loudness (dB of full scale)", words, legend="")


@picture()
def plot_track(frame: Grey, view: View, track: Track, *, ax: Axes | None = None) -> Axes:
    """Draw the places in which the ball was found over a frame of the film, with the marks on the ground."""
    ax = new_axes(ax, 8.0, 8.0 * frame.shape[0] / frame.shape[1])
    ax.imshow(frame, cmap="gray", vmin=0, vmax=255)
    corners = np.vstack([view.pixels, view.pixels[:1]])
    ax.plot(*corners.T, color=CYCLE[0], linewidth=1.0, marker="+", markersize=10, label="marks")
    hand = track.table["by_hand"].to_numpy(dtype=bool)
    for chosen, color, label in ((~hand, CYCLE[1], "found"), (hand, CYCLE[4], "by hand")):
        if chosen.any():
            places = track.table.loc[chosen, ["right", "down"]].to_numpy()
            ax.plot(*places.T, linestyle="none", marker="o", markersize=3, color=color, label=label)
    ax.set(xlim=(0, frame.shape[1]), ylim=(frame.shape[0], 0))
    ax.grid(visible=False)
    ax.set_axis_off()
    title = f"The ball in {len(track.table)} of {track.frames} frames"
    return finish(ax, "", "", title, legend="lower right", frameon=True)


@picture()
def plot_film_distance(track: Track, *, ax: Axes | None = None, unit: str = "") -> Axes:
    """Draw distance along the path against time, as it goes into the films sheet."""
    ax, length = new_axes(ax), LengthUnit(unit)
    line = along(track)
    ax.plot(line["time"], length.show(line["distance"]), linestyle="none", marker="o", markersize=3, color=CYCLE[0])
    words = "time (s)", length.label("distance along the path")
    return finish(ax, *words, "The roll as it was filmed", legend="", zero="x")


@picture()
def plot_phone_places(*, ax: Axes | None = None) -> Axes:
    """Draw where the phone goes: beside the landing spot for sound, well off the line for a film of a roll."""
    from matplotlib.patches import Ellipse, Polygon

    ax = new_axes(ax, 8.0, 4.4)
    ax.add_patch(Ellipse((8.2, 0.2), 7.0, 5.0, facecolor=TURF, edgecolor="none"))
    ax.plot([0.5, 6.2], [0, 0], color=GREY, linestyle=(0, (5, 3)), linewidth=1.2)
    ax.plot([6.2, 10.4], [0, 0], color=CYCLE[0], linewidth=1.6)
    for at, words in ((0.5, "ball"), (6.2, "landing spot"), (10.4, "rest")):
        ax.plot(at, 0, marker="o", color=CYCLE[5], markersize=5)
        ax.annotate(words, (at, -0.18), ha="center", va="top", fontsize=9)
    ax.plot(6.2, 1.1, marker="s", color=CYCLE[1], markersize=9)
    words = "phone for sound: 1 m beside the spot,\nout of the wind, on the side where nobody aims"
    ax.annotate(words, (6.0, 1.35), fontsize=9, ha="right")
    ax.plot(8.3, -2.0, marker="s", color=CYCLE[3], markersize=9)
    words = "phone for film: chest high on a stand,\n2 m off the line, all four marks in view"
    ax.annotate(words, (8.0, -2.2), fontsize=9, ha="right")
    marks = np.array([(6.6, -0.5), (10.2, -0.5), (10.2, 0.5), (6.6, 0.5)])
    ax.add_patch(Polygon(marks, fill=False, edgecolor=CYCLE[3], linewidth=1.0))
    ax.plot(*marks.T, linestyle="none", marker="+", color=CYCLE[3], markersize=10)
    ax.annotate("four marks, taped", (8.4, 0.58), fontsize=9, ha="center", color=CYCLE[3])
    for corner in marks[[0, 1]]:
        ax.plot([8.3, corner[0]], [-2.0, corner[1]], color=CYCLE[3], linewidth=0.6)
    ax.set(xlim=(-0.5, 12.5), ylim=(-3.0, 3.0), aspect="equal")
    ax.set_axis_off()
    return finish(ax, "", "", "Where the phone goes (drawn from above, not to scale)", legend="")


# --- what they are worth ---------------------------------------------------------------------------------------------
SPOT, SEED = "invented", 1
TO_EDGE, TO_PIN, SEEDS = 3.0, (8.0, 16.0), 4
"""The chips of the comparison, m from the ball, and how many plans are made for each."""


def with_and_without_recordings() -> dict[str, CourseFit]:
    """Return fits of one small invented course: with the tape alone, and with sound and three clips.

    Eight rolls, six drops and ten chips with two clubs, on a green whose resistance grows by 0.006 for each m/s.
    Sound times the drops, and of the chips the flight and the first hop; the clips are rolls from the ramp. Fits are by
    what was measured, under the law of resistance that is linear in speed.
    """
    law = Resistance(constant=0.075, linear=0.006)
    truth = invented.CourseTruth(greens={SPOT: Green(resistance=law, grade=0.015, fall_direction=0.7)})
    stations = tuple(invented.Station(spot=SPOT, heading=heading) for heading in (0.0, 2.0))
    clubs, lies = ("pitching wedge", "lob wedge"), ("fairway",)
    heard = {"hang_time": 1.0, "first_hop": 0.0, "hop_time": 1.0}
    design = invented.ChipDesign(stations=stations, clubs=clubs, lies=lies, repeats=5, ladder=True, seen=heard)
    chips = invented.make_chips(truth, design, SEED)
    silent = chips.replaced(chips.chips.assign(hang_time=math.nan, hop_time=math.nan))
    rolls = invented.make_rollouts(truth, invented.RolloutDesign(repeats=2), SEED)
    drops = (invented.DropDesign(repeats=2, timed_share=share) for share in (0.0, 1.0))
    by_eye, by_ear = (invented.make_drops(truth, planned, SEED) for planned in drops)
    ramp = [
        invented.FilmedRoll(name=f"clip {i}", spot=SPOT, kind="ramp", heading=math.pi / 2 * i, speed=1.83)
        for i in range(3)
    ]
    films = invented.make_traces(truth, invented.TraceDesign(rolls=tuple(ramp)), SEED)
    sheets = {"tape alone": (rolls, by_eye, silent), "with sound and three clips": (rolls, by_ear, chips, films)}
    return {name: fit(*known, law="linear", draws=800, seed=SEED) for name, known in sheets.items()}


def worth_of_recordings(fits: Mapping[str, CourseFit]) -> pd.DataFrame:
    """Return standard deviations of what recordings inform, a column for each fit by its name."""
    wanted = {
        "tilt of the dent (deg)": ("turf", "tilt_deg"),
        "restitution at 5 m/s": ("turf", "restitution_at_5_m_s"),
        "friction of turf and ball": ("turf", "friction"),
        "growth of resistance (s/m)": (SPOT, "resistance_linear"),
    }
    sds = {name: fit.estimates["sd"] for name, fit in fits.items()}
    return pd.DataFrame({name: {words: sd.loc[key] for words, key in wanted.items()} for name, sd in sds.items()})


def gained_by_recordings(without: CourseFit, known: CourseFit) -> pd.DataFrame:
    """Return what the plan of a fit with less costs where a fit with more is believed, in strokes a chip.

    A row for each pin: ``strokes gained`` on average over plans, each on draws of its own, and its ``standard error``.
    """
    rows = {}
    for pin in TO_PIN:
        gained = [_gained(without, known, pin, seed) for seed in range(SEEDS)]
        rows[pin] = {"strokes gained": np.mean(gained), "standard error": np.std(gained, ddof=1) / math.sqrt(SEEDS)}
    return pd.DataFrame(rows).T.rename_axis("to the pin (m)")


def _gained(without: CourseFit, known: CourseFit, to_pin: float, seed: int) -> float:
    """Return strokes of the plan with less, less those of the plan with more, both in the world of the latter."""
    plans = [plan_chip(fitted.draws(SPOT, seed=seed), to_edge=TO_EDGE, to_pin=to_pin) for fitted in (without, known)]
    best = [plan.played[0].search for plan in plans]
    world = plans[1].world
    swings = swings_for([search.swing.choice for search in best], world)
    found = search_spots(swings, world, plans[1].effort, [np.array([search.spot]) for search in best])
    return float(found[0].strokes[0] - found[1].strokes[0])
