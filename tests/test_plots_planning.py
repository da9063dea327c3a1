"""Figures of decisions show what their tables say; the sheet to carry is a page of the size that the rules allow."""

import datetime
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from conftest import refused
from PIL import Image

from golfphys import BAG, TOUR_PLAYER, Green, Logged, Resistance, Turf, assumed, make_carry_sheet, plots, stated, tables
from golfphys.planning import PUTTING, Effort, demo_wedges, plan_chip, price_habits, sensitivities, what_if
from golfphys.planning.carry_sheet import PAPER_IN
from golfphys.planning.studies import best_club_map, carry_and_roll, rule_of_twelve
from golfphys.planning.wedge_gaps import find_wedge_gaps, what_it_would_fill

TEN = Green.from_stimp(10.0)
FEW = Effort(draws=8, landings=9, errors=4, last=16)
KNOWN = Effort(draws=1, landings=9, errors=16, last=32)
DAY = datetime.date(2025, 5, 6)


@pytest.fixture(scope="module")
def sheet():
    constant = TEN.resistance.constant * np.exp(0.04 * np.random.default_rng(1).standard_normal(32))
    green = Green(resistance=Resistance(constant=constant))
    draws = assumed(green, turf=Turf(), player=TOUR_PLAYER, logged=Logged(rolls=16), n=32)
    return make_carry_sheet(draws, spot="home-left", made_for=DAY, effort=FEW)


def test_a_plan_is_shown_in_the_unit_asked_for_and_its_regret_in_every_cell():
    plan = plan_chip(assumed(TEN, n=32), to_edge=3.0, to_pin=14.0, effort=FEW)
    table = what_if(plan)
    ax = plots.plot_regret(table)
    assert len(ax.texts) == len(table)
    assert len(ax.patches) == table["change"].nunique()
    shown = tables.regret(table)
    assert list(shown.index) == list(dict.fromkeys(table["change"]))
    assert shown["best club had one known"].isin(plan.shown).all()
    first = int((plan.table["club"] != PUTTING.name).argmax())  # a putt has no landing
    landing = plan.table["landing_m"].iloc[first]
    for unit, metres in (("m", 1.0), ("yd", 0.9144)):
        assert tables.plan(plan, unit=unit)[f"land it at ({unit})"].iloc[first] == f"{landing / metres:.1f}"
    refused("unit is 'paces'", lambda: tables.plan(plan, unit="paces"))


def test_moves_of_a_landing_are_in_the_small_unit_of_the_page():
    shift = pd.DataFrame(
        {"club": ["8-iron"], "stimp_ft": 10.0, "grade": 0.0, "to_pin_m": 15.0, "shift_ft_per_ft": -0.9}
    )
    assert tables.landing_moves(shift, unit="m")["moves (cm), pin at 15 m"].tolist() == ["-27"]
    assert tables.landing_moves(shift, unit="ft")["moves (in), pin at 49.2 ft"].tolist() == ["-11"]


def test_pictures_of_speed_show_their_tables():
    runs, rule, effects = carry_and_roll(stimps_ft=[8.0, 12.0]), rule_of_twelve(), sensitivities()
    first = runs[(runs["club"] == "8-iron") & (runs["firmness"] == "middling")]
    ax = plots.plot_carry_and_roll(runs)
    assert [line.get_label() for line in ax.lines] == list(BAG)
    assert ax.lines[0].get_ydata() == pytest.approx(first["roll_per_carry"].to_numpy())
    assert list(tables.runs(runs).columns) == ["8 ft", "12 ft"]
    assert [bar.get_height() for bar in plots.plot_rule_of_twelve(rule).patches] == [*rule["rule"], *rule["model"]]
    widths = [bar.get_width() for bar in plots.plot_sensitivities(effects).patches]
    assert sorted(widths) == pytest.approx(sorted(effects["effect_m"]))
    best = best_club_map(stimps_ft=[9.0, 11.0], to_pins=[7.0, 15.0], effort=KNOWN)
    shown = [text.get_text() for text in plots.plot_best_club(best, unit="ft").texts]
    assert shown == [plots.short_name(club) for club in best["club"]]
    cells = {"8-iron": "8i", "sand wedge": "SW", "52-degree wedge": "52°", "chipper": "chipper"}
    assert {club: plots.short_name(club) for club in cells} == cells


def test_prices_are_drawn_cheapest_first_and_gaps_are_shaded():
    losses = {"loss": [0.2, 0.01], "se": [0.01, 0.001], "loss_95": [0.5, 0.05]}
    ax = plots.plot_decision_quality(pd.DataFrame({"plan": ["handbook", "measured"], **losses}))
    assert [label.get_text() for label in ax.get_yticklabels()] == ["measured", "handbook"]
    bag = {name: BAG[name] for name in ("8-iron", "lob wedge")}
    prices = price_habits(assumed(TEN, bag=bag, n=8), positions=3, effort=FEW)
    ax = plots.plot_habits(prices)
    assert [label.get_text() for label in ax.get_yticklabels()] == list(prices.table["habit"])
    gaps = find_wedge_gaps(demo_wedges())
    assert len(plots.plot_wedge_gaps(gaps).patches) == (gaps.gaps["kind"] == "gap").sum()
    assert len(tables.wedges(gaps, unit="yd")) == len(gaps.table)
    filled = tables.filled(what_it_would_fill(gaps, BAG["gap wedge"]))
    assert list(filled.index) == list(gaps.swings.index)


def test_visits_of_a_player_stand_side_by_side():
    index = pd.MultiIndex.from_tuples([("club lob wedge", "mis_hit_share[rough]"), ("player", "mis_hit_share")])
    first = pd.DataFrame({"low": 0.1, "estimate": 0.2, "high": 0.4, "unit": "1"}, index=index)
    ax = plots.plot_weeks(
        [SimpleNamespace(estimates=first), SimpleNamespace(estimates=first.iloc[1:])], "mis_hit_share"
    )
    assert {text.get_text() for text in ax.get_legend().get_texts()} == {"lob wedge, rough", "player"}
    assert [len(bars.lines[0].get_ydata()) for bars in ax.containers] == [1, 2]
    assert ax.get_ylabel() == "share of mis-hits"
    refused("parameter is 'luck'", lambda: plots.plot_weeks([SimpleNamespace(estimates=first)], "luck"))


def test_the_page_is_of_the_size_that_the_rules_allow(sheet, tmp_path):
    path = plots.save_carry_sheet(sheet, tmp_path / "sheet.png")
    with Image.open(path) as picture:
        inches = [size / 300 for size in picture.size]
    assert inches == pytest.approx(PAPER_IN, abs=0.01)
    pdf = plots.save_carry_sheet(sheet, tmp_path / "sheet.pdf").read_bytes()
    assert b"/MediaBox [ 0 0 306 504 ]" in pdf
    refused(r"ending in \.pdf or \.png", lambda: plots.save_carry_sheet(sheet, tmp_path / "sheet.txt"))


def test_the_page_says_the_date_the_green_the_uncertainty_and_the_caution(sheet):
    said = [text.get_text() for text in plots.draw_carry_sheet(sheet).texts]
    joined = " ".join(said)
    for words in ("home-left", "2025-05-06", "90 %:", "Not measured", "4.3a", "G-11", "SW", "of 0.90 m", "9 runs"):
        assert words in joined, words
    land, run = sheet.table.loc[14.0, "9-iron"][["land", "run"]]
    assert land < 9 < 10 < run
    assert f"{round(2 * land) / 2:g}/{run:.0f}" in said
    low, high = (plots.plan.whole(sheet.table.loc[14.0, ("9-iron", end)], "paces") for end in ("run_low", "run_high"))
    assert f"{low}\N{EN DASH}{high}" in said
    known = make_carry_sheet(stated(TEN), spot="home-left", made_for=DAY, distances=[10.0], effort=KNOWN)
    assert "taken as exactly known" in known.cautions[0]
    assert "nan" not in " ".join(text.get_text() for text in plots.draw_carry_sheet(known).texts)


@pytest.mark.parametrize("spot", ["practice", "the chipping green behind the old clubhouse, upper tier"])
@pytest.mark.parametrize("greens", [1, plots.MOST_SPOTS])
def test_nothing_on_the_page_overlaps_or_leaves_it(sheet, greens, spot):
    page = plots.draw_carry_sheet([replace(sheet, spot=f"{spot}-{number}") for number in range(greens)])
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
    chipped = sheet.best[sheet.best.isin(sheet.table.columns.get_level_values(0))]
    pin, club = next(chipped.items())
    land = round(2 * sheet.table.loc[pin, (club, "land")]) / 2
    assert sum(f"{land:g}/" in text for text in said) >= 2
    refused("9 sheets are given; expected 1 to 4", lambda: plots.draw_carry_sheet([sheet] * 9))
    refused("differ in unit, pace or distances", lambda: plots.draw_carry_sheet([sheet, replace(sheet, pace=0.8)]))
