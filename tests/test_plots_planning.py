"""Figures of decisions show what their tables say; the sheet to carry is a page of the size that the rules allow."""

import datetime
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from PIL import Image

from golfphys.physics.club import BAG
from golfphys.physics.draws import Logged, assumed, stated
from golfphys.physics.green import Green, Resistance
from golfphys.planning import (
    Effort,
    best_club_map,
    carry_and_roll,
    demo_wedges,
    find_wedge_gaps,
    landing_shift,
    make_carry_sheet,
    plan_chip,
    price_habits,
    rule_of_twelve,
    sensitivities,
    what_if,
    what_it_would_fill,
)
from golfphys.planning.carry_sheet import PAPER_IN
from golfphys.show import plots, tables

TEN = Green.from_stimp(10.0)
FEW = Effort(draws=8, landings=9, errors=4, last=16)
KNOWN = Effort(draws=1, landings=9, errors=16, last=32)


@pytest.fixture(scope="module")
def sheet():
    constant = TEN.resistance.constant * np.exp(0.04 * np.random.default_rng(1).standard_normal(32))
    green = Green(resistance=Resistance(constant=constant))
    draws = assumed(green, logged=Logged(rolls=16), n=32)
    return make_carry_sheet(draws, spot="home-left", made_for=datetime.date(2025, 5, 6), effort=FEW)


@pytest.fixture(scope="module")
def plan():
    return plan_chip(assumed(TEN, n=32), to_edge=3.0, to_pin=14.0, effort=FEW)


def test_regret_is_written_in_every_cell_and_the_best_club_is_boxed(plan):
    table = what_if(plan)
    ax = plots.plot_regret(table)
    assert len(ax.texts) == len(table)
    assert len(ax.patches) == table["change"].nunique()
    shown = tables.regret(table)
    assert list(shown.index) == list(dict.fromkeys(table["change"]))
    assert shown["best club had one known"].isin(plan.shown).all()


def test_a_plan_is_shown_in_the_unit_asked_for(plan):
    metres, yards = (tables.plan(plan, unit=unit) for unit in ("m", "yd"))
    landing = plan.table["landing_m"].iloc[0]
    assert metres["land it at (m)"].iloc[0] == f"{landing:.1f}"
    assert yards["land it at (yd)"].iloc[0] == f"{landing / 0.9144:.1f}"
    with pytest.raises(ValueError, match="unit is 'paces'"):
        tables.plan(plan, unit="paces")


def test_habits_are_drawn_cheapest_first():
    bag = {name: BAG[name] for name in ("8-iron", "lob wedge")}
    prices = price_habits(assumed(TEN, bag=bag, n=8), positions=3, effort=FEW)
    ax = plots.plot_habits(prices)
    assert [label.get_text() for label in ax.get_yticklabels()] == list(prices.table["habit"])
    assert list(tables.habits(prices).index) == list(prices.table["habit"])


def test_runs_are_lines_by_club():
    table = carry_and_roll(stimps_ft=[8.0, 12.0], grades=(0.0, 0.02))
    ax = plots.plot_carry_and_roll(table)
    labels = [line.get_label() for line in ax.lines]
    assert labels == list(BAG)
    first = table[(table["club"] == "8-iron") & (table["firmness"] == "middling") & (table["grade"] == 0.0)]
    assert ax.lines[0].get_ydata() == pytest.approx(first["roll_per_carry"].to_numpy())
    assert list(tables.runs(table).columns) == ["8 ft", "12 ft"]
    assert list(tables.slopes(table, stimp_ft=8.0).columns) == ["level", "2 % up"]


def test_the_rule_of_12_has_two_bars_for_each_club():
    table = rule_of_twelve()
    heights = [bar.get_height() for bar in plots.plot_rule_of_twelve(table).patches]
    assert heights == pytest.approx([*table["rule"], *table["model"]])


def test_the_map_names_a_club_in_every_field():
    table = best_club_map(stimps_ft=[9.0, 11.0], to_pins=[7.0, 15.0], effort=KNOWN)
    ax = plots.plot_best_club(table, unit="ft")
    assert [text.get_text() for text in ax.texts] == [plots.short_name(club) for club in table["club"]]
    assert ax.get_ylabel() == "ball to pin (ft)"


@pytest.mark.parametrize(
    ("club", "short"),
    [("8-iron", "8i"), ("sand wedge", "SW"), ("gap wedge at 52 deg", "GWA5D"), ("chipper", "chipper")],
)
def test_short_names(club, short):
    assert plots.short_name(club) == short


def test_landing_spots_are_lines_by_club():
    table = landing_shift(stimps_ft=[9.0, 10.0, 11.0], to_pins=[15.0], grades=[0.0])
    ax = plots.plot_landing_shift(table, to_pin=15.0, unit="m")
    assert len(ax.lines) == len(BAG)
    assert list(tables.landing_moves(table).columns) == ["pin at 15 m"]
    with pytest.raises(ValueError, match=r"no rows for to_pin 3\.0"):
        plots.plot_landing_shift(table, to_pin=3.0)


def test_sensitivities_are_bars_of_their_effects():
    table = sensitivities()
    widths = sorted(bar.get_width() for bar in plots.plot_sensitivities(table).patches)
    assert widths == pytest.approx(sorted(table["effect_m"]))
    assert len(tables.sensitivities(table)) == len(table)


def test_gaps_are_shaded():
    gaps = find_wedge_gaps(demo_wedges())
    ax = plots.plot_wedge_gaps(gaps)
    assert len(ax.patches) == (gaps.gaps["kind"] == "gap").sum()
    assert len(tables.wedges(gaps, unit="yd")) == len(gaps.table)
    filled = tables.filled(what_it_would_fill(gaps, BAG["gap wedge"]))
    assert list(filled.index) == list(gaps.swings.index)


def test_visits_of_a_player_stand_side_by_side():
    """One line for each club and lie that has the parameter, at the visits that know it."""
    index = pd.MultiIndex.from_tuples([("club lob wedge", "mis_hit_share[rough]"), ("player", "mis_hit_share")])
    first = pd.DataFrame({"low": 0.1, "estimate": 0.2, "high": 0.4, "unit": "1"}, index=index)
    ax = plots.plot_weeks(
        [SimpleNamespace(estimates=first), SimpleNamespace(estimates=first.iloc[1:])], "mis_hit_share"
    )
    assert {text.get_text() for text in ax.get_legend().get_texts()} == {"lob wedge, rough", "player"}
    assert [len(bars.lines[0].get_ydata()) for bars in ax.containers] == [1, 2]
    assert ax.get_ylabel() == "share of mis-hits"
    with pytest.raises(ValueError, match="parameter is 'luck'"):
        plots.plot_weeks([SimpleNamespace(estimates=first)], "luck")


def test_ways_of_deciding_are_bars_least_loss_first():
    table = pd.DataFrame(
        {"plan": ["handbook", "measured"], "loss": [0.2, 0.01], "se": [0.01, 0.001], "loss_95": [0.5, 0.05]}
    )
    ax = plots.plot_decision_quality(table)
    assert [label.get_text() for label in ax.get_yticklabels()] == ["measured", "handbook"]
    assert tables.decisions(table).loc["handbook", "strokes lost a chip"] == 0.2


def test_the_page_is_of_the_size_that_the_rules_allow(sheet, tmp_path):
    path = plots.save_carry_sheet(sheet, tmp_path / "sheet.png")
    with Image.open(path) as picture:
        inches = [size / 300 for size in picture.size]
    assert inches == pytest.approx(PAPER_IN, abs=0.01)
    pdf = plots.save_carry_sheet(sheet, tmp_path / "sheet.pdf").read_bytes()
    assert b"/MediaBox [ 0 0 306 504 ]" in pdf
    with pytest.raises(ValueError, match=r"ending in \.pdf or \.png"):
        plots.save_carry_sheet(sheet, tmp_path / "sheet.txt")


def test_the_page_says_the_date_the_green_the_uncertainty_and_the_caution(sheet):
    said = [text.get_text() for text in plots.draw_carry_sheet(sheet).texts]
    joined = " ".join(said)
    for words in ("home-left", "2025-05-06", "90 %: ", "Not measured", "4.3a", "G-11", "SW", "paces of 0.90 m", "±"):
        assert words in joined, words
    row = sheet.table.loc[14.0]
    land, run = (row["9-iron", name] for name in ("land", "run"))
    assert land < 9 < 10 < run
    assert f"{round(2 * land) / 2:g}/{run:.0f}" in said


@pytest.mark.parametrize("greens", [1, plots.MOST_SPOTS])
def test_nothing_on_the_page_overlaps_or_leaves_it(sheet, greens):
    page = plots.draw_carry_sheet([replace(sheet, spot=f"practice-{number}") for number in range(greens)])
    page.canvas.draw()
    boxes = [text.get_window_extent() for text in page.texts if text.get_text()]
    width, height = page.get_size_inches() * page.dpi
    for box in boxes:
        assert 0 <= box.x0 < box.x1 <= width
        assert 0 <= box.y0 < box.y1 <= height
    for number, one in enumerate(boxes):
        for other in boxes[number + 1 :]:
            assert not one.shrunk(0.9, 0.7).overlaps(other.shrunk(0.9, 0.7))


def test_several_greens_on_a_page_say_what_to_play_on_each(sheet):
    said = [text.get_text() for text in plots.draw_carry_sheet([sheet, replace(sheet, spot="low")]).texts]
    assert {"home-left", "low"} <= set(said)
    club = sheet.best.loc[14.0]
    assert (
        sum(f"{land:g}/" in text for text in said for land in [round(2 * sheet.table.loc[14.0, (club, "land")]) / 2])
        >= 2
    )
    with pytest.raises(ValueError, match="9 sheets are given; expected 1 to 4"):
        plots.draw_carry_sheet([sheet] * 9)
    with pytest.raises(ValueError, match="differ in unit, pace or distances"):
        plots.draw_carry_sheet([sheet, replace(sheet, pace=0.8)])


def test_a_sheet_on_a_green_taken_as_known_says_so():
    day = datetime.date(2025, 5, 6)
    plain = make_carry_sheet(stated(TEN), spot="home-left", made_for=day, distances=[10.0], effort=KNOWN)
    assert "taken as exactly known" in plain.cautions[0]
    assert "nan" not in " ".join(text.get_text() for text in plots.draw_carry_sheet(plain).texts)
