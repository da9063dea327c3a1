"""What the sheets of a course do not inform, and what looks wrong in them, in plain words."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.core.names import Array
from golfphys.fitting.chip_density import MisHitTolerant
from golfphys.fitting.chips import HANG, HOP, HOP_TIME, STRUCK, Chips
from golfphys.fitting.course_model import Fitted
from golfphys.fitting.player import carry_habit
from golfphys.fitting.results import moments
from golfphys.fitting.rollout_cautions import OUTLIER, counted
from golfphys.fitting.turf import GRAVITY
from golfphys.sheets.errors import at_head

# Standard errors from which a pattern in the residuals counts as seen; about a dozen patterns are looked for
PATTERN = 3.3
# Prior standard deviations from which an unknown counts as stretched, and a scatter as too large
PULLED, EXCESS = 2.3, 1.9
UNEVEN = 0.12  # scatter of the rebound's speed beyond which drops are taken to be at odds; three times what is expected
FEWEST = 6  # residuals without which no trend is looked for
FAR = 2.0  # standard deviations from which a parameter is named among those that a visit has moved
# Odds of a mis-hit over whatever else may befall a chip from which it is asked about, and the logarithm of the odds of
# thin over heavy from which one of the two is
PLAUSIBLE, CLEARLY = 0.1, 1.5
FEW_TIMES, FEW_HOPS, FEW_EACH = 6, 4, 5

PREFERRED = "fit.comparison says which law of the bounce the sheets prefer"
LINEAR = (
    "This fit, and every plan from it, takes the linear law of the bounce, whose numbers cannot be compared with "
    "published ones; fit.comparison shows how well both laws predict these sheets."
)


def undecided(law: str, share: float) -> str:
    """Say that what is to come is drawn from both laws of the bounce, the other in a share of the draws."""
    other = "rigid" if law == "linear" else "linear"
    return (
        "The sheets leave open which law of the bounce holds here: plans and predictions take both, the "
        f"{other} one in {100 * share:.0f} % of the draws. Estimates, and the fitted turf, are by the {law} one."
    )


def cautions(fit: Fitted, residuals: pd.DataFrame, beneath: Sequence[str]) -> list[str]:
    """Return every caution that a course fit deserves, beside those of its rolls or films, `beneath`."""
    seen, found = fit.seen, [*_trust(fit), *beneath, *_drops(fit), *_changed(fit)]
    if seen.chips is not None and (seen.rolls is None or not seen.rolls.row.size):
        alone = "No rolls were measured: green speed and slope come from the chips alone."
        found.insert(0, f"{alone} A dozen rolls at each spot, up, down and across, would inform far more.")
    if seen.chips is not None and fit.settings.turf_law == "linear":
        found.append(LINEAR)
    if seen.targets is not None:
        found += seen.targets.aims.notes
    if seen.chips is not None:
        found += [*seen.chips.notes, *_odd_chips(fit, seen.chips, residuals)]
        found += _few(fit, seen.chips)
    return [*found, *patterns(fit, residuals)]


def standing(fit: Fitted) -> list[str]:
    """Return what is so of nearly every log of chips, and therefore comes last."""
    lies = () if fit.seen.chips is None else fit.seen.chips.lies
    if not (vague := [lie for lie in lies if not fit.posterior.narrowed("face_friction", lie)]):
        return []
    grips = f"Usually: how the face grips the ball from the {' and the '.join(vague)} is taken from what such lies do,"
    return [f"{grips} not from these chips. Go by where balls are predicted to stop, which may be well known."]


def several(sheets: Mapping[str, Any], gap: float | None) -> list[str]:
    """Say so where logs are of more than one player, or chips of days, or sessions, that their greens are not of."""
    found = [*_other_days(sheets.get("rollouts"), sheets.get("chips")), *_other_sessions(sheets, gap)]
    if len(names := players_in(sheets)) > 1:
        named = f"The sheets name {len(names)} players ({', '.join(names)}), who were fitted as one"
        found.append(f"{named}: fit each by herself, golfphys.fit(course.of({names[0]!r})).")
    return found


def players_in(sheets: Mapping[str, Any]) -> tuple[str, ...]:
    """Return the players whom logs name, in order of the alphabet."""
    frames = [sheets[kind].frame for kind in ("chips", "targets") if sheets.get(kind) is not None]
    named = {str(name) for frame in frames if "player" in frame for name in frame["player"].dropna()}
    return tuple(sorted(named - {""}))


def _other_days(rolls: Any, chips: Any) -> Iterator[str]:
    """Name the days of chips whose greens were rolled on other days alone."""
    if rolls is None or chips is None or not all({"date", "spot"} <= set(sheet.frame) for sheet in (rolls, chips)):
        return
    rolled, played = (sheet.frame[["spot", "date"]].dropna() for sheet in (rolls, chips))
    other = played[played["spot"].isin(rolled["spot"])].merge(rolled.drop_duplicates(), how="left", indicator=True)
    if days := sorted(other.loc[other["_merge"] == "left_only", "date"].unique()):
        when = ", ".join(str(pd.Timestamp(day).date()) for day in days)
        yield (
            f"Chips of {when} were played on greens that were rolled on other days, and are taken to have been alike: "
            "greens change by ten per cent and more from day to day. Roll a few balls whenever she chips."
        )


def _other_sessions(sheets: Mapping[str, Any], gap: float | None) -> Iterator[str]:
    """Tell of chips of sessions before the last one, on whose green all chips are fitted."""
    both = [sheets.get(kind) for kind in ("rollouts", "chips")]
    if gap is None or not all(sheet is not None and "measured_at" in sheet.frame for sheet in both):
        return
    rolled, played = (sheet.frame["measured_at"].dropna().sort_values() for sheet in both if sheet is not None)
    starts = rolled[rolled.diff() > pd.Timedelta(hours=gap)]
    before = 0 if starts.empty else int((played < starts.iloc[-1] - pd.Timedelta(hours=gap)).sum())
    if before:
        yield (
            f"{counted(before, 'chip').capitalize()} were played before the last session of rolls, and are fitted on "
            "its green: what the green has changed by since is laid to turf and player. Give what was measured earlier "
            "as a visit of its own (past=)."
        )


def _changed(fit: Fitted) -> Iterator[str]:
    """Say which parameters of hers are not what her earlier weeks say."""
    scores = {key: abs(change.score) for key, change in fit.settings.past.changes.items()}
    keys = sorted((key for key, score in scores.items() if score > FAR), key=lambda key: -scores[key])
    if keys:
        words = [" with the ".join(part for part in key if part).replace("_", " ") for key in keys]
        said = f"She is not as her earlier weeks say ({', '.join(words)}): a new club, a lesson, an injury?"
        yield f"{said} Of these her past counts for little."


def _drops(fit: Fitted) -> Iterator[str]:
    drops = fit.seen.drops
    if drops is None:
        return
    height = drops.height[np.isfinite(drops.height)]
    speeds = np.sqrt(2 * GRAVITY * height)
    if speeds.size and speeds.max() < 4.8:
        yield (
            f"The highest drop landed with {speeds.max():.1f} m/s; chips land with 4 to 9 m/s, and turf gives back "
            "less of a faster landing. Drop from 1.5 m and more as well."
        )
    if drops.row.size < 4:
        yield f"Only {counted(drops.row.size, 'drop')}: turf differs from place to place, so take eight or more."
    dead = (drops.rebound == 0.0) | (drops.first == 0.0)
    if dead.any():
        yield f"{at_head(drops, dead)}: the ball did not come back at all. Check the entry."
    if height.size > 3 and np.ptp(height) < 0.1 * height.max():
        yield "All drops are from one height: how restitution falls with speed is what such turf usually does."
    residual, scale = fit.posterior.model.block("drops").evaluate(fit.centre[None])
    odd = np.unique(drops.behind[np.abs(residual / scale)[0] > OUTLIER])
    if odd.size:
        are, counts = ("is", "entry; it counts") if odd.size == 1 else ("are", "entries; they count")
        yield f"{at_head(drops, odd, ' of the drops')} {are} far from the others: check the {counts} for little."
    uneven = float(moments(fit.posterior.column("drop_scatter"), fit.posterior.weights)[0])
    if uneven > UNEVEN:
        yield (
            f"Drops differ by {100 * uneven:.0f} % of the speed of the rebound, more than turf does from place to "
            "place: look for an outlier among them, or for feet among metres."
        )


def _odd_chips(fit: Fitted, chips: Chips, residuals: pd.DataFrame) -> Iterator[str]:
    """Ask about chips that do not fit with the others: how they were struck, or else whether the entry is right."""
    words, unnoted = _kinds_of_strike(fit, chips), chips.struck <= 0
    odd, missed = np.zeros(len(chips), dtype=bool), fit.mis_hits.to_numpy()
    odd[chips.seen.any(axis=1)] = missed > 0.5
    odd &= unnoted | (words == "")
    for word in dict.fromkeys(words[odd].tolist()):
        mine = odd & (words == word)
        one, some = mine.sum() == 1, at_head(chips, mine, " of the chips")
        asked = f"looks like a {word} strike. Was it?" if one else f"look like {word} strikes. Were they?"
        advice = "Then write so in the column strike; if not, check the distances."
        if not word:
            asked = f"{'fits' if one else 'fit'} neither with the others nor with a thin or heavy strike:"
            advice = "check the distances, club and lie."
        yield f"{some} {asked} {advice} {'It counts' if one else 'They count'} for little."
    if odd.sum() > 0.2 * len(missed) and odd.sum() > 2:
        yield (
            "So many chips do not fit with the rest that clubs, units or headings may be mixed up: check the log "
            "before using the fit."
        )
    chip = np.nonzero(chips.seen)[0]
    far = residuals["standardised"].abs().to_numpy() > OUTLIER
    for at in np.flatnonzero(far & (unnoted & ~odd)[chip])[:6].tolist():
        line, word = residuals.iloc[at], words[chip[at]]
        what, unit = line["what"].replace("_", " "), "s" if "time" in line["what"] else "m"
        asked = f"Was it {word}? Then write so in the column strike; if not, check the entry." if word else "Check it."
        where = at_head(chips, chip[at : at + 1], " of the chips")
        yield (
            f"{where}: the {what} of {line['seen']:.2f} {unit} is far from the "
            f"{line['expected']:.2f} {unit} expected. {asked} It counts for little."
        )


def _kinds_of_strike(fit: Fitted, chips: Chips) -> NDArray[np.str_]:
    """Return in a word the mis-hit that may explain each chip, empty for none."""
    block, model, seen = fit.posterior.model.blocks[-1], fit.course.chip_model, chips.seen.any(axis=1)
    assert isinstance(block.loss, MisHitTolerant)
    assert model is not None
    residual, scale = block.evaluate(fit.centre)
    _, missed, other = block.loss.kinds(residual / scale)
    heavy, thin = (
        replace(model, chips=replace(chips, struck=np.full(len(chips), kind))).compare(fit.centre[None])[3][0]
        for kind in (STRUCK["heavy"], STRUCK["thin"])
    )
    words = np.where(np.abs(thin - heavy) < CLEARLY, "thin or heavy", np.where(thin > heavy, "thin", "heavy"))
    plausible = np.zeros(len(chips), dtype=bool)
    plausible[seen] = missed - other > math.log(PLAUSIBLE)
    return np.where(plausible, words, "")


def _few(fit: Fitted, chips: Chips) -> Iterator[str]:
    if len(chips) < 15:
        yield f"Only {counted(len(chips), 'chip')}: how this player scatters is still mostly assumption."
    if len(chips.clubs) == 1:
        yield (
            f"Only the {chips.clubs[0]} was hit: what the delivery does and what the club does are not separable. "
            "A second club, far from it in loft, would separate them."
        )
    rare = [name for i, name in enumerate(chips.clubs) if (chips.club == i).sum() < FEW_EACH]
    if rare and len(chips.clubs) > 1:
        yield f"Fewer than {FEW_EACH} chips with {', '.join(rare)}: their scatter leans on that of all clubs."
    if not np.isfinite(chips.target).any():
        yield "No chip says where it was meant to land: scatter of the landing is assumption. Note the target."
    times, hops = int(chips.seen[:, HANG].sum()), int(chips.seen[:, [HOP, HOP_TIME]].any(axis=1).sum())
    if times < FEW_TIMES:
        yield (
            f"{counted(times, 'chip').capitalize()} timed: friction on the face, launch and spin trade off against "
            "each other, and hang times separate them. Time ten chips with a phone's video or sound."
        )
    if hops < FEW_HOPS and not fit.posterior.narrowed("turf", "friction"):
        seen = counted(hops, "first hop").capitalize()
        yield f"{seen} seen: how the turf grips a landing is known from the run-out alone."
    mean, sd = moments(carry_habit(fit.posterior, chips.lies, chips.clubs), fit.posterior.weights)
    if abs(mean) >= max(2 * sd, 0.02):
        way = "long" if mean > 0 else "short"
        yield f"Chips land {100 * abs(mean):.0f} % {way} of the aim on average: that is a habit, not scatter."
    for name, each, way in (("lie_carry", chips.lies, "From"), ("club_carry", chips.clubs, "With the")):
        for of in each if len(each) > 1 else ():
            others = [fit.posterior.column(name, other) for other in each if other != of]
            mean, sd = moments(fit.posterior.column(name, of) - np.mean(others, axis=0), fit.posterior.weights)
            # of two, what one is shorter the other is longer
            if abs(mean) >= max(2 * sd, 0.02) and (mean < 0 or len(each) > 2):
                less = "shorter of" if mean < 0 else "farther over"
                yield f"{way} {of} chips land {100 * abs(mean):.0f} % {less} the aim than others: a habit."


def patterns(fit: Fitted, residuals: pd.DataFrame) -> list[str]:
    """Return what the residuals and the unknowns say against the model itself: what a right one would not leave."""
    return [*_drop_pattern(fit), *_chip_patterns(residuals), *_stretched(fit)]


def _drop_pattern(fit: Fitted) -> Iterator[str]:
    drops = fit.seen.drops
    if drops is None or fit.settings.turf_law != "linear":
        return
    residual, scale = fit.posterior.model.block("drops").evaluate(fit.centre)
    seen, timed, _ = drops.kinds
    heights = np.concatenate([drops.height[seen], drops.height[timed]])
    if _trend(np.log(heights), (residual / scale)[: heights.size]) <= -2.5:
        law = "use turf_law='rigid', which lets it fall with speed"
        yield f"Higher drops give back less than one restitution says: {law}."


def _trend(x: Array, u: Array) -> float:
    """Return the slope of standardised residuals over a quantity, over its standard error; 0 for few."""
    if x.size < FEWEST:
        return 0.0
    centred = x - x.mean()
    total = float(np.sum(centred**2))
    return float(np.sum(centred * u)) / math.sqrt(total) if total > 1e-12 else 0.0


_WORDS = {
    "rest": ("come to rest farther", "come to rest shorter"),
    "hang_time": ("hang longer", "hang shorter"),
    "first_hop": ("hop farther", "hop shorter"),
    "hop_time": ("hop longer", "hop shorter in time"),
}


def _chip_patterns(table: pd.DataFrame) -> Iterator[str]:
    usual = table[(table["mis_hit"] < 0.3) & (table["standardised"].abs() < OUTLIER)]
    for what, (longer, shorter) in _WORDS.items():
        lines = usual[usual["what"] == what]
        score = _trend(*(lines[name].to_numpy(dtype=float) for name in ("landing", "standardised")))
        if abs(score) > PATTERN:
            yield (
                f"Long chips {longer if score > 0 else shorter} than the model says, short ones the other way: a "
                "law of the model does not hold here as it stands."
            )
        for group, at in (("club", "with the"), ("spot", "at")):
            for name, part in lines.groupby(group):
                u = part["standardised"].to_numpy(dtype=float)
                score = float(u.sum()) / math.sqrt(max(u.size, 1))
                if u.size >= 3 and abs(score) > PATTERN:
                    yield f"Chips {at} {name} {longer if score > 0 else shorter} than the model says, all in all."


STRETCHED = (
    f"To fit, {{}} has to be {{:.3g}}, where {{:.3g}} is usual: either this course is unusual, or a law of the model "
    f"does not hold ({PREFERRED})."
)
SCATTERED = (
    "The {} seems to scatter by {:.3g}, where {:.3g} is usual: that much scatter can be a law of the model that does "
    f"not hold here ({PREFERRED})."
)
EXCESSIVE = {
    "local_slope": "slope at single landings, all that scatters the run-out counted in,",
    "shaft_lean_error": "lean of the shaft",
    "time_reading": "hang time",
}


def _stretched(fit: Fitted) -> Iterator[str]:
    """Name the unknowns of the physics that data pull to where nobody has seen them, and scatter as no player has."""
    source, chipped = fit.posterior, ("attack", "shaft_lean", "drag_scale", "lift_scale", "loft_error", *EXCESSIVE)
    names = ("turf", *(chipped if fit.seen.chips is not None else ()))
    for index in (index for name in names for index in source.model.names.columns(name)):
        one = source.model.parameters[index]
        mean = moments(source.transformed[:, index], source.weights)[0]
        off, found = (mean - one.centre) / one.spread, (one.natural(mean), one.location)
        if one.name in EXCESSIVE and off > EXCESS:
            yield SCATTERED.format(EXCESSIVE[one.name], *found)
        elif one.name not in EXCESSIVE and abs(off) > PULLED:
            yield STRETCHED.format(one.key.words, *found)


def _trust(fit: Fitted) -> Iterator[str]:
    if fit.posterior.failure:
        yield fit.posterior.failure
    elif not fit.posterior.converged:
        yield "The search for the best fit did not settle: take the intervals with care, and try fit.sampled()."
