"""One fit of greens, turf and player together, so that every answer carries all that is not known.

Each visit of a player is fitted by itself (`fit_sheets`); what earlier visits say of her is its prior.
"""

from collections.abc import Iterable, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import replace
from functools import partial
from typing import Any, TypedDict, Unpack

import pandas as pd

from golfphys.core.broadcasting import require_kind, require_kinds, require_seed
from golfphys.fitting.compare import Comparison, compare_fits
from golfphys.fitting.course_fit import CourseFit, favoured, fit_observed
from golfphys.fitting.course_model import Located, Observed, Settings, observed
from golfphys.fitting.given import KINDS, by_kind, sheet_of
from golfphys.fitting.past import CHANGED, HERS, Past, changes_from, forecast, known_after, visits_of, weeks_between
from golfphys.fitting.player import PlayerPriors, player_parameters
from golfphys.fitting.results import Seed
from golfphys.fitting.rollout_layout import LAWS, Law, Priors
from golfphys.physics.club import BAG, Club, Lie, bag_with
from golfphys.physics.green import AROUND, TurfLaw
from golfphys.sheets import Sheet
from golfphys.sheets.errors import files_of, rows_of
from golfphys.sheets.suspects import around, repeats


class Keywords(TypedDict, total=False):
    """What `fit` takes by name, and says of it."""

    turf_law: TurfLaw | None
    law: Law
    grain: bool
    pool: bool
    session_gap_hours: float | None
    clubs: Mapping[str, Club]
    lies: Mapping[str, Lie]
    release_speed_sd: float
    priors: Priors | None
    player_priors: PlayerPriors | None
    seed: Seed


def fit(*sheets: Any, past: Any = None, **keywords: Unpack[Keywords]) -> CourseFit:
    """Fit greens, turf and player from whatever sheets there are, in one model.

    Parameters
    ----------
    *sheets : sheet or Course; sheets of rollouts, drops, chips, films or targets, at most one of each, in any order; or
        a course as `golfphys.read_course` returns it
    past : Log, sequence of sheets, courses, or tuples of sheets, or CourseFit, optional; what the player has logged
        before, on whatever courses: her log as `golfphys.read_player` returns it, or visits, oldest first, or the fit
        of her last visit, which knows those before. Only what it says of her is used: each visit is fitted with its own
        greens, turf and lies.
    **keywords
        ``turf_law``, "rigid" or "linear": law of the bounce, `golfphys.Turf` or `golfphys.LinearTurf`. Without it, that
        of `past` where this is a fit with chips; else the one that chips favour by 20 to 1. Where they leave it open,
        or there are none, the rigid one; what is to come is then drawn from both (`CourseFit.rival`, or their priors).
        ``law``, "constant", "linear" or "quadratic": how rolling resistance depends on speed. ``grain``: fit one.
        ``pool``: let the resistances of spots scatter about a common median (the default).
        ``session_gap_hours``: a pause in the rolls longer than this begins a new session, whose green may be faster or
        slower (see `CourseFit.series`), and the last is the one that is planned on; without it time is left aside.
        ``clubs``, ``lies`` by name: a lie with another name gets a wide prior, a chip with another club is left out,
        unless it is a 7-iron or a wedge called by its loft (52-degree wedge).
        ``release_speed_sd``: relative standard uncertainty of the ramp's release speed. ``priors``, ``player_priors``:
        weak priors of greens (`golfphys.fitting.rollout_layout.Priors`) and of the player
        (`golfphys.fitting.player.PlayerPriors`). ``seed``.

    Raises
    ------
    ValueError
        If something is no sheet that can be fitted, there are two of a kind, a sheet has no row that can be used, or a
        cell that is outside the limits of the data dictionary (in SI units, headings in rad), an option is not known,
        or `past` is a fit by another law of the bounce than ``turf_law``.

    Notes
    -----
    Rolls tell of resistance and slope, drops of how the turf gives back a landing, and chips of the rest: delivery,
    what the lie does, friction of the turf, and how the player errs; target hits of her errors alone. Rolls and drops
    at spots named after the ground around the green (collar, fringe, fairway, rough) are of that ground, and fitted
    beside it. Films are fitted with rolls or alone; they know the laws "constant" and "linear". Rolls: resistance by
    the energy definition (Am. J. Phys. 90, 648, 2022) on a plane, golfphys/derivations/plane.py; films: the same and
    rolling.py. Model: `golfphys.physics.shot` for every chip, with the head speed taken out by where it landed
    (`golfphys.fitting.chip_physics`); estimation: `golfphys.fitting.estimator`; her past: `golfphys.fitting.past`.

    Examples
    --------
    >>> heights = pd.DataFrame({"drop_height": [1.0, 1.5, 2.0], "rebound_height": [0.13, 0.17, 0.19]})
    >>> fit(Sheet(kind="drops", frame=heights)).seen.drops.height.tolist()
    [1.0, 1.5, 2.0]
    """
    before = past if isinstance(past, CourseFit) else None
    earlier = [] if past is None or before else visits_of(past)
    return _fit_visits([*earlier, sheets], before, keywords)[-1]


def fit_weeks(visits: Any, **keywords: Unpack[Keywords]) -> list[CourseFit]:
    """Fit the visits of a player one after the other, each with what those before say of her, one fit for each.

    Where a visit contradicts what was carried to it, a caution of its says so, and what changed counts for less.

    Parameters
    ----------
    visits : Log, or sequence of sheets, courses, or tuples of sheets; as `past` of `fit`
    **keywords : as for `fit`

    Examples
    --------
    >>> drops = Sheet(kind="drops", frame=pd.DataFrame({"drop_height": [1.0, 1.5], "rebound_height": [0.13, 0.17]}))
    >>> len(fit_weeks([drops, drops]))
    2
    """
    return _fit_visits(visits_of(visits), None, keywords)


def _fit_visits(visits: Iterable[Sequence[Any]], before: CourseFit | None, keywords: Keywords) -> list[CourseFit]:
    """Fit each visit with what is carried to it, by the law of the bounce that the sheets favour.

    Where they leave the other open, the last visit is fitted by that too, as its rival.
    """
    visited = [by_kind(visit) for visit in visits]
    if not visited:
        raise ValueError("there is no visit to fit; give at least one: a sheet, a course, or a tuple of sheets")
    _refuse_twice(visited)
    given, usual = keywords.get("clubs"), before.settings.clubs if before else BAG
    keywords = {**keywords, "clubs": _clubs(visited, usual if given is None else given)}
    chipped = [sheets for sheets in visited if sheets.get("chips") is not None]
    known = {fit.settings.turf_law: fit for fit in (before, before and before.rival) if fit is not None}
    tried = before is not None and before.law_tried
    if before and not tried:
        known = {"rigid": before, "linear": before}  # rolls, drops and targets say the same of her by either
    laws: Mapping[TurfLaw, Located | None] = dict.fromkeys(known)
    if (asked := keywords.get("turf_law")) is not None:
        if before and asked not in known:
            raise ValueError(
                f"turf_law is {asked!r}, and past is a fit by the law {before.settings.turf_law!r}, through which it "
                "saw her; leave turf_law out, or give her log or visits as past: they are fitted by the law asked for"
            )
        laws = {asked: None}
    elif chipped and not tried:
        # a law holds wherever she was: the last visit tells it, with the greens and turf that she comes to
        laws = favoured(*_prepared(chipped[-1], keywords)[:2])
    elif not tried:
        laws = {"rigid": None}
    # a visit without chips has no rival: what is to come is drawn from both by their priors
    used = list(laws.items())[: None if visited[-1].get("chips") is not None else 1]
    found, *rival = [
        _by_law(visited, known.get(law), {**keywords, "turf_law": law}, at and (chipped[-1], at)) for law, at in used
    ]
    return [*found[:-1], replace(found[-1], rival=rival[0][-1])] if rival else found


def _refuse_twice(visited: Sequence[Mapping[str, Any]]) -> None:
    """Refuse a last visit whose chips or targets are in an earlier one as well: it would count twice."""
    for kind, sheet in visited[-1].items():
        for earlier in (sheets[kind] for sheets in visited[:-1] if kind in HERS and kind in sheets):
            both = pd.concat([earlier.frame, sheet.frame], ignore_index=True)
            if any(first < len(earlier.frame) <= start for first, start in repeats(both)):
                raise ValueError(f"rows of {kind} are in the past as well, cell by cell: leave them out of one of both")


def _by_law(
    visited: Sequence[dict[str, Any]],
    before: CourseFit | None,
    keywords: Keywords,
    at: tuple[dict[str, Any], Located] | None,
) -> list[CourseFit]:
    """Fit each visit by one law, and again with less of what was carried to it where the visit contradicts that.

    `at` are the sheets of a visit and where their posterior was found to be.
    """
    found = []
    for sheets in visited:
        if before is None:
            now = fit_sheets(sheets, keywords, at=at[1] if at and sheets is at[0] else None)
        else:
            known, weeks = player_posterior(before), weeks_between(before.sheets, sheets)
            now = fit_sheets(sheets, keywords, forecast(known, weeks))
            changes = changes_from(now.settings.past, player_posterior(now))
            if any(abs(change.score) >= CHANGED for change in changes.values()):
                now = fit_sheets(sheets, keywords, forecast(known, weeks, changes))
        found.append(now)
        before = now
    return found


def _clubs(visited: Iterable[Mapping[str, Any]], clubs: Mapping[str, Club]) -> Mapping[str, Club]:
    """Return clubs, and those that chips and targets name and `bag_with` knows."""
    require_kinds(clubs=(clubs, Mapping))
    if not all(isinstance(club, Club) for club in clubs.values()):
        return clubs  # the settings refuse them
    hers = (sheets.get(kind) for sheets in visited for kind in HERS)
    return bag_with((str(name) for sheet in hers if sheet is not None for name in sheet.frame["club"]), clubs)


def player_posterior(fit: CourseFit) -> Past:
    """Return all that is known of a player after a visit."""
    own = player_parameters(fit.seen.clubs, {}, fit.settings.player_priors, fit.seen.options)
    return known_after(fit.posterior, own, fit.settings.past)


def fit_each(
    courses: Mapping[str, Any], *, executor: Executor | None = None, past: Any = None, **keywords: Unpack[Keywords]
) -> dict[str, CourseFit]:
    """Fit many courses or players, each by itself; return the fits by name.

    Parameters
    ----------
    courses : mapping of str to Course, sheet, or tuple of sheets; what to fit, by name
    executor : concurrent.futures.Executor, optional; where to: threads, processes, or another engine's. How the work is
        cut changes no result.
    past, **keywords : as for `fit`, the same for all

    Examples
    --------
    >>> drops = Sheet(kind="drops", frame=pd.DataFrame({"drop_height": [1.0, 1.5], "rebound_height": [0.13, 0.17]}))
    >>> list(fit_each({"home": drops, "away": drops}))
    ['home', 'away']
    """
    require_kind("courses", courses, Mapping, "sheets or a course by name, as a dict has them")
    run = map if executor is None else executor.map
    return dict(zip(courses, run(partial(_fit_one, past, keywords), courses.values()), strict=True))


def _fit_one(past: Any, keywords: Keywords, sheets: Any) -> CourseFit:
    return fit(*(sheets if isinstance(sheets, tuple) else (sheets,)), past=past, **keywords)


def compare_laws(sheet: Any, *, laws: Sequence[Law] = LAWS, **keywords: Unpack[Keywords]) -> Comparison:
    """Fit a sheet of rollouts with each of at least two laws of resistance and compare: table, verdict and fits.

    Parameters
    ----------
    sheet, laws : Sheet, sequence of str; the rolls, and laws to compare, see `golfphys.fit`
    **keywords : as for `golfphys.fit`

    Examples
    --------
    >>> from golfphys import Green
    >>> from golfphys.invented import CourseTruth, RolloutDesign, make_rollouts
    >>> truth = CourseTruth(greens={"home-left": Green.from_stimp(10.0)})
    >>> sheet = make_rollouts(truth, RolloutDesign(repeats=3), 1)
    >>> print(compare_laws(sheet, laws=("constant", "linear")).verdict)
    The rolls do not prefer among 'constant', 'linear': ... Use the simplest, 'constant'.
    """
    if len(laws) < 2:
        raise ValueError(f"laws is {laws!r}; expected at least two to compare")
    return compare_fits({law: fit(sheet, **(keywords | {"law": law})).rollouts for law in laws})


def fit_sheets(
    sheets: Mapping[str, Any], keywords: Keywords, past: Past | None = None, *, at: Located | None = None
) -> CourseFit:
    """Fit the sheets of one visit, given by their kind, with what is carried to it; see `fit` and `fit_observed`."""
    seen, settings, on_green = _prepared(sheets, keywords, past)
    seed, beside = keywords.get("seed", 0), {}
    rolled, dropped = _by_ground(sheets.get("rollouts")), _by_ground(sheets.get("drops"))
    for ground in (ground for ground in AROUND if ground in (*rolled, *dropped)):
        usual, measured = AROUND[ground], {"rollouts": rolled.get(ground), "drops": dropped.get(ground)}
        priors = replace(settings.priors, resistance=usual.resistance, resistance_spread=usual.resistance_spread)
        own = replace(settings, ground=ground, priors=priors)
        beside[ground] = fit_observed(observed(measured, own), own, measured, seed=seed)
    return replace(fit_observed(seen, settings, on_green, seed=seed, at=at), around=beside)


def _prepared(
    sheets: Mapping[str, Any], keywords: Keywords, past: Past | None = None
) -> tuple[Observed, Settings, dict[str, Any]]:
    """Return what sheets show of the green and the player, how to fit it, and the sheets without other ground."""
    settings = _settings(keywords, past or Past())
    require_seed(keywords.get("seed", 0))
    own = {kind: _by_ground(sheets.get(kind)) for kind in ("rollouts", "drops")}
    on_green = {**dict.fromkeys(KINDS), **sheets, **{kind: parts.get("") for kind, parts in own.items()}}
    given = {kind for kind, sheet in on_green.items() if sheet is not None}
    if not (given or any(own.values())):
        raise ValueError("there is no sheet to fit; give rollouts, drops, chips, films or targets")
    if not given:
        raise ValueError("all rolls and drops are of the ground around the green; expected some on the green as well")
    if "films" in given and settings.grain:
        raise ValueError("films cannot be fitted together with grain; leave one of them out")
    if "films" in given and "rollouts" not in given and given & {"chips", "targets"}:
        raise ValueError("films are fitted with rolls or alone; give a sheet of rollouts as well, or fit them alone")
    return observed(on_green, settings), settings, on_green


def _by_ground(sheet: Sheet | None) -> dict[str, Sheet]:
    """Return the rows of a sheet as a sheet for each ground around the green, under "" those of the green itself."""
    if sheet is None:
        return {}
    ground = sheet.frame["spot"].map(lambda spot: around(str(spot)) or "") if "spot" in sheet.frame else None
    if ground is None or not ground.any():
        return {"": sheet}
    return {str(name): sheet.replaced(part.reset_index(drop=True)) for name, part in sheet.frame.groupby(ground)}


def _settings(keywords: Keywords, past: Past) -> Settings:
    if wrong := [name for name in keywords if name not in Keywords.__annotations__]:
        expected = ", ".join(Keywords.__annotations__)
        hint = ". Sheets are given without a name" if set(wrong) & set(KINDS) else ""
        raise ValueError(f"fit has no option {' or '.join(map(repr, wrong))}; expected one of: {expected}{hint}")
    given: Any = {name: value for name, value in keywords.items() if name != "seed" and value is not None}
    return Settings(**given, past=past)


def updated(fit: CourseFit, *, rollouts: Any = None, drops: Any = None, chips: Any = None) -> CourseFit:
    """Fit again, with the same laws, priors, clubs and lies, all rows of the sheets that a fit has seen and new ones.

    Its first chips choose the law of the bounce, unless the fit is by the linear one, which was asked for.

    Parameters
    ----------
    fit : CourseFit; the fit so far
    rollouts, drops, chips : sheet, optional; new rows; ValueError if there are none, or the fit has seen them

    Examples
    --------
    >>> import golfphys
    >>> from golfphys.physics.green import Green
    >>> from golfphys.invented import CourseTruth, RolloutDesign, make_rollouts
    >>> truth = CourseTruth(greens={"home-left": Green.from_stimp(10.0, grade=0.02)})
    >>> fit = golfphys.fit(make_rollouts(truth, RolloutDesign(repeats=2), 1))
    >>> more = make_rollouts(truth, RolloutDesign(repeats=2), 2)
    >>> both = updated(fit, rollouts=more)
    >>> bool(both.estimates["sd"].loc[("home-left", "stimp_ft")] < fit.estimates["sd"].loc[("home-left", "stimp_ft")])
    True
    """
    new = {"rollouts": rollouts, "drops": drops, "chips": chips}
    if all(sheet is None for sheet in new.values()):
        raise ValueError("nothing new to fit; give rollouts, drops or chips")
    require_kinds(fit=(fit, CourseFit))
    new = {kind: None if sheet is None else sheet_of(kind, sheet) for kind, sheet in new.items()}
    sheets: dict[str, Any] = dict(fit.sheets)
    for kind, added in new.items():
        old = [one.sheets[kind] for one in (fit, *fit.around.values()) if one.sheets.get(kind) is not None]
        rows = [sheet.frame for sheet in old]
        if added is not None:
            rows = [frame.assign(sheet=files_of(frame)) for frame in rows]
            rows.append(added.frame.assign(row=rows_of(added.frame), sheet=f"the new {kind}"))
            old.append(added)
        if old:
            sheets[kind] = old[0].replaced(pd.concat(rows, ignore_index=True))
            new_from = len(sheets[kind].frame) - (0 if added is None else len(added.frame))
            if any(start >= new_from for _, start in repeats(sheets[kind].frame)):
                raise ValueError(f"the fit has seen rows of the new {kind} before, cell by cell: give only new ones")
    # the ground is found in the spots' names again
    settings = {name: value for name, value in vars(fit.settings).items() if name not in ("ground", "past")}
    keywords: Any = {**settings, "clubs": _clubs([sheets], fit.settings.clubs), "seed": fit.seed}
    if not fit.law_tried:
        return _fit_visits([tuple(sheets.values())], None, keywords | {"turf_law": None})[-1]
    rival = None if fit.rival is None else updated(fit.rival, **new)
    return replace(fit_sheets(sheets, keywords, fit.settings.past), rival=rival)
