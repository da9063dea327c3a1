"""The player's part: pooling between clubs, growth with head speed, mis-hits, and the player that comes out."""

import numpy as np
import pytest
from fitted_demo import demo_fit

from golfphys.fitting.player import (
    MIDDLE_CLUB,
    PlayerPriors,
    head_speed_ratio,
    mis_hit_share,
    player_parameters,
    relative_scatter,
    scatter_draws,
)
from golfphys.physics.club import BAG, LIES


def test_lofted_clubs_need_a_faster_head() -> None:
    """For the same chip head speed rises with loft, from the middle club on."""
    ratios = [head_speed_ratio(BAG[club]) for club in ("pitching wedge", "gap wedge", "sand wedge", "lob wedge")]
    assert ratios[0] == 1.0
    assert ratios == sorted(ratios)
    assert ratios[-1] > 1.1


def test_relative_scatter_grows_by_the_power_fitted() -> None:
    """No growth, no difference; the middle club keeps its own value."""
    assert relative_scatter(0.06, 0.0, 0.2, 0.0, 1.2) == pytest.approx(0.06)
    assert relative_scatter(0.06, 2.0, 0.2, 0.0, 1.2) == pytest.approx(0.06 * 1.44)
    assert relative_scatter(0.06, 5.0, 0.0, 0.0, head_speed_ratio(BAG[MIDDLE_CLUB])) == pytest.approx(0.06)
    assert relative_scatter(1.0, 500.0, 0.0, 0.0, 1.3) == 0.9


def test_unknown_lies_get_twice_the_spread() -> None:
    """What a name does not tell has to come from the log."""
    known = player_parameters((), {"fairway": LIES["fairway"]}, PlayerPriors())
    unknown = player_parameters((), {"hardpan": None}, PlayerPriors())
    first, second = (next(p for p in found if p.name.startswith("face_friction")) for found in (known, unknown))
    assert second.spread == pytest.approx(2 * first.spread)


def test_clubs_never_hit_scatter_as_clubs_do() -> None:
    """Each club departs as its own draws say; a club that no draws name, by draws from the prior: wider."""
    n = 4000
    random = np.random.default_rng(2)
    values = {
        "landing_absolute": np.full(n, 0.3),
        "landing_relative": np.full(n, 0.06),
        "scatter_growth": np.zeros(n),
        "between_clubs": np.full(n, 0.3),
        "club_scatter[sand wedge]": np.zeros(n),
        "club_launch[sand wedge]": np.zeros(n),
        "club_scatter[9-iron]": random.standard_normal(n),
        "club_launch[9-iron]": np.zeros(n),
        "direction_scatter": np.full(n, 0.03),
        "angle_scatter": np.full(n, 0.03),
        "spin_scatter": np.full(n, 0.1),
    }
    clubs = {name: BAG[name] for name in ("sand wedge", "9-iron")}
    drawn = scatter_draws(values.__getitem__, clubs, n, np.random.default_rng(1))
    assert drawn["sand wedge"]["distance_relative"].std() < 1e-12
    assert np.log(drawn["9-iron"]["distance_relative"]).std() == pytest.approx(0.3, rel=0.05)
    assert np.log(drawn["9-iron"]["angle"] / 0.03).std() < 1e-12
    assert np.log(drawn[""]["distance_relative"]).std() == pytest.approx(0.3, rel=0.05)
    assert np.log(drawn[""]["angle"] / 0.03).std() == pytest.approx(0.25, rel=0.05)


def test_mis_hits_are_counted_with_those_noted() -> None:
    """Four noted and one found in forty chips: about one in ten."""
    usual = np.ones(36)
    usual[0] = 0.0
    share = mis_hit_share(usual, 4, np.random.default_rng(3))
    assert np.median(share) == pytest.approx(5.5 / 50, rel=0.1)
    assert np.quantile(share, 0.95) < 0.25


@pytest.mark.thorough
def test_the_demo_players_scatter_is_found() -> None:
    """Each club's scatter of landing at 6 m comes within a third of the truth."""
    truth = {"8-iron": 0.05, "pitching wedge": 0.055, "sand wedge": 0.07, "lob wedge": 0.09}
    player = demo_fit().player()
    for club, relative in truth.items():
        scatter = player.scatter_for(club)
        found = np.hypot(scatter.distance_absolute, 6 * scatter.distance_relative)
        assert found == pytest.approx(np.hypot(0.25, 6 * relative), rel=0.34)
