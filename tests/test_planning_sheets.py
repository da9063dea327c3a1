"""The sheet to carry and the wedge gaps, every figure a shot that can be played again; figures of decisions."""

import datetime
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from conftest import ROOT, refused
from PIL import Image

from golfphys import BAG, LIES, TOUR_PLAYER, Green, Logged, Resistance, Turf, assumed, plots, simulate, stated, strike
from golfphys.planning import PUTTING, USUAL, Change, Effort, Position, measured_pace, plan_chip, price_habits, what_if
from golfphys.planning.carry_sheet import OFF_GREEN, PAPER_IN, RULES_CAUTION, make_carry_sheet, played_by_row
from golfphys.planning.position import faster, level_roll_ft
from golfphys.planning.studies import best_club_map, carry_and_roll, read_study, rule_of_twelve, sensitivities
from golfphys.planning.wedge_gaps import changed_loft, demo_wedges, find_wedge_gaps, what_it_would_fill
from golfphys.sheets import read_wedges
from golfphys.show import tables

DAY = datetime.date(2025, 5, 6)
SLOPING = Green.from_stimp(10.0, grade=0.02, fall_direction=0.7)
LEVEL = Green.from_stimp(10.0)


FEW = Effort(draws=16, landings=9, errors=4, last=16)


@pytest.fixture(scope="module")
def sheet():
    draws = assumed(SLOPING, n=64)
    return make_carry_sheet(draws, spot="practice-low", made_for=DAY, distances=[6, 12, 20], pace=0.8, effort=FEW)


def test_of_two_level_choices_the_one_of_the_row_before_is_played():
    def plan(*labels: str, level: int) -> SimpleNamespace:
        played = [SimpleNamespace(label=label) for label in labels]
        return SimpleNamespace(pick=labels[0], played=played, answer=SimpleNamespace(choices=range(level)))

    rows = [
        plan("sand wedge", "lob wedge", level=1),
        plan("9-iron", "sand wedge", level=2),
        plan("9-iron", "sand wedge", level=1),
        plan("8-iron", "9-iron", level=2),
        plan("8-iron", "sand wedge", level=2),
    ]
    assert played_by_row(rows) == ["sand wedge", "sand wedge", "9-iron", "9-iron", "8-iron"]


def test_each_row_is_the_plan_of_that_distance(sheet):
    draws = assumed(replace(SLOPING, grade=0.0, fall_direction=0.0), n=64)
    position = Position(to_edge=OFF_GREEN, to_pin=12 * 0.8)
    plan = plan_chip(draws, position=position, options=(USUAL, PUTTING), effort=FEW)
    level = [item.label for item in plan.played[: len(plan.answer.choices)]]
    assert sheet.best.loc[12] == (sheet.best.loc[6] if sheet.best.loc[6] in level else plan.pick)
    assert tables.carry(sheet)["play"].tolist() == sheet.best.tolist()
    row = plan.table.set_index("club").loc["9-iron"]
    planned = row[["landing_m", "roll_m", "roll_low_m", "roll_high_m"]].to_numpy(float) / 0.8
    said = sheet.table.loc[12, "9-iron"]
    assert said[["land", "run", "run_low", "run_high"]].to_numpy(float) == pytest.approx(planned)
    assert measured_pace(17.0, 20) == pytest.approx(0.85)


def test_the_sheet_says_what_it_rests_on_and_downhill_and_rough_move_the_landing_nearer(sheet):
    assert sheet.cautions[-1] == RULES_CAUTION
    assert "Not measured, so drawn from what is usual: the player" in sheet.cautions[0]
    assert "tour-level player" in sheet.player
    assert "slope there 2.0 %" in sheet.green
    assert (sheet.moves["downhill 2 %"].dropna() < 0).all()
    assert (sheet.moves["uphill 2 %"].dropna() > 0).all()
    assert {"rough", "light rough", "tight"} <= set(sheet.moves.columns)


def test_what_was_never_measured_widens_the_run():
    constant = LEVEL.resistance.constant * np.exp(0.05 * np.random.default_rng(1).standard_normal(64))
    rolled = replace(LEVEL, resistance=Resistance(constant=constant))
    measured = {"logged": Logged(rolls=16, spots=("low",), level_roll=(3.0, 2.9, 3.1), lies={"wet": 9}), "n": 64}
    question = {"spot": "low", "made_for": DAY, "unit": "m", "distances": [12.0], "effort": FEW}
    sheets = [
        make_carry_sheet(draws, **question)
        for draws in (assumed(rolled, **measured), assumed(rolled, turf=Turf(), player=TOUR_PLAYER, **measured))
    ]
    assert "green speed 9.8 ft (90 %: 9.5 to 10.2)" in sheets[0].green  # as the fit tells it
    assert [*sheets[0].moves.columns[2:]] == ["tight", "light rough", "rough", "wet"]  # and what she has logged
    unsure, certain = (
        np.ptp(sheet.table.loc[12.0].unstack()[["run_low", "run_high"]], axis=1).mean() for sheet in sheets
    )
    assert unsure > 1.4 * certain


@pytest.mark.parametrize(
    "law",
    [
        {"constant": np.linspace(0.06, 0.08, 8), "quadratic": np.linspace(0.001, 0.01, 8)},
        {"constant": np.linspace(0.06, 0.08, 8), "linear": 0.004, "quadratic": np.linspace(0.0, 0.003, 8)},
    ],
    ids=["quadratic", "linear and quadratic"],
)
def test_any_law_of_resistance_is_carried_through_whole(law):
    green = Green(resistance=Resistance(**law))
    draws = assumed(green, n=8)
    quick = Effort(draws=8, landings=7, errors=4, last=8)
    sheet = make_carry_sheet(draws, spot="low", made_for=DAY, unit="m", distances=[10.0], effort=quick)
    plan = plan_chip(draws, to_edge=2.0, to_pin=10.0, effort=quick)
    table = what_if(plan, [Change(name="faster", stimp_ft=1.0)])
    assert "90 %" in sheet.green
    assert (table["regret"] >= 0).all()
    whole = np.asarray(level_roll_ft(green.resistance))
    alone = np.asarray(level_roll_ft(Resistance(constant=law["constant"])))
    assert (whole < alone - 0.05)[1:].all()
    assert np.asarray(level_roll_ft(faster(green, 1.0).resistance)) == pytest.approx(whole + 1.0)


CARRIES = {"pitching wedge": (110, 62), "gap wedge": (92, 52), "sand wedge": (78, 41)}
ROWS = [(club, *one) for club, both in CARRIES.items() for one in zip(("full", "half"), both, strict=True)]
MEASURED = [(club, swing, carry + more) for club, swing, carry in ROWS for more in (-2, 0, 2)]
SHOTS = pd.DataFrame(MEASURED, columns=["club", "swing", "carry_m"])


def test_gaps_overlaps_and_what_fills_them_go_by_the_limits_asked_for():
    found, many = (find_wedge_gaps(SHOTS, wide=wide, close=close) for wide, close in ((15.0, 6.0), (50.0, 12.0)))
    assert found.table["carry_m"].tolist() == [41, 52, 62, 78, 92, 110]
    assert found.gaps["kind"].tolist() == ["fine", "fine", "gap", "fine", "gap"]
    assert any("between 62 and 78 m" in note for note in found.notes)
    assert found.table["shots"].tolist() == [3] * 6
    assert (many.gaps["kind"] == "overlap").sum() == 2
    narrow, loose = (find_wedge_gaps(SHOTS, wide=wide, close=close) for wide, close in ((8.0, 0.1), (40.0, 0.2)))
    candidate = changed_loft("gap wedge", 47.0)
    assert what_it_would_fill(narrow, candidate)["fills"].str.endswith("a gap").any()
    assert not what_it_would_fill(loose, candidate)["fills"].str.contains("gap$|repeats").any()
    refused("lie is 'bunker'; expected one of tight", lambda: find_wedge_gaps(SHOTS, lie="bunker"))


def test_head_speeds_give_the_carries_back_a_club_goes_as_far_as_it_did_and_a_stronger_one_farther():
    found = find_wedge_gaps(SHOTS)
    for row in found.table.itertuples():
        delivery = replace(TOUR_PLAYER.delivery, speed=row.head_speed)
        launch = strike(BAG[row.club], delivery, LIES["fairway"], np.zeros(6), TOUR_PLAYER.errors).launch
        assert simulate(launch, Green.from_stimp(8.0)).carry == pytest.approx(row.carry_m, rel=5e-3)
    table = what_it_would_fill(found, BAG["gap wedge"]).set_index("swing")
    assert table.loc["full", "carry_m"] == pytest.approx(92, abs=5)
    assert table.loc["half", "carry_m"] == pytest.approx(52, abs=4)
    assert (table["low_m"] < table["carry_m"]).all()
    assert table["fills"].str.startswith("repeats gap wedge").all()
    strong, weak = (what_it_would_fill(found, changed_loft("gap wedge", loft)) for loft in (47.0, 53.0))
    assert (strong["carry_m"] > weak["carry_m"]).all()
    swapped = what_it_would_fill(found, changed_loft("gap wedge", 49.0), instead_of="gap wedge")
    assert swapped["widest_before_m"].iloc[0] == 18.0
    refused("instead_of is 'putter'", lambda: what_it_would_fill(found, BAG["gap wedge"], instead_of="putter"))
    # a bent club keeps its sole in step
    assert changed_loft("gap wedge", 52.0).bounce - BAG["gap wedge"].bounce == pytest.approx(np.radians(2.0))


def test_a_club_that_is_not_in_the_bag_is_shown_without_a_head_speed():
    rows = pd.concat([SHOTS, pd.DataFrame([("old wedge", "full", 70)], columns=SHOTS.columns)])
    found = find_wedge_gaps(rows)
    assert np.isnan(found.table.set_index("club").loc["old wedge", "head_speed"])
    assert any("Fewer than three shots: old wedge, full" in note for note in found.notes)
    assert find_wedge_gaps(rows.assign(club="58°")).table["head_speed"].notna().all()
    far = find_wedge_gaps(SHOTS.assign(carry_m=SHOTS["carry_m"] + 50))
    assert np.isnan(far.table["head_speed"].iloc[-1])
    assert far.swings.loc["half", "clubs"] == 3
    alone = what_it_would_fill(find_wedge_gaps(SHOTS.tail(1)), BAG["lob wedge"], instead_of=SHOTS["club"].iloc[-1])
    assert alone["fills"].tolist() == ["beyond what she has"]
    refused("no swing has a head speed", lambda: what_it_would_fill(find_wedge_gaps(rows.tail(1)), BAG["gap wedge"]))


def test_sheets_are_read_in_yards_and_bad_cells_are_all_named(tmp_path):
    path = tmp_path / "wedges.csv"
    path.write_text("# invented\nclub,swing,carry_yd\ngap wedge,half,60\n", encoding="utf-8")
    assert read_wedges(path).frame["carry"].iloc[0] == pytest.approx(60 * 0.9144)
    bad = pd.DataFrame({"club": ["gap wedge", ""], "swing": ["half", "full"], "carry_m": ["far", 900]})
    said = r"(?s)row 1, column carry_m: found 'far'.*row 2, column club: found a blank.*column carry_m: found '900'"
    refused(said, lambda: find_wedge_gaps(bad))


def test_the_committed_study_is_read() -> None:
    study = read_study(ROOT / "tests" / "studies" / "decision_quality.csv")
    assert study["loss"].is_monotonic_increasing
    assert study.set_index("plan").loc["measured", "same_club"] > 0
    assert study["same_club"].isna().any()


SMALL = replace(FEW, draws=8)
KNOWN = Effort(draws=1, landings=9, errors=16, last=32)


@pytest.fixture(scope="module")
def paper():
    constant = LEVEL.resistance.constant * np.exp(0.04 * np.random.default_rng(1).standard_normal(32))
    green = Green(resistance=Resistance(constant=constant))
    draws = assumed(green, turf=Turf(), player=TOUR_PLAYER, logged=Logged(rolls=16), n=32)
    return make_carry_sheet(draws, spot="home-left", made_for=DAY, effort=SMALL)


def test_a_plan_is_shown_in_the_unit_asked_for_and_its_regret_in_every_cell():
    plan = plan_chip(assumed(LEVEL, n=32), to_edge=3.0, to_pin=14.0, effort=SMALL)
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
    putt = plan.table.set_index("club").loc[PUTTING.name]
    assert tables.plan(plan, unit="m").loc[PUTTING.name, "land it at (m)"] == f"stop at {putt['landing_m']:.1f}"
    refused("unit is 'paces'", lambda: tables.plan(plan, unit="paces"))


def test_moves_of_a_landing_are_in_the_small_unit_of_the_page():
    shift = pd.DataFrame(
        {"club": ["8-iron"], "stimp_ft": 10.0, "grade": 0.0, "to_pin_m": 15.0, "shift_ft_per_ft": -0.9}
    )
    assert tables.landing_moves(shift, unit="m")["moves (cm), pin at 15 m"].tolist() == ["-27"]
    assert tables.landing_moves(shift, unit="ft")["moves (in), pin at 49.2 ft"].tolist() == ["-11"]
    refused("no rows for {'stimp_ft': 11.0", lambda: tables.landing_moves(shift, stimp_ft=11.0))
    steep = carry_and_roll(stimps_ft=[12.0], firmness=["middling"], grades=[-0.08, 0.0])
    assert (tables.slopes(steep, stimp_ft=12.0)["8 % down"] == "never stops").all()


def test_pictures_of_speed_show_their_tables():
    runs, rule, effects = carry_and_roll(stimps_ft=[8.0, 12.0]), rule_of_twelve(), sensitivities()
    first = runs[(runs["club"] == "8-iron") & (runs["firmness"] == "middling")]
    ax = plots.plot_carry_and_roll(runs)
    refused("no rows for firmness 'hard' and grade 0.0", lambda: plots.plot_carry_and_roll(runs, firmness="hard"))
    refused("and grade 0.05", lambda: plots.plot_carry_and_roll(runs, grade=0.05))
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
    prices = price_habits(assumed(LEVEL, bag=bag, n=8), positions=3, effort=SMALL)
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


def test_the_page_is_of_the_size_that_the_rules_allow(paper, tmp_path):
    path = plots.save_carry_sheet(paper, tmp_path / "sheet.png")
    with Image.open(path) as picture:
        inches = [size / 300 for size in picture.size]
    assert inches == pytest.approx(PAPER_IN, abs=0.01)
    pdf = plots.save_carry_sheet(paper, tmp_path / "sheet.pdf").read_bytes()
    assert b"/MediaBox [ 0 0 306 504 ]" in pdf
    refused(r"ending in \.pdf or \.png", lambda: plots.save_carry_sheet(paper, tmp_path / "sheet.txt"))


def test_the_page_says_the_date_the_green_the_uncertainty_and_the_caution(paper):
    said = [text.get_text() for text in plots.draw_carry_sheet(paper).texts]
    joined = " ".join(said)
    for words in ("home-left", "2025-05-06", "90 %:", "Not measured", "4.3a", "G-11", "SW", "of 0.90 m", "9 runs"):
        assert words in joined, words
    land, run = paper.table.loc[14.0, "9-iron"][["land", "run"]]
    assert land < 9 < 10 < run
    assert f"{round(2 * land) / 2:g}/{run:.0f}" in said
    low, high = (plots.plan.whole(paper.table.loc[14.0, ("9-iron", end)], "paces") for end in ("run_low", "run_high"))
    assert f"{low}\N{EN DASH}{high}" in said
    known = make_carry_sheet(stated(LEVEL), spot="home-left", made_for=DAY, distances=[10.0], effort=KNOWN)
    assert "taken as exactly known" in known.cautions[0]
    assert "nan" not in " ".join(text.get_text() for text in plots.draw_carry_sheet(known).texts)


@pytest.mark.parametrize("spot", ["practice", "the chipping green behind the old clubhouse, upper tier"])
@pytest.mark.parametrize("greens", [1, plots.MOST_SPOTS])
def test_nothing_on_the_page_overlaps_or_leaves_it(paper, greens, spot):
    page = plots.draw_carry_sheet([replace(paper, spot=f"{spot}-{number}") for number in range(greens)])
    page.canvas.draw()
    boxes = [text.get_window_extent() for text in page.texts if text.get_text()]
    width, height = page.get_size_inches() * page.dpi
    for box in boxes:
        assert 0 <= box.x0 < box.x1 <= width
        assert 0 <= box.y0 < box.y1 <= height
    for number, one in enumerate(boxes):
        for other in boxes[number + 1 :]:
            assert not one.shrunk(0.9, 0.7).overlaps(other.shrunk(0.9, 0.7))


def test_several_greens_on_a_page_say_what_to_play_on_each(paper):
    said = [text.get_text() for text in plots.draw_carry_sheet([paper, replace(paper, spot="low")]).texts]
    assert {"home-left", "low"} <= set(said)
    chipped = paper.best[paper.best.isin(paper.table.columns.get_level_values(0))]
    pin, club = next(chipped.items())
    land = round(2 * paper.table.loc[pin, (club, "land")]) / 2
    assert sum(f"{land:g}/" in text for text in said) >= 2
    refused("9 sheets are given; expected 1 to 4", lambda: plots.draw_carry_sheet([paper] * 9))
    refused("differ in unit, pace or distances", lambda: plots.draw_carry_sheet([paper, replace(paper, pace=0.8)]))
