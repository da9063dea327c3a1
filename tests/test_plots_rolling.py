"""Pictures and worked tables of rolling: what stands on the axes, and that the tables are the laws' own numbers."""

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd
import pytest
import sympy
from test_plots import legend_words, line

import golfphys
from golfphys import Resistance, plots, roll, tables, worked
from golfphys.derivations import linear_resistance, plane, ramp, rolling
from golfphys.show import derivation_display as show

FT = 0.3048
TEN = golfphys.Green.from_stimp(10.0).resistance
DOWN = -np.pi / 2


def data(ax: Any, label: str) -> tuple[np.ndarray, np.ndarray]:
    x, y = line(ax, label).get_data()
    return np.asarray(x, float), np.asarray(y, float)


def text_sizes_fit(ax: Any) -> bool:
    ax.figure.canvas.draw()
    box = ax.figure.bbox
    parts = [ax.title, ax.xaxis.label, ax.yaxis.label]
    return all(
        box.x0 - 1 <= part.get_window_extent().x0 and part.get_window_extent().x1 <= box.x1 + 1 for part in parts
    )


# ------------------------------------------------------------------------------------------------------------ tables


def test_grain_is_refused_by_tables_that_leave_it_out() -> None:
    grained = {"grain": golfphys.Resistance(constant=0.08, grain=0.2)}
    with pytest.raises(ValueError, match=r"a grain of 0\.2; expected one without"):
        worked.slowing(grained)
    with pytest.raises(ValueError, match="grain"):
        worked.rolls_by_speed(grained, [1.0])


@pytest.mark.parametrize("growth", [0.5, -0.3])
def test_laws_with_one_reading_read_the_same(growth: float) -> None:
    laws = worked.same_reading(9.5, growth=growth)
    assert worked.rolls_by_speed(laws, [1.83]).to_numpy() == pytest.approx(np.full((1, 3), 9.5 * FT))
    for law in (laws["linear"], laws["quadratic"]):
        assert (law.linear * 1.83 + law.quadratic * 1.83**2) / law.constant == pytest.approx(growth)


def test_two_way_mean_is_the_level_roll_and_the_plain_mean_is_not() -> None:
    table = worked.two_way(TEN, np.array([0.0, 0.02, 0.05]))
    assert (table["two_way_mean"] / table["level"]).to_numpy() == pytest.approx(np.sqrt(1 + table["grade"] ** 2))
    assert table["plain_mean"].iloc[-1] > 1.5 * table["level"].iloc[-1]


def test_slope_that_never_stops_a_ball_agrees_with_the_roll() -> None:
    row = worked.never_stops([12.0]).iloc[0]
    resistance = golfphys.Green.from_stimp(12.0).resistance.constant
    limit = np.tan(np.radians(row["rolling_deg"]))
    assert np.isfinite(roll.stopping_distance(1.0, resistance, -0.999 * limit))
    assert np.isinf(roll.stopping_distance(1.0, resistance, -1.001 * limit))
    assert np.tan(np.radians(row["point_mass_deg"])) == pytest.approx(5 / 7 * limit)


def test_hodograph_matches_the_path() -> None:
    table = worked.hodograph(0.08, 0.03, np.pi / 2, speed=1.5)
    way = roll.path(1.5, 0.0, 0.08, 0.03, DOWN)
    middle = len(way.x) // 2
    v_x = np.gradient(way.x, way.time)[middle]
    v_y = np.gradient(way.y, way.time)[middle]
    angle = np.arctan2(v_x, -v_y)
    expected = np.interp(-angle, -table["angle"], table["speed"])
    assert way.speed[middle] == pytest.approx(expected, rel=2e-3)


def test_skid_motion_joins_skid_and_roll() -> None:
    table = worked.skid_motion(2.0, friction=0.4, resistance=TEN.constant)
    end = golfphys.skid(2.0, friction=0.4)
    first = table[~table["skids"]].iloc[0]
    assert first["place"] == pytest.approx(end.x)
    assert first["rim_speed"] == first["speed"] == pytest.approx(end.velocity_x)
    assert np.abs(np.diff(table["place"])).max() < 0.1
    back = worked.skid_motion(2.0, -400.0, friction=0.4, resistance=TEN.constant)
    assert back["place"].iloc[-1] < 0.0
    assert back["speed"].iloc[-1] == pytest.approx(0.0, abs=1e-6)


def test_slope_and_grain_are_twins_in_distance_only() -> None:
    level = golfphys.Green.from_stimp(10.0)
    grain = replace(level, resistance=golfphys.Resistance(constant=TEN.constant, grain=0.15))
    slope, grained = worked.by_heading({"slope": replace(level, grade=0.012), "grain": grain}).values()
    assert np.abs(slope["distance"] - grained["distance"]).max() < 0.06
    assert np.abs(grained["side"]).max() < 1e-9
    assert slope["side"].abs().max() > 0.2
    assert (
        slope.loc[slope["heading_deg"] == 90, "side"].item() > 0
    )  # heading right of a line that falls ahead: drifts left


# ----------------------------------------------------------------------------------------------------------- rolling


MOTION = worked.skid_motion(2.0, friction=0.4, resistance=TEN.constant)
TWO_WAY = worked.two_way(TEN, [0.0, 0.03])
SHARE = worked.skid_share([10], [0.2, 0.4])
BY_HEADING = worked.by_heading({"level": golfphys.Green.from_stimp(10.0)})
DRAWN = {
    "slowing": (lambda: plots.plot_slowing(worked.slowing({"10 ft": TEN})), "_stop 10 ft", 0, [10.0]),
    "ramp": (lambda: plots.plot_ramp_speeds(worked.ramp_speeds([19.0])), "published: 6.4 ft/s", 1, [6.4 * FT] * 2),
    "two way": (lambda: plots.plot_two_way(TWO_WAY, unit="m"), "uphill", 1, TWO_WAY["up"]),
    "two way, percent": (lambda: plots.plot_two_way(TWO_WAY), "two-way mean", 0, [0.0, 3.0]),
    "never stops": (
        *(lambda: plots.plot_never_stops(worked.never_stops([14.0]), published=(14.0, 2.4)), "from a published chart"),
        *(1, [2.4]),
    ),
    "distance": (lambda: plots.plot_by_heading(BY_HEADING, "distance"), "level", 1, BY_HEADING["level"]["distance"]),
    "side": (lambda: plots.plot_by_heading(BY_HEADING, "side"), "level", 1, BY_HEADING["level"]["side"]),
    "places": (lambda: plots.plot_places({"none": MOTION}, unit="ft"), "none", 1, MOTION["place"] / FT),
    "skid share": (lambda: plots.plot_skid_share(SHARE), "green of 10 ft", 1, 100 * SHARE["10 ft"]),
}


@pytest.mark.parametrize("name", DRAWN)
def test_lines_are_the_numbers_of_the_tables_in_their_units(name: str) -> None:
    draw, label, axis, expected = DRAWN[name]
    assert data(draw(), label)[axis] == pytest.approx(np.asarray(expected, float), abs=1e-9)


def test_plot_paths_shows_target_rest_and_downhill() -> None:
    ways = {f"{v} m/s": roll.path(v, 0.0, TEN, 0.03, DOWN) for v in (1.0, 2.0)}
    ax = plots.plot_paths(ways, fall=DOWN, target=(1.0, 0.5), rest_line=True, enlarged=2, unit="m")
    x, y = data(ax, "2.0 m/s")
    assert (x[-1], y[-1]) == (pytest.approx(ways["2.0 m/s"].x[-1]), pytest.approx(ways["2.0 m/s"].y[-1]))
    assert data(ax, "target")[1].tolist() == [0.5]
    assert ax.get_aspect() == 2.0
    assert ax.get_ylabel() == "to the left (m), enlarged 2 times"
    assert "downhill" in [text.get_text() for text in ax.texts]
    assert len([item for item in ax.lines if item.get_label() == "_line of rest"]) == 2
    assert text_sizes_fit(ax)


def test_plot_paths_marks_a_ball_that_never_stops_and_follows_hidden_names() -> None:
    never, stops = roll.path(1.0, 0.0, 0.02, 0.03, DOWN, reach=5.0), roll.path(1.0, 0.0, TEN)
    ax = plots.plot_paths({"never": never, "_second": stops})
    ends = [item for item in ax.lines if item.get_label() == "_end"]
    assert [item.get_marker() for item in ends] == ["X", "o"]
    assert line(ax, "_second").get_color() == line(ax, "never").get_color()
    assert legend_words(ax) == ["never"]


# -------------------------------------------------------------------------------------------------------------- skid


# --------------------------------------------------------------------------------------------------------- measuring


@pytest.fixture(scope="module")
def fit() -> Any:
    truth = golfphys.CourseTruth(greens={"low": golfphys.Green.from_stimp(10.0, grade=0.015)})
    design = golfphys.RolloutDesign(release_speeds=(1.2, 1.83), repeats=2, side_share=0.0, outliers=1)
    return golfphys.fit(golfphys.make_rollouts(truth, design, 5), draws=1000).rollouts


def test_plot_resistance_by_speed_is_flat_for_a_constant_law(fit: Any) -> None:
    bands = tables.resistance_by_speed({"constant": fit}, "low", [0.0, 1.0, 2.0])
    ax = plots.plot_resistance_by_speed(bands)
    assert np.ptp(data(ax, "constant in speed")[1]) == pytest.approx(0.0, abs=1e-12)
    assert (bands["constant"]["low"] < bands["constant"]["estimate"]).all()
    assert len(ax.collections) == 1


def test_plot_residuals_rings_the_outlier(fit: Any) -> None:
    ax = plots.plot_residuals(fit)
    assert data(ax, "low")[1] == pytest.approx(fit.residuals["residual"])
    ringed = data(ax, "taken as outlier")[1]
    assert fit.residuals["residual"].abs().max() in np.abs(ringed)


@pytest.fixture
def trace() -> Any:
    """Return residuals of two filmed rolls by hand: each loses 0.5 m/s a second, the fit is 1 mm off."""
    clock = np.arange(0.0, 2.0, 0.05)
    way = 1.8 * clock - 0.25 * clock**2
    frames = [
        pd.DataFrame({"roll": name, "time": clock, "distance": way, "fitted": way + 0.001}) for name in ("up", "down")
    ]
    return SimpleNamespace(residuals=pd.concat(frames, ignore_index=True))


def test_trace_speeds_are_mean_speeds_of_stretches(trace: Any) -> None:
    table = tables.trace_speeds(trace, "up", over=0.2)
    assert np.diff(table["time"]) == pytest.approx(0.2)
    assert table["speed"].to_numpy() == pytest.approx(1.8 - 0.5 * table["time"].to_numpy())
    ax = plots.plot_trace_speeds({"up": table})
    assert data(ax, "up")[1] == pytest.approx(table["fitted"])
    assert data(ax, "_up")[1] == pytest.approx(table["speed"])


def test_plans_say_what_is_not_known() -> None:
    table = pd.DataFrame(
        {"rolls": [12, 12], "grade": [0.03, 0.002], "fall_direction_deg": [133.0, 5.0]}, index=["two", "four"]
    )
    assert tables.plans(table)["direction of fall to (deg)"].tolist() == ["not known", "5"]


# -------------------------------------------------------------------------------------------------------- derivations


def test_latex_uses_the_register_and_words() -> None:
    assert show.latex(rolling.resistance) == "c"
    assert show.latex(rolling.slowing) == r"\text{slowing}"
    assert show.latex(sympy.Symbol("x")) == "x"
    assert show.latex(r"\frac{D}{c}") == r"\frac{D}{c}"
    assert "log1p" not in show.latex(linear_resistance.stopping_shape[1][1])


def test_equation_explains_its_symbols_unless_asked_not_to() -> None:
    shown = show.equation("S", ramp.two_way_mean, "The mean:")
    assert shown.text.startswith("The mean:\n\n$$ S = ")
    assert "$S_u$ distance rolled uphill from the ramp (m)" in shown.text
    assert "Here" not in show.equation("S", ramp.two_way_mean, explain=False).text
    assert shown._repr_markdown_() == repr(shown) == shown.text


@pytest.mark.parametrize("chapter", [rolling, ramp, plane, linear_resistance])
def test_every_law_of_a_chapter_can_be_shown(chapter: Any) -> None:
    for formula in chapter.FORMULAS:
        text = show.law(chapter, formula.name).text
        assert text.startswith(formula.summary)
        assert formula.source in text
        assert text.count("{") == text.count("}")


def test_a_law_with_every_term_is_worked_whole() -> None:
    law = Resistance(constant=0.06, linear=0.006, quadratic=0.003)
    alone = Resistance(constant=0.06)
    ends = [worked.slowing({"x": one})["x"]["distance"].iloc[-1] for one in (law, alone)]
    assert ends[0] < 0.9 * ends[1]
    table = worked.two_way(law, [0.0, 0.02])
    assert table["level"].iloc[0] == pytest.approx(ends[0], rel=1e-4)
    assert (table["up"].iloc[1] < table["level"].iloc[1]) & (table["level"].iloc[1] < table["down"].iloc[1])
