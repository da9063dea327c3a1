"""Figures and tables: what is on the Axes, in the units asked for, in one style; text of a sheet stays text."""

import math
import re
from dataclasses import replace
from functools import cache
from html.parser import HTMLParser
from pathlib import Path
from types import SimpleNamespace

import fitted_demo
import matplotlib
import numpy as np
import pandas as pd
import pytest
from conftest import refused
from matplotlib import cbook, pyplot
from matplotlib.colors import to_hex

import golfphys
from golfphys import BAG, RolloutFit, constants, read_chips, read_drops
from golfphys.planning.plan import ChipPlan
from golfphys.show import markup, plots, style, tables

FT = 0.3048
DATA = Path(__file__).parent.parent / "data"


@cache
def chip_plan() -> ChipPlan:
    few, usual = golfphys.Effort(draws=4, landings=15, errors=4, last=64), (golfphys.OPTIONS["usual"],)
    draws = golfphys.assumed(golfphys.Green.from_stimp(10.0), n=4)
    return golfphys.plan_chip(draws, to_edge=3.0, to_pin=15.0, options=usual, effort=few)


def names_of(plan: ChipPlan) -> list[str]:
    """Return what a legend calls the choices worth a look."""
    return [f"{club} (pick)" if club == plan.pick else club for club in BAG if club in plan.shown]


def line(ax: "matplotlib.axes.Axes", label: str) -> "matplotlib.lines.Line2D":
    found = [item for item in ax.lines if item.get_label() == label]
    assert len(found) == 1, [item.get_label() for item in ax.lines]
    return found[0]


def legend_words(ax: "matplotlib.axes.Axes") -> list[str]:
    legend = ax.get_legend()
    assert legend is not None
    return [text.get_text() for text in legend.get_texts()]


@pytest.fixture
def rollout_fit() -> RolloutFit:
    return fitted_demo.before_chips().rollouts


def test_rollout_fit_shows_every_roll_of_the_spot_and_the_fit_with_its_band(rollout_fit: RolloutFit) -> None:
    rolls = rollout_fit.sheet.frame
    spot = rolls["spot"].iloc[-1]
    ax = plots.plot_rollout_fit(rollout_fit, spot, unit="ft")
    assert ax.get_theta_direction() == -1
    assert ax.get_theta_offset() == pytest.approx(math.pi / 2)
    title, line_named = ax.get_title(loc="left").split("\n")
    assert title == f"{spot}: rolls by heading (ft), fit and 90 % band of single rolls"
    assert line_named == f"0 deg is the reference line: {rollout_fit.sheet.reference_line}"
    assert "downhill" in [text.get_text() for text in ax.texts]
    mine = rolls[rolls["spot"] == spot]
    shown = [item for item in ax.lines if item.get_label().endswith("m/s") and not item.get_label().startswith("_")]
    assert sum(len(item.get_xdata()) for item in shown) == len(mine)
    assert sorted(np.concatenate([item.get_ydata() for item in shown])) == pytest.approx(sorted(mine["distance"] / FT))
    speeds = sorted(mine["release_speed"].round(2).unique())
    assert legend_words(ax) == [f"{speed:.2f} m/s" for speed in speeds]
    assert len(ax.collections) == len(speeds)
    for speed in speeds:
        around, distance = line(ax, f"_fit {speed:.2f} m/s").get_data()
        expected = rollout_fit.predict(spot, around, speed)["distance"]
        assert np.asarray(distance) * FT == pytest.approx(expected.to_numpy())


def test_green_speeds_show_every_spot_with_its_interval(rollout_fit: RolloutFit) -> None:
    ax = plots.plot_green_speeds(rollout_fit)
    rows = rollout_fit.estimates.xs("stimp_ft", level=1)
    assert [label.get_text() for label in ax.get_yticklabels()] == list(rows.index)
    assert ax.yaxis_inverted()
    points, _, (bars,) = ax.containers[0]
    assert points.get_xdata() == pytest.approx(rows["estimate"].to_numpy())
    ends = np.array([segment[:, 0] for segment in bars.get_segments()])
    assert ends == pytest.approx(rows[["low", "high"]].to_numpy())
    assert "(ft)" in ax.get_xlabel()
    without = SimpleNamespace(estimates=rollout_fit.estimates.drop(index="stimp_m", level=1))
    refused("no parameter stimp_m", lambda: plots.plot_green_speeds(without))


@pytest.mark.parametrize(("unit", "metres"), [("m", 1.0), ("ft", FT)])
def test_trajectories_show_flight_landing_rest_edge_and_pin(unit: str, metres: float) -> None:
    plan = chip_plan()
    ax = plots.plot_trajectories(plan, unit=unit)
    assert legend_words(ax) == names_of(plan)
    landings, pick = plan.table.set_index("club")["landing_m"], f"{plan.pick} (pick)"
    for name in names_of(plan):
        club = name.removesuffix(" (pick)")
        assert np.transpose(line(ax, name).get_data()) * metres == pytest.approx(np.transpose(plan.trajectories[club]))
        assert (line(ax, name).get_linewidth() == line(ax, pick).get_linewidth()) == (name == pick)
    triangles = [item.get_xdata()[0] * metres for item in ax.lines if item.get_marker() == "v"]
    assert sorted(triangles) == pytest.approx(sorted(landings[plan.shown]))
    upright = [item.get_xdata() for item in ax.lines if len(item.get_xdata()) == 2]
    assert [ends[0] * metres for ends in upright if ends[0] == ends[1]] == pytest.approx([3.0, 15.0])
    assert ax.get_xlabel() == f"distance from the ball ({unit})"
    assert ax.get_xlim()[1] * metres > 15.2


def test_landing_window_marks_the_room_for_error_and_rest_spread_is_seen_from_above_with_left_on_the_left() -> None:
    plan = chip_plan()
    ax = plots.plot_landing_window(plan)
    for row in plan.table[plan.table["club"].isin(plan.shown)].itertuples():
        broad = line(ax, f"_{row.club} room").get_xdata() - row.landing_m
        assert [min(broad), max(broad)] == pytest.approx([-row.short_by_m, row.long_by_m])
    assert legend_words(ax) == [*names_of(plan), "edge of the green"]
    assert line(ax, "edge of the green").get_xdata()[0] == plan.position.to_edge
    assert ax.get_ylabel() == "balls that end within 1 m of the hole (%)"
    plan = replace(plan, rest={**plan.rest, plan.pick: (np.array([16.0, 14.0]), np.array([0.5, -0.5]))})
    ax = plots.plot_rest_spread(plan, unit="ft")
    across, along = line(ax, plan.pick).get_data()
    assert across == pytest.approx(np.array([-0.5, 0.5]) / FT)
    assert along == pytest.approx(np.array([1.0, -1.0]) / FT)
    assert max(line(ax, "3 ft from the hole").get_xdata()) == pytest.approx(3.0)
    names = legend_words(plots.plot_rest_spread(plan, clubs=["8-iron", "lob wedge"]))[:2]
    assert [name.split("\n")[0] for name in names] == ["8-iron", "lob wedge"]


def test_no_spot_is_left_out_when_there_are_more_than_colours() -> None:
    spots = [f"spot {number}" for number in range(10)]
    table = pd.DataFrame({"spot": spots, "fitted": 3.0, "residual": 0.1, "ordinary": 1.0})
    hours = pd.DataFrame({"spot": spots, "time": pd.Timestamp("2025-05-06"), "stimp_ft": 10.0})
    clouds = {spot: (np.array([1.0]), np.array([0.0])) for spot in spots}
    for ax in (
        plots.plot_residuals(SimpleNamespace(residuals=table)),
        plots.plot_series(hours.assign(stimp_low=9.5, stimp_high=10.5)),
        plots.plot_rest(clouds),
    ):
        assert legend_words(ax)[:10] == spots
        ax.figure.canvas.draw()  # one session only: still no warning


def test_drops_are_drawn_beside_the_fitted_law() -> None:
    fit = fitted_demo.before_chips()
    drops = fit.seen.drops
    ax = plots.plot_drops(fit)
    landing, shown = line(ax, "drops by rebound height").get_data()
    assert landing == pytest.approx(np.sqrt(2 * constants.GRAVITY.value * drops.height), nan_ok=True)
    assert shown == pytest.approx(np.sqrt(drops.rebound / drops.height), nan_ok=True)
    heard = line(ax, "drops by sound").get_ydata()
    assert np.isfinite(heard).sum() == np.isfinite(drops.first).sum()
    law = np.asarray(line(ax, "fitted law, grass included").get_ydata())
    speed = np.asarray(line(ax, "fitted law, grass included").get_xdata())
    fitted = np.interp(landing, speed, law)
    np.testing.assert_allclose(heard / fitted, np.where(np.isfinite(heard), 1.0, np.nan), atol=0.12)  # 3 sd of a drop
    assert (np.diff(law) < 0).all()
    refused("no drops were fitted", lambda: plots.plot_drops(SimpleNamespace(seen=SimpleNamespace(drops=None))))


def test_landing_errors_are_those_of_the_log() -> None:
    fit = fitted_demo.demo_fit()
    chips = fit.seen.chips
    ax = plots.plot_landing_scatter(fit)
    assert sorted(label.get_text() for label in ax.get_yticklabels()) == sorted(chips.clubs)
    clouds = [item for item in ax.lines if item.get_linestyle() == "None" and item.get_marker() != "|"]
    shown = np.concatenate([item.get_xdata() for item in clouds])
    assert np.isfinite(shown).sum() == chips.landing_seen.sum()
    seen = chips.landing_seen
    assert sorted(shown[np.isfinite(shown)]) == pytest.approx(sorted((chips.landing - chips.target)[seen]))
    refused("no chips were fitted", lambda: plots.plot_landing_scatter(fitted_demo.before_chips()))


def test_check_back_counts_what_stopped_inside() -> None:
    rows = {"club": ["9-iron", "lob wedge"], "lie": "fairway", "expected": [9.0, 7.0], "rest": [9.4, 9.0]}
    ends = {"low": [8.0, 6.0], "high": [10.0, 8.0], "low_50": [8.6, 6.6], "high_50": [9.4, 7.4]}
    ax = plots.plot_check_back(SimpleNamespace(table=pd.DataFrame({**rows, **ends, "within_90": [True, False]})))
    assert line(ax, "came to rest inside").get_xdata() == [9.4]
    assert line(ax, "came to rest outside").get_xdata() == [9.0]
    assert ax.get_title(loc="left") == "1 of 2 new chips stopped inside their 90 % intervals"
    assert [label.get_text() for label in ax.get_yticklabels()] == ["lob wedge, fairway", "9-iron, fairway"]


def test_style_leaves_no_trace_and_colours_tell_apart() -> None:
    before = dict(matplotlib.rcParams)
    with style.figure_style():
        assert matplotlib.rcParams["axes.spines.top"] is False
    plots.plot_trajectories(chip_plan())
    assert dict(matplotlib.rcParams) == before
    colours = {to_hex(look["color"]).upper() for look in style.looks([str(number) for number in range(7)]).values()}
    assert len(colours) == 7
    assert colours <= set(style.OKABE_ITO.values())


def test_tables_show_the_digits_that_are_known_and_directions_within_a_whole_turn() -> None:
    """Two digits of the standard deviation, and as many decimals in the estimate and its interval."""
    rows = {"tilt_deg": (15.3441, 4.0033, 10.2645, 23.3886), "grade": (0.012341, 0.00096, 0.0108, 0.0139)}
    table = pd.DataFrame.from_dict(rows, orient="index", columns=["estimate", "sd", "low", "high"])
    table = table.assign(unit=["deg", "1"], informed=[False, True])
    table.loc["unknown"] = [np.nan, np.nan, np.nan, np.nan, "m", False]
    plain = tables.estimates(table)
    assert plain.index.tolist() == ["tilt of the dent", "grade"]
    assert plain.iloc[0].tolist() == ["15.3 deg", "10.3 to 23.4", "assumption"]
    assert plain.iloc[1].tolist() == ["0.01234", "0.01080 to 0.01390", "your sheets"]
    names = ["stimp_m", "grade", "fall_direction_deg"]
    rows = {"estimate": [3.0, 0.01, 359.0], "low": [2.9, 0.0, 339.0], "high": [3.1, 0.02, 383.0]}
    found = pd.DataFrame(rows | {"unit": ["m", "1", "deg"]}, index=[["low"] * 3, names])
    fit = SimpleNamespace(spots=("low",), estimates=found)
    assert tables.greens(fit)["falls towards (deg)"].tolist() == ["359  (339 to 23)"]  # type: ignore[arg-type]


def test_sheets_are_shown_in_the_unit_of_the_course_and_feet_once_chosen_everywhere() -> None:
    drops, chips = read_drops(DATA / "demo" / "drops.csv"), read_chips(DATA / "demo" / "chips.csv")
    first = drops.frame["drop_height"].iloc[0]
    assert tables.drops(drops)["dropped from (m)"].iloc[0] == f"{first:.2f}"
    shown = tables.chips(chips, unit="ft")
    assert shown.index.tolist() == chips.frame["row"].tolist()
    assert (shown["landed at (ft)"] == "").sum() == chips.frame["carry"].isna().sum()
    assert "nan" not in shown.to_string()
    style.show_lengths_in("ft")
    assert plots.plot_trajectories(chip_plan()).get_xlabel() == "distance from the ball (ft)"
    assert plots.plot_landing_window(chip_plan()).get_ylabel() == "balls that end within 3 ft of the hole (%)"
    assert "(m)" in plots.plot_trajectories(chip_plan(), unit="m").get_xlabel()
    assert tables.drops(drops)["dropped from (ft)"].iloc[0] == f"{first / FT:.2f}"
    refused("unit is 'furlong'", lambda: style.show_lengths_in("furlong"))
    assert style.LengthUnit().symbol == "ft"


def test_new_chips_beside_their_predictions_are_read_without_a_glossary() -> None:
    calibration = pd.DataFrame(
        {"chips": 24, "within": 13, "share": 0.54, "chance_low": 0.29, "chance_high": 0.71}, index=[50]
    )
    found = tables.calibration(SimpleNamespace(calibration=calibration))
    assert found.loc["50 %"].tolist() == [24, 13, "54", "29 to 71"]
    index = pd.MultiIndex.from_tuples([("club", "lob wedge")])
    groups = pd.DataFrame({"chips": [12], "longer_m": [2.7], "score": [6.78]}, index=index)
    assert tables.groups(SimpleNamespace(groups=groups), unit="ft").loc["lob wedge"].tolist() == [12, "+8.9", "+6.8"]
    drift = pd.DataFrame({"rolls": [8], "change_pct": 43.7, "low": 39.1, "high": 48.5, "changed": True}, index=["low"])
    assert tables.drift(drift).loc["low"].tolist() == [8, "+44", "+39 to +48", "yes"]
    rests = {"landing": 6.0, "rest_low": 9.2, "rest": 10.7, "rest_high": 12.4, "rest_known_sd": 0.22}
    shown = tables.rests(pd.DataFrame({"club": ["lob wedge"], **rests}))
    assert shown.loc["lob wedge"].tolist() == ["6.0", "10.7", "9.2 and 12.4", "0.2"]


def test_what_has_no_number_and_balls_that_never_stop_are_named_not_dropped() -> None:
    plan = chip_plan()
    for x, y, counted in (
        ([15.1, 14.9, 15.2, np.nan], [0.1, -0.1, 0.0, np.nan], "1 of 4 outside"),
        ([np.nan] * 4, [np.nan] * 4, "4 of 4 outside"),
    ):
        rested = replace(plan, rest={**plan.rest, plan.pick: (np.array(x), np.array(y))})
        assert legend_words(plots.plot_rest_spread(rested))[0] == f"{plan.pick}\n{counted}"
    flightless = replace(plan, trajectories={**plan.trajectories, "8-iron": np.full((2, 30), np.nan)})
    assert legend_words(plots.plot_trajectories(flightless))[0] == "8-iron: no shot"
    index = pd.MultiIndex.from_product([["low", "top"], ["stimp_m"]])
    table = pd.DataFrame({"low": [2.9, np.nan], "estimate": [3.0, np.nan], "high": [3.1, np.nan]}, index=index)
    plans = pd.DataFrame({"rolls": [12, 12], "grade": [0.03, np.inf]}, index=["four ways", "one way"])
    for ax, said in (
        (plots.plot_green_speeds(SimpleNamespace(estimates=table)), [" not known"]),
        (plots.plot_plans(plans, "grade", scale=100), ["3  (12 rolls)", "not known  (12 rolls)"]),
    ):
        ax.figure.canvas.draw()
        assert [text.get_text() for text in ax.texts] == said


ODD = (
    *("<img src=x onerror=alert(1)>", "<script>alert(1)</script>", "$x_1$", r"$\frac$ and $", r"\(x\)", "_low"),
    *("<low>", "*a*", "[a](javascript:alert(1))", "https://example.org", "a@example.org", "`a` # b | c", "1. first"),
    *("two\nlines", "&lt;b&gt;"),
)


class Reader(HTMLParser):
    """Collects the tags and the text of a page."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.words: list[str] = []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)

    def handle_data(self, data):
        self.words.append(data)


@pytest.mark.parametrize("text", ODD)
def test_html_shows_what_stands_in_the_cell_and_markdown_has_no_mark_left(text):
    read = Reader(markup.escape(text))
    assert set(read.tags) <= {"span"}
    assert "".join(read.words) == text.replace("\n", " ")
    # a page looks for mathematics in each run of text by itself: none holds more than its one dollar or backslash
    assert all(run in "$\\" or not set(run) & set("$\\") for run in read.words)
    shown = re.sub(r"<span>&#\d+;</span>|&[a-z]+;", "", markup.escape(text, "markdown"))
    assert not re.search(r"(?<!\\)[*_`\[\]()#|!~<>$:@.]", shown), shown
    assert "\n" not in shown


@pytest.mark.parametrize("text", ODD)
def test_figures_show_no_mathematics_and_no_name_is_left_out_of_a_legend(text):
    label = markup.escape(text, "figure")
    assert not cbook.is_math_text(label)
    with style.figure_style():
        ax = style.new_axes(None)
        ax.plot([0, 1], label=label)
        ax.legend()
        ax.figure.canvas.draw()
    assert len(legend_words(ax)) == 1


def test_sentences_are_text_unless_the_page_wrote_them_as_markdown():
    caution = tables.said("look at <img src=x onerror=alert(1)> and $x$", ["*a*"])
    assert not hasattr(caution, "_repr_markdown_")
    assert Reader(caution._repr_html_()).tags == ["ul", "li", "span", "span", "li"]
    ours = tables.said("**bold**", markdown=True)
    assert ours._repr_markdown_() == "- **bold**"
    assert not hasattr(ours, "_repr_html_")


def test_a_table_of_words_is_no_mathematics_and_stays_one_and_an_answer_is_text():
    page = markup.Words({"spot": list(ODD)}).head(4)._repr_html_()
    assert "mathjax_ignore" in page.split(">")[1] + page
    assert "<img" not in page
    assert "<script" not in page
    choice = {"play": "<b>iron</b>", "land it": "4.0 m from the ball"}
    shown = markup.Answered(("sure",), (choice,), "sure", ("<i>care</i>",))._repr_html_()
    assert "&lt;b&gt;iron" in shown
    assert "<i>care" not in shown


@pytest.mark.parametrize("plot", [plots.plot_trajectories, plots.plot_landing_window, plots.plot_rest_spread])
def test_names_of_clubs_are_text_in_pictures_of_a_plan(plot):
    plan = chip_plan()
    for text in ODD:
        frames = {name: getattr(plan, name).replace({"club": {"8-iron": text}}) for name in ("table", "curves")}
        held = {name: {text: getattr(plan, name)["8-iron"]} for name in ("trajectories", "rest")}
        ax = plot(replace(plan, **frames, **held), clubs=[text])
        shown = [words.split("\n")[0] for words in legend_words(ax)]
        assert markup.escape(text, "figure") in shown
        assert not any(cbook.is_math_text(words) for words in shown)
    ax.figure.canvas.draw()


def test_names_of_spots_are_text_in_pictures_and_tables_of_a_fit():
    texts = [text for text in ODD if "\n" not in text]
    names = [f"{one} {other}" for one, other in zip(texts[:7], reversed(texts[7:]), strict=True)]
    green = golfphys.Green.from_stimp(10.0, grade=0.015)
    truth = golfphys.CourseTruth(greens=dict.fromkeys(names, green))
    design = golfphys.RolloutDesign(release_speeds=(1.83,), repeats=1, side_share=0.0, outliers=0)
    fit = golfphys.fit(golfphys.make_rollouts(truth, design, 5)).rollouts
    shown = [markup.escape(text, "figure") for text in names]
    for name, words in zip(names, shown, strict=True):
        assert words in plots.plot_rollout_fit(fit, name).get_title(loc="left")
        pyplot.close("all")
    ax = plots.plot_green_speeds(fit)
    assert [label.get_text() for label in ax.get_yticklabels()] == shown
    ax.figure.canvas.draw()
    assert set(shown) <= set(legend_words(plots.plot_residuals(fit)))
    for table in (tables.greens(fit), tables.rollouts(fit.sheet)):
        page = table._repr_html_()
        assert "mathjax_ignore" in page
        read = Reader(page)
        assert not {"img", "script", "low", "a", "b"} & set(read.tags)
        assert set(names) <= {words.strip() for words in "".join(read.words).split("\n")}


@pytest.mark.parametrize("kind", ["drops", "chips"])
def test_cells_of_sheets_are_text_in_their_tables(kind):
    sheet = getattr(golfphys, f"read_{kind}")(DATA / "demo" / f"{kind}.csv")
    frame = sheet.frame
    odd = [ODD[number % len(ODD)] for number in range(len(frame))]
    page = getattr(tables, kind)(sheet.replaced(frame.assign(spot=odd)))._repr_html_()
    assert not {"img", "script", "low", "a", "b"} & set(Reader(page).tags)
