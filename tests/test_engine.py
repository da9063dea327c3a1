"""The shot: against the slow reference, cut in any way, compiled or not, many at once or one, drawn or not."""

import gc
import math
import multiprocessing
import shutil
import sys
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from contextlib import ExitStack, nullcontext
from dataclasses import replace
from pathlib import Path
from typing import Any

import numba
import numpy as np
import pytest
import versions
from conftest import ROOT, ExternalCheck, refused
from reference_chip import Course
from threadpoolctl import threadpool_info, threadpool_limits

import golfphys
from golfphys import Aerodynamics, Air, Launch, Shots, Status, Surface, simulate, trace
from golfphys.core import law
from golfphys.core.broadcasting import one_thread, uncollected
from golfphys.core.constants import CHIP_LANDING_ANGLE, CHIP_LANDING_SPEED, TURF_DENT_SPEED
from golfphys.physics import shot
from golfphys.physics.green import Green, Ground, Hole, LinearTurf, Resistance, Strip, Turf

SLOPE = Green.from_stimp(10.0, grade=0.02, fall_direction=2.0)
GRAIN = Resistance(constant=0.07, linear=0.01, grain=0.1, grain_direction=1.0)
GRAINY = Green(resistance=GRAIN, grade=0.03, fall_direction=-2.5, turf=Turf(tangential_restitution=0.2))
NUMBERS = tuple(Shots.__dataclass_fields__)


def chips(n: int, seed: int = 3) -> Launch:
    random = np.random.default_rng(seed)
    struck = (random.uniform(*ends, n) for ends in ((6, 14), (0.35, 0.95), (100, 500)))
    return Launch(*struck, random.normal(0, 0.03, n), random.normal(0, 20, n))


def same(one: Shots, other: Shots) -> bool:
    return all(np.array_equal(getattr(one, name), getattr(other, name), equal_nan=True) for name in NUMBERS)


@pytest.mark.parametrize(
    ("name", "green", "air"),
    [("slope", SLOPE, Air()), ("grain-and-wind", GRAINY, Air(wind_speed=6.0, wind_direction=2.0, altitude=1500.0))],
)
def test_rest_agrees_with_the_reference(name: str, green: Green, air: Air, external_check: ExternalCheck) -> None:
    launch = chips(60)
    ours = simulate(launch, green, air=air)
    course = Course(green, air)
    rows = zip(launch.speed, launch.angle, launch.backspin, launch.direction, launch.sidespin, strict=True)
    theirs = [course.play(*map(float, row)) for row in rows]
    bounces, x, y = np.transpose([(played.bounces, played.rest_x, played.rest_y) for played in theirs])
    like = ours.bounces == bounces
    assert np.mean(like) > 0.95
    external_check("rest-{name}", float(np.max(np.hypot(ours.rest_x - x, ours.rest_y - y)[like])), name=name)


@pytest.mark.parametrize(
    "pool",
    [None, *(pytest.param(pool, marks=pytest.mark.thorough) for pool in (ThreadPoolExecutor, ProcessPoolExecutor))],
)
def test_results_do_not_depend_on_the_cut(pool: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    launch = chips(700)
    whole = simulate(launch, SLOPE)
    monkeypatch.setattr(shot, "CHUNK", 97)
    context = {"mp_context": multiprocessing.get_context("spawn")} if pool is ProcessPoolExecutor else {}
    with pool(2, **context) if pool else nullcontext() as executor:
        assert same(simulate(launch, SLOPE, executor=executor), whole)


def test_the_cache_is_keyed_by_the_text_of_every_law(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    copied = tmp_path / "golfphys"
    for room in ("physics", "formulas", "core"):
        shutil.copytree(ROOT / "golfphys" / room, copied / room, ignore=shutil.ignore_patterns("__pycache__"))
    monkeypatch.setattr(law, "__file__", str(copied / "core" / "law.py"))
    before = law.source_stamp()
    for name in ("physics/bounce.py", "formulas/turf.py", "core/law.py", "physics/flying.py"):
        (copied / name).write_text((copied / name).read_text(encoding="utf-8") + "\n# changed\n", encoding="utf-8")
        changed = law.source_stamp()
        assert changed != before
        before = changed


DEPARTING = replace(SLOPE, turf=LinearTurf(kept_by_angle=0.3, kept_by_speed=-0.2))
SOFT = Strip(until=4.7, resistance=Resistance(constant=0.25), turf=Turf(restitution=0.3))
STRIPS = Ground(green=SLOPE, strips=(Strip(until=3.1), SOFT), back=9.3, behind=(replace(SOFT, until=99.0),))


@pytest.mark.parametrize(
    "green",
    [
        SLOPE,
        GRAINY,
        replace(SLOPE, turf=LinearTurf()),
        replace(SLOPE, turf=Turf(kept_by_angle=-0.3)),
        DEPARTING,
        STRIPS,
    ],
    ids=["slope", "grain", "linear", "by angle", "linear, by both", "strips"],
)
def test_a_batch_plays_the_very_steps_of_a_single_shot(green: Green | Ground, monkeypatch: pytest.MonkeyPatch) -> None:
    random = np.random.default_rng(8)
    n = 400
    launch = Launch(random.uniform(1, 20, n), random.uniform(0.05, 1.3, n), random.uniform(0, 700, n), 0.02, 15.0)
    many = simulate(launch, green)
    assert shot.batch_of(launch, green).in_lanes
    monkeypatch.setattr(shot, "FEW", n + 1)
    assert same(simulate(launch, green), many)
    for i in range(0, n, 37):
        path = trace(Launch(launch.speed[i], launch.angle[i], launch.backspin[i], 0.02, 15.0), green)
        assert all(getattr(path.shot, name) == np.asarray(getattr(many, name))[i] for name in NUMBERS)
        assert (path.x[-1], path.y[-1], path.time[-1]) == (many.rest_x[i], many.rest_y[i], many.rest_time[i])


@pytest.mark.parametrize(
    "turf",
    [Turf(unevenness=0.03, patchiness=0.1, kept_by_speed=0.2), LinearTurf(unevenness=np.linspace(0.0, 0.05, 300))],
)
def test_local_slopes_and_first_landings_are_the_same_many_at_once(
    turf: Turf | LinearTurf, monkeypatch: pytest.MonkeyPatch
) -> None:
    launch = chips(300)
    hole = Hole(x=float(np.median(simulate(launch, SLOPE).rest_x)), radius=0.5)
    ground = Ground(green=replace(SLOPE, turf=turf), hole=hole)
    bumps = np.random.default_rng(9).standard_normal((2, 3, 300))
    batch = shot.batch_of(launch, ground, bumps=bumps)
    landed = replace(batch, hops=0)
    assert batch.in_lanes
    assert landed.in_lanes
    found, landings = shot.play_all(batch), shot.play_all(landed)
    assert found.holed.any()
    assert (found.status == Status.STOPPED).all()
    assert not np.array_equal(found.rest_x, simulate(launch, ground).rest_x)
    assert np.array_equal(landings.landing_x, found.landing_x)
    assert np.isnan(landings.rest_x).all()
    monkeypatch.setattr(shot, "FEW", 301)
    assert not batch.in_lanes
    assert same(shot.play_all(batch), found)
    assert same(shot.play_all(landed), landings)


def test_strips_like_the_green_change_nothing_and_count_by_their_own_grade() -> None:
    launch = chips(200)
    plane = simulate(launch, SLOPE, time_step=0.05)
    for grade in (None, -0.02 * math.cos(2.0)):
        strips = (Strip(until=4.0), Strip(until=9.0, grade=grade))
        found = simulate(launch, Ground(green=SLOPE, strips=strips), time_step=0.05)
        like = found.bounces == plane.bounces
        assert np.mean(like) > 0.98
        assert np.max(np.hypot(found.rest_x - plane.rest_x, found.rest_y - plane.rest_y)[like]) < 1e-3
    level, launch = Green.from_stimp(10.0), Launch(8.0, 0.6, 250.0)
    drop = (Strip(until=3.0, grade=0.0), Strip(until=5.0, grade=-0.4))
    up, flat, down = (
        simulate(launch, Ground(green=level, strips=strips)) for strips in ((Strip(until=20.0, grade=0.3),), (), drop)
    )
    assert up.flight_time < flat.flight_time < down.flight_time
    # played on a green of that slope throughout, it is the same shot
    plane = simulate(launch, Green.from_stimp(10.0, grade=0.3, fall_direction=math.pi))
    assert math.isclose(up.carry, plane.carry, abs_tol=1e-4)


def test_things_hold_arrays() -> None:
    stimp, tilt, wind = np.array([[10.0], [8.0]]), np.array([0.2, 0.25, 0.3]), np.array([0.0, 3.0, 6.0])
    until = np.array([1.0, 2.0, 3.0])

    def where(stimp: Any, tilt: Any, until: object) -> Ground:
        strip = Strip(until=until, resistance=Resistance(constant=0.3), turf=Turf(tilt=tilt))
        return Ground(green=Green.from_stimp(stimp, grade=0.1 * tilt), strips=(strip,))

    launch = Launch(8.0, 0.6, 250.0)
    shots = simulate(launch, where(stimp, tilt, until), air=Air(wind_speed=wind))
    assert shots.rest_x.shape == shots.run.shape == shots.stops.shape == (2, 3)
    assert len(shots) == 6
    for i, j in np.ndindex(2, 3):
        ground = where(stimp[i, 0], tilt[j], until[j])
        assert simulate(launch, ground, air=Air(wind_speed=wind[j])).rest_x == shots.rest_x[i, j]
    green = Green(resistance=Resistance(constant=[0.07, 0.08]))
    refused("expected them to broadcast", lambda: simulate(Launch(np.full(3, 8.0), 0.6, 250.0), green))


def test_the_search_for_garbage_goes_on_after_a_shot() -> None:
    with uncollected():
        simulate(Launch(8.0, 0.6, 250.0), SLOPE)
        assert not gc.isenabled()
    with pytest.raises(ValueError, match="gone"), uncollected():
        raise ValueError("gone")
    assert gc.isenabled()


def test_a_plane_too_steep_takes_no_ball_from_its_hole() -> None:
    launch = Launch(np.linspace(5.0, 9.0, 200), 0.6, 200.0)
    for fall in (math.pi, -2.0):
        steep = Green(resistance=Resistance(constant=0.05), grade=0.08, fall_direction=fall)
        hole = Hole(x=simulate(launch, Green.from_stimp(10.0)).roll_x[100] + 0.3, radius=0.5, capture_speed=10.0)
        alone, border = (
            simulate(launch, Ground(green=steep, hole=hole, **strips))
            for strips in ({}, {"strips": (Strip(until=1e-6),), "back": 900.0, "behind": (Strip(until=950.0),)})
        )
        assert 10 < alone.holed.sum() < 190
        assert alone.holed.tolist() == border.holed.tolist()
        assert np.all(alone.status[~alone.holed] == Status.NEVER_STOPS)


def test_a_shot_that_the_lanes_give_up_is_played_alone() -> None:
    kite, green = Aerodynamics(lift_scale=8.0), Green.from_stimp(10.0)
    speed = np.tile([30.0, 9.0], shot.FEW)
    found = simulate(Launch(speed, 0.5, 900.0), green, aerodynamics=kite)
    for i in (0, 1):
        alone = simulate(Launch(speed[i], 0.5, 900.0), green, aerodynamics=kite)
        assert alone.status == found.status[i]
        assert np.array_equal(alone.carry, found.carry[i], equal_nan=True)
    assert found.status[1] == Status.STOPPED
    assert found.status[0] in (Status.STOPPED, Status.STILL_BOUNCING)


def test_path_of_a_shot_its_first_hop_and_the_start_of_its_roll() -> None:
    fringe = Ground(green=SLOPE, strips=(Strip(until=7.0, resistance=Resistance(constant=0.25), grade=0.05),))
    for ground in (SLOPE, fringe):
        launch = Launch(8.0, 0.6, 250.0, 0.05, 20.0)
        path, shot_ = trace(launch, ground), simulate(launch, ground)
        assert shot_.landing_x < shot_.hop_x < shot_.roll_x < shot_.rest_x
        assert shot_.flight_time < shot_.hop_time < shot_.rest_time
        assert 0.5 < shot_.roll_speed < 5.0
        assert (path.x[-1], path.y[-1], path.time[-1]) == (shot_.rest_x, shot_.rest_y, shot_.rest_time)
        assert path.x[0] == path.y[0] == path.height[0] == path.time[0] == 0.0
        assert np.all(np.diff(path.time) >= 0)
        assert np.all(path.height > -1e-6)
        assert list(dict.fromkeys(path.phase.tolist())) == ["flight", "skid", "roll"]
        # the first time it is down again is the first landing
        down = next(i for i in range(1, len(path.x)) if path.height[i] < 1e-6)
        assert math.hypot(path.x[down] - shot_.landing_x, path.y[down] - shot_.landing_y) < 1e-3
    dead = simulate(Launch(3.0, 0.2, 0.0), replace(SLOPE, turf=Turf(restitution=0.0, tilt=0.0)))
    assert dead.bounces == 0
    assert (dead.hop_x, dead.hop_time) == (dead.landing_x, dead.flight_time)
    one, two = Launch(8.0, 0.6, 250.0), Aerodynamics(drag_scale=np.array([0.9, 1.1]))
    for more in ({"launch": chips(2), "ground": SLOPE}, {"launch": one, "ground": SLOPE, "aerodynamics": two}):
        refused(r"shape \(2,\); expected one shot", lambda more=more: trace(**more))


def test_a_strip_behind_the_green_stops_what_runs_through() -> None:
    rough = Strip(until=50.0, resistance=Resistance(constant=0.6), turf=Turf(restitution=0.2))
    launch = Launch(9.0, 0.6, 200.0)
    through = simulate(launch, SLOPE)
    ground = Ground(green=SLOPE, back=through.rest_x - 2.0, behind=(rough,))
    held = simulate(launch, ground)
    assert ground.back < held.rest_x < through.rest_x - 1.2
    assert held.roll_x == pytest.approx(through.roll_x, abs=2e-3)
    same_again = Ground(green=SLOPE, back=5.0, behind=(Strip(until=50.0),))
    assert simulate(launch, same_again).rest_x == pytest.approx(through.rest_x, abs=2e-3)
    refused("back and behind go together", lambda: Ground(green=SLOPE, behind=(rough,)))


def test_local_slopes_scatter_the_run_and_no_others() -> None:
    launch = Launch(np.full(2000, 8.0), 0.6, 250.0)
    even, uneven, again = simulate(launch, SLOPE), simulate(launch, SLOPE, bumps=1), simulate(launch, SLOPE, bumps=1)
    assert same(uneven, again)
    assert np.all(uneven.landing_x == even.landing_x)
    assert 0.01 < np.std(uneven.run) / np.mean(even.run) < 0.25
    flat = simulate(launch, replace(SLOPE, turf=Turf(unevenness=0.0)), bumps=1)
    assert np.allclose(flat.rest_x, even.rest_x, atol=1e-9)
    # a landing on ground that rises as the green does when tilted by as much takes off as there
    tilted = Green(resistance=SLOPE.resistance, grade=0.1, fall_direction=math.pi)
    level = Green(resistance=SLOPE.resistance, turf=Turf(unevenness=0.1))
    steeply = Launch(8.0, 1.5, 0.0)
    one, other = simulate(steeply, level, bumps=np.array([[1.0, 0.0]])), simulate(steeply, tilted)
    assert (one.hop_x - one.landing_x) < 0.0
    assert (one.hop_x - one.landing_x) == pytest.approx(other.hop_x - other.landing_x, rel=0.2)
    patchy = replace(SLOPE, turf=Turf(patchiness=0.1))
    assert np.any(simulate(launch, patchy, bumps=7).rest_x != simulate(launch, patchy).rest_x)
    refused(r"bumps has shape \(3,\); expected", lambda: simulate(launch, SLOPE, bumps=[1.0, 2.0, 3.0]))


@pytest.mark.parametrize("turf", [Turf(), LinearTurf()], ids=["rigid", "linear"])
def test_a_landing_keeps_what_its_patch_its_angle_and_its_speed_say(turf: Turf | LinearTurf) -> None:
    """One number has the same effect whichever of the three it comes from, and only at the first landing."""
    level = Green(resistance=SLOPE.resistance, turf=turf)
    launch = Launch(6.5, 0.5, 150.0)
    usual = simulate(launch, level)
    patch = np.array([[0.0, 0.0, 1.5]])
    lucky = simulate(launch, replace(level, turf=replace(turf, patchiness=0.1)), bumps=patch)
    down = usual.landing_speed * np.sin(usual.landing_angle)
    first = np.exp(0.15 * down**2 / (down**2 + TURF_DENT_SPEED.value**2))
    assert lucky.landing_x == usual.landing_x
    # the first hop is as high, so it goes farther nearly in proportion; the run after it a little more
    assert lucky.hop_x - lucky.landing_x == pytest.approx(first * (usual.hop_x - usual.landing_x), rel=0.02)
    assert lucky.rest_x - lucky.landing_x == pytest.approx(first**1.7 * (usual.rest_x - usual.landing_x), rel=0.1)
    by_angle = 0.15 / (usual.landing_angle - CHIP_LANDING_ANGLE.value)
    by_speed = 0.15 / np.log(usual.landing_speed / CHIP_LANDING_SPEED.value)
    for name, rate in (("kept_by_angle", by_angle), ("kept_by_speed", by_speed)):
        found = simulate(launch, replace(level, turf=replace(turf, **{name: rate})))
        assert found.rest_x == pytest.approx(lucky.rest_x, abs=1e-9), name
    of_slopes = simulate(launch, replace(level, turf=replace(turf, patchiness=0.1)), bumps=patch[:, :2])
    assert of_slopes.rest_x == usual.rest_x
    # a putt presses nothing in
    putt, patchy = Launch(2.0, 0.02, 0.0), replace(level, turf=replace(turf, patchiness=0.3, kept_by_speed=0.5))
    assert simulate(putt, patchy, bumps=patch).rest_x == pytest.approx(simulate(putt, level).rest_x, rel=0.002)


@pytest.mark.parametrize("fall", [0.3, 2.9], ids=["ahead", "behind"])
def test_balls_run_away_over_strips_as_over_their_plane(fall: float) -> None:
    steep = Green(resistance=Resistance(constant=0.06), grade=0.09, fall_direction=fall)
    plane, strips = (simulate(chips(200), Ground(green=steep, strips=some)) for some in ((), (Strip(until=4.0),)))
    assert np.array_equal(strips.status, plane.status)
    assert (plane.status == Status.NEVER_STOPS).mean() > 0.9


def test_a_surveyed_plane_plays_as_that_plane() -> None:
    grade, fall = 0.02, 0.7
    x, y = (axis.ravel() for axis in np.meshgrid(np.linspace(-10, 30, 9), np.linspace(-20, 20, 8)))
    survey = Surface.from_points(x, y, -grade * (np.cos(fall) * x + np.sin(fall) * y))
    turned = 0.4
    green = Green.from_stimp(10.0)
    ground = Ground(green=green, surface=survey.along(2.0, -1.0, turned))
    launch = Launch(np.array([6.0, 8.0, 9.0]), 0.6, 250.0, 0.02)
    plane = simulate(launch, replace(green, grade=grade, fall_direction=fall - turned))
    found = simulate(launch, ground)
    assert np.all(found.status == Status.STOPPED)
    # a map is shorter than the ground by half the square of the slope
    assert np.max(np.hypot(found.rest_x - plane.rest_x, found.rest_y - plane.rest_y)) < 0.02
    path = trace(Launch(8.0, 0.6, 250.0, 0.02), ground)
    assert (path.x[-1], path.y[-1]) == (found.rest_x[1], found.rest_y[1])
    assert np.all(path.height > -2e-3)
    far = simulate(Launch(20.0, 0.7, 100.0), ground)
    assert far.status == Status.LEFT_GROUND


def test_a_first_compilation_is_announced_once(monkeypatch, tmp_path, capsys):
    monkeypatch.setattr(numba.config, "CACHE_DIR", str(tmp_path))

    def loop_for(stamp: int) -> Any:
        return lambda number: number + stamp % 2

    law._say_once.cache_clear()
    law.kept(loop_for)()(1)
    law.kept(loop_for)
    assert capsys.readouterr().err.count("compiling") == 1
    law._say_once.cache_clear()
    law.kept(loop_for)()(1)
    assert capsys.readouterr().err == ""


def test_calls_at_the_same_time_do_not_disturb_each_other() -> None:
    sheet = golfphys.read_rollouts(ROOT / "data" / "demo" / "rollouts.csv")
    few = golfphys.Effort(draws=8, landings=9, errors=4, last=16)

    def work(_number: int) -> tuple[Any, ...]:
        plan = golfphys.plan_chip(golfphys.assumed(SLOPE), to_edge=3.0, to_pin=15.0, effort=few)
        return simulate(chips(500), SLOPE), golfphys.fit(sheet).estimates, plan.table

    shots, estimates, table = work(0)
    with ThreadPoolExecutor(4) as threads:
        for found in threads.map(work, range(4)):
            assert same(found[0], shots)
            assert found[1].equals(estimates)
            assert found[2].equals(table)


@pytest.mark.thorough
def test_threads_of_the_libraries_change_nothing_that_matters() -> None:
    names = ("closed forms", "chips", "chips over a fringe", "fit of rolls", "plan")
    one, two = (versions.numbers_of(sys.executable, names, threads=count) for count in (1, 2))
    lines, good = versions.compared([one, two])
    assert good, "\n".join(lines)
    assert one["chips"] == two["chips"]


def test_linear_algebra_runs_as_before_once_the_last_of_what_overlapped_is_done() -> None:
    def running() -> set[int]:
        return {library["num_threads"] for library in threadpool_info() if library["user_api"] == "blas"}

    with threadpool_limits(limits=2, user_api="blas"):
        first, second = ExitStack(), ExitStack()
        first.enter_context(one_thread())
        second.enter_context(one_thread())
        first.close()
        assert running() == {1}
        second.close()
        assert running() == {2}
