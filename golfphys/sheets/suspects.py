"""Finds what can be read but is hard to believe: feet typed as metres, rows pasted twice, words written otherwise once.

The yardstick of rolls is the green speed that a roll implies: the distance it would have gone from the full ramp. Slope
makes a single roll show almost anything (2 ft and 20 ft have been published for one spot), but with resistance alike in
all headings the inverse distances of a spot average, over balanced headings, to the inverse of its level green speed.
So a sheet is judged by that average, and a single row only against the other rows of its spot.
"""

import difflib
import itertools
import math
from collections.abc import Iterable, Sequence

import numpy as np
import pandas as pd

from golfphys.core import constants
from golfphys.core.units import FACTORS_TO_SI, METRES_PER_FOOT
from golfphys.sheets.cells import name_key
from golfphys.sheets.dictionary import UNIT_WORDS, Column
from golfphys.sheets.table import KNOWN_NAMES, Table

AROUND = ("collar", "fringe", "fairway", "rough")
"""What lies around a green: rolls and drops at a spot whose name begins with one of these words are of that ground."""
# Slowest and fastest level green speeds in feet that are believed. Published categories run from 4.5 ft (slow) to
# fast greens a little above 14 ft; the limits leave room and still lie a factor of 3.28 apart from the usual speeds.
SLOWEST, FASTEST = 3.75, 16.0
# With headings on one side only a sheet may be all downhill: 20 ft has been published.
FASTEST_ONE_SIDED = 24.0
# A row is in the other unit when converting it brings it within this factor of what the rest of its spot shows. No roll
# goes three times too far by itself, but one that meets something may stop three times too short: less room there.
AGREEMENT_TOO_LONG, AGREEMENT_TOO_SHORT = 1.25, 1.18
SAME_HEADING = math.radians(20.0)
# Least ratio of the longest to the shortest roll of a spot at which a row can be in another unit.
LEAST_SPREAD = 2.0
# Rolls of one spot that are looked at one by one; more than this many odd ones are not slips of the pen.
MOST_ODD = 100
# Rows in a row that are the same again only if they were pasted, by how many things were measured of each at least:
# distances are read to a few per cent.
BLOCKS = {3: 2, 5: 1}
MEASURED = ("distance", "carry", "landing_side", "hang_time", "first_hop", "rest", "side")
# How alike two words must be for one to be a slip of the other: one letter in seven.
LIKE = 0.86


def around(spot: str) -> str | None:
    """Return which ground around the green a spot's name stands for, or None for a spot on the green.

    Examples
    --------
    >>> around("Fringe ninth"), around("practice-low")
    ('fringe', None)
    """
    return next((ground for ground in AROUND if name_key(spot).split()[:1] == [ground]), None)


def suspect_rollouts(table: Table) -> None:
    """Record rows, or the whole sheet, whose distances seem to be in another unit than the heading says."""
    frame = table.frame
    usable = frame["distance"].gt(0) & frame["release_speed"].gt(0) & frame["heading"].notna() & frame["spot"].ne("")
    off_green = {spot for spot in frame["spot"].unique() if around(spot) is not None}
    rolls, column = frame.loc[usable & ~frame["spot"].isin(off_green)], table.column_for("distance")
    if rolls.empty or column is None:
        return
    speed_ft = rolls["distance"] * (constants.RAMP_RELEASE_SPEED.value / rolls["release_speed"]) ** 2 / METRES_PER_FOOT
    rolls = rolls.assign(speed_ft=speed_ft, sector=(rolls["heading"] / SAME_HEADING).round())
    level, balanced = level_green_speed(rolls)
    fastest = FASTEST if balanced else FASTEST_ONE_SIDED
    if SLOWEST <= level <= fastest:
        _suspect_rows(table, rolls, column)
    else:
        _suspect_sheet(table, level, fastest, column)


def level_green_speed(rolls: pd.DataFrame) -> tuple[float, bool]:
    """Green speed on the level in feet that the sheet's median spot shows, and whether headings balance there."""
    sectors = rolls.groupby(["spot", "sector"], sort=False)["speed_ft"].median().reset_index()
    angles = sectors["sector"] * SAME_HEADING
    parts = pd.DataFrame(
        {"spot": sectors["spot"], "slow": 1 / sectors["speed_ft"], "x": np.cos(angles), "y": np.sin(angles)}
    )
    spots = parts.groupby("spot", sort=False).agg({"slow": "mean", "x": "mean", "y": "mean"})
    balanced = (parts["spot"].value_counts(sort=False).reindex(spots.index) > 1) & (np.hypot(spots.x, spots.y) < 0.5)
    return float(np.median(1 / spots["slow"][balanced if balanced.any() else ~balanced])), bool(balanced.any())


def _other_unit(column: Column, factor_to_true: float) -> str | None:
    """Unit that makes a number true which in the column's unit is off by this factor."""
    candidates = {"m": ("ft",), "ft": ("m", "in"), "in": ("ft", "m")}
    agreement = AGREEMENT_TOO_LONG if factor_to_true < 1 else AGREEMENT_TOO_SHORT
    for unit in candidates[column.unit or "m"]:
        if abs(math.log(factor_to_true * column.factor / FACTORS_TO_SI[unit])) < math.log(agreement):
            return unit
    return None


def _suspect_sheet(table: Table, level: float, fastest: float, column: Column) -> None:
    candidates = {"m": ("ft",), "ft": ("m",), "in": ("ft",)}[column.unit or "m"]
    cures = [unit for unit in candidates if SLOWEST <= level * FACTORS_TO_SI[unit] / column.factor <= FASTEST]
    advice = "Check the unit of the distances and of the release speeds."
    if cures:
        right = column.name.removesuffix(column.unit or "") + cures[0]
        other, words = UNIT_WORDS[cures[0]], UNIT_WORDS[column.unit or "m"]
        advice = f"The numbers look like {other} typed under a heading of {words}: rename the column to {right}."
    table.findings.add(
        column=table.heading_for("distance"),
        found=f"distances that make this a green of {level:.1f} ft ({level * METRES_PER_FOOT:.2f} m) on the level",
        expected=f"a green speed that greens show, {SLOWEST:g} to {fastest:g} ft",
        advice=advice,
        suspect=True,
    )


def _suspect_rows(table: Table, rolls: pd.DataFrame, column: Column) -> None:
    same = rolls.groupby(["spot", "sector"], sort=False)["speed_ft"]
    odd = (np.log(rolls["speed_ft"]) - np.log(same.transform("median"))).abs()
    of_spot = rolls.groupby("spot", sort=False)["speed_ft"]
    wide = of_spot.transform("max") > LEAST_SPREAD * of_spot.transform("min")
    odd = odd.where((odd > math.log(1.4)) | (same.transform("size") == 1))
    for _, group in rolls[wide].assign(odd=odd).groupby("spot", sort=False):
        speeds, headings = group["speed_ft"].to_numpy(), group["heading"].to_numpy()
        chosen = group["odd"].reset_index(drop=True).dropna().sort_values(ascending=False, kind="stable")
        for place in chosen.index[:MOST_ODD].tolist():
            expected = _expected(speeds, headings, place)
            unit = None if expected is None else _other_unit(column, expected / speeds[place])
            if unit is not None and expected is not None:
                _add_row(table, int(group.index[place]), float(speeds[place]), expected, unit, column)


def _expected(speeds: np.ndarray, headings: np.ndarray, place: int) -> float | None:
    """Green speed that the other rolls of a spot lead one to expect of roll `place`, None where they cannot.

    Two or more rolls of the same heading that agree are believed against it. Against a single one, or against what
    slope makes of the other headings, the roll must also be out of the ordinary by itself.
    """
    others = np.arange(len(speeds)) != place
    apart = np.abs(np.angle(np.exp(1j * (headings - headings[place]))))
    alike = speeds[others & (apart < SAME_HEADING)]
    if len(alike) > 1 and alike.max() / alike.min() < 1.5:
        return float(np.median(alike))
    if SLOWEST * 1.2 < speeds[place] < FASTEST:
        return None
    if len(alike) > 0:
        return float(np.median(alike))
    found = _expected_of_slope(speeds[others], headings[others], float(headings[place]))
    if found is None and others.any() and speeds[place] > FASTEST_ONE_SIDED:
        return float(np.median(speeds[others]))  # faster than any slope makes a roll that was ever published
    return found


def _expected_of_slope(speeds: np.ndarray, headings: np.ndarray, heading: float) -> float | None:
    """Green speed along `heading` on the plane that rolls of at least three other headings show."""
    if len(np.unique(np.round(headings / SAME_HEADING))) < 3:
        return None
    waves = np.column_stack([np.ones_like(headings), np.cos(headings), np.sin(headings)])
    solution = np.linalg.lstsq(waves, 1 / speeds, rcond=None)[0]
    inverse = float(solution @ [1.0, math.cos(heading), math.sin(heading)])
    return 1 / inverse if inverse > 0 else None


def _add_row(table: Table, index: int, speed: float, expected: float, unit: str, column: Column) -> None:
    distance = float(table.frame["distance"].loc[index])
    words, other = UNIT_WORDS[column.unit or "m"], UNIT_WORDS[unit]
    as_meant = distance / column.factor * FACTORS_TO_SI[unit] / column.factor
    advice = f"It looks like {other} typed under a heading of {words}: {as_meant:.4g} {words} would fit."
    usual, more = f"about {expected:.1f} ft, as the other rolls of this spot show", f", a green speed of {speed:.1f} ft"
    table.ask(index, "distance", usual, advice, f"{more} along this heading")


# slips of a hand that copies


def suspect_repeats(table: Table) -> None:
    """Ask about rows that repeat earlier ones, cell by cell and in their order."""
    frame = table.frame
    cells = pd.util.hash_pandas_object(frame.drop(columns="row", errors="ignore"), index=False).to_numpy()
    measured = frame[[name for name in MEASURED if name in frame]].notna().sum(axis=1).to_numpy()
    seen: dict[bytes, int] = {}
    for start, (length, least) in itertools.product(range(len(cells)), BLOCKS.items()):
        block = cells[start : start + length]
        if len(np.unique(block)) < length or measured[start : start + length].min() < least:
            continue
        first = seen.setdefault(block.tobytes(), start)
        if start - first >= length:
            table.findings.add(
                row=table.row(start),
                found=f"rows that repeat those from row {table.row(first)} on, cell by cell",
                expected="every ball once",
                advice="If they were pasted twice, delete them here.",
                suspect=True,
            )
            return


def suspect_words(table: Table) -> None:
    """Ask about a club or a lie that is written nearly as one that is known, or more frequent in the sheet."""
    for quantity, known in KNOWN_NAMES.items():
        counts = table.frame[quantity].value_counts()
        for word, count in counts.items():
            if name_key(str(word)) in map(name_key, known):
                continue
            usual = {name_key(name): name for name in (*known, *counts.index[counts > count])}
            close = difflib.get_close_matches(name_key(str(word)), list(usual), n=1, cutoff=LIKE)
            if close and close[0] != name_key(str(word)):
                position = int(np.flatnonzero(table.frame[quantity] == word)[0])
                advice = f"Write {usual[close[0]]} if that is what it is."
                table.ask(position, quantity, f"a {quantity} that is known", advice)


def copies(frames: Sequence[pd.DataFrame]) -> Iterable[tuple[int, int]]:
    """Yield (copy, original) for each frame all of whose rows, two or more, stand in another."""
    held = [set(map(tuple, frame.drop(columns="row", errors="ignore").astype(str).to_numpy())) for frame in frames]
    for number, rows in enumerate(held):
        others = (at for at, more in enumerate(held) if at != number and rows <= more and (rows < more or at < number))
        original = next(others, None)
        if original is not None and len(rows) > 1:
            yield number, original
