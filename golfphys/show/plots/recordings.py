"""Pictures of recordings and films: what was heard, the ball's track over the frame, and where to put the phone."""

import numpy as np

from golfphys.recordings.filmed import along
from golfphys.recordings.follow import Track
from golfphys.recordings.heard import Heard, Onsets
from golfphys.recordings.opening import Grey, Sound
from golfphys.recordings.view import View
from golfphys.show.style import CYCLE, GREY, TURF, Axes, LengthUnit, finish, new_axes, picture

SHOWN_POINTS = 4000
"""Columns into which a recording is gathered for drawing."""


@picture()
def plot_heard(sound: Sound, onsets: Onsets, heard: Heard | None = None, *, ax: Axes | None = None) -> Axes:
    """Draw the loudness of a recording in time, every onset found with its number, and the events chosen.

    Parameters
    ----------
    sound : Sound
        The recording.
    onsets : Onsets
        What was found in it.
    heard : Heard, optional
        Which of them are taken for what.
    """
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
    ax.set_ylim(floor - 8, top + 20)
    ax.set_xlim(0.0, sound.duration)
    words = "What was heard: every onset with its number" + (", those taken in red" if events else "")
    return finish(ax, "time (s)", "loudness (dB of full scale)", words, legend="")


@picture()
def plot_track(frame: Grey, view: View, track: Track, *, ax: Axes | None = None) -> Axes:
    """Draw the places in which the ball was found over a frame of the film, with the marks on the ground.

    Parameters
    ----------
    frame : ndarray of uint8, shape (height, width)
        A frame of the film.
    view : View
        How it sees the ground.
    track : Track
        Where the ball was found.
    """
    ax = new_axes(ax, 8.0, 8.0 * frame.shape[0] / frame.shape[1])
    ax.imshow(frame, cmap="gray", vmin=0, vmax=255)
    corners = np.vstack([view.pixels, view.pixels[:1]])
    ax.plot(*corners.T, color=CYCLE[0], linewidth=1.0, marker="+", markersize=10, label="marks")
    hand = track.table["by_hand"].to_numpy(dtype=bool)
    for chosen, color, label in ((~hand, CYCLE[1], "found"), (hand, CYCLE[4], "by hand")):
        if chosen.any():
            places = track.table.loc[chosen, ["right", "down"]].to_numpy()
            ax.plot(*places.T, linestyle="none", marker="o", markersize=3, color=color, label=label)
    ax.set_xlim(0, frame.shape[1])
    ax.set_ylim(frame.shape[0], 0)
    ax.grid(visible=False)
    ax.set_axis_off()
    return finish(ax, "", "", f"The ball in {len(track.table)} of {track.frames} frames", legend="lower right")


@picture()
def plot_film_distance(track: Track, *, ax: Axes | None = None, unit: str = "") -> Axes:
    """Draw distance along the path against time, as it goes into the films sheet.

    Parameters
    ----------
    track : Track
        Where the ball was found.
    """
    ax, length = new_axes(ax), LengthUnit(unit)
    line = along(track)
    ax.plot(line["time"], length.show(line["distance"]), linestyle="none", marker="o", markersize=3, color=CYCLE[0])
    return finish(
        ax, "time (s)", length.label("distance along the path"), "The roll as it was filmed", legend="", zero="x"
    )


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
    ax.annotate(
        "phone for sound: 1 m beside the spot,\nout of the wind, on the side where nobody aims",
        (6.0, 1.35),
        fontsize=9,
        ha="right",
    )
    ax.plot(8.3, -2.0, marker="s", color=CYCLE[3], markersize=9)
    ax.annotate(
        "phone for film: chest high on a stand,\n2 m off the line, all four marks in view",
        (8.0, -2.2),
        fontsize=9,
        ha="right",
    )
    marks = np.array([(6.6, -0.5), (10.2, -0.5), (10.2, 0.5), (6.6, 0.5)])
    ax.add_patch(Polygon(marks, fill=False, edgecolor=CYCLE[3], linewidth=1.0))
    ax.plot(*marks.T, linestyle="none", marker="+", color=CYCLE[3], markersize=10)
    ax.annotate("four marks, taped", (8.4, 0.58), fontsize=9, ha="center", color=CYCLE[3])
    for corner in marks[[0, 1]]:
        ax.plot([8.3, corner[0]], [-2.0, corner[1]], color=CYCLE[3], linewidth=0.6)
    ax.set_xlim(-0.5, 12.5)
    ax.set_ylim(-3.0, 3.0)
    ax.set_aspect("equal")
    ax.set_axis_off()
    return finish(ax, "", "", "Where the phone goes (drawn from above, not to scale)", legend="")
