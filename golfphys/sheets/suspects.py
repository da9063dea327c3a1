"""Finds what can be read but is hard to believe: feet typed as metres, rows pasted twice, words written otherwise once.

The yardstick of rolls is the green speed that a roll implies: the distance it would have gone from the full ramp. Slope
makes a single roll show almost anything (2 ft and 20 ft have been published for one spot), but with resistance alike in
all headings the inverse distances of a spot average, over balanced headings, to the inverse of its level green speed.
So a sheet is judged by that average, and a single row only against the other rows of its spot.
"""

import difflib
import itertools
import math
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

import numpy as np
import pandas as pd

from golfphys.core import constants
from golfphys.core.units import FACTORS_TO_SI, METRES_PER_FOOT
from golfphys.physics.club import named_by_loft
from golfphys.physics.green import AROUND
from golfphys.sheets.dictionary import UNIT_WORDS, Column, name_key
from golfphys.sheets.table import KNOWN_NAMES, NAMES, Table

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
# How near the ratio of a spot's green speed to the others' must be to feet per metre.
LIKE_SPOTS = 1.5
# Rolls of one spot, or names, that are looked at one by one; more than this many odd ones are not slips of the pen.
MOST_ODD = 100
# Rows in a row that are the same again only if they were pasted, by how many things were measured of each at least:
# distances are read to a few per cent.
BLOCKS = {3: 2, 5: 1}
MEASURED = (
    *("distance", "carry", "landing_side", "hang_time", "first_hop", "rest", "side", "made", "hits"),
    *("rebound_height", "first_flight", "second_flight"),
)
# Columns that no one fills with numbers that count up by one, and how many such steps a spreadsheet has made.
NOT_COUNTED, FEWEST_STEPS = ("heading", "distance", "carry", "rest"), 5
# Degrees within which all headings of a sheet lie, and those of a spot differ, only if they are in another unit.
HOURS, FEWEST_DEGREES = 12.01, 3.0
# What a row is called that sums up the others.
SUMMED = ("average", "averages", "mean", "median", "sum", "total", "totals")
# How alike two words must be for one to be a slip of the other: one letter in seven.
LIKE = 0.86
# How near the ratio of two distances of a chip must be to feet per metre to look like feet beside metres, above how
# many others of its club, which are all less by a factor between the two.
LIKE_FEET, FEWEST_OTHERS, BETWEEN = 1.2, 3, 1.8
# Rows of one player or spot, and their share, that look so only if they are. A ball struck thin may go three times
# too far, but seldom: of 2,000 invented chips of a club player 124 were thin, and none looked so. A roll may meet
# something and stop three times too short, or be read so from one other; but none runs three times as far as others
# that agree, or than any ever published.
FEWEST_IN_FEET, SHARE_IN_FEET = 3, 0.1
USUAL_MISS = 1.25  # carry over target of an ordinary strike, and its inverse
USUAL_RUN = 1.5  # rest over carry of a strike as it was meant, over that of others with the club; a thin one runs on
TIMES_AS_MANY = 3  # rows of the usual name for each of one that may be a slip of it


def around(spot: str) -> str | None:
    """Return which ground around the green a spot's name begins with, or None for a spot on the green."""
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
    spots, balanced = level_green_speeds(rolls)
    level, fastest = float(spots.median()), FASTEST if balanced else FASTEST_ONE_SIDED
    if SLOWEST <= level <= fastest:
        odd = _suspect_spots(table, rolls, spots, column) if balanced else set()
        _suspect_rows(table, rolls[~rolls["spot"].isin(odd)], column)
    else:
        _suspect_sheet(table, level, fastest, column)
    if len(rolls) > 3 and rolls["distance"].nunique() == 1 and rolls["release_speed"].nunique() > 1:
        found = f"the same distance, {table.written(int(rolls.index[0]), 'distance')}, from every release speed"
        advice = "Write how far each ball rolled, not the speed of the green."
        table.ask_column("distance", found, "longer rolls from a faster release", advice)


def level_green_speeds(rolls: pd.DataFrame) -> tuple[pd.Series, bool]:
    """Green speed on the level in feet of each spot in which headings balance, or of all, False, where none does."""
    sectors = rolls.groupby(["spot", "sector"], sort=False)["speed_ft"].median().reset_index()
    angles = sectors["sector"] * SAME_HEADING
    parts = pd.DataFrame(
        {"spot": sectors["spot"], "slow": 1 / sectors["speed_ft"], "x": np.cos(angles), "y": np.sin(angles)}
    )
    spots = parts.groupby("spot", sort=False).agg({"slow": "mean", "x": "mean", "y": "mean"})
    balanced = (parts["spot"].value_counts(sort=False).reindex(spots.index) > 1) & (np.hypot(spots.x, spots.y) < 0.5)
    return 1 / spots["slow"][balanced if balanced.any() else ~balanced], bool(balanced.any())


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
    found = f"distances that make this a green of {level:.1f} ft ({level * METRES_PER_FOOT:.2f} m) on the level"
    table.ask_column("distance", found, f"a green speed that greens show, {SLOWEST:g} to {fastest:g} ft", advice)


def _suspect_spots(table: Table, rolls: pd.DataFrame, speeds: pd.Series, column: Column) -> set[str]:
    """Ask about whole spots that another unit would make like the others; return them."""
    odd: set[str] = set()
    usual = float(speeds.median())
    for spot, speed in speeds[~speeds.between(SLOWEST, FASTEST)].items():
        ratio = usual / speed
        if len(speeds) > 2 and abs(abs(math.log(ratio)) - math.log(METRES_PER_FOOT**-1)) < math.log(LIKE_SPOTS):
            odd.add(str(spot))
            position = int(rolls.index[rolls["spot"].eq(str(spot))][0])
            words = "feet" if ratio < 1 else "metres or yards"
            advice = f"Were the rolls at {spot!r} measured in {words}? Then write them in the unit of the heading."
            more = f" and others that make {spot!r} a green of {speed:.1f} ft on the level"
            table.ask(position, "distance", f"about {usual:.1f} ft, as at the other spots", advice, more)
    return odd


def _suspect_rows(table: Table, rolls: pd.DataFrame, column: Column) -> None:
    """Ask about rolls that another unit would make like others of their spot; a few may be true, but for some."""
    same = rolls.groupby(["spot", "sector"], sort=False)["speed_ft"]
    odd = (np.log(rolls["speed_ft"]) - np.log(same.transform("median"))).abs()
    of_spot = rolls.groupby("spot", sort=False)["speed_ft"]
    wide = of_spot.transform("max") > LEAST_SPREAD * of_spot.transform("min")
    odd = odd.where((odd > math.log(1.4)) | (same.transform("size") == 1))
    words = UNIT_WORDS[column.unit or "m"]
    for _, group in rolls[wide].assign(odd=odd).groupby("spot", sort=False):
        speeds, headings = group["speed_ft"].to_numpy(), group["heading"].to_numpy()
        chosen = group["odd"].reset_index(drop=True).dropna().sort_values(ascending=False, kind="stable")
        places = chosen.index[:MOST_ODD].tolist()
        likely = {place: expected_speed(speeds, headings, place) for place in places}
        units = {place: _other_unit(column, usual / speeds[place]) for place, (usual, _) in likely.items()}
        found = {place: unit for place, unit in units.items() if unit is not None}
        for place, unit in found.items():
            usual, agreed = likely[place]
            sure = speeds[place] > (usual if agreed else FASTEST_ONE_SIDED) or _too_many(len(found), len(group))
            meant = f"{group['distance'].iloc[place] * (FACTORS_TO_SI[unit] / column.factor**2):.4g} {words}"
            advice = f"It looks like {UNIT_WORDS[unit]} typed under a heading of {words}: {meant} would fit."
            expected = f"about {usual:.1f} ft, as the other rolls of this spot show"
            more = f", a green speed of {speeds[place]:.1f} ft along this heading"
            table.ask(int(group.index[place]), "distance", expected, advice, more, lone=not sure)


def expected_speed(speeds: np.ndarray, headings: np.ndarray, place: int) -> tuple[float, bool]:
    """Green speed that the other rolls of a spot lead one to expect of roll `place`, NaN where they cannot.

    Two or more rolls of the same heading that agree, which is told as well, are believed against it. Against a single
    one, or against what slope makes of the other headings, the roll must also be out of the ordinary by itself.
    """
    others = np.arange(len(speeds)) != place
    apart = np.abs(np.angle(np.exp(1j * (headings - headings[place]))))
    alike = speeds[others & (apart < SAME_HEADING)]
    if len(alike) > 1 and alike.max() / alike.min() < 1.5:
        return float(np.median(alike)), True
    if SLOWEST * 1.2 < speeds[place] < FASTEST:
        return math.nan, False
    if len(alike) > 0:
        return float(np.median(alike)), False
    found = _expected_of_slope(speeds[others], headings[others], float(headings[place]))
    if math.isnan(found) and others.any() and speeds[place] > FASTEST_ONE_SIDED:
        return float(np.median(speeds[others])), False  # faster than any slope makes a roll that was ever published
    return found, False


def _expected_of_slope(speeds: np.ndarray, headings: np.ndarray, heading: float) -> float:
    """Green speed along `heading` on the plane that rolls of at least three other headings show, or else NaN."""
    if len(np.unique(np.round(headings / SAME_HEADING))) < 3:
        return math.nan
    waves = np.column_stack([np.ones_like(headings), np.cos(headings), np.sin(headings)])
    solution = np.linalg.lstsq(waves, 1 / speeds, rcond=None)[0]
    inverse = float(solution @ [1.0, math.cos(heading), math.sin(heading)])
    return 1 / inverse if inverse > 0 else math.nan


IN_FEET = "It looks like feet beside metres; write it in the unit of its heading."
STRUCK = "Was it thin? Then write thin in the column strike. If the distance is wrong, correct it."


class Pair(NamedTuple):
    """Two distances of a chip, and when the first looks like feet beside metres."""

    what: str
    of: str
    medians: tuple[float, float]  # of their ratio, between which every log lies whose columns are of one unit
    usual: pd.Series  # what the ratio is in other rows
    plain: pd.Series  # rows in which no mis-hit explains another one
    with_rest: bool  # sure where the rest is as many times too far: the ball ran as it does from an ordinary strike


def suspect_units(table: Table) -> set[int]:
    """Ask about columns or rows of a chip log that are in feet beside metres; return the rows asked about.

    A few rows in which one distance looks so may well be true, of balls struck thin, and are only inquired after.
    """
    frame, asked = table.frame, set[int]()
    off, run = frame["carry"] / frame["target_carry"], _finite(frame["rest"] / frame["carry"])
    clean = frame["strike"].isin(["", "clean"])
    # a ball struck thin lands short of its target and runs on and on
    as_meant = clean & frame["note"].eq("") & ~((off > USUAL_MISS) | (off * USUAL_MISS < 1.0))
    for pair in (
        Pair("carry", "target_carry", (0.4, 2.5), off * 0.0 + 1.0, clean, True),  # its aim tells, without other rows
        Pair("rest", "carry", (0.0, 6.0), _usual(run, frame["club"]), as_meant, False),
    ):
        what, of, (low, high) = pair.what, pair.of.replace("_", " "), pair.medians
        ratio = _finite(frame[what] / frame[pair.of])
        if ratio.notna().sum() >= 4 and not low < ratio.median() < high:
            columns = f"{table.heading_for(pair.of)} and {table.heading_for(what)}"
            found = f"values of {what} that are in the median {ratio.median():.2g} times {of}"
            expected, advice = "distances in the units of their headings", "Were the two measured in different units?"
            table.findings.add(found, expected, f"{advice} Rename one of the columns.", column=columns, suspect=True)
            continue
        like = pair.plain & (np.abs(np.log(ratio / pair.usual * METRES_PER_FOOT)) < math.log(LIKE_FEET))
        players = like[pair.plain & ratio.notna()].groupby(frame["player"])
        many = {name for name, rows in players if _too_many(int(rows.sum()), len(rows))}
        for position in np.flatnonzero(like).tolist():
            asked.add(position)
            as_usual = run.iloc[position] / run.drop(run.index[position]).median()
            sure = pair.with_rest and 1 / USUAL_RUN < as_usual < USUAL_RUN
            lone = not (sure or frame["player"].iloc[position] in many)
            more = f", {ratio.iloc[position]:.2g} times the {of}"
            expected = f"about {pair.usual.iloc[position]:.2g} times, as in the other rows"
            table.ask(position, what, expected, STRUCK if lone else IN_FEET, more, lone=lone)
    return asked


def _finite(ratio: pd.Series) -> pd.Series:
    return ratio.replace([np.inf, 0.0], np.nan)


def _too_many(odd: int, rows: int) -> bool:
    """Tell whether so many odd rows are no chance of play, but in another unit."""
    return odd >= FEWEST_IN_FEET and odd >= SHARE_IN_FEET * rows


def _usual(ratio: pd.Series, club: pd.Series) -> pd.Series:
    """Ratio in the middle of the rows of the same club that are clearly less, of each row; NaN for too few."""
    found = pd.Series(np.nan, index=ratio.index)
    for _, mine in ratio.dropna().groupby(club):
        ordered = np.sort(mine)
        less = np.searchsorted(ordered, mine / BETWEEN)
        middle = (ordered[np.maximum(less - 1, 0) // 2] + ordered[less // 2]) / 2
        found[mine.index] = np.where(less >= FEWEST_OTHERS, middle, np.nan)
    return found


# slips of a hand that copies


def repeats(frame: pd.DataFrame) -> Iterator[tuple[int, int]]:
    """Yield where rows repeat earlier ones, cell by cell and in their order: the lines where the two begin."""
    cells = pd.util.hash_pandas_object(frame.drop(columns=["row", "sheet"], errors="ignore"), index=False).to_numpy()
    measured = frame[[name for name in MEASURED if name in frame]].notna().sum(axis=1).to_numpy()
    seen: dict[bytes, int] = {}
    for start, (length, least) in itertools.product(range(len(cells)), BLOCKS.items()):
        block = cells[start : start + length]
        if len(np.unique(block)) < length or measured[start : start + length].min() < least:
            continue
        first = seen.setdefault(block.tobytes(), start)
        if start - first >= length:
            yield first, start


def suspect_repeats(table: Table) -> None:
    """Ask about the first rows that repeat earlier ones."""
    for first, start in itertools.islice(repeats(table.frame), 1):
        found = f"rows that repeat those from row {table.row(first)} on, cell by cell"
        advice = "If they were pasted twice, delete them here."
        table.findings.add(found, "every ball once", advice, row=table.row(start), suspect=True)


def suspect_headings(table: Table) -> None:
    """Ask about headings that look like radians, or hours of a clock's face."""
    frame = table.frame
    heading = frame["heading"].dropna()
    degrees = np.degrees(np.angle(np.exp(1j * heading.to_numpy())))
    if not degrees.size or np.abs(degrees).max() > HOURS:
        return
    turns = np.abs(degrees - np.round(degrees / (math.pi / 4)) * math.pi / 4).max() < 0.03
    of_spot = pd.Series(degrees, heading.index).round(3).groupby(frame["spot"]).agg(["nunique", np.ptp])
    several = (of_spot["nunique"] > 2) & (of_spot["ptp"] >= FEWEST_DEGREES)
    if np.ptp(degrees) >= FEWEST_DEGREES and (several.any() or (turns and np.any(degrees % 1))):
        whole = not np.any(np.round(degrees, 6) % 1)
        advice = "Are they hours of a clock's face? One hour is 30 degrees." if whole else "Are they in radians?"
        found = f"directions that all lie within {np.abs(degrees).max():.3g} degrees of the reference line"
        expected = "rolls up, down and across, in degrees clockwise from the reference line"
        table.ask_column("heading", found, expected, f"{advice} A right angle is 90.")


def suspect_filled(table: Table) -> None:
    """Ask about cells that count up by one from row to row, as a spreadsheet fills them."""
    for quantity in NOT_COUNTED:
        column = table.column_for(quantity)
        if column is None:
            continue
        steps = np.isclose(np.diff(table.frame[quantity] / column.factor), 1.0, atol=1e-6)
        ends = np.flatnonzero(np.diff(np.concatenate([[False], steps, [False]]).astype(int)))
        for start, end in zip(ends[::2].tolist(), ends[1::2].tolist(), strict=True):
            if end - start >= FEWEST_STEPS:
                more = f" and {end - start} rows that count up from it by one"
                advice = "The column seems to have been filled down: write what was measured."
                table.ask(start, quantity, "what was measured in each row", advice, more)


def suspect_words(table: Table) -> None:
    """Ask about a name that is written nearly as one that is known, or more frequent in the sheet, or names no one."""
    for quantity in (name for name in table.kind.quantities if name in NAMES):
        summed = table.frame[quantity].map(name_key).isin(SUMMED)
        table.ask(summed, quantity, "one that was measured", "Leave rows of means and totals out of the sheet.")
    spots = table.frame["spot"] if "spot" in table.frame else pd.Series(dtype=object)
    for slip, spot in slips(spots.value_counts()):
        position = int(np.flatnonzero(spots == slip)[0])
        table.ask(position, "spot", "a spot as the other rows name it", f"Write {spot} if that is what it is.")
    for quantity in (name for name in KNOWN_NAMES if name in table.frame):
        known, counts = KNOWN_NAMES[quantity], table.frame[quantity].value_counts()
        for word, count in counts.items():
            key, usual = name_key(str(word)), {name_key(name): name for name in (*known, *counts.index[counts > count])}
            close = difflib.get_close_matches(key, list(usual), n=1, cutoff=LIKE)
            if close and close[0] != key and key not in map(name_key, known) and not named_by_loft(key):
                position = int(np.flatnonzero(table.frame[quantity] == word)[0])
                advice = f"Write {usual[close[0]]} if that is what it is."
                table.ask(position, quantity, f"a {quantity} that is known", advice)


def slips(counts: pd.Series) -> Iterable[tuple[str, str]]:
    """Yield (name, usual name) for each name of a few rows that is nearly another of several times as many."""
    rows = {str(name): int(count) for name, count in counts.items() if name}
    rare = [name for name, count in rows.items() if TIMES_AS_MANY * count <= max(rows.values())]
    for word in rare if len(rare) <= MOST_ODD else ():
        often = (name for name, count in rows.items() if count >= TIMES_AS_MANY * rows[word])
        found = next((name for name in often if nearly(word, name)), None)
        if found is not None:
            yield word, found


def nearly(one: str, other: str) -> bool:
    """Tell whether names differ by a blank or accents, or one long word by a letter; places differ by short words."""
    first, second = (unicodedata.normalize("NFKD", name_key(name)) for name in (one, other))
    first, second = ("".join(sign for sign in name if not unicodedata.combining(sign)) for name in (first, second))
    if first.replace(" ", "") == second.replace(" ", ""):
        return name_key(one) != name_key(other)
    apart = [set(first.split()) - set(second.split()), set(second.split()) - set(first.split())]
    if list(map(len, apart)) != [1, 1]:
        return False
    left, right = apart[0].pop(), apart[1].pop()
    digits = ["".join(filter(str.isdigit, word)) for word in (left, right)]
    return digits[0] == digits[1] and difflib.SequenceMatcher(None, left, right).ratio() >= LIKE


def nearly_same(columns: Sequence[pd.Series]) -> list[str]:
    """Say which names of several sheets, neither of which has the other's, are nearly the same."""
    held = [set(filter(None, column)) for column in columns]
    apart = [(first - second, second - first) for first, second in itertools.combinations(held, 2)]
    pairs = {
        (min(one, other), max(one, other))
        for first, second in apart
        if min(len(first), len(second)) <= MOST_ODD
        for one, other in itertools.product(first, second)
        if nearly(one, other)
    }
    return [f"{one!r} and {other!r} are nearly the same: are they one place?" for one, other in sorted(pairs)]


def copies(frames: Sequence[pd.DataFrame]) -> Iterable[tuple[int, int]]:
    """Yield (copy, original) for each frame all of whose rows, two or more, stand in another."""
    held = [set(map(tuple, frame.drop(columns="row", errors="ignore").astype(str).to_numpy())) for frame in frames]
    for number, rows in enumerate(held):
        others = (at for at, more in enumerate(held) if at != number and rows <= more and (rows < more or at < number))
        original = next(others, None)
        if original is not None and len(rows) > 1:
            yield number, original
