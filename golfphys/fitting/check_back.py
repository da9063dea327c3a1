"""Checks back whether new chips and rolls fall where the fit said, and what is off where they do not.

Each new chip is played with every draw of the fit. Where it came to rest among those plays gives a number between 0 and
1; over many chips these numbers are spread evenly if the fit holds. Groups of chips are judged against the same plays
of the whole group, because what the fit does not know shifts all of its chips together.
"""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.core.broadcasting import require_kinds
from golfphys.core.names import Array
from golfphys.fitting.chips import REST, Chips, chips_of
from golfphys.fitting.course_fit import CourseFit
from golfphys.fitting.given import sheet_of
from golfphys.fitting.results import lines
from golfphys.fitting.rollout_cautions import counted

# Standard deviations from which one of a handful of groups counts as off, and plays of each new chip
OFF, DRAWS = 2.5, 1000
# Chips below which nothing is said for a fit: four all fall into their 50 % intervals by chance one time in sixteen
FEWEST = 5


@dataclass(frozen=True, kw_only=True)
class CheckBack:
    """New chips against a fit.

    `table` has one line for each chip: row (and sheet, where there are several files), club, lie, spot, landing,
    ``rest`` seen, ``expected`` (median), ``low``, ``high`` (90 %), ``low_50``, ``high_50``, ``place`` (share of
    plays that stop shorter, 0 to 1), ``within_50``, ``within_90``. `calibration` has for 50 % and 90 % the chips,
    how many lie within, the share, and between which shares chance alone would put it. `groups` has for all chips,
    each club, lie, spot and day: chips, ``longer_m`` (mean of rest seen less expected) and ``score`` (in standard
    deviations of what the fit leads to expect of such a group). `verdict` says what that means, `notes` what of the
    new log was left out or assumed.
    """

    table: pd.DataFrame
    calibration: pd.DataFrame
    groups: pd.DataFrame
    verdict: list[str]
    notes: tuple[str, ...]


def check_back(fit: CourseFit, chips: Any, *, seed: int = 0) -> CheckBack:
    """Hold new chips to a fit that has not seen them: tables, and a verdict in words.

    Parameters
    ----------
    fit, chips : CourseFit, Sheet; the fit, and the new log. A chip whose landing was seen is judged by its run-out, any
        other by its rest from its aim; ValueError if no chip has a rest that can be judged
    seed : int; of the plays

    Examples
    --------
    >>> import golfphys
    >>> from golfphys.physics.green import Green
    >>> from golfphys.invented import ChipDesign, CourseTruth, RolloutDesign, Station, make_chips, make_rollouts
    >>> truth = CourseTruth(greens={"home-left": Green.from_stimp(10.0, grade=0.02)})
    >>> fit = golfphys.fit(make_rollouts(truth, RolloutDesign(repeats=2), 1))
    >>> station = Station(spot="home-left", heading=0.0)
    >>> new = make_chips(truth, ChipDesign(stations=(station,), repeats=1), 2)
    >>> check_back(fit, new).table["club"].nunique()
    4
    """
    require_kinds(fit=(fit, CourseFit))
    only = fit.spots[0] if len(fit.spots) == 1 else None
    log = sheet_of("chips", chips)
    new = chips_of(log, fit.settings.clubs, only_spot=only)
    kept = np.flatnonzero(new.seen[:, REST])
    if not kept.size:
        raise ValueError("the new log has no chip with a rest on the green that can be judged. " + " ".join(new.notes))
    plays, seen = fit.play(new, DRAWS, seed).values[:, kept, REST], new.values[kept, REST]
    table = _table(new, kept, plays, seen)
    groups, calibration = _groups(table, plays, seen, _days(log.frame, new.at[kept])), _calibration(table)
    said: dict[str, Any] = {"verdict": _verdict(calibration, groups), "notes": new.notes}
    if strange := [spot for i, spot in enumerate(new.spots) if spot not in fit.spots and (new.spot[kept] == i).any()]:
        usual = "their chips are held to what greens usually are"
        said["notes"] += (f"The fit has not seen the green at {', '.join(strange)}: {usual}.",)
    return CheckBack(table=table, calibration=calibration, groups=groups, **said)


def _table(new: Chips, kept: NDArray[np.int64], plays: Array, seen: Array) -> pd.DataFrame:
    chips = {**lines(new, kept), **new.named(kept), "landing": new.landing[kept], "rest": seen}
    shares = {"expected": 0.5, "low": 0.05, "low_50": 0.25, "high_50": 0.75, "high": 0.95}
    ends = dict(zip(shares, np.quantile(plays, list(shares.values()), axis=0), strict=True))
    place = ((plays < seen).sum(axis=0) + 0.5) / (len(plays) + 1)
    within_50, within_90 = ((ends[f"low{part}"] <= seen) & (seen <= ends[f"high{part}"]) for part in ("_50", ""))
    return pd.DataFrame({**chips, **ends, "place": place, "within_50": within_50, "within_90": within_90})


def _days(frame: pd.DataFrame, at: NDArray[np.int64]) -> pd.Series | None:
    """Return the day of some lines of a log; None where no day is noted."""
    if "measured_at" not in frame or frame["measured_at"].isna().all():
        return None
    days: pd.Series = frame["measured_at"].dt.strftime("%Y-%m-%d").fillna("no day noted")
    return days.iloc[at].reset_index(drop=True)


def _groups(table: pd.DataFrame, plays: Array, seen: Array, days: pd.Series | None) -> pd.DataFrame:
    middle, spread = np.median(plays, axis=0), np.maximum(plays.std(axis=0), 1e-9)
    # one chip gone astray shall not speak for its group
    observed = np.clip((seen - middle) / spread, -3.0, 3.0)
    replayed = np.clip((plays - middle) / spread, -3.0, 3.0)
    kinds = {
        "all": pd.Series("all chips", index=table.index),
        **{kind: table[kind] for kind in ("club", "lie", "spot")},
    }
    if days is not None and days.nunique() > 1:
        kinds["day"] = days
    rows = {}
    for kind, name in ((kind, name) for kind, column in kinds.items() for name in dict.fromkeys(column)):
        chosen = (kinds[kind] == name).to_numpy()
        means = replayed[:, chosen].mean(axis=1)
        score = (observed[chosen].mean() - means.mean()) / max(float(means.std()), 1e-9)
        longer = float(np.mean((seen - middle)[chosen]))
        rows[kind, str(name)] = {"chips": int(chosen.sum()), "longer_m": longer, "score": float(score)}
    return pd.DataFrame.from_dict(rows, orient="index").rename_axis(index=["kind", "name"])


def _calibration(table: pd.DataFrame) -> pd.DataFrame:
    from scipy.stats import binom

    rows, count = {}, len(table)
    for share in (50, 90):
        within = int(table[f"within_{share}"].sum())
        low, high = (float(binom.ppf(part, count, share / 100)) / count for part in (0.025, 0.975))
        row = {"chips": count, "within": within, "share": within / count}
        rows[share] = {**row, "chance_low": low, "chance_high": high}
    return pd.DataFrame.from_dict(rows, orient="index").rename_axis("interval_pct")


def _verdict(calibration: pd.DataFrame, groups: pd.DataFrame) -> list[str]:
    found = []
    half, whole = calibration.to_dict("records")
    outside = whole["share"] < whole["chance_low"]
    if not outside and half["share"] > half["chance_high"]:
        near = "More chips than expected stopped near the middle of their intervals"
        found.append(f"{near}: the player scatters less than the fit says.")
    records = groups.reset_index().to_dict("records")
    everything, parts = records[0], records[1:]
    limit, moved = OFF, 0.0
    clubs = [row["score"] * np.sign(everything["score"]) for row in parts if row["kind"] == "club"]
    # one club far off moves the whole; the green moves nearly all of them
    shared = np.mean(np.array(clubs) > 1.0) > 0.6
    if abs(everything["score"]) > OFF and shared:
        moved, limit = float(everything["longer_m"]), 1.5 * OFF
        way = ("longer", "faster or firmer") if moved > 0 else ("shorter", "slower or softer")
        found.append(
            f"Chips run {abs(moved):.1f} m {way[0]} than the fit says, all in all: the green has become {way[1]}. "
            "Roll a few balls from the ramp to see which."
        )
        by_club = sorted((np.sign(moved) * row["longer_m"], row["name"]) for row in parts if row["kind"] == "club")
        if len(by_club) > 1:
            (least, last), (most, first) = by_club[0], by_club[-1]
            found.append(f"Most so with the {first}, {most:.1f} m, least with the {last}, {least:.1f} m.")
    words = {"club": "with the", "lie": "from the", "spot": "at", "day": "of"}
    for row in parts:
        # what goes the way of the whole is said with it
        if abs(row["score"]) > limit and row["chips"] >= 2 and row["score"] * moved <= 0:
            off = f"{abs(row['longer_m']):.1f} m {'long' if row['longer_m'] > 0 else 'short'} on average"
            found.append(f"Off: chips {words[row['kind']]} {row['name']} come out {off} ({row['chips']} chips).")
    if outside:
        few = f"Only {whole['within']} of {whole['chips']} chips stopped inside their 90 % intervals"
        found.insert(0, f"{few}: {'what is off follows' if found else 'the fit promises more than it keeps'}.")
    if not found and whole["chips"] < FEWEST:
        return [f"{counted(whole['chips'], 'chip')} cannot tell whether the fit holds: hold {FEWEST} or more to it."]
    return found or ["The new chips fall where the fit said: keep it, and add the new rows to it."]


def green_drift(fit: CourseFit, rollouts: Any, *, seed: int = 0) -> pd.DataFrame:
    """Say how much faster or slower the green has become, from new rolls.

    Parameters
    ----------
    fit, rollouts : CourseFit, Sheet; a fit of earlier rolls at the same spots, and the new ones; ValueError if some are
        at spots that the fit does not know
    seed : int; of the draws

    Returns
    -------
    DataFrame: by spot, and by day where noted: ``rolls``, ``change_pct`` (median ratio of the new distances to those
        expected, less one), ``low``, ``high`` (90 %), ``changed`` (whether 0 lies outside)

    Examples
    --------
    >>> import golfphys
    >>> from golfphys.physics.green import Green
    >>> from golfphys.invented import CourseTruth, RolloutDesign, make_rollouts
    >>> truth = CourseTruth(greens={"home-left": Green.from_stimp(10.0, grade=0.02)})
    >>> fit = golfphys.fit(make_rollouts(truth, RolloutDesign(repeats=2), 1))
    >>> mown = CourseTruth(greens={"home-left": Green.from_stimp(11.5, grade=0.02)})
    >>> drift = green_drift(fit, make_rollouts(mown, RolloutDesign(repeats=2), 2))
    >>> bool(drift.loc["home-left", "changed"])
    True
    """
    require_kinds(fit=(fit, CourseFit))
    frame = sheet_of("rollouts", rollouts).frame
    unknown = sorted(set(frame["spot"]) - set(fit.spots))
    if unknown:
        raise ValueError(f"no rolls were fitted at {', '.join(unknown)}; expected spots among: {', '.join(fit.spots)}")
    keys = [frame["spot"].rename("spot")]
    times = frame.get("measured_at")
    if times is not None and times.notna().all():
        keys.append(times.dt.strftime("%Y-%m-%d").rename("day"))
    groups = {name: _change(fit, str(name[0]), part, seed) for name, part in frame.groupby(keys)}
    names = [str(key.name) for key in keys]
    # of one level where no day is noted
    index = pd.Index([name if len(keys) > 1 else name[0] for name in groups]).set_names(names)
    return pd.DataFrame(list(groups.values()), index=index)


def _change(fit: CourseFit, spot: str, rolls: pd.DataFrame, seed: int) -> dict[str, Any]:
    """Return by how much the rolls of one spot and day went farther or shorter than the fit expects."""
    headings, speeds, seen = (rolls[name].to_numpy() for name in ("heading", "release_speed", "distance"))
    expected = fit.rollouts.predict(spot, headings, speeds, n=400, seed=seed).clip(lower=0.05)
    middle = float(np.median(np.log(np.maximum(seen, 0.05) / expected["distance"])))
    # what the fit does not know shifts all rolls together
    single, shared = np.log(expected[["roll_high", "high"]].to_numpy() / expected[["roll_low", "low"]]).mean() / 2
    half = math.hypot(single / math.sqrt(len(seen)), shared)
    change, low, high = (100 * math.expm1(end) for end in (middle, middle - half, middle + half))
    return {"rolls": len(seen), "change_pct": change, "low": low, "high": high, "changed": not low < 0.0 < high}
