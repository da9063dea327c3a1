"""Wedge distances: their sheet, gaps and overlaps by club and length of swing, and what another wedge would fill."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
import pandas as pd

from golfphys.core import constants
from golfphys.physics.club import BAG, TOUR_PLAYER, Club, Player, bag_with
from golfphys.physics.draws import stated
from golfphys.physics.green import Green
from golfphys.planning.position import Choice, Position
from golfphys.planning.world import Swings, World, swings_for
from golfphys.sheets import Sheet, kind_of, read_wedges
from golfphys.sheets.errors import AnyPath, Findings
from golfphys.sheets.table import parse_table

# Lengths of swing in the player's own terms; any other words may be used in the sheet.
SWINGS = ("half", "three-quarter", "full")
# Mean carries in m of an invented player, by `SWINGS`.
DEMO_CARRIES: Mapping[str, tuple[float, float, float]] = {
    "pitching wedge": (56.0, 80.0, 104.0),
    "gap wedge": (49.0, 69.0, 88.0),
    "sand wedge": (41.0, 58.0, 76.0),
    "lob wedge": (33.0, 48.0, 64.0),
}


def demo_wedges(*, shots: int = 4, seed: int | np.random.Generator = 7) -> pd.DataFrame:
    """Return the wedge shots of an invented player.

    Parameters
    ----------
    shots, seed : int, int or numpy.random.Generator; shots with each club and swing; the same seed gives the same shots

    Returns
    -------
    DataFrame: ``club``, ``swing``, ``carry_m``: what `find_wedge_gaps` takes

    Examples
    --------
    >>> len(demo_wedges(shots=2))
    24
    """
    random = np.random.default_rng(seed)
    rows = [
        (club, swing, round(float(carry + (1.0 + 0.025 * carry) * random.standard_normal()), 1))
        for club, carries in DEMO_CARRIES.items()
        for swing, carry in zip(SWINGS, carries, strict=True)
        for _ in range(shots)
    ]
    return pd.DataFrame(rows, columns=["club", "swing", "carry_m"])


WIDE = 12.0  # distance in m between neighbours from which a gap is called one; about 13 yd (practice, no source)
CLOSE = 4.0  # distance in m within which two shots do the same job (practice, no source)
LOOSE = 0.03  # share by which head speeds of one swing differ between clubs where too few are measured to tell (judged)


@dataclass(frozen=True, kw_only=True)
class WedgeGaps:
    """What a player's measured wedge distances show."""

    # A row for each club and swing, shortest first: ``club``, ``swing``, ``carry_m`` (mean), ``sd_m``, ``shots``,
    # ``head_speed`` (m/s, that the strike and flight models need for that carry; NaN for a club not in the bag, or a
    # carry beyond what they give it at `golfphys.planning.world.FASTEST`).
    table: pd.DataFrame
    # A row for each pair of neighbours: ``shorter``, ``longer``, ``from_m``, ``to_m``, ``gap_m``, ``kind`` (``"gap"``,
    # ``"overlap"`` or ``"fine"``).
    gaps: pd.DataFrame
    swings: pd.DataFrame  # index: swing. ``head_speed`` (mean over clubs, m/s), ``sd``, ``clubs``.
    notes: list[str]  # the same in words
    lie: str = field(repr=False)  # what the models were asked with
    player: Player = field(repr=False)
    bag: Mapping[str, Club] = field(repr=False)
    wide: float = WIDE  # distances in m between neighbours from which there is a gap, and within which they overlap
    close: float = CLOSE


def find_wedge_gaps(
    source: "Sheet | AnyPath | pd.DataFrame",
    *,
    lie: str = "fairway",
    player: Player = TOUR_PLAYER,
    bag: Mapping[str, Club] = BAG,
    wide: float = WIDE,
    close: float = CLOSE,
) -> WedgeGaps:
    """Show which distances a player's wedges cover, twice over or not at all.

    Parameters
    ----------
    source : Sheet, path-like or DataFrame; measured shots: a sheet that `golfphys.read_wedges` has read or can
        read, or its table, with the columns ``club``, ``swing`` and one of ``carry_m``, ``carry_yd`` and ``carry_ft``;
        a blank sheet is made by ``golfphys.new_sheet(path, "wedges")``
    lie, player : str, Player; name of `golfphys.physics.club.LIES`, and whose delivery it is: with it each carry tells
        the head speed
    bag : mapping of str to Club; the clubs that the sheet may name, beside wedges called by their loft (52-degree
        wedge); others are shown without a head speed
    wide, close : float; distances in m between neighbours from which there is a gap, and within which two shots overlap

    Examples
    --------
    >>> rows = [("sand wedge", "half", 40), ("sand wedge", "full", 75), ("gap wedge", "half", 52)]
    >>> found = find_wedge_gaps(pd.DataFrame(rows, columns=["club", "swing", "carry_m"]))
    >>> found.gaps["kind"].tolist()
    ['gap', 'gap']
    """
    if not 0 <= close < wide:
        raise ValueError(f"close is {close!r}, wide {wide!r}; expected 0 <= close < wide")
    shots = _shots(source)
    table = (
        shots.groupby(["club", "swing"], sort=False)["carry"]
        .agg(carry_m="mean", sd_m="std", shots="count")
        .reset_index()
        .sort_values("carry_m", kind="stable")
        .reset_index(drop=True)
    )
    table["head_speed"], longest = np.nan, float(table["carry_m"].max()) if len(table) else 1.0
    bag = bag_with(table["club"], bag)
    known = table["club"].isin(bag)
    if known.any():
        swings, carried = _swings(table.loc[known, "club"], bag, lie, player, longest), table.loc[known, "carry_m"]
        needed = swings.speed_for(carried.to_numpy(float)[:, None])[0, :, 0]
        table.loc[known, "head_speed"] = np.where(carried < swings.reach[:, 1], needed, np.nan)
    grouped = table[table["head_speed"].notna()].groupby("swing", sort=False)["head_speed"]
    speeds = pd.DataFrame({"head_speed": grouped.mean(), "sd": grouped.std(), "clubs": grouped.count()})
    names, carry = (table["club"] + ", " + table["swing"]).tolist(), table["carry_m"].to_numpy(float)
    ends = {"shorter": names[:-1], "longer": names[1:], "from_m": carry[:-1], "to_m": carry[1:]}
    gaps = pd.DataFrame(ends | {"gap_m": np.diff(carry)})
    gaps["kind"] = np.select([gaps["gap_m"] >= wide, gaps["gap_m"] <= close], ["gap", "overlap"], "fine")
    found: dict[str, Any] = {"table": table, "gaps": gaps, "swings": speeds.sort_values("head_speed")}
    asked: dict[str, Any] = {"lie": lie, "player": player, "bag": bag, "wide": wide, "close": close}
    return WedgeGaps(**found, notes=_notes(table, gaps, speeds), **asked)


def _shots(source: "Sheet | AnyPath | pd.DataFrame") -> pd.DataFrame:
    """Return measured shots with every cell checked; rows of a table that was typed are numbered from 1."""
    if not isinstance(source, pd.DataFrame):
        return (source if isinstance(source, Sheet) else read_wedges(source)).frame
    findings = Findings("the table of shots")
    table = parse_table(source.to_csv(index=False).encode("utf-8"), kind_of("wedges"), findings)
    findings.problems = [replace(item, row=item.row and max(item.row - 1, 1)) for item in findings.problems]
    findings.raise_if_any()
    return table.frame


def _swings(clubs: Iterable[str], bag: Mapping[str, Club], lie: str, player: Player, longest: float) -> Swings:
    """Return carry against head speed for each of some clubs of a bag, on level ground."""
    # carry is the same whatever the ground lets the ball do after it
    draws = stated(Green.from_stimp(8.0), player=player, bag=bag)
    world = World(draws=draws, position=Position(to_edge=0.0, to_pin=1.6 * longest, lie=lie))
    return swings_for([Choice(club=name) for name in clubs], world)


def _notes(table: pd.DataFrame, gaps: pd.DataFrame, swings: pd.DataFrame) -> list[str]:
    notes = []
    for row in gaps[gaps["kind"] == "gap"].itertuples():
        notes.append(f"Nothing between {row.from_m:.0f} and {row.to_m:.0f} m ({row.shorter}; {row.longer}).")
    for row in gaps[gaps["kind"] == "overlap"].itertuples():
        pair = f"{row.shorter}; {row.longer}"
        notes.append(f"{pair[:1].upper()}{pair[1:]}: about as far, {row.from_m:.0f} and {row.to_m:.0f} m.")
    thin = table[table["shots"] < 3]
    if len(thin):
        which = "; ".join(f"{row.club}, {row.swing}" for row in thin.itertuples())
        notes.append(f"Fewer than three shots: {which}. Hit more before buying anything.")
    why = "is not one speed for all clubs: shaft lean or length of swing differs between them."
    notes += [f"The {swing} swing {why}" for swing in swings.index[swings["sd"] > 0.06 * swings["head_speed"]]]
    return notes or ["No gaps and no overlaps at the limits asked about."]


def what_it_would_fill(gaps: WedgeGaps, club: Club, *, instead_of: str | None = None) -> pd.DataFrame:
    """Predict how far another wedge, or a changed loft, would go with each of the player's measured swings.

    Parameters
    ----------
    gaps, club : WedgeGaps, Club; what `find_wedge_gaps` returned, and the wedge to try; for a changed loft see
        `changed_loft`
    instead_of : str, optional; a club that it replaces

    Returns
    -------
    DataFrame: a row for each swing: ``swing``, ``carry_m``, ``low_m`` and ``high_m`` (90 %, from how far her clubs lie
        off a line of head speed against loft), ``fills`` (the gap it falls into, or what it repeats),
        ``widest_before_m`` and ``widest_after_m`` (widest gap between neighbours)

    Examples
    --------
    >>> rows = [("pitching wedge", "full", 105), ("sand wedge", "full", 78), ("pitching wedge", "half", 60)]
    >>> found = find_wedge_gaps(pd.DataFrame(rows, columns=["club", "swing", "carry_m"]))
    >>> table = what_it_would_fill(found, BAG["gap wedge"])
    >>> bool(78 < table.set_index("swing").loc["full", "carry_m"] < 105)
    True
    """
    if gaps.swings.empty:
        raise ValueError("no swing has a head speed: none of the clubs of the sheet is in the bag")
    others, known = gaps.table[gaps.table["club"] != instead_of], gaps.table["club"].unique()
    if instead_of is not None and instead_of not in known:
        raise ValueError(f"instead_of is {instead_of!r}; expected one of {', '.join(known)}")
    longest = float(gaps.table["carry_m"].max())
    swings = _swings([club.name], {club.name: club}, gaps.lie, gaps.player, longest)
    rows = []
    for swing in gaps.swings.index:
        speed, spread = _speed_at_loft(gaps, str(swing), club.loft)
        speeds = speed + constants.NORMAL_90 * spread * np.array([-1.0, 0.0, 1.0])
        low, median, high = np.interp(speeds, swings.speed[0], swings.reached[0, 0]).tolist()
        rows.append(
            {"swing": swing, "carry_m": median, "low_m": low, "high_m": high, "fills": _place(gaps, others, median)}
        )
    table = pd.DataFrame(rows)
    table["widest_before_m"] = gaps.table["carry_m"].sort_values().diff().max()
    table["widest_after_m"] = pd.concat([others["carry_m"], table["carry_m"]]).sort_values().diff().max()
    return table


def _speed_at_loft(gaps: WedgeGaps, swing: str, loft: float) -> tuple[float, float]:
    """Return her head speed with this swing at a loft, by a line through the clubs measured, and its uncertainty."""
    own = gaps.table[(gaps.table["swing"] == swing) & gaps.table["head_speed"].notna()]
    lofts = np.array([gaps.bag[club].loft for club in own["club"]])
    speeds = own["head_speed"].to_numpy(float)
    if lofts.size < 3:
        mean = float(speeds.mean())
        return mean, LOOSE * mean
    slope, level = np.polyfit(lofts - loft, speeds, 1)
    left = speeds - level - slope * (lofts - loft)
    return float(level), max(float(np.sqrt((left**2).sum() / (lofts.size - 2))), 0.5 * LOOSE * float(level))


def _place(gaps: WedgeGaps, others: pd.DataFrame, carry: float) -> str:
    """Say where among other shots a carry falls."""
    if others.empty:
        return "beyond what she has"
    nearest = others.iloc[(others["carry_m"] - carry).abs().to_numpy().argmin()]
    if abs(nearest["carry_m"] - carry) <= gaps.close:
        return f"repeats {nearest['club']}, {nearest['swing']}"
    low, high = (
        others["carry_m"].where(others["carry_m"] < carry).max(),
        others["carry_m"].where(others["carry_m"] > carry).min(),
    )
    if np.isnan(low + high):
        return "beyond what she has"
    return f"between {low:.0f} and {high:.0f} m" + (", a gap" if high - low >= gaps.wide else "")


def changed_loft(club: str, loft_deg: float, *, bag: Mapping[str, Club] = BAG) -> Club:
    """Return a club of the bag bent to another loft.

    Parameters
    ----------
    club, loft_deg, bag : str, float, mapping of str to Club; its name, the new loft in degrees, and where it is found

    Returns
    -------
    Club: its bounce changes by as much, as it does when a hosel is bent

    Examples
    --------
    >>> changed_loft("gap wedge", 52.0).name
    'gap wedge at 52 deg'
    """
    bag = bag_with([club], bag)
    if club not in bag:
        raise ValueError(f"club is {club!r}; expected one of {', '.join(bag)}")
    old = bag[club]
    loft = float(np.radians(loft_deg))
    return replace(old, name=f"{club} at {loft_deg:g} deg", loft=loft, bounce=old.bounce + loft - old.loft)
