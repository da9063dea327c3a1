"""What is wrong with a sheet of each kind beyond its single cells: blank where needed, impossible, hard to believe."""

# ruff: noqa: I001  # several lines for a module with many names
import math
from collections.abc import Callable, Mapping

import numpy as np
import pandas as pd
from scipy.spatial import KDTree

from golfphys.core import constants
from golfphys.core.units import METRES_PER_FOOT
from golfphys.physics.club import BAG, bag_with
from golfphys.physics.putting import make_probability
from golfphys.sheets.dictionary import UNIT_WORDS
from golfphys.sheets.errors import row_list
from golfphys.sheets.suspects import FASTEST, FASTEST_ONE_SIDED, SAME_HEADING, SLOWEST, around, expected_speed
from golfphys.sheets.suspects import level_green_speeds, suspect_filled, suspect_headings, suspect_repeats
from golfphys.sheets.suspects import suspect_rollouts, suspect_units, suspect_words
from golfphys.sheets.table import Table

CHECK_BOTH = "Check both; a decimal comma may have split a number, or the units may differ."


def check(table: Table) -> None:
    """Record what is wrong with a table beyond its single cells, and complete its dates and what its kind derives."""
    frame, quantities = table.frame, table.kind.quantities  # a column of the user's own may have any name
    if "heading" in quantities:
        frame["heading"] = np.mod(frame["heading"], 2 * np.pi)
    if "date" in quantities and "measured_at" in quantities:
        _complete_dates(table)
    if table.kind.name not in ("films", "survey"):  # their rows come in grids and in series
        suspect_repeats(table)
    suspect_words(table)
    if table.kind.name in CHECKS:
        CHECKS[table.kind.name](table)


def _complete_dates(table: Table) -> None:
    """A row measured at some time has its date; a row with a date alone was measured on that day."""
    frame = table.frame
    frame["date"] = frame["date"].dt.normalize()
    day = frame["measured_at"].dt.normalize()
    wrong = frame["date"].notna() & day.notna() & (frame["date"] != day)
    advice = "Keep the one that is right, and clear the other."
    table.add(wrong, "date", "the day of {measured_at}", advice)
    frame["date"] = frame["date"].fillna(day)
    frame["measured_at"] = frame["measured_at"].fillna(frame["date"])
    written = "date" if table.filled("date").any() else "measured_at"
    ahead = frame["date"] > pd.Timestamp.now() + pd.Timedelta(days=1)  # a day begins earlier in the east
    table.ask(ahead, written, "a day that has come", "Check the year, or this machine's clock.")


# rolls


def check_rollouts(table: Table) -> None:
    """Complete the release speeds of a sheet of rolls, and record what is wrong with it."""
    frame = table.frame
    frame["release_speed"] = _release_speeds(table)
    expected = "no more than the distance rolled, {distance}"
    table.add(frame["side"].abs() > frame["distance"], "side", expected, CHECK_BOTH)
    suspect_rollouts(table)
    suspect_headings(table)
    suspect_filled(table)
    if not frame["side"].notna().any():
        said = "No side drift is noted; cross slope then shows only in the distances of different headings."
        table.findings.note(said)
    zeros = frame.loc[frame["distance"] == 0, "row"].tolist()
    if zeros:
        table.findings.note(f"A distance of 0 was read in {row_list(zeros)}.")


def speed_from_ramp_run(run: "pd.Series | float") -> "pd.Series | float":
    """Release speed in m/s of a ball let go `run` metres up the ramp: the published speed scaled with the root."""
    return constants.RAMP_RELEASE_SPEED.value * (run / constants.RAMP_RUN.value) ** 0.5


def ramp_run_for_speed(release_speed: "pd.Series | float") -> "pd.Series | float":
    """How far up the ramp, m, a ball is let go to leave it with `release_speed` m/s: `speed_from_ramp_run` undone."""
    return constants.RAMP_RUN.value * (release_speed / constants.RAMP_RELEASE_SPEED.value) ** 2


def _release_speeds(table: Table) -> pd.Series:
    """Release speeds as written or from the ramp, m/s; the full ramp's where the sheet says nothing of either."""
    frame, findings, full = table.frame, table.findings, constants.RAMP_RELEASE_SPEED.value
    by_speed, by_run = table.filled("release_speed"), table.filled("ramp_run")
    if not (by_speed | by_run).any():
        findings.note(f"No release speed is given: the full ramp was assumed, {full:g} m/s (6.00 ft/s).")
        return pd.Series(full, index=frame.index)
    more, heading = " and {ramp_run} in {heading}", table.heading_for("ramp_run")
    keep = "Keep the one you measured."
    table.add(by_speed & by_run, "release_speed", "one of the two", keep, more, heading=heading)
    quantity = "release_speed" if table.column_for("release_speed") is not None else "ramp_run"
    expected = "the release speed, or how far up the ramp the ball was let go"
    advice = "Fill it in; 30 in (ramp_run_in) is the full ramp, 1.83 m/s its speed."
    table.add(~by_speed & ~by_run, quantity, expected, advice)
    if by_run.any():
        findings.note(
            "Release speeds were taken from where on the ramp the ball was let go: "
            f"{full:g} m/s times the root of run over full run (30 in)."
        )
    speed = frame["release_speed"]
    return speed.where(speed.notna(), speed_from_ramp_run(frame["ramp_run"]))


# films

FASTEST_ROLL = 15.0
LONGEST_FRAME = 0.5
# Part of a film from which it is told how a ball slows down: skids and hops are over, it is not yet at rest; of at
# least so many frames, between which it loses half of its speed (judged).
ROLLING, FEWEST_FRAMES = (0.3, 0.97), 6
TOO_UNLIKE = 2.0  # times as fast or slow a green as other films of its spot lead to expect: half speed makes it four


def check_films(table: Table) -> None:
    """Record what is wrong with a sheet of films: frames out of order, rolls that change, frames numbered."""
    groups = [(str(roll), group) for roll, group in table.frame.groupby("roll", sort=False) if roll]
    for roll, group in groups:
        _check_roll(table, roll, group)
    rows = [(*group.iloc[0][["spot", "heading"]], _green_speed(group), group.index[0]) for _, group in groups]
    rolls = pd.DataFrame(rows, columns=["spot", "heading", "speed_ft", "first"]).dropna(subset=["speed_ft"])
    rolls = rolls[rolls["spot"].map(around).isna()]
    placed = rolls[rolls["heading"].notna() & rolls["spot"].ne("")]
    placed = placed.assign(sector=(placed["heading"] / SAME_HEADING).round())
    speeds, balanced = level_green_speeds(placed) if len(placed) else (rolls["speed_ft"], False)
    level, fastest = speeds.median(), FASTEST if balanced else FASTEST_ONE_SIDED
    advice = "Was it filmed in slow motion, or sped up? Divide frames by the frames per second that the camera took."
    if not SLOWEST <= level <= fastest and len(rolls):
        found = f"balls that slow down as on a green of {level:.1f} ft"
        table.ask_column("time", found, f"a green speed that greens show, {SLOWEST:g} to {fastest:g} ft", advice)
        return
    for spot, group in placed.groupby("spot", sort=False):
        seen = group["speed_ft"].to_numpy()
        for place, first in enumerate(group["first"].tolist()):
            usual, agreed = expected_speed(seen, group["heading"].to_numpy(), place)
            if abs(math.log(seen[place] / usual)) > math.log(TOO_UNLIKE):
                more = f" and a ball that slows down as on a green of {seen[place]:.1f} ft along this heading"
                expected = f"about {usual:.1f} ft, as other films at {spot!r} show"
                table.ask(first, "time", expected, advice, more, lone=not agreed)


def _green_speed(group: pd.DataFrame) -> float:
    """Return the speed in feet of a green on which a ball slows down as this one does, NaN where it hardly shows."""
    way = group["distance"] - group["distance"].iloc[0]
    part = group[way.between(*(share * way.max() for share in ROLLING))].dropna(subset=["time", "distance"])
    if len(part) < FEWEST_FRAMES or not np.ptp(part["time"]) > 0:
        return math.nan
    path = np.polynomial.Polynomial.fit(part["time"], part["distance"], 2)
    early, late = path.deriv()(part["time"].iloc[[0, -1]].to_numpy())
    slowing = float((early - late) / np.ptp(part["time"]))
    if not abs(late) < early / 2:
        return math.nan
    return constants.RAMP_RELEASE_SPEED.value**2 / (2 * slowing) / METRES_PER_FOOT


def _check_roll(table: Table, roll: str, group: pd.DataFrame) -> None:
    first = int(group.index[0])
    for quantity in ("spot", "heading", "kind", "scale_error"):
        values = group[quantity]
        different = values.ne(values.iloc[0]) & ~(values.isna() & pd.isna(values.iloc[0]))
        for position in group.index[different][:1].tolist():
            expected = f"{table.written(first, quantity)} as in the first frame of {roll!r} (row {table.row(first)})"
            advice = "Every frame of a roll has the same; give another roll another name."
            table.add(position, quantity, expected, advice)
    timed = group.loc[group["time"].notna() & group["distance"].notna()]
    if len(timed) < 3:
        table.findings.note(f"Roll {roll!r} has {len(timed)} frame(s); a film needs at least three to say anything.")
    steps, frames = np.diff(timed["time"]), timed.index.tolist()
    for index in np.flatnonzero(steps <= 0).tolist():
        expected = f"a time after that of the frame before, {table.written(frames[index], 'time')}"
        advice = f"Are two rolls called {roll!r}? Give each its own name, and keep the frames in order."
        table.add(frames[index + 1], "time", expected, advice)
    if len(timed) > 1 and np.all(steps > 0):
        _suspect_frames(table, roll, timed, steps)


def _suspect_frames(table: Table, roll: str, timed: pd.DataFrame, steps: np.ndarray) -> None:
    first = int(timed.index[0])
    if np.median(steps) > LONGEST_FRAME:
        more = f", then {np.median(steps):.3g} s from frame to frame in roll {roll!r}"
        advice = "Were frames numbered instead of timed? Divide by the frames per second."
        table.ask(first, "time", f"less than {LONGEST_FRAME:g} s a frame", advice, more)
    speed = float(np.max(np.abs(np.diff(timed["distance"])) / steps))
    if speed > FASTEST_ROLL:
        more = f", then a speed of {speed:.3g} m/s within roll {roll!r}"
        advice = "Check the unit of the distances and the frames per second; look for a mistyped frame."
        table.ask(first, "distance", f"less than {FASTEST_ROLL:g} m/s", advice, more)


# drops

# Published rebounds from turf are below about 0.35 of the drop, hard ground below 0.5; nobody drops from above 4 m.
HIGHEST_REBOUND, LOWEST_REBOUND, HIGHEST_DROP = 0.55, 0.01, 4.0


def check_drops(table: Table) -> None:
    """Record drops that are not filled in, gain energy, or look like another unit."""
    frame = table.frame
    cells = "drop_height", "rebound_height", "first_flight", "second_flight"
    height, rebound, first, second = map(table.filled, cells)
    expected = "the drop height with the rebound height or the first flight, or both flights"
    advice = "Fill in what was measured, or delete the row."
    quantity = "rebound_height" if table.column_for("rebound_height") else "first_flight"
    table.add(~rebound & ~first, quantity, expected, advice)
    table.add((rebound | first) & ~height & ~(first & second), "drop_height", expected, advice)
    flown = constants.GRAVITY.value * frame["first_flight"] ** 2 / 8
    _check_less(table, frame["rebound_height"], frame["drop_height"], "rebound_height", "drop_height")
    _check_less(table, flown, frame["drop_height"], "first_flight", "drop_height")
    _check_less(table, frame["second_flight"], frame["first_flight"], "second_flight", "first_flight")
    _suspect_drops(table, flown)


def _check_less(table: Table, after: pd.Series, before: pd.Series, what: str, of: str) -> None:
    advice = "A ball comes back lower each time; check the units and whether the cells were swapped."
    expected, heading = f"less than {{heading}} allows, {{{of}}}", table.heading_for(of)
    table.add(after >= before, what, expected, advice, heading=heading)


def _suspect_drops(table: Table, flown: pd.Series) -> None:
    frame = table.frame
    rebound, height = frame["rebound_height"], frame["drop_height"]
    apart, share = flown / rebound, rebound / height
    expected, more = "the rebound height to agree, {rebound:.3g} m", ", which a rise of {flown:.3g} m takes"
    both = {"rebound": rebound, "flown": flown}
    wrong = (apart > 2) | (apart < 0.5)
    table.ask(wrong, "first_flight", expected, "Check the units of both.", more, **both)
    expected = f"at most {HIGHEST_DROP:g} m, as high as one can reach from a step"
    advice = "Was it measured in feet? Then it is {metres:.2f} m; check the rebound, too."
    metres = height * METRES_PER_FOOT
    table.ask(height > HIGHEST_DROP, "drop_height", expected, advice, metres=metres)
    expected = f"a share that turf gives back, {LOWEST_REBOUND:g} to {HIGHEST_REBOUND:g}"
    advice = "Are both heights in the unit of their headings (feet, metres, centimetres)?"
    wrong = ((share > HIGHEST_REBOUND) & (share < 1)) | (share < LOWEST_REBOUND)
    more = ", {share:.3g} of the drop"
    table.ask(wrong, "rebound_height", expected, advice, more, share=share)


# chips

# g T^2 / (2 carry) is the tangent of the launch angle where the ball lands as high as it started and drag is small.
# Chips and pitches launch between about 10 and 65 degrees; the limit leaves room for drag and the watch. In the median
# of a log the ball leaves at about 0.7 of the loft, and feet beside metres make the tangent 3.3 times too small.
HIGHEST_TANGENT, LAUNCH_PER_LOFT, UNUSUAL = 3.2, 0.7, 2.0
# A ball with backspin may come back by about a metre, or a tenth of its carry; farther it does not.
COMES_BACK, COMES_BACK_SHARE = 1.0, 0.1
# How far a second landing may be noted before the first, m: each is spotted by eye to 0.15 m, as fits take it: of
# balls that hopped nowhere one in twelve is noted farther back than this.
SPOTTED = 0.3


def check_chips(table: Table) -> None:
    """Record chips of which nothing was seen, and ask about those that cannot be as written."""
    quantity, advice = "carry" if table.column_for("carry") else "rest", "Fill in one of the two, or delete the row."
    expected = "where the ball landed or where it came to rest"
    table.add(~table.filled("carry") & ~table.filled("rest"), quantity, expected, advice)
    suspect_filled(table)
    _suspect_hang_times(table)
    _suspect_order(table, suspect_units(table))
    frame = table.frame
    wide, expected = frame["side"].abs() > frame["rest"].clip(lower=1.0), "less than the distance at rest, {rest}"
    table.ask(wide, "side", expected, CHECK_BOTH)


def _suspect_hang_times(table: Table) -> None:
    frame = table.frame
    tangent = constants.GRAVITY.value * frame["hang_time"] ** 2 / (2 * frame["carry"])
    # a chip struck thin skims, so one low flight says nothing; what cannot be is a flight too long for its carry
    wrong, more = (tangent > HIGHEST_TANGENT) & (frame["carry"] > 0), " for a carry of {carry}"
    expected, advice = "a hang time that a chip of this carry can have", "Check the watch and the unit of the carry."
    table.ask(wrong, "hang_time", expected, advice, more)
    bag = bag_with(frame["club"])
    loft = frame["club"].map({name: club.loft for name, club in bag.items()}).fillna(BAG["pitching wedge"].loft)
    usual = (tangent / np.tan(LAUNCH_PER_LOFT * loft)).dropna()
    if len(usual) >= 4 and not 1 / UNUSUAL < usual.median() < UNUSUAL:
        words = UNIT_WORDS[(column.unit if (column := table.column_for("carry")) else None) or "m"]
        found = f"carries too {'long' if usual.median() < 1 else 'short'} for their hang times in most rows"
        advice = "Were they typed in another unit? Rename the column to the unit they were measured in."
        table.ask_column("carry", found, f"carries in {words}, as the heading says", advice)


def _suspect_order(table: Table, but: set[int]) -> None:
    """Ask about balls that rest far short of where they landed, and second landings before the first or past the rest.

    Either is what comes out when a distance is measured from the landing instead of from where the ball lay.
    """
    frame = table.frame
    carry, hop, rest = frame["carry"], frame["first_hop"], frame["rest"]
    back = (COMES_BACK_SHARE * carry).clip(lower=COMES_BACK)
    advice = "All distances are from where the ball lay; if it was measured from the landing, write {meant:.4g}."
    cases = (
        ("rest", rest < carry - back, carry, rest, "not far short of the landing, {heading}", "carry"),
        ("first_hop", hop < carry - SPOTTED, carry, hop, "beyond the landing, {heading}", "carry"),
        ("first_hop", hop > rest + back.fillna(COMES_BACK), None, hop, "short of {heading}", "rest"),
    )
    for quantity, wrong, start, value, expected, of in cases:
        column = table.column_for(quantity)
        said, meant = "Check both, and their units.", value
        if start is not None and column is not None:
            said, meant = advice, (start + value) / column.factor
        asked = wrong & (column is not None) & ~frame.index.isin(list(but))
        table.ask(asked, quantity, expected, said, meant=meant, heading=table.heading_for(of))
    if before := frame.loc[(hop < carry) & (hop >= carry - SPOTTED), "row"].tolist():
        said = f"The second landing is noted a little before the first in {row_list(before)}"
        table.findings.note(f"{said}: so far the eye may err, and a fit leaves the second out.")


# counts and places

MORE_PUTTS = 1.3  # how many more putts than professionals hole are believed, beside four standard errors


def check_putts(table: Table) -> None:
    """Take a row without tries for one putt; no more can be made than tried."""
    if table.column_for("tries") is None:
        table.frame["tries"] = 1.0
        table.findings.note("The sheet has no tries: each row was taken as one putt.")
    _check_counts(table, "made")
    putts = table.frame.dropna(subset=["distance", "tries", "made"])
    holed = make_probability(putts["distance"].to_numpy())
    seldom = holed < 0.5
    expected, made = (putts["tries"] * holed)[seldom], putts["made"][seldom].sum()
    if made > MORE_PUTTS * expected.sum() + 4 * math.sqrt((expected * (1 - holed[seldom])).sum()):
        found = f"{made:.0f} putts holed from where the best players hole {expected.sum():.0f}"
        advice = "Were the distances measured in feet? Rename the column to the unit they were measured in."
        table.ask_column("distance", found, "no more than they hole", advice)


def check_targets(table: Table) -> None:
    """No more balls can hit a target than were tried; a target is smaller than its distance."""
    _check_counts(table, "hits")
    frame = table.frame
    wide, expected = frame["target_size"] > frame["distance"], "a target smaller than its distance, {distance}"
    table.ask(wide, "target_size", expected, "Check the units of both.")


def _check_counts(table: Table, what: str) -> None:
    frame = table.frame
    expected = f"no more than the tries, {'{tries}' if table.column_for('tries') else '1'}"
    table.add(frame[what] > frame["tries"], what, expected, "Check both numbers.")
    if not table.findings.problems:
        frame[["tries", what]] = frame[["tries", what]].astype(np.int64)


CLOSEST_POINTS, STEEPEST, NEIGHBOURS = 0.02, 0.5, 5


def check_survey(table: Table) -> None:
    """Ask about points nearly on top of each other, and about heights that no green shows."""
    for _, points in table.frame.dropna(subset=["x", "y", "height"]).groupby("green", sort=False):
        if len(points) > 1:
            _suspect_points(table, points)


def _suspect_points(table: Table, points: pd.DataFrame) -> None:
    places, heights = points[["x", "y"]].to_numpy(), points["height"].to_numpy()
    found, order = map(np.asarray, KDTree(places).query(places, k=min(NEIGHBOURS, len(points))))
    apart, near = found[:, 1:], order[:, 1:]
    near = np.where(near == np.arange(len(near))[:, None], order[:, :1], near)  # a point may lie on another
    close = apart[:, 0] < CLOSEST_POINTS
    for place in np.flatnonzero(close).tolist():
        other = table.row(int(points.index[near[place, 0]]))
        more = f", {1000 * apart[place, 0]:.0f} mm from the point in row {other}"
        expected = f"points at least {1000 * CLOSEST_POINTS:.0f} mm apart"
        advice = "Keep one of the two, or their mean height."
        table.ask(int(points.index[place]), "x", expected, advice, more)
    rise = np.abs(heights[:, None] - heights[near])
    steep = np.median(rise / np.maximum(apart, CLOSEST_POINTS), axis=1) > STEEPEST
    for place in np.flatnonzero(steep & ~close).tolist():
        more = f", {rise[place, 0]:.3g} m from the height of the nearest point, {apart[place, 0]:.3g} m away"
        advice = "Check the unit of the height, and the sign."
        table.ask(int(points.index[place]), "height", "the slope of a green", advice, more)


# Records what is wrong with a table of the kind beyond its single cells.
CHECKS: Mapping[str, Callable[[Table], None]] = {
    **{"rollouts": check_rollouts, "films": check_films, "drops": check_drops, "chips": check_chips},
    **{"putts": check_putts, "targets": check_targets, "survey": check_survey},
}
