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
from golfphys.derivations import linear_resistance, plane, ramp, rolling
from golfphys.physics import roll
from golfphys.physics.green import Resistance
from golfphys.show import derivation_display as show
from golfphys.show import plots, tables, worked

FT = 0.3048
TEN = golfphys.Green.from_stimp(10.0).resistance
DOWN = -np.pi / 2


def data(ax: Any, label: str) -> tuple[np.ndarray, np.ndarray]:
    """Return x and y of the one line with that label."""
    x, y = line(ax, label).get_data()
    return np.asarray(x, float), np.asarray(y, float)


def text_sizes_fit(ax: Any) -> bool:
    """Tell whether title and labels lie inside the figure once drawn."""
    ax.figure.canvas.draw()
    box = ax.figure.bbox
    parts = [ax.title, ax.xaxis.label, ax.yaxis.label]
    return all(
        box.x0 - 1 <= part.get_window_extent().x0 and part.get_window_extent().x1 <= box.x1 + 1 for part in parts
    )


# ------------------------------------------------------------------------------------------------------------ tables


def test_slowing_ends_at_the_green_speed() -> None:
    """Each roll starts at the release speed and stops at the distance that names its green."""
    rolls = worked.slowing({f"{feet}": golfphys.Green.from_stimp(feet).resistance for feet in (8, 12)})
    for name, table in rolls.items():
        assert table["distance"].iloc[-1] == pytest.approx(float(name) * FT)
        assert table["speed"].iloc[0] == pytest.approx(1.83)
        assert table["speed"].iloc[-1] == pytest.approx(0.0, abs=1e-6)


def test_grain_is_refused_by_tables_that_leave_it_out() -> None:
    """A resistance with grain would be read as one without."""
    grained = {"grain": golfphys.Resistance(constant=0.08, grain=0.2)}
    with pytest.raises(ValueError, match=r"a grain of 0\.2; expected one without"):
        worked.slowing(grained)
    with pytest.raises(ValueError, match="grain"):
        worked.rolls_by_speed(grained, [1.0])


@pytest.mark.parametrize("growth", [0.5, -0.3])
def test_laws_with_one_reading_read_the_same(growth: float) -> None:
    """All three roll the same from the ramp, and grow by the part asked for."""
    laws = worked.same_reading(9.5, growth=growth)
    assert worked.rolls_by_speed(laws, [1.83]).to_numpy() == pytest.approx(np.full((1, 3), 9.5 * FT))
    for law in (laws["linear"], laws["quadratic"]):
        assert (law.linear * 1.83 + law.quadratic * 1.83**2) / law.constant == pytest.approx(growth)


def test_two_way_mean_is_the_level_roll_and_the_plain_mean_is_not() -> None:
    """Up to the factor for distances along the slope."""
    table = worked.two_way(TEN, np.array([0.0, 0.02, 0.05]))
    assert (table["two_way_mean"] / table["level"]).to_numpy() == pytest.approx(np.sqrt(1 + table["grade"] ** 2))
    assert table["plain_mean"].iloc[-1] > 1.5 * table["level"].iloc[-1]


def test_slope_that_never_stops_a_ball_agrees_with_the_roll() -> None:
    """A hair below the limit the ball stops, a hair above it does not; the point mass shows 5/7 of it."""
    row = worked.never_stops([12.0]).iloc[0]
    resistance = golfphys.Green.from_stimp(12.0).resistance.constant
    limit = np.tan(np.radians(row["rolling_deg"]))
    assert np.isfinite(roll.stopping_distance(1.0, resistance, -0.999 * limit))
    assert np.isinf(roll.stopping_distance(1.0, resistance, -1.001 * limit))
    assert np.tan(np.radians(row["point_mass_deg"])) == pytest.approx(5 / 7 * limit)


def test_hodograph_matches_the_path() -> None:
    """Speed by angle is that of a ball followed step by step."""
    table = worked.hodograph(0.08, 0.03, np.pi / 2, speed=1.5)
    way = roll.path(1.5, 0.0, 0.08, 0.03, DOWN)
    middle = len(way.x) // 2
    v_x = np.gradient(way.x, way.time)[middle]
    v_y = np.gradient(way.y, way.time)[middle]
    angle = np.arctan2(v_x, -v_y)
    expected = np.interp(-angle, -table["angle"], table["speed"])
    assert way.speed[middle] == pytest.approx(expected, rel=2e-3)


def test_skid_motion_joins_skid_and_roll() -> None:
    """Place and speed do not jump, the rim meets the ball, and a strong backspin brings it back."""
    table = worked.skid_motion(2.0, friction=0.4, resistance=TEN.constant)
    end = golfphys.skid(2.0, friction=0.4)
    first = table[~table["skids"]].iloc[0]
    assert first["place"] == pytest.approx(end.x)
    assert first["rim_speed"] == first["speed"] == pytest.approx(end.velocity_x)
    assert np.abs(np.diff(table["place"])).max() < 0.1
    back = worked.skid_motion(2.0, -400.0, friction=0.4, resistance=TEN.constant)
    assert back["place"].iloc[-1] < 0.0
    assert back["speed"].iloc[-1] == pytest.approx(0.0, abs=1e-6)


def test_skid_share_does_not_depend_on_speed() -> None:
    """Skid and roll both go with speed squared."""
    slow, fast = (worked.skid_share([10], [0.3, 0.5], speed=speed) for speed in (1.0, 3.0))
    pd.testing.assert_frame_equal(slow, fast)
    assert slow["10 ft"].is_monotonic_decreasing


def test_slope_and_grain_are_twins_in_distance_only() -> None:
    """The picture of the notebook holds: distances alike, drift not."""
    level = golfphys.Green.from_stimp(10.0)
    grain = replace(level, resistance=golfphys.Resistance(constant=TEN.constant, grain=0.15))
    slope, grained = worked.by_heading({"slope": replace(level, grade=0.012), "grain": grain}).values()
    assert np.abs(slope["distance"] - grained["distance"]).max() < 0.06
    assert np.abs(grained["side"]).max() < 1e-9
    assert slope["side"].abs().max() > 0.2
    assert (
        slope.loc[slope["heading_deg"] == 90, "side"].item() > 0
    )  # heading right of a line that falls ahead: drifts left


def test_ramp_speeds_rise_with_the_angle_and_with_the_overspin() -> None:
    """Steeper is faster, and rolling settles above the speed at the foot."""
    table = worked.ramp_speeds(np.linspace(18, 24, 7))
    assert table["release_speed"].is_monotonic_increasing
    assert (table["rolling_speed"] > table["release_speed"]).all()


def test_green_speeds_in_words() -> None:
    """Headings carry units, numbers are those of the ramp's law."""
    table = worked.green_speeds([10.0])
    assert table.loc[10.0, "roll on the level (m)"] == 3.05
    assert table.loc[10.0, "slope that never stops a ball (%)"] == pytest.approx(100 * TEN.constant, abs=0.05)


# ----------------------------------------------------------------------------------------------------------- rolling


def test_plot_slowing_marks_each_stop() -> None:
    """Lines in feet, a legend entry for each green."""
    ax = plots.plot_slowing(worked.slowing({"10 ft": TEN}))
    assert data(ax, "10 ft")[0][-1] == pytest.approx(10.0)
    assert data(ax, "_stop 10 ft")[0] == pytest.approx([10.0])
    assert ax.get_xlabel() == "distance rolled (ft)"
    assert legend_words(ax) == ["10 ft"]


def test_plot_ramp_speeds_shows_the_published_figures() -> None:
    """Two level lines at 6.0 and 6.4 ft/s."""
    ax = plots.plot_ramp_speeds(worked.ramp_speeds([19.0, 21.0]))
    assert data(ax, "published: 6.4 ft/s")[1] == pytest.approx([6.4 * FT] * 2)
    assert len(legend_words(ax)) == 4


def test_plot_rolls_by_speed_meets_at_the_reading() -> None:
    """At the ramp's speed the laws meet."""
    table = worked.rolls_by_speed(worked.same_reading(10.0, growth=0.5), [1.0, 1.83, 3.0])
    ax = plots.plot_rolls_by_speed(table, reading=1.83)
    assert [data(ax, name)[1][1] for name in table.columns] == pytest.approx([10.0] * 3)
    assert data(ax, "the ramp's release speed")[0] == pytest.approx([1.83] * 2)


def test_plot_two_way_has_all_four() -> None:
    """Slope in percent, distance in the unit asked for."""
    ax = plots.plot_two_way(worked.two_way(TEN, [0.0, 0.03]), unit="m")
    assert data(ax, "two-way mean")[0] == pytest.approx([0.0, 3.0])
    assert data(ax, "uphill")[1][1] < data(ax, "two-way mean")[1][1] < data(ax, "plain mean")[1][1]
    assert ax.get_ylabel() == "distance (m)"


def test_plot_never_stops_places_a_published_point() -> None:
    """The point mass lies below the ball, and a published point where it was given."""
    ax = plots.plot_never_stops(worked.never_stops([10.0, 14.0]), published=(14.0, 2.4))
    assert (data(ax, "a point mass that slides")[1] < data(ax, "a ball that rolls")[1]).all()
    assert [part.tolist() for part in data(ax, "from a published chart")] == [[14.0], [2.4]]


def test_plot_hodograph_starts_across_and_ends_down() -> None:
    """Irodov's case ends at half the speed."""
    ax = plots.plot_hodograph({"equal": worked.hodograph(0.05, 0.05, np.pi / 2)})
    across, down = data(ax, "equal")
    assert (across[0], down[0]) == (pytest.approx(1.0), pytest.approx(0.0, abs=1e-12))
    assert (across[-1], down[-1]) == (pytest.approx(0.0, abs=1e-6), pytest.approx(0.5, rel=1e-6))


def test_plot_paths_shows_target_rest_and_downhill() -> None:
    """Paths, a target, a grey line to the place of rest, and an arrow."""
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
    """A cross ends a path without rest; a name with an underscore shares the look before it."""
    never, stops = roll.path(1.0, 0.0, 0.02, 0.03, DOWN, reach=5.0), roll.path(1.0, 0.0, TEN)
    ax = plots.plot_paths({"never": never, "_second": stops})
    ends = [item for item in ax.lines if item.get_label() == "_end"]
    assert [item.get_marker() for item in ends] == ["X", "o"]
    assert line(ax, "_second").get_color() == line(ax, "never").get_color()
    assert legend_words(ax) == ["never"]


def test_plot_paths_draws_heights_of_a_survey() -> None:
    """Lines of equal height, in cm, only where the ground is known."""
    x, y = np.arange(6.0), np.arange(5.0)
    ground = golfphys.Surface.from_grid(x, y, np.add.outer(0.02 * x, 0.0 * y))
    way = golfphys.path_on(ground, 1.0, 2.0, 1.2, 0.0, TEN)
    ax = plots.plot_paths({"up": way}, surface=ground)
    assert len(ax.collections) == 1
    assert any(text.get_text().endswith(" cm") for text in ax.texts)


@pytest.mark.parametrize(("column", "label"), [("distance", "distance (m)"), ("side", "drift to the left (m)")])
def test_plot_by_heading(column: str, label: str) -> None:
    """Either picture has its label and its curve."""
    curves = worked.by_heading({"level": golfphys.Green.from_stimp(10.0)})
    ax = plots.plot_by_heading(curves, column)
    assert ax.get_ylabel() == label
    assert data(ax, "level")[1] == pytest.approx(curves["level"][column])


# -------------------------------------------------------------------------------------------------------------- skid


def test_plot_skid_shades_the_skid() -> None:
    """The two speeds meet where the shading ends."""
    motion = worked.skid_motion(2.0, friction=0.4, resistance=TEN.constant)
    ax = plots.plot_skid(motion)
    assert ax.patches[0].get_extents().transformed(ax.transData.inverted()).x1 == pytest.approx(
        golfphys.skid(2.0, friction=0.4).time, rel=1e-6
    )
    assert set(legend_words(ax)) == {"speed of the ball", "speed its spin would roll with", "skid"}


def test_plot_places_draws_skids_broad() -> None:
    """Each ball has its line, and a broad one while it skids."""
    motions = {"none": worked.skid_motion(2.0, friction=0.4, resistance=TEN.constant)}
    ax = plots.plot_places(motions, unit="ft")
    assert line(ax, "_skid none").get_linewidth() > line(ax, "none").get_linewidth()
    assert data(ax, "none")[1][-1] == pytest.approx(motions["none"]["place"].iloc[-1] / FT)


def test_plot_skid_share_shades_the_published_band() -> None:
    """Percent on the axis, the band named in the legend."""
    ax = plots.plot_skid_share(worked.skid_share([10], [0.2, 0.4]), published=(0.15, 0.20))
    assert "published: 15 to 20 %" in legend_words(ax)
    assert data(ax, "green of 10 ft")[1][1] == pytest.approx(11.9, abs=0.1)


# --------------------------------------------------------------------------------------------------------- measuring


@pytest.fixture(scope="module")
def fit() -> Any:
    """Return a fit of a small invented sheet with an outlier."""
    truth = golfphys.CourseTruth(greens={"low": golfphys.Green.from_stimp(10.0, grade=0.015)})
    design = golfphys.RolloutDesign(release_speeds=(1.2, 1.83), repeats=2, side_share=0.0, outliers=1)
    return golfphys.fit(golfphys.make_rollouts(truth, design, 5), draws=1000).rollouts


def test_plot_resistance_by_speed_is_flat_for_a_constant_law(fit: Any) -> None:
    """The band of a constant law does not depend on speed, and holds its estimate."""
    bands = tables.resistance_by_speed({"constant": fit}, "low", [0.0, 1.0, 2.0])
    ax = plots.plot_resistance_by_speed(bands)
    assert np.ptp(data(ax, "constant in speed")[1]) == pytest.approx(0.0, abs=1e-12)
    assert (bands["constant"]["low"] < bands["constant"]["estimate"]).all()
    assert len(ax.collections) == 1


def test_plot_residuals_rings_the_outlier(fit: Any) -> None:
    """Every roll is a point, and the one that does not belong is ringed."""
    ax = plots.plot_residuals(fit)
    assert data(ax, "low")[1] == pytest.approx(fit.residuals["residual"])
    ringed = data(ax, "taken as outlier")[1]
    assert fit.residuals["residual"].abs().max() in np.abs(ringed)


def test_plot_mixed_shows_every_draw_and_words(fit: Any) -> None:
    """A point for each draw; the axes say it in words."""
    drawn = fit.draws(200, seed=1)
    ax = plots.plot_mixed({"sheet": drawn}, ("all", "release_speed_scale"), ("low", "grade_along"))
    assert data(ax, "sheet")[1] == pytest.approx(drawn[("low", "grade_along")])
    assert ax.get_xlabel() == "true release speed over the one written"
    assert ax.get_ylabel() == "slope along the reference line, uphill +"


def test_plot_agreement_puts_fits_side_by_side(fit: Any) -> None:
    """One interval for each fit and spot, in percent where asked."""
    ax = plots.plot_agreement({"a": fit, "b": fit}, "grade", scale=100, label="slope (%)")
    assert [label.get_text() for label in ax.get_yticklabels()] == ["low"]
    points = [container.lines[0].get_xdata()[0] for container in ax.containers]
    assert points == pytest.approx([100 * fit.estimates.loc[("low", "grade"), "estimate"]] * 2)


def test_plot_plans_says_value_and_rolls() -> None:
    """The words beside each dot are its value and its rolls."""
    table = pd.DataFrame({"rolls": [12, 24], "grade": [0.0345, 0.0013]}, index=["two ways", "four ways"])
    ax = plots.plot_plans(table, "grade", scale=100, label="slope (%)")
    assert [text.get_text() for text in ax.texts] == ["3.5  (12 rolls)", "0.13  (24 rolls)"]
    assert ax.get_xscale() == "log"
    assert [label.get_text() for label in ax.get_yticklabels()] == ["two ways", "four ways"]


def test_plot_series_has_bars_for_each_spot() -> None:
    """Green speed against time, one line for each spot."""
    times = pd.to_datetime(["2025-05-06 08:00", "2025-05-06 14:00"])
    rows = {"time": times, "stimp_ft": [11.5, 10.4], "stimp_low": [11.3, 10.2], "stimp_high": [11.7, 10.6]}
    ax = plots.plot_series(pd.concat([pd.DataFrame({"spot": spot, **rows}) for spot in ("low", "top")]))
    assert legend_words(ax) == ["low", "top"]
    assert ax.containers[0].lines[0].get_ydata().tolist() == [11.5, 10.4]


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
    """Speed over a stretch is that at its middle when deceleration is steady."""
    table = tables.trace_speeds(trace, "up", over=0.2)
    assert np.diff(table["time"]) == pytest.approx(0.2)
    assert table["speed"].to_numpy() == pytest.approx(1.8 - 0.5 * table["time"].to_numpy())
    ax = plots.plot_trace_speeds({"up": table})
    assert data(ax, "up")[1] == pytest.approx(table["fitted"])
    assert data(ax, "_up")[1] == pytest.approx(table["speed"])


def test_plot_trace_draws_frames_and_fit(trace: Any) -> None:
    """Every roll has points and a line."""
    ax = plots.plot_trace(trace)
    assert legend_words(ax) == ["up", "down"]
    assert data(ax, "down")[1] - data(ax, "_down")[1] == pytest.approx(0.001)


def test_plans_say_what_is_not_known() -> None:
    """A direction open to a quarter turn or more is no direction."""
    table = pd.DataFrame(
        {"rolls": [12, 12], "grade": [0.03, 0.002], "fall_direction_deg": [133.0, 5.0]}, index=["two", "four"]
    )
    assert tables.plans(table)["direction of fall to (deg)"].tolist() == ["not known", "5"]


def test_laws_in_words() -> None:
    """The comparison keeps its order and rounds."""
    found = pd.DataFrame(
        {"elpd": [141.53, 140.9], "behind": [0.0, 0.63], "behind_se": [0.0, 0.9], "log_evidence": [105.0, 104.0]},
        index=["constant", "linear"],
    )
    table = tables.laws(SimpleNamespace(table=found))
    assert table.index.tolist() == ["constant", "linear"]
    assert table["behind the best by"].tolist() == [0.0, 0.6]


# -------------------------------------------------------------------------------------------------------- derivations


def test_latex_uses_the_register_and_words() -> None:
    """Registered names become symbols, others words, single letters themselves."""
    assert show.latex(rolling.resistance) == "c"
    assert show.latex(rolling.slowing) == r"\text{slowing}"
    assert show.latex(sympy.Symbol("x")) == "x"
    assert show.latex(r"\frac{D}{c}") == r"\frac{D}{c}"
    assert "log1p" not in show.latex(linear_resistance.stopping_shape[1][1])


def test_equation_explains_its_symbols_unless_asked_not_to() -> None:
    """Sentence, display mathematics, meanings."""
    shown = show.equation("S", ramp.two_way_mean, "The mean:")
    assert shown.text.startswith("The mean:\n\n$$ S = ")
    assert "$S_u$ distance rolled uphill from the ramp (m)" in shown.text
    assert "Here" not in show.equation("S", ramp.two_way_mean, explain=False).text
    assert shown._repr_markdown_() == repr(shown) == shown.text


@pytest.mark.parametrize("chapter", [rolling, ramp, plane, linear_resistance])
def test_every_law_of_a_chapter_can_be_shown(chapter: Any) -> None:
    """Cases, intermediate values and several results included; braces are balanced."""
    for formula in chapter.FORMULAS:
        text = show.law(chapter, formula.name).text
        assert text.startswith(formula.summary)
        assert formula.source in text
        assert text.count("{") == text.count("}")


def test_a_law_that_is_not_there_is_named() -> None:
    """The error lists what the chapter has."""
    with pytest.raises(ValueError, match=r"name is 'break'; the chapter has deceleration, stopping_distance"):
        show.law(rolling, "break")


def test_a_law_with_every_term_is_worked_whole() -> None:
    """Constant, linear and quadratic together, for which there is no closed form."""
    law = Resistance(constant=0.06, linear=0.006, quadratic=0.003)
    alone = Resistance(constant=0.06)
    ends = [worked.slowing({"x": one})["x"]["distance"].iloc[-1] for one in (law, alone)]
    assert ends[0] < 0.9 * ends[1]
    table = worked.two_way(law, [0.0, 0.02])
    assert table["level"].iloc[0] == pytest.approx(ends[0], rel=1e-4)
    assert (table["up"].iloc[1] < table["level"].iloc[1]) & (table["level"].iloc[1] < table["down"].iloc[1])
