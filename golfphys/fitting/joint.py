"""One fit of a course: green, turf and player together, so that every answer carries all that is not known."""

from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import fields, replace
from functools import partial
from types import MappingProxyType
from typing import Any

import numpy as np
import pandas as pd

from golfphys.core.broadcasting import require_count, require_kind, require_seed
from golfphys.fitting.chips import chips_of, targets_of
from golfphys.fitting.compare import Comparison, compare_fits
from golfphys.fitting.course_fit import CourseFit, fitted
from golfphys.fitting.estimator import Parameter, names_of
from golfphys.fitting.films import films_of
from golfphys.fitting.fitted import Observed, Settings, with_spots
from golfphys.fitting.plan_draws import by_ground
from golfphys.fitting.player import player_parameters
from golfphys.fitting.proposal import likely
from golfphys.fitting.results import Posterior, Seed
from golfphys.fitting.rollout_layout import LAWS, rolls_of
from golfphys.fitting.turf import drops_of
from golfphys.fitting.weeks import MOVED, Past, later, moved, weeks_between, weeks_of
from golfphys.physics.usual import AROUND
from golfphys.sheets.dictionary import kind_of

KINDS = {"frames": "films", "rolls": "rollouts", "drops": "drops", "chips": "chips", "targets": "targets"}
"""What each kind of sheet holds, and the argument of `fit_course` that takes it."""

NEEDED = {"rollouts": ("spot", "heading", "release_speed", "distance"), "chips": ("club", "lie")}
"""Columns without which a sheet cannot be fitted."""

NOT_HERS = (
    *("face_friction", "spin_factor", "cushion", "unevenness", "local_slope"),
    *("drag_scale", "lift_scale", "landing_reading", "time_reading"),
)
"""Parameters that belong to lies, ground, air and whoever spots the landings."""


def fit(*sheets: Any, past: Any = None, **options: Any) -> CourseFit:
    """Fit greens, turf and player from whatever sheets there are, in one model.

    Parameters
    ----------
    *sheets : sheet or Course
        Sheets of rollouts, drops, chips, films or targets, at most one of each, in any order; or a course as
        `golfphys.read_course` returns it.
    past : Log, sequence of sheets, courses, or tuples of sheets, or CourseFit, optional
        What the player has logged before, on whatever courses: her log as `golfphys.read_player` returns it, or visits,
        oldest first, or the fit of her last visit, which knows those before. Only what it says of her is used: each
        visit is fitted with its own greens, turf and lies.
    **options
        ``turf_law``, "rigid" or "linear": law of the bounce, `golfphys.Turf` or `golfphys.physics.green.LinearTurf`.
        ``law``, "constant", "linear" or "quadratic": how rolling resistance depends on speed. ``grain``: fit one.
        ``pool``: let the resistances of spots scatter about a common median (the default).
        ``session_gap_hours``: a pause in the rolls longer than this begins a new session, whose green may be faster or
        slower (see `CourseFit.series`); without it time is left aside.
        ``clubs``, ``lies`` by name: a lie with another name gets a wide prior, a chip with another club is left out.
        ``release_speed_sd``: relative standard uncertainty of the ramp's release speed. ``priors``, ``player_priors``:
        weak priors of greens and player. ``draws``: number of weighted posterior draws. ``seed``.

    Raises
    ------
    ValueError
        If something is no sheet that can be fitted, there are two of a kind, a sheet has no row that can be used, or an
        option is not known.

    Notes
    -----
    Rolls tell of resistance and slope, drops of how the turf gives back a landing, and chips of the rest: delivery,
    what the lie does, friction of the turf, and how the player errs; target hits of her errors alone. Chips roll out on
    the same greens, so all of it is one posterior, and every answer carries all of it. Rolls and drops at spots named
    after the ground around the green (collar, fringe, fairway, rough) are of that ground, and fitted beside it. Films
    are fitted with rolls or alone; they know the laws "constant" and "linear". Rolls: resistance by the energy
    definition (Am. J. Phys. 90, 648, 2022) on a plane, golfphys/derivations/plane.py; films:
    the same and rolling.py. Model: `golfphys.physics.shot` for every chip, with the head speed
    taken out by where it landed (`golfphys.fitting.chip_physics`); estimation: `golfphys.fitting.estimator`. Her past
    is carried from visit to visit as a prior: `golfphys.fitting.weeks`.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> import pandas as pd
    >>> heights = pd.DataFrame({"drop_height": [1.0, 1.5, 2.0], "rebound_height": [0.13, 0.17, 0.19]})
    >>> fit(SimpleNamespace(drops=heights)).seen.drops.height.tolist()
    [1.0, 1.5, 2.0]
    """
    if isinstance(past, CourseFit):
        return _visited(sheets, past, options)
    return fit_weeks([*([] if past is None else weeks_of(past)), sheets], **options)[-1]


def fit_weeks(visits: Any, **options: Any) -> list[CourseFit]:
    """Fit the visits of a player one after the other, each with what those before say of her, one fit for each.

    Where a visit contradicts what was carried to it, a caution of its says so, and what moved counts for less.

    Parameters
    ----------
    visits : Log, or sequence of sheets, courses, or tuples of sheets
        As `past` of `fit`.
    **options
        As for `fit`.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> import pandas as pd
    >>> drops = SimpleNamespace(drops=pd.DataFrame({"drop_height": [1.0, 1.5], "rebound_height": [0.13, 0.17]}))
    >>> len(fit_weeks([drops, drops]))
    2
    """
    found: list[CourseFit] = []
    for visit in weeks_of(visits):
        found.append(_visited(visit, found[-1] if found else None, options))
    return found


def _visited(visit: Sequence[Any], before: CourseFit | None, options: Mapping[str, Any]) -> CourseFit:
    """Fit a visit with what is carried to it, and again with less of that where the visit contradicts it."""
    sheets = _by_kind(visit)
    if before is None:
        return fit_course(**sheets, **options)
    known = learnt_of(before)
    weeks = weeks_between(before.sheets.get("chips"), sheets.get("chips"))
    found = fit_course(**sheets, past=later(known, weeks), **options)
    changes = moved(found.settings.past, learnt_of(found))
    if max((abs(change.score) for change in changes.values()), default=0.0) < MOVED:
        return found
    return fit_course(**sheets, past=later(known, weeks, changes), **options)


def learnt_of(fit: CourseFit) -> Past:
    """Return all that is known of a player after a visit."""
    own = player_parameters(fit.seen.clubs, {}, fit.settings.player_priors, fit.seen.options)
    return learnt(fit.posterior, own, fit.settings.past)


def learnt(posterior: Posterior, own: Sequence[Parameter], past: Past) -> Past:
    """Return what is known of a player after a visit.

    `own` are the parameters of somebody never seen with the visit's clubs; `past` was carried to the visit. Clubs that
    were not used on the visit follow those that were, by the regression that `past` holds.
    """
    names = posterior.model.names
    own = [one for one in own if names.has(*one.key) and one.name not in NOT_HERS]
    here = names_of(own)
    values = posterior.transformed[:, names.places(here)]
    mean = posterior.weights @ values
    covariance = (values - mean).T @ ((values - mean) * posterior.weights[:, None])
    sds = np.outer(*2 * [np.sqrt(np.diagonal(covariance))])
    covariance = sds * likely(covariance / sds, posterior.effective_draws)
    slope, left = past.away(here)
    known = past.among(here)
    order = here.places(key for key in past.names if here.has(*key))
    through = np.zeros((len(left), len(here)))
    through[:, order] = slope
    shift = mean[order] - past.mean[known]
    crossed = through @ covariance
    return Past(
        own=(*own, *(one for one in past.own if not here.has(*one.key))),
        mean=np.concatenate([mean, past.mean[~known] + slope @ shift]),
        covariance=np.block([[covariance, crossed.T], [crossed, left + crossed @ through.T]]),
    )


def fit_each(courses: Mapping[str, Any], *, executor: Executor | None = None, **options: Any) -> dict[str, CourseFit]:
    """Fit many courses or players, each by itself; return the fits by name.

    Parameters
    ----------
    courses : mapping of str to Course, sheet, or tuple of sheets
        What to fit, by name.
    executor : concurrent.futures.Executor, optional
        Where to: threads, processes, or another engine's. How the work is cut changes no result.
    **options
        As for `fit`; a ``past`` is that of all.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> import pandas as pd
    >>> drops = SimpleNamespace(drops=pd.DataFrame({"drop_height": [1.0, 1.5], "rebound_height": [0.13, 0.17]}))
    >>> list(fit_each({"home": drops, "away": drops}))
    ['home', 'away']
    """
    require_kind("courses", courses, Mapping, "sheets or a course by name, as a dict has them")
    run = map if executor is None else executor.map
    return dict(zip(courses, run(partial(_fit_one, options), courses.values()), strict=True))


def _fit_one(options: Mapping[str, Any], sheets: Any) -> CourseFit:
    return fit(*(sheets if isinstance(sheets, tuple) else (sheets,)), **options)


def compare_laws(sheet: Any, *, laws: Sequence[str] = LAWS, **options: Any) -> Comparison:
    """Fit a sheet of rollouts with each of at least two laws of resistance and compare: table, verdict and fits.

    Parameters
    ----------
    sheet : RolloutSheet
        The rolls.
    laws : sequence of str
        Laws to compare, see `golfphys.fit`.
    **options
        As for `golfphys.fit`.

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
    return compare_fits({law: fit(sheet, law=law, **options).rollouts for law in laws})


def _by_kind(sheets: Sequence[Any]) -> dict[str, Any]:
    """Return sheets, and those of courses, by the arguments of `fit_course`."""
    found: dict[str, Any] = {}
    for sheet in sheets:
        parts = [getattr(sheet, name) for name in KINDS.values()] if hasattr(sheet, "folder") else [sheet]
        for part in parts:
            if part is None:
                continue
            holds, name = next(((item, kind) for item, kind in KINDS.items() if hasattr(part, item)), ("", ""))
            if not name:
                raise ValueError(f"{type(part).__name__} is no sheet of {', '.join(KINDS.values())}, nor a course")
            if name in found:
                raise ValueError(f"there are two sheets of {name}; expected one, with all rows in it")
            _check_columns(name, getattr(part, holds))
            found[name] = part
    return found


def _check_columns(name: str, frame: Any) -> None:
    """Refuse a sheet, put together by hand, that lacks a column or has text where numbers belong."""
    for column in NEEDED.get(name, ()):
        if column not in frame:
            raise ValueError(f"the sheet of {name} has no column {column!r}; expected {', '.join(NEEDED[name])}")
    for quantity in kind_of(name).quantities:
        if quantity in frame and kind_of(name).columns_of(quantity)[0].is_number:
            try:
                np.asarray(frame[quantity], dtype=float)
            except (TypeError, ValueError):
                raise ValueError(f"{quantity} of the sheet of {name} is no number in some row") from None


def fit_course(
    rollouts: Any = None,
    drops: Any = None,
    chips: Any = None,
    *,
    films: Any = None,
    targets: Any = None,
    draws: int | None = None,
    seed: Seed = 0,
    **options: Any,
) -> CourseFit:
    """Fit sheets by their kind, with what is carried to them: see `fit`."""
    settings = _settings(options)
    require_seed(seed)
    if draws is not None:
        require_count("draws", draws)
    rolled, dropped = by_ground(rollouts, "rolls"), by_ground(drops, "drops")
    others = [sheet for sheet in (chips, films, targets) if sheet is not None]
    if not rolled and not dropped and not others:
        raise ValueError("there is no sheet to fit; give rollouts, drops, chips, films or targets")
    rollouts, drops = rolled.get(""), dropped.get("")
    if rollouts is None and drops is None and not others:
        raise ValueError("all rolls and drops are of the ground around the green; expected some on the green as well")
    if films is not None and settings.grain:
        raise ValueError("films cannot be fitted together with grain; leave one of them out")
    if films is not None and rollouts is None and (chips is not None or targets is not None):
        raise ValueError("films are fitted with rolls or alone; give a sheet of rollouts as well, or fit them alone")
    sheets = {"rollouts": rollouts, "drops": drops, "chips": chips, "films": films, "targets": targets}
    seen = _observed(sheets, settings)
    beside = {}
    for ground in (ground for ground in AROUND if ground in (*rolled, *dropped)):
        usual, measured = AROUND[ground], {"rollouts": rolled.get(ground), "drops": dropped.get(ground)}
        priors = replace(settings.priors, resistance=usual.resistance, resistance_spread=usual.resistance_spread)
        own = replace(settings, ground=ground, priors=priors, session_gap_hours=None)
        beside[ground] = fitted(_observed(measured, own), own, measured, draws=draws, seed=seed)
    return replace(fitted(seen, settings, sheets, draws=draws, seed=seed), around=beside)


def _observed(sheets: Mapping[str, Any], settings: Settings) -> Observed:
    """Take the observations out of sheets by kind."""

    def taken(read: Callable[..., Any], kind: str, *more: Any) -> Any:
        return None if sheets.get(kind) is None else read(sheets[kind], *more)

    rolls = taken(rolls_of, "rollouts", settings.session_gap_hours)
    only = rolls.spots[0] if rolls is not None and len(rolls.spots) == 1 else None
    rolls, log = with_spots(rolls, taken(chips_of, "chips", settings.clubs, only))
    films, aims = taken(films_of, "films", settings.law), taken(targets_of, "targets", settings.clubs)
    return Observed(rolls=rolls, drops=taken(drops_of, "drops"), chips=log, films=films, targets=aims)


def _settings(options: Mapping[str, Any]) -> Settings:
    known = [item.name for item in fields(Settings) if item.name != "ground"]
    wrong = [name for name in options if name not in known]
    if wrong:
        expected = ", ".join([*known, "draws", "seed"])
        raise ValueError(f"fit has no option {' or '.join(map(repr, wrong))}; expected one of: {expected}")
    given: dict[str, Any] = {name: value for name, value in options.items() if value is not None}
    for name in given.keys() & {"clubs", "lies"}:
        require_kind(name, given[name], Mapping, "each by its name, as a dict has them")
        given[name] = MappingProxyType(dict(given[name]))
    return Settings(**given)


def updated(fit: CourseFit, *, rollouts: Any = None, drops: Any = None, chips: Any = None) -> CourseFit:
    """Fit again, with the same laws, priors, clubs and lies, all rows of the sheets that a fit has seen and new ones.

    Parameters
    ----------
    fit : CourseFit
        The fit so far.
    rollouts, drops, chips : sheet, optional
        New rows; ValueError if there are none.

    Examples
    --------
    >>> import golfphys
    >>> from golfphys.physics.green import Green
    >>> from golfphys.invented import CourseTruth, RolloutDesign, make_rollouts
    >>> truth = CourseTruth(greens={"home-left": Green.from_stimp(10.0, grade=0.02)})
    >>> fit = golfphys.fit(make_rollouts(truth, RolloutDesign(repeats=2), 1), draws=400)
    >>> more = make_rollouts(truth, RolloutDesign(repeats=2), 2)
    >>> both = updated(fit, rollouts=more)
    >>> bool(both.estimates["sd"].loc[("home-left", "stimp_ft")] < fit.estimates["sd"].loc[("home-left", "stimp_ft")])
    True
    """
    new = {"rollouts": rollouts, "drops": drops, "chips": chips}
    if all(sheet is None for sheet in new.values()):
        raise ValueError("nothing new to fit; give rollouts, drops or chips")
    sheets: dict[str, Any] = dict(fit.sheets)
    for name, frame in {"rollouts": "rolls", "drops": "drops", "chips": "chips"}.items():
        old = [one.sheets[name] for one in (fit, *fit.around.values()) if one.sheets.get(name) is not None]
        rows = [getattr(sheet, frame) for sheet in old]
        if new[name] is not None:
            last = max((int(part["row"].max()) for part in rows), default=0)
            rows.append(getattr(new[name], frame).assign(row=lambda part, last=last: part["row"] + last))
            old.append(new[name])
        if old:
            sheets[name] = replace(old[0], **{frame: pd.concat(rows, ignore_index=True)})
    # the settings of a fit are arguments of `fit_course`, all but the ground, which it finds in the spots' names
    settings = {name: value for name, value in vars(fit.settings).items() if name != "ground"}
    return fit_course(**sheets, **settings, seed=fit.seed)
