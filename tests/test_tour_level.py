"""The reference player of tour level against what a tour takes, and the order of the lies for every club."""

import importlib.util
import sys
from dataclasses import replace
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import pytest

from golfphys import BAG, LIES, TOUR_PLAYER, Club, Green, putts_to_hole_out, simulate, strike

BROADIE = {"source": "Broadie, Every Shot Counts (2014)", "locator": "average strokes to hole out", "mark": "memory"}
LEAVES = {"source": "tour statistics 2017", "locator": "average leave, 75th of the tour", "mark": "read"}
GREEN = Green.from_stimp(10.5)
PUTTS = putts_to_hole_out()


def expected_strokes(club: Club, lie: str, to_pin: float) -> float:
    z = np.random.default_rng(11).standard_normal((6, 1, 600))
    speed = np.geomspace(2.0, 20.0, 60)
    swing = replace(TOUR_PLAYER.delivery, speed=speed)
    meant = strike(club, swing, LIES[lie], np.zeros((6, 1)), TOUR_PLAYER.errors)
    rest = np.asarray(simulate(meant.launch, GREEN).rest_x)
    paces = np.interp(to_pin + np.array([-0.3, 0.0, 0.3, 0.6, 1.0]), np.maximum.accumulate(rest), speed)
    swing = replace(swing, speed=paces[:, None])
    shots = simulate(strike(club, swing, LIES[lie], z, TOUR_PLAYER.errors).launch, GREEN)
    leave = np.minimum(np.hypot(np.asarray(shots.rest_x) - to_pin, np.asarray(shots.rest_y)), 40.0)
    return float(1.0 + np.asarray(PUTTS(leave)).mean(axis=1).min())


@pytest.mark.parametrize("club", list(BAG))
def test_rough_costs_with_every_club(club: str) -> None:
    fairway, light, rough = (expected_strokes(BAG[club], lie, 15.0) for lie in ("fairway", "light rough", "rough"))
    assert rough > light + 0.02
    assert rough > fairway + 0.05


@pytest.mark.parametrize("club", ["gap wedge", "sand wedge", "lob wedge"])
def test_a_tight_lie_costs_with_lofted_clubs(club: str) -> None:
    assert expected_strokes(BAG[club], "tight", 15.0) > expected_strokes(BAG[club], "fairway", 15.0) + 0.01


@pytest.fixture(scope="module")
def study() -> ModuleType:
    path = Path(__file__).parent / "studies" / "tour_level.py"
    spec = importlib.util.spec_from_file_location("tour_level", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


@pytest.mark.thorough
def test_a_tour_player_takes_what_a_tour_takes(study: ModuleType, external_check: Any) -> None:
    table = study.study(TOUR_PLAYER, 32, 5).set_index("case")
    for name, row in table[table["target_strokes"].notna()].iterrows():
        slug = f"tour_{str(name).replace(' ', '_')}"
        words = f"strokes of the reference player of tour level to hole out, {name}"
        reason = "asked of the reference player: what the mix of pins and greens leaves open is more than a digit"
        external_check(
            slug, row["strokes"], row["target_strokes"], 0.04, what=words, unit="1", reason=reason, **BROADIE
        )
    for yards, dearer in ((10, 0.16), (30, 0.18), (60, 0.21)):
        found = table.loc[f"{yards} yd rough", "strokes"] - table.loc[f"{yards} yd fairway", "strokes"]
        words = f"strokes that rough costs over fairway at {yards} yd"
        reason = "a difference of two averages, each held to 0.04"
        external_check(
            f"tour_rough_costs_{yards}_yd", found, dearer, 0.08, what=words, unit="1", reason=reason, **BROADIE
        )
    for name, row in table[table["target_leave"].notna()].iterrows():
        slug, target = f"tour_leave_{str(name).replace(' ', '_')}", row["target_leave"]
        words = f"average leave of the reference player of tour level, {name}"
        external_check(slug, row["leave"], round(target, 2), 0.2 * target, what=words, unit="m", **LEAVES)
