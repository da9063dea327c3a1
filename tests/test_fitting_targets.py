"""Target hits: how likely a hit is, and what counting hits tells of a player."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from scipy.stats import binom

from golfphys import TOUR_PLAYER, ChipDesign, CourseTruth, Green, RolloutDesign, Station, make_chips, make_rollouts
from golfphys.fitting.joint import fit, fit_course
from golfphys.fitting.player import between_levels
from golfphys.fitting.targets import TargetModel
from golfphys.physics.club import TOUR_ERRORS
from golfphys.sheets import ChipSheet

TRUTH = CourseTruth(greens={"low": Green.from_stimp(10.0)})
LOOSE = replace(TOUR_PLAYER, errors=replace(TOUR_ERRORS, speed=0.10, direction=0.06))
SIZE = 1.6
AIMS = (5.0, 9.0)
CLUBS = ("pitching wedge", "lob wedge")


def landed(balls: int, seed: int) -> ChipSheet:
    """Return where balls of the loose player land whose aims alternate."""
    stations = (Station(spot="low", heading=0.0),)
    exact = {"landing_scatter": 0.0, "seen": {}, "ladder": False, "landings_as_drawn": True}
    parts = [
        make_chips(
            TRUTH,
            ChipDesign(
                stations=stations,
                clubs=CLUBS,
                lies=("fairway",),
                repeats=balls,
                target_low=aim,
                target_high=aim,
                **exact,
            ),
            seed + number,
            player=LOOSE,
        )
        for number, aim in enumerate(AIMS)
    ]
    return parts[0].replaced(pd.concat([part.chips for part in parts], ignore_index=True))


def counted(balls: int, seed: int) -> pd.DataFrame:
    chips = landed(balls, seed).chips
    hit = np.hypot(chips["carry"] - chips["target_carry"], chips["landing_side"]) <= SIZE / 2
    sets = chips.assign(hit=hit).groupby(["club", "lie", "target_carry"])["hit"].agg(["size", "sum"]).reset_index()
    names = {"target_carry": "distance", "size": "tries", "sum": "hits"}
    return sets.rename(columns=names).assign(target_size=SIZE)


@pytest.mark.thorough
def test_a_hit_is_as_likely_as_it_is_frequent() -> None:
    rows = counted(250, 5)
    found = fit_course(targets=SimpleNamespace(targets=rows), draws=400)
    names, model = found.posterior.model.names, found.course.targets
    assert isinstance(model, TargetModel)
    true = {f"{kind}_error": getattr(LOOSE.errors, kind) for kind in vars(TOUR_ERRORS) if f"{kind}_error" in names}
    true |= {
        "edge_aim": LOOSE.delivery.edge_aim,
        "attack": LOOSE.delivery.attack,
        "shaft_lean": LOOSE.delivery.shaft_lean,
    }
    natural = np.array([[true.get(name, value) for name, value in zip(names, found.centre, strict=True)]])
    natural[0, names.index("carry_bias")] = natural[0, names.index("start_direction")] = 0.0
    p = model.referred(natural[0]).probability(natural)[0]
    assert (rows["hits"] / rows["tries"]).to_numpy() == pytest.approx(p, abs=0.08)


def test_counts_are_binomial() -> None:
    rows = pd.DataFrame(
        {"club": "sand wedge", "lie": "tight", "distance": 8.0, "target_size": 1.5, "tries": 10, "hits": [0, 3, 10]}
    )
    found = fit_course(targets=SimpleNamespace(targets=rows), draws=400)
    natural, model = found.parameters(2).to_numpy(), found.course.targets
    assert isinstance(model, TargetModel)
    model = model.referred(found.centre)
    u = model.block().evaluate(natural)[0]
    law = binom.logpmf(rows["hits"], rows["tries"], model.probability(natural))
    assert -0.5 * (u[0] ** 2 - u[1] ** 2) == pytest.approx(law[0] - law[1], abs=1e-9)


def test_balls_at_a_towel_tell_how_she_errs() -> None:
    log, rolls = landed(3, 11), make_rollouts(TRUTH, RolloutDesign(repeats=2), 1)
    towel = SimpleNamespace(targets=counted(30, 31))
    fits = [fit(*sheets, draws=800) for sheets in ((towel,), (rolls, log), (rolls, log, towel))]
    only, alone, both = (np.log(item.parameters(800)["speed_error"]).std() for item in fits)
    assert only < 0.8 * between_levels("speed")[1]
    assert both < 0.9 * alone
    low, high = fits[2].estimates.loc[("player", "speed_error_pct"), ["low", "high"]]
    assert low < 10.0 < high


def test_sets_of_unknown_clubs_are_named() -> None:
    rows = pd.DataFrame(
        {"club": ["spoon", "sand wedge"], "lie": "tight", "distance": 8.0, "target_size": 1.5, "tries": 10, "hits": 4}
    )
    found = fit_course(targets=SimpleNamespace(targets=rows), draws=400)
    assert "Target hits with 'spoon' are left out: no loft is known for it." in found.cautions
    with pytest.raises(ValueError, match="no set of target hits names a known club"):
        fit_course(targets=SimpleNamespace(targets=rows.head(1)))
