"""Pictures of fits to rolls: laws, films, change over time, mixtures, plans; style as in `golfphys.show.plots`."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from golfphys.show.plots.axes import from_zero, legend_beside, marked, name_rows, new_axes, points
from golfphys.show.style import CYCLE, GREY, looks, styled

if TYPE_CHECKING:
    from matplotlib.axes import Axes


@styled
def plot_resistance_by_speed(bands: Mapping[str, pd.DataFrame], *, ax: "Axes | None" = None) -> "Axes":
    """Draw the fitted resistance against speed, with 90 % bands.

    Parameters
    ----------
    bands : mapping of str to DataFrame
        What `golfphys.show.tables.measuring.resistance_by_speed` returned.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
        A line and a band for each fit.
    """
    ax = new_axes(ax)
    for name, look in looks(list(bands)).items():
        table = bands[name]
        ax.fill_between(table["speed"], table["low"], table["high"], color=look["color"], alpha=0.15, linewidth=0)
        ax.plot(table["speed"], table["estimate"], label=f"{name} in speed", **look)
    ax.set(xlabel="speed of the ball (m/s)", ylabel="rolling resistance", title="Does resistance depend on speed?")
    ax.set_xlim(left=0.0)
    ax.legend()
    return ax


@styled
def plot_trace(fit: Any, *, ax: "Axes | None" = None) -> "Axes":
    """Draw distance against time of every filmed roll: frames as points, the fit as lines.

    Parameters
    ----------
    fit : TraceFit
        What `golfphys.fitting.traces.fit_traces` returned.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
        Points and a line for each roll.
    """
    ax = new_axes(ax)
    frames = fit.residuals
    names = list(dict.fromkeys(frames["roll"]))
    dots = points(names)
    pale: dict[str, Any] = {"linestyle": "none", "markersize": 6, "alpha": 0.35, "markeredgewidth": 0, "markevery": 4}
    for name, look in looks(names).items():
        own = frames[frames["roll"] == name]
        ax.plot(own["time"], own["distance"], label=f"_{name}", **dots[name], **pale)
        ax.plot(own["time"], own["fitted"], label=name, **look)
    ax.set(xlabel="time (s)", ylabel="distance along the path (m)", title="Filmed rolls: frames and fit")
    ax.legend()
    return ax


@styled
def plot_trace_speeds(tables: Mapping[str, pd.DataFrame], *, ax: "Axes | None" = None) -> "Axes":
    """Draw the speed of filmed rolls against time, as read from the frames and as fitted.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Tables of `golfphys.show.tables.measuring.trace_speeds` by roll.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
        Points and a line for each roll.
    """
    ax = new_axes(ax)
    dots = points(tables)
    for name, look in looks(list(tables)).items():
        table = tables[name]
        ax.plot(table["time"], table["speed"], linestyle="none", label=f"_{name}", **dots[name])
        ax.plot(table["time"], table["fitted"], label=name, **look)
    ax.set(xlabel="time (s)", ylabel="speed (m/s)", title="Speed of filmed rolls: frames (points) and fit (line)")
    from_zero(ax)
    ax.legend()
    return ax


@styled
def plot_series(table: pd.DataFrame, *, ax: "Axes | None" = None) -> "Axes":
    """Draw green speed against time of day, spot by spot, with 90 % intervals.

    Parameters
    ----------
    table : DataFrame
        ``SeriesFit.table`` of `golfphys.fitting.series.fit_series`.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
        A line with bars for each spot.
    """
    from matplotlib import dates

    ax = new_axes(ax)
    for spot, look in marked(list(dict.fromkeys(table["spot"]))).items():
        rows = table[table["spot"] == spot]
        bars = (rows["stimp_ft"] - rows["stimp_low"], rows["stimp_high"] - rows["stimp_ft"])
        ax.errorbar(rows["time"], rows["stimp_ft"], yerr=bars, capsize=4, label=spot, **look)
    if table["time"].nunique() == 1:  # an axis without width has no ticks
        hour, time = pd.Timedelta(hours=1), table["time"].iloc[0]
        ax.set_xlim(time - hour, time + hour)
    locator: Any = dates.AutoDateLocator(maxticks=8)  # type: ignore[no-untyped-call]
    ax.xaxis.set_major_locator(locator)
    formatter: Any = dates.ConciseDateFormatter(locator)  # type: ignore[no-untyped-call]
    ax.xaxis.set_major_formatter(formatter)
    ax.set(xlabel="time", ylabel="green speed (ft), with 90 % interval", title="How the green changed")
    ax.legend()
    return ax


@styled
def plot_mixed(
    draws: Mapping[str, pd.DataFrame], x: tuple[str, str], y: tuple[str, str], *, ax: "Axes | None" = None
) -> "Axes":
    """Draw two parameters against each other, as several fits leave them open: a long thin cloud is a mixture.

    Parameters
    ----------
    draws : mapping of str to DataFrame
        ``fit.draws()`` of each fit, by name, the vaguest first.
    x, y : tuple of str
        Column of the draws that goes on each axis, as (spot, parameter).
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
        A cloud for each fit.
    """
    ax = new_axes(ax, 5.2, 4.4)
    cloud: dict[str, Any] = {"linestyle": "none", "markersize": 2.5, "alpha": 0.3, "markeredgewidth": 0}
    for name, look in points(draws).items():
        ax.plot(draws[name][x], draws[name][y], label=name, **cloud, **look)
    ax.set(xlabel=_words(x[1]), ylabel=_words(y[1]), title="Two numbers that one sheet may mix")
    legend = ax.legend(markerscale=3.0, loc="best")
    for handle in legend.legend_handles:
        if handle is not None:
            handle.set_alpha(1.0)
    return ax


WORDS = {
    "resistance_linear": "growth of resistance with speed (s/m)",
    "fall_direction_deg": "fall direction (deg)",
    "grade_along": "slope along the reference line, uphill +",
    "grade_left": "slope to the left of the reference line, uphill +",
    "grain_along": "grain along the reference line",
    "release_speed_scale": "true release speed over the one written",
    "stimp_ft": "green speed (ft)",
}
"""Parameters whose own names would not do on an axis."""


def _words(parameter: str) -> str:
    return WORDS.get(parameter, parameter.replace("_", " "))


@styled
def plot_agreement(
    fits: Mapping[str, Any], parameter: str, *, scale: float = 1.0, label: str = "", ax: "Axes | None" = None
) -> "Axes":
    """Draw the 90 % intervals of one parameter at every spot, as several fits have them.

    Parameters
    ----------
    fits : mapping of str to RolloutFit
        Fits of the same sheet by name.
    parameter : str
        Row of the estimates.
    scale : float
        Factor for showing, 100 for percent.
    label : str
        Axis label; the parameter in words if left out.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
        For each spot an interval from each fit.
    """
    tables = {
        name: scale * fit.estimates.xs(parameter, level=1)[["estimate", "low", "high"]] for name, fit in fits.items()
    }
    spots = list(next(iter(tables.values())).index)
    ax = new_axes(ax, 7.0, 1.4 + 0.5 * len(spots))
    for number, (name, look) in enumerate(points(tables).items()):
        height = np.arange(len(spots)) + 0.18 * (number - (len(tables) - 1) / 2)
        middle, low, high = (tables[name][column].to_numpy() for column in ("estimate", "low", "high"))
        bars = np.stack([middle - low, high - middle])
        ax.errorbar(middle, height, xerr=bars, linestyle="none", capsize=3, elinewidth=1.8, label=name, **look)
    name_rows(ax, spots)
    ax.set(xlabel=label or _words(parameter), title="The same sheet, fitted in several ways (bars: 90 %)")
    legend_beside(ax)
    return ax


@styled
def plot_plans(
    table: pd.DataFrame, parameter: str, *, scale: float = 1.0, label: str = "", ax: "Axes | None" = None
) -> "Axes":
    """Draw the interval that each planned sheet promises.

    Parameters
    ----------
    table : DataFrame
        What `golfphys.fitting.design.compare_plans` returned.
    parameter : str
        Column to draw.
    scale : float
        Factor for showing, 100 for percent.
    label : str
        Axis label; the parameter in words if left out.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
        A dot for each plan on a logarithmic axis, value and number of rolls beside it.
    """
    from matplotlib import ticker

    ax = new_axes(ax, 7.0, 1.3 + 0.42 * len(table))
    height = np.arange(len(table))
    width = scale * table[parameter].to_numpy()
    ax.hlines(height, 0.0, width, color=GREY, linewidth=0.8, linestyle=(0, (1, 2)))
    ax.plot(width, height, "o", color=CYCLE[0], markersize=8)
    for at, wide, rolls in zip(height, width, table["rolls"], strict=True):
        ax.annotate(f"{wide:.2g}  ({int(rolls)} rolls)", (wide, at), (9, 0), textcoords="offset points", va="center")
    name_rows(ax, [str(name) for name in table.index])
    ax.set_xscale("log")
    ax.set_xlim(0.7 * float(width.min()), 4.0 * float(width.max()))
    ax.xaxis.set_major_locator(ticker.LogLocator(subs=(1.0, 2.0, 5.0)))
    ax.xaxis.set_major_formatter("{x:g}")
    ax.xaxis.set_minor_formatter(ticker.NullFormatter())
    ax.set(xlabel=label or f"half of the 90 % interval: {_words(parameter)}", title="What each plan would tell")
    return ax


@styled
def plot_residuals(fit: Any, *, ax: "Axes | None" = None) -> "Axes":
    """Draw how far each roll lies from its fit, against the distance expected; those given little say are ringed.

    Parameters
    ----------
    fit : RolloutFit
        What `golfphys.fit_rollouts` returned.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
        Points in a colour and shape for each spot.
    """
    ax = new_axes(ax)
    table = fit.residuals
    for spot, look in points(dict.fromkeys(table["spot"])).items():
        own = table[table["spot"] == spot]
        ax.plot(own["fitted"], own["residual"], linestyle="none", label=spot, alpha=0.85, **look)
    strays = table[table["ordinary"] < 0.5]
    ring: dict[str, Any] = {"markersize": 13, "markerfacecolor": "none", "markeredgecolor": "black", "color": "black"}
    ax.plot(strays["fitted"], strays["residual"], "o", label="given little say", **ring)
    ax.axhline(0.0, color=GREY, linewidth=1.0)
    ax.set(xlabel="distance expected (m)", ylabel="measured less expected (m)", title="What the fit leaves over")
    legend_beside(ax)
    return ax
