"""Pictures and worked tables of rolls and shots: what stands on the axes, and that it is the laws' own numbers."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from test_plots import legend_words, line

import golfphys
from golfphys import BAG, FIRMNESS, LIES, Air, Delivery, Launch, Trace, constants, plots, roll, worked
from golfphys.core.units import FACTORS_TO_SI
from golfphys.formulas.impact import impact
from golfphys.physics.club import TOUR_PLAYER
from golfphys.physics.green import Green, Ground, Resistance, Strip, Turf

RPM, FT = FACTORS_TO_SI["rpm"], FACTORS_TO_SI["ft"]
LEVEL = Green.from_stimp(10.0)
TEN = LEVEL.resistance
DOWN = -np.pi / 2


def data(ax: Any, label: str) -> list[np.ndarray]:
    return [np.asarray(values, float) for values in line(ax, label).get_data()]


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


SKIDDED = worked.skid_motion(2.0, friction=0.4, resistance=TEN.constant)
MOTION = Delivery(speed=9.0)
BOUNCES = worked.bounces(7.5, 0.65, np.linspace(0.0, 500.0, 26))
STRIKES = worked.strikes(MOTION)
WET = STRIKES[STRIKES["lie"] == "wet"]
TWO_WAY = worked.two_way(TEN, [0.0, 0.03])
SHARE = worked.skid_share([10], [0.2, 0.4])
DRAWN = {
    "slowing": (lambda: plots.plot_slowing({"10 ft": TEN}), "_stop 10 ft", 0, [10.0]),
    "ramp": (lambda: plots.plot_ramp_speeds([19.0]), "published: 6.4 ft/s", 1, [6.4 * FT] * 2),
    "two way": (lambda: plots.plot_two_way(TWO_WAY, unit="m"), "uphill", 1, TWO_WAY["up"]),
    "two way, percent": (lambda: plots.plot_two_way(TWO_WAY), "two-way mean", 0, [0.0, 3.0]),
    "never stops": (
        *(lambda: plots.plot_never_stops(worked.never_stops([14.0]), published=(14.0, 2.4)), "from a published chart"),
        *(1, [2.4]),
    ),
    "distance": (lambda: plots.plot_by_heading({"level": LEVEL}), "level", 1, [10.0 * FT] * 73),
    "side": (lambda: plots.plot_by_heading({"level": LEVEL}, "side"), "level", 1, [0.0] * 73),
    "places": (lambda: plots.plot_places({"none": SKIDDED}, unit="ft"), "none", 1, SKIDDED["place"] / FT),
    "skid share": (lambda: plots.plot_skid_share(SHARE), "green of 10 ft", 1, 100 * SHARE["10 ft"]),
    "spin": (lambda: plots.plot_bounce_over_spin(BOUNCES), "forward speed", 0, BOUNCES["backspin"] / RPM),
    "forward speed": (lambda: plots.plot_bounce_over_spin(BOUNCES), "forward speed", 1, BOUNCES["forward"]),
    "launch": (lambda: plots.plot_launches(STRIKES, name="wet"), "wet", 0, np.degrees(WET["launch"])),
    "launch spin": (lambda: plots.plot_launches(STRIKES, name="wet"), "wet", 1, WET["backspin"] / RPM),
}


@pytest.mark.parametrize("name", DRAWN)
def test_lines_are_the_numbers_of_the_tables_in_their_units(name: str) -> None:
    draw, label, axis, expected = DRAWN[name]
    assert data(draw(), label)[axis] == pytest.approx(np.asarray(expected, float), abs=1e-9)


def test_paths_show_target_rest_and_downhill_and_mark_a_ball_that_never_stops() -> None:
    ways = {f"{v} m/s": roll.path(v, 0.0, TEN, 0.03, DOWN) for v in (1.0, 2.0)}
    ax = plots.plot_paths(ways, fall=DOWN, target=(1.0, 0.5), rest_line=True, enlarged=2, unit="m")
    x, y = data(ax, "2.0 m/s")
    assert (x[-1], y[-1]) == (pytest.approx(ways["2.0 m/s"].x[-1]), pytest.approx(ways["2.0 m/s"].y[-1]))
    assert data(ax, "target")[1].tolist() == [0.5]
    assert ax.get_aspect() == 2.0
    assert ax.get_ylabel() == "to the left (m), enlarged 2 times"
    assert "downhill" in [text.get_text() for text in ax.texts]
    assert len([item for item in ax.lines if item.get_label() == "_line of rest"]) == 2
    never, stops = roll.path(1.0, 0.0, 0.02, 0.03, DOWN, reach=5.0), roll.path(1.0, 0.0, TEN)
    ax = plots.plot_paths({"never": never, "_second": stops})
    assert [item.get_marker() for item in ax.lines if item.get_label() == "_end"] == ["X", "o"]
    assert line(ax, "_second").get_color() == line(ax, "never").get_color()
    assert legend_words(ax) == ["never"]


def test_a_fit_is_drawn_flat_for_a_constant_law_and_its_outlier_is_ringed() -> None:
    truth = golfphys.CourseTruth(greens={"low": Green.from_stimp(10.0, grade=0.015)})
    design = golfphys.RolloutDesign(release_speeds=(1.2, 1.83), repeats=2, side_share=0.0, outliers=1)
    fit = golfphys.fit(golfphys.make_rollouts(truth, design, 5)).rollouts
    ax = plots.plot_resistance_by_speed({"constant": fit}, "low")
    assert np.ptp(data(ax, "constant in speed")[1]) == pytest.approx(0.0, abs=1e-12)
    assert len(ax.collections) == 1
    low, high = (edge(ax.collections[0].get_paths()[0].vertices[:, 1]) for edge in (np.min, np.max))
    assert low < data(ax, "constant in speed")[1][0] < high
    ax = plots.plot_residuals(fit)
    assert data(ax, "low")[1] == pytest.approx(fit.residuals["residual"])
    assert fit.residuals["residual"].abs().max() in np.abs(data(ax, "taken as outlier")[1])


def test_a_law_with_every_term_is_worked_whole() -> None:
    law = Resistance(constant=0.06, linear=0.006, quadratic=0.003)
    alone = Resistance(constant=0.06)
    ends = [data(plots.plot_slowing({"x": one}, unit="m"), "x")[0][-1] for one in (law, alone)]
    assert ends[0] < 0.9 * ends[1]
    table = worked.two_way(law, [0.0, 0.02])
    assert table["level"].iloc[0] == pytest.approx(ends[0], rel=1e-4)
    assert (table["up"].iloc[1] < table["level"].iloc[1]) & (table["level"].iloc[1] < table["down"].iloc[1])


@pytest.fixture(scope="module")
def launches() -> dict[str, Launch]:
    return worked.chips_to(6.0)


@pytest.fixture(scope="module")
def paths(launches: dict[str, Launch]) -> dict[str, Trace]:
    return {club: golfphys.trace(launches[club], LEVEL) for club in ("9-iron", "lob wedge")}


def test_paths_are_drawn_in_the_unit_asked_for_and_their_parts_make_the_whole(paths: dict[str, Trace]) -> None:
    flights, runs = plots.plot_flights(paths, unit="ft"), plots.plot_after_landing(paths, unit="ft")
    for name, path in paths.items():
        assert line(flights, name).get_xdata()[-1] == pytest.approx(path.shot.landing_x / FT, abs=0.05)
        assert max(line(flights, name).get_ydata()) == pytest.approx(path.shot.apex / FT, rel=0.01)
        assert line(runs, f"_rest {name}").get_xdata() == pytest.approx([path.shot.run / FT], abs=0.05)
        hops = path.height[path.time > path.shot.flight_time + 1e-9]
        assert runs.get_ylim()[1] > 12 * hops.max() / FT
    assert flights.get_xlabel() == "from the ball (ft)"
    table = worked.parts(paths)
    ways, names = table[list(worked.PARTS)], [f"{part}_time" for part in worked.PARTS]
    for name, path in paths.items():
        assert ways.loc[name].sum() == pytest.approx(path.shot.rest_x)
        assert ways.loc[name, "flight"] == pytest.approx(path.shot.landing_x, abs=0.01)
        assert table.loc[name, names].sum() == pytest.approx(path.shot.rest_time)
    ax = plots.plot_parts(table)
    ends = [bar.get_x() + bar.get_width() for bar in ax.containers[-1]]
    assert ends == pytest.approx([path.shot.rest_x for path in paths.values()])
    assert legend_words(ax) == list(worked.PARTS)


def test_over_edge_only_short_shots_are_slowed() -> None:
    slow = Strip(until=4.0, resistance=Resistance(constant=0.25), turf=FIRMNESS["soft"])
    launch = Launch(np.linspace(4.5, 9.0, 40), 0.55, 150.0)
    table = worked.over_edge(launch, {"green": LEVEL, "strip": Ground(green=LEVEL, strips=(slow,))})
    on = table.index > 4.05
    assert on.any()
    assert table.loc[on, "green"].to_numpy() == pytest.approx(table.loc[on, "strip"].to_numpy(), abs=2e-3)
    assert (table.loc[table.index < 2.5, "strip"] < table.loc[table.index < 2.5, "green"] - 0.5).all()
    ax = plots.plot_over_edge(table, 4.0)
    assert line(ax, "strip").get_ydata() == pytest.approx(table["strip"].to_numpy())
    assert ax.get_title(loc="left") == "The green begins at 4 m"


def test_coefficients_meet_the_published_levels() -> None:
    """Without spin drag lies on the published levels; slow spin in the gap has the published negative lift."""
    drag, lift = (plots.plot_coefficient(which, [0.0, 0.2], np.linspace(1.0, 40.0, 79)) for which in ("drag", "lift"))
    speed, still = data(drag, "rim at 0 of the airspeed")
    reynolds = Air().reynolds(speed)
    for low, high, level in plots.PUBLISHED_DRAG:
        assert still[(reynolds >= low) & (reynolds <= high)] == pytest.approx(level, abs=0.03)
    low, high, bottom, top = plots.PUBLISHED_LIFT
    slow = data(lift, "rim at 0.2 of the airspeed")[1][(speed > low) & (speed < high)]
    assert ((slow >= bottom) & (slow <= top)).all()
    assert "published: negative lift (Lyu et al. 2020, read)" in legend_words(lift)


def test_conditions_push_the_right_way(launches: dict[str, Launch]) -> None:
    towards = {"head": np.pi, "tail": 0.0, "to the left": np.pi / 2}
    airs = {name: Air(wind_speed=5.0, wind_direction=way) for name, way in towards.items()} | {"still": Air()}
    table = worked.conditions({"chip": launches["sand wedge"]}, airs).set_index("air")
    assert table.loc["head", "carry_change"] < -0.1 < 0.1 < table.loc["tail", "carry_change"]
    assert 0.1 < table.loc["to the left", "landing_side_change"] < table.loc["to the left", "rest_side_change"]
    changes = ["carry_change", "rest_change", "landing_side_change", "rest_side_change"]
    assert table.loc["still", changes].tolist() == [0.0] * 4
    ax = plots.plot_conditions(table.reset_index(), unit="cm")
    assert line(ax, "chip").get_xdata() == pytest.approx(100 * table["carry_change"].to_numpy())
    assert ax.get_xlabel() == "change of carry (cm)"
    assert [text.get_text() for text in ax.get_yticklabels()] == list(airs)


def test_strikes_and_bounces_tell_grip_from_slip() -> None:
    table = worked.strikes(MOTION)
    friction = np.array([LIES[lie].friction for lie in table["lie"]])
    below, slips = (table["loft"] - table["launch"]).to_numpy(), ~table["grips"].to_numpy()
    assert 0 < slips.sum() < len(table)
    assert below[slips] == pytest.approx(np.arctan(friction[slips]))
    assert (below[~slips] < np.arctan(friction[~slips])).all()
    assert table["rim_ratio"].to_numpy() == pytest.approx(table["identity"].to_numpy())
    more = worked.bounces(7.5, 0.65, np.linspace(0.0, 500.0, 26), turf=Turf(friction=0.41))
    unmoved = np.isclose(more["forward"], BOUNCES["forward"], atol=1e-9)
    assert (unmoved == BOUNCES["grips"]).all()
    assert 0 < BOUNCES["grips"].sum() < len(BOUNCES)


def test_slide_limit_is_where_the_impact_law_changes() -> None:
    limit = worked.slide_limit(0.4, 0.8)
    slips = []
    for angle in (limit - 0.01, limit + 0.01):
        motion = (np.cos(angle), 0.0, -np.sin(angle), 0.0, 0.0, 0.0, 0.0, 0.0, 1.0)
        after = impact(*motion, 0.8, 0.4, 0.0, 0.0, constants.BALL_RADIUS.value, constants.BALL_INERTIA.value)
        slips.append(after[0] - constants.BALL_RADIUS.value * after[4])
    assert slips[0] > 1e-3
    assert slips[1] == pytest.approx(0.0, abs=1e-12)
    ax = plots.plot_slide_limit([0.8], [0.2, 0.4], published=(0.4, np.radians(20.0)))
    assert data(ax, "restitution 0.8")[1][1] == pytest.approx(np.degrees(limit))
    assert line(ax, "about 20 deg (Cross, read)").get_xydata().tolist() == [[0.4, pytest.approx(20.0)]]


def test_friction_to_grip_is_where_spin_stops_rising() -> None:
    wedge = BAG["sand wedge"]
    limit = worked.friction_to_grip(wedge, MOTION, LIES["tight"])
    ax = plots.plot_over_friction(wedge, MOTION, [limit - 0.02, limit - 0.01, limit + 0.01, limit + 0.1])
    spin = data(ax, "_clean")[1]
    assert spin[0] < spin[1] < spin[2] == pytest.approx(spin[3])
    (shade,) = ax.patches
    assert shade.get_width() == pytest.approx(limit - 0.01)
    ax = plots.plot_over_friction(wedge, MOTION, [0.05, 0.6], STRIKES[STRIKES["club"] == "sand wedge"])
    for name, lie in LIES.items():
        spin = worked.launch_from(wedge, MOTION, lie).backspin / RPM
        assert line(ax, name).get_xydata() == pytest.approx(np.array([[lie.friction, spin]]))


def test_windows_say_which_end_digs() -> None:
    lies = {name: LIES[name] for name in ("tight", "wet", "rough")}
    table = worked.windows(BAG["sand wedge"], MOTION, [0.14, 0.21], lies)
    digs = table.groupby("lie")["digs"].apply(list)
    assert digs.to_dict() == {"rough": [False, False], "tight": [False, True], "wet": [True, True]}
    tight = table[table["lie"] == "tight"]
    assert tight["dig"].iloc[0] < tight["dig"].iloc[1] < 0 < tight["thin"].iloc[0] < tight["thin"].iloc[1]
    ax = plots.plot_windows(table)
    bars = ax.containers[0]
    assert [bar.get_x() for bar in bars] == pytest.approx(100 * table.loc[table["lean"] == 0.14, "dig"].to_numpy())
    assert [text.get_text() for text in ax.get_yticklabels()] == ["tight", "wet", "rough"]


def test_contacts_are_drawn_with_the_strikes_that_made_them() -> None:
    club, lie = BAG["lob wedge"], {"tight": LIES["tight"]}
    strikes = worked.struck(club, lie, n=60)
    table = worked.contacts(club, LIES["tight"], points=31)
    means = table.groupby("contact")["height"].mean()
    assert means["heavy"] < means["clean"] < means["thin"]
    ax = plots.plot_contacts(table, strikes)
    assert line(ax, "strikes with all errors").get_ydata() == pytest.approx(1e3 * strikes["height"].to_numpy())
    assert legend_words(ax)[:3] == ["clean", "heavy", "thin"]


# --- figures of the pages --------------------------------------------------------------------------------------------
def test_worked_figures_are_those_of_hand_calculations() -> None:
    """A 10 ft green, a wedge of 11 deg of bounce, the trade's rule of spin; Irodov 1.106: half the speed at the end."""
    ten = LEVEL.resistance
    found = {
        "reading": (data(plots.plot_slowing({"10 ft": ten}, unit="m"), "10 ft")[0][-1], 10 * FT),
        "resistance": (worked.green_speeds([10.0]).loc[10.0, "resistance"], 0.0784),
        "leaves the ramp": (data(plots.plot_ramp_speeds([20.0]), "leaving the ramp (no losses)")[1][0], 1.885),
        "ends a curve": (data(plots.plot_hodograph({"a slope": 0.03}, 0.03, np.pi / 2 - 1e-6), "_end")[1][0], 0.5),
        "skid": (worked.skid_share([10.0], [0.4]).iloc[0, 0], 0.119),
        "slides": (np.degrees(worked.slide_limit(0.4, 0.8)), 21.6),
        "drop": (data(plots.plot_rebounds({"turf": Turf()}, [1.0], unit="m"), "turf")[1][0], 13.1),
        "bounce": (data(plots.plot_bounce_left({"SW": BAG["sand wedge"]}, [0.0]), "SW")[1][0], 11.0),
        "rule of spin": ((STRIKES["backspin"] / STRIKES["rule"]).iloc[0], 1.0),
    }
    for name, (value, expected) in found.items():
        assert value == pytest.approx(expected, rel=0.04 if name in ("rule of spin", "bounce") else 0.005), name
    spun = worked.swapped({"a": Launch(8.0, 0.5, 100.0), "b": Launch(8.0, 0.7, 300.0)})
    assert (spun["b spin"] < spun["no spin"]).all()
    heavy_or_thin = worked.mishits({"tight": LIES["tight"]}, n=500)["tight"]
    assert heavy_or_thin["lob wedge"] > heavy_or_thin["8-iron"]
    rest = worked.rests({"9-iron": BAG["9-iron"]}, {"fairway": LIES["fairway"]}, 6.0, n=20)["x"]
    assert 6.0 < rest.median() < 25.0
    sure = replace(TOUR_PLAYER, errors=replace(TOUR_PLAYER.errors, direction=0.0))
    across = [
        worked.rests({"9-iron": BAG["9-iron"]}, {"tight": LIES["tight"]}, 6.0, player=player, n=50)["y"].std()
        for player in (TOUR_PLAYER, sure)
    ]
    assert across[1] < 0.7 * across[0]
