"""Pictures of a fitted turf and player, and of checking back; style as in `golfphys.show.plots`."""

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from golfphys.core import constants
from golfphys.fitting.check_back import CheckBack
from golfphys.fitting.chips import SEEN
from golfphys.fitting.course_fit import CourseFit
from golfphys.fitting.intervals import cell
from golfphys.show.plots.axes import club_points, new_axes
from golfphys.show.style import CYCLE, GREY, OKABE_ITO, looks, styled
from golfphys.show.tables.measuring import restitution_by_speed, restitutions_of

if TYPE_CHECKING:
    from matplotlib.axes import Axes


@styled
def plot_drops(fit: CourseFit, *, ax: "Axes | None" = None) -> "Axes":
    """Draw restitution against landing speed: what each drop showed, and the fitted law with its 90 % band.

    Parameters
    ----------
    fit : CourseFit
        A fit of drops.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
        Points for drops, a line and a band for the law, and the speeds at which chips land.

    Raises
    ------
    ValueError
        If no drops were fitted.
    """
    drops = fit.seen.drops
    if drops is None:
        raise ValueError("no drops were fitted; give fit_course the argument drops")
    ax = new_axes(ax)
    law = restitution_by_speed(fit, np.linspace(2.0, 9.0, 80))
    ax.axvspan(4.0, 9.0, color=OKABE_ITO["yellow"], alpha=0.18, label="chips land with 4 to 9 m/s")
    ax.fill_between(law["speed"], law["low"], law["high"], color=CYCLE[0], alpha=0.2, label="90 % of what is left open")
    ax.plot(law["speed"], law["estimate"], color=CYCLE[0], label="fitted law, grass included")
    shown = restitutions_of(drops)
    ax.plot(shown["speed"], shown["seen"], "o", color=CYCLE[1], label="drops that were seen")
    ax.plot(shown["speed"], shown["heard"], "s", color=CYCLE[2], label="drops that were heard")
    ax.set(xlabel="landing speed (m/s)", ylabel="speed of take-off over speed of landing", xlim=(2.0, 9.0))
    ax.set_ylim(bottom=0.0)
    ax.set_title("Turf gives back less of a faster landing")
    ax.legend(loc="lower left")
    return ax


@styled
def plot_landing_scatter(fit: CourseFit, *, ax: "Axes | None" = None) -> "Axes":
    """Draw how far chips land from their aim, club by club, with the fitted scatter.

    Parameters
    ----------
    fit : CourseFit
        A fit of chips.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
        A row for each club: errors of single chips as points, the fitted standard deviation at 6 m as a bar.

    Raises
    ------
    ValueError
        If no chips were fitted.
    """
    chips = fit.seen.chips
    if chips is None:
        raise ValueError("no chips were fitted; give fit_course the argument chips")
    ax = new_axes(ax, height=1.4 + 0.6 * len(chips.clubs))
    error = np.where(chips.landing_seen, chips.landing - chips.target, np.nan)
    clubs = club_points(chips.clubs)
    for i, (club, look) in enumerate(reversed(clubs.items())):
        mine = chips.club == chips.clubs.index(club)
        low, middle, high = (
            cell(fit.estimates, f"club {club}", "landing_sd_at_6_m", column) for column in ("low", "estimate", "high")
        )
        ax.plot(error[mine], np.full(mine.sum(), float(i)), linestyle="none", alpha=0.75, **look)
        for side in (-1, 1):
            ax.plot([side * low, side * high], [i + 0.22, i + 0.22], color=GREY, linewidth=2.5)
            ax.plot([side * middle], [i + 0.22], "|", color="black", markersize=10)
    ax.axvline(0.0, color=GREY, linewidth=0.8)
    ax.set_yticks(range(len(clubs)), labels=[*reversed(clubs)])
    ax.set(xlabel="landed beyond the aim (m)", ylim=(-0.5, len(chips.clubs) - 0.3))
    ax.set_title("Errors of landing; bars: standard deviation at 6 m, 90 % interval")
    return ax


@styled
def plot_chip_residuals(fit: CourseFit, *, what: str = "rest", ax: "Axes | None" = None) -> "Axes":
    """Draw what the fit leaves over of the chips, against where they landed.

    Parameters
    ----------
    fit : CourseFit
        A fit of chips.
    what : {"rest", "hang_time", "first_hop", "carry", "landing_side", "side"}
        Which observation.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
        Standardised residuals by club; chips taken as mis-hit are ringed.

    Raises
    ------
    ValueError
        If it is not something that is seen of a chip.
    """
    if what not in SEEN:
        raise ValueError(f"what is {what!r}; expected one of: {', '.join(SEEN)}")
    ax = new_axes(ax)
    table = fit.residuals
    table = table[table["what"] == what]
    for club, look in club_points(table["club"]).items():
        part = table[table["club"] == club]
        ax.plot(part["landing"], part["standardised"].clip(-6.0, 6.0), linestyle="none", label=club, **look)
    odd = table[table["mis_hit"] > 0.5]
    ringed = odd["standardised"].clip(-6.0, 6.0)
    ax.plot(odd["landing"], ringed, "o", markersize=13, markerfacecolor="none", color="black", label="taken as mis-hit")
    ax.axhspan(-constants.NORMAL_90, constants.NORMAL_90, color=GREY, alpha=0.12)
    ax.set(xlabel="landed (m)", ylabel=f"{what.replace('_', ' ')}: seen less expected\n(standard deviations)")
    ax.set_ylim(-6.4, 6.4)
    ax.set_title("What the fit leaves over; the band holds 90 %")
    ax.legend(ncols=3, loc="lower center")
    return ax


@styled
def plot_known_rest(known: Mapping[str, pd.DataFrame], *, ax: "Axes | None" = None) -> "Axes":
    """Draw how well the rest of chips is known after each kind of sheet.

    Parameters
    ----------
    known : mapping of str to DataFrame
        By what had been measured, the table of a prediction of the same chips (`CourseFit.predict(...).table()`).
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
        Bars of the standard deviation of the rest as meant, by club and sheets.
    """
    ax = new_axes(ax)
    width = 0.8 / len(known)
    clubs: list[str] = []
    for i, (name, look) in enumerate(looks(list(known)).items()):
        clubs = [str(club) for club in known[name]["club"]]
        place = np.arange(len(clubs)) + (i - (len(known) - 1) / 2) * width
        bars = ax.bar(place, known[name]["rest_known_sd"], 0.92 * width, color=look["color"], label=name)
        ax.bar_label(bars, fmt="%.1f", fontsize=8, padding=1)
    ax.set_xticks(range(len(clubs)), labels=clubs)
    ax.set(ylabel="not known of the rest as meant\n(standard deviation, m)")
    ax.set_title("Where a chip will stop becomes known, sheet by sheet")
    ax.legend()
    return ax


@styled
def plot_further(table: pd.DataFrame, *, ax: "Axes | None" = None) -> "Axes":
    """Draw by how much each further measurement would shrink the doubt of a decision.

    Parameters
    ----------
    table : DataFrame
        What `golfphys.fitting.further.further` returned.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
        A bar for each measurement.
    """
    ax = new_axes(ax, height=1.2 + 0.34 * len(table))
    place = np.arange(len(table))[::-1]
    bars = ax.barh(place, 100 * table["shrinkage"], color=CYCLE[0])
    ax.bar_label(bars, fmt="%.0f %%", padding=3)
    ax.set_yticks(place, labels=[str(name) for name in table.index])
    now = float(table["rest_sd_now"].iloc[0])
    ax.set_xlabel(f"doubt of the rest that would go away (%, of {now:.2f} m now)")
    ax.set_xlim(0.0, max(10.0, 118.0 * float(table["shrinkage"].max())))
    ax.set_title("What to measure next")
    return ax


@styled
def plot_check_back(checked: CheckBack, *, ax: "Axes | None" = None) -> "Axes":
    """Draw new chips against their predictions.

    Parameters
    ----------
    checked : CheckBack
        What `golfphys.fitting.check_back.check_back` returned.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
        For each chip its 50 % and 90 % intervals, and where it came to rest.
    """
    table = checked.table.sort_values("expected").reset_index(drop=True)
    ax = new_axes(ax, height=1.6 + 0.2 * len(table))
    place = np.arange(len(table))
    ax.hlines(place, table["low"], table["high"], color=CYCLE[0], linewidth=1.6, label="90 % of what was foretold")
    ax.hlines(place, table["low_50"], table["high_50"], color=CYCLE[0], linewidth=5, label="50 %")
    inside = table["within_90"].to_numpy()
    ax.plot(table["rest"][inside], place[inside], "o", color="black", label="came to rest inside")
    ax.plot(table["rest"][~inside], place[~inside], "X", color=CYCLE[1], markersize=8, label="came to rest outside")
    ax.set_yticks(place, labels=[f"{club}, {lie}" for club, lie in zip(table["club"], table["lie"], strict=True)])
    ax.tick_params(axis="y", labelsize=8)
    ax.set_xlabel("rest along the line of play (m)")
    ax.set_title(f"{int(inside.sum())} of {len(table)} new chips stopped inside their 90 % intervals")
    ax.legend(loc="lower right")
    return ax
