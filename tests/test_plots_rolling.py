"""Pictures and worked tables of rolling: what stands on the axes, and that the tables are the laws' own numbers."""

from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd
import pytest
import sympy
from conftest import refused
from test_plots import legend_words, line

import golfphys
from golfphys import Resistance, plots, roll, tables, worked
from golfphys.derivations import plane, ramp, rolling
from golfphys.show import derivation_display as show

FT = 0.3048
TEN = golfphys.Green.from_stimp(10.0).resistance
DOWN = -np.pi / 2


def data(ax: Any, label: str) -> list[np.ndarray]:
    return [np.asarray(values, float) for values in line(ax, label).get_data()]


def test_grain_is_refused_by_tables_that_leave_it_out() -> None:
    grained = {"grain": golfphys.Resistance(constant=0.08, grain=0.2)}
    refused(r"a grain of 0\.2; expected one without", lambda: worked.slowing(grained))
    refused("grain", lambda: worked.rolls_by_speed(grained, [1.0]))


@pytest.mark.parametrize("growth", [0.5, -0.3])
def test_laws_with_one_reading_read_the_same(growth: float) -> None:
    laws = worked.same_reading(9.5, growth=growth)
    assert worked.rolls_by_speed(laws, [1.83]).to_numpy() == pytest.approx(np.full((1, 3), 9.5 * FT))
    for law in (laws["linear"], laws["quadratic"]):
        assert (law.linear * 1.83 + law.quadratic * 1.83**2) / law.constant == pytest.approx(growth)


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


def test_plot_paths_marks_a_ball_that_never_stops_and_follows_hidden_names() -> None:
    never, stops = roll.path(1.0, 0.0, 0.02, 0.03, DOWN, reach=5.0), roll.path(1.0, 0.0, TEN)
    ax = plots.plot_paths({"never": never, "_second": stops})
    ends = [item for item in ax.lines if item.get_label() == "_end"]
    assert [item.get_marker() for item in ends] == ["X", "o"]
    assert line(ax, "_second").get_color() == line(ax, "never").get_color()
    assert legend_words(ax) == ["never"]


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


@pytest.mark.parametrize("chapter", [rolling, ramp, plane])
def test_every_law_of_a_chapter_can_be_shown(chapter: Any) -> None:
    for formula in chapter.FORMULAS:
        text = show.law(chapter, formula.name).text
        assert text.startswith(formula.summary)
        assert formula.source in text
        assert text.count("{") == text.count("}")


def test_equations_use_the_register_and_explain_their_symbols_unless_asked_not_to() -> None:
    assert [show.latex(item) for item in (rolling.resistance, sympy.Symbol("x"), r"\frac{D}{c}")] == [
        "c",
        "x",
        r"\frac{D}{c}",
    ]
    assert "log1p" not in show.latex(rolling.stopping_shape[1][1])
    shown = show.equation("S", ramp.two_way_mean, "The mean:")
    assert shown.text.startswith("The mean:\n\n$$ S = ")
    assert "$S_u$ distance rolled uphill from the ramp (m)" in shown.text
    assert "Here" not in show.equation("S", ramp.two_way_mean, explain=False).text
    assert shown._repr_markdown_() == repr(shown) == shown.text


def test_a_law_with_every_term_is_worked_whole() -> None:
    law = Resistance(constant=0.06, linear=0.006, quadratic=0.003)
    alone = Resistance(constant=0.06)
    ends = [worked.slowing({"x": one})["x"]["distance"].iloc[-1] for one in (law, alone)]
    assert ends[0] < 0.9 * ends[1]
    table = worked.two_way(law, [0.0, 0.02])
    assert table["level"].iloc[0] == pytest.approx(ends[0], rel=1e-4)
    assert (table["up"].iloc[1] < table["level"].iloc[1]) & (table["level"].iloc[1] < table["down"].iloc[1])
