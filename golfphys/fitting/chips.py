"""A chip log as arrays for a fit: what was seen of each chip, and what had to be left out, in words."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.core.names import Array, Columns
from golfphys.physics.club import OPTIONS, Club
from golfphys.sheets import Sheet, around
from golfphys.sheets.errors import files_of, placed, rows_of

# What can be seen of a chip, in the order in which a fit takes it
SEEN = ("carry", "hang_time", "first_hop", "rest", "landing_side", "side", "hop_time")
CARRY, HANG, HOP, REST, LANDING_SIDE, SIDE, HOP_TIME = range(7)
UNNAMED = "unnamed spot"  # spot of the chips that name none
UNNOTED = "lie not noted"  # lie of the chips that name none
STRUCK = {"clean": 0, "heavy": 1, "thin": 2}  # what can be noted of a strike, as a `golfphys.physics.strike.Contact`
# Chips of one log that are fitted at once (judged): they tell her errors to some 2 %, which is less than the laws of
# a fit miss, and with twice as many weighted draws failed
MOST = 1000


@dataclass(frozen=True, kw_only=True)
class Chips:
    """The chips of a log that can be used; NaN is what was not noted."""

    at: Columns  # line of its frame
    row: Columns  # in the sheet
    file: NDArray[np.str_]  # whose row it is, where the log is of several files; else empty
    # Positions of each chip's club, lie, spot and option among the names, which are in the order of the sheet.
    club: Columns
    lie: Columns
    spot: Columns
    option: Columns
    clubs: tuple[str, ...]
    lies: tuple[str, ...]
    spots: tuple[str, ...]
    options: tuple[str, ...]
    heading: Array  # line of play, rad, anticlockwise from the reference line
    target: Array  # carry aimed for, m
    landing: Array  # carry seen, or where that is missing the one aimed for, m; `landing_seen` says which
    landing_seen: NDArray[np.bool_]
    values: Array  # what was seen, (N, 7), in the order of `SEEN`
    struck: Columns  # how the strike was noted, a `golfphys.physics.strike.Contact`, or -1
    notes: tuple[str, ...] = ()  # what was left out or assumed, in plain words
    left_out: tuple[str, ...] = ()  # of these the sentences on rows that a fit cannot use

    @property
    def seen(self) -> NDArray[np.bool_]:
        """Where something was seen, shape (N, 7)."""
        return np.isfinite(self.values)

    def named(self, which: Any = slice(None)) -> dict[str, list[str]]:
        """Club, lie and spot, by name, of each chip or of some of them."""
        parts = {"club": (self.clubs, self.club), "lie": (self.lies, self.lie), "spot": (self.spots, self.spot)}
        return {name: [names[i] for i in place[which]] for name, (names, place) in parts.items()}

    def __len__(self) -> int:
        """Return the number of chips."""
        return len(self.row)


def chips_of(log: Any, clubs: Mapping[str, Club], only_spot: str | None = None) -> Chips:
    """Take the chips out of a log that a fit can use; ValueError, which says why, if there is none.

    `only_spot` is the spot of the chips that name none, where there is only one that they can mean.

    Examples
    --------
    >>> from golfphys.physics.club import BAG
    >>> frame = pd.DataFrame({"row": [2], "club": ["sand wedge"], "lie": ["tight"], "carry": [6.3], "rest": [11.2]})
    >>> chips_of(Sheet(kind="chips", frame=frame), BAG).landing.tolist()
    [6.3]
    """
    notes: list[str] = []
    frame = _usable(log.frame.reset_index(drop=True).assign(at=np.arange(len(log.frame))), clubs, notes)
    left_out = tuple(f"{note.partition('. ')[0].removesuffix('.')}." for note in notes)
    frame = _at_most(frame, notes)
    if len(frame) == 0:
        raise ValueError(f"the chip log has no chip that can be used. {' '.join(notes)}")
    values = np.stack([numbers_of(frame, name) for name in SEEN], axis=1)
    target, carry = numbers_of(frame, "target_carry"), values[:, CARRY].copy()
    landing = np.where(np.isfinite(carry), carry, target)
    short = landing < numbers_of(frame, "edge")
    if short.any():
        values[np.outer(short, np.isin(range(len(SEEN)), (HOP, REST, SIDE, HOP_TIME)))] = np.nan
        where = f"Landed short of the green: {_rows(frame, short)}."
        notes.append(f"{where} Where the ball went from there is the fringe's doing and is not used.")
    values[~(values[:, HOP] > landing), HOP] = np.nan  # no hop goes backwards
    # without an aim a carry is no error: it only says where the rest belongs
    values[~np.isfinite(target), CARRY] = np.nan
    found: dict[str, Any] = {}
    for kind, names in _named(frame, only_spot, notes).items():
        found[f"{kind}s"] = tuple(dict.fromkeys(names))
        found[kind] = np.array([found[f"{kind}s"].index(name) for name in names], dtype=np.int64)
    return Chips(
        **found,
        at=frame["at"].to_numpy(dtype=np.int64),
        row=rows_of(frame),
        file=files_of(frame),
        heading=-numbers_of(frame, "heading"),
        target=target,
        landing=landing,
        landing_seen=np.isfinite(carry),
        values=values,
        struck=np.array([STRUCK.get(text.lower(), -1) for text in _texts(frame, "strike")], dtype=np.int64),
        notes=tuple(notes),
        left_out=left_out,
    )


def _usable(frame: pd.DataFrame, clubs: Mapping[str, Club], notes: list[str]) -> pd.DataFrame:
    """Return the rows that a fit can use, options under their full names; say of all others why it cannot."""
    out = ~frame["club"].astype(str).isin(list(clubs)).to_numpy()
    if out.any():
        notes.append(
            f"No loft is known for {_quoted(frame.loc[out, 'club'])}: chips in {_rows(frame, out)} are left out. Call "
            f"a wedge by its loft (52-degree wedge), use a name that is known ({', '.join(clubs)}), or give the fit "
            "such a club (golfphys.Club)."
        )
    frame = frame[~out].reset_index(drop=True)
    noted = _texts(frame, "option")
    frame = frame.assign(option=noted.map(_option))
    out = (frame["option"] == "").to_numpy()
    if out.any():
        known = ", ".join(name for name, option in OPTIONS.items() if not option.putts)
        where = f"{_quoted(noted[out])}: chips in {_rows(frame, out)} are left out"
        notes.append(f"No option is known by the name {where}. Use one of {known}.")
    frame = frame[~out].reset_index(drop=True)
    out = ~(np.isfinite(numbers_of(frame, "carry")) | np.isfinite(numbers_of(frame, "target_carry")))
    if out.any():
        notes.append(
            f"Neither where the ball landed nor where it was meant to land is noted in {_rows(frame, out)}: where it "
            "came to rest then says nothing, and the row is left out."
        )
    return frame[~out].reset_index(drop=True)


def _option(noted: str) -> str:
    """Return the full name of an option by its first words; blank is her usual delivery, "" none that is known."""
    text = noted.casefold() or "usual"
    return next((name for name, item in OPTIONS.items() if not item.putts and f"{name} ".startswith(f"{text} ")), "")


def _at_most(frame: pd.DataFrame, notes: list[str]) -> pd.DataFrame:
    """Leave out of a log that is too long as many in each kind of chip, evenly from first to last."""
    if len(frame) <= MOST:
        return frame
    share = MOST / len(frame)
    kinds = [name for name in ("club", "lie", "option") if name in frame]
    place = frame.groupby(kinds, dropna=False, sort=False).cumcount()
    kept = frame[np.ceil((place + 1) * share) > np.ceil(place * share)].reset_index(drop=True)
    notes.append(
        f"Of {len(frame)} chips {len(kept)} are fitted, evenly out of every club and lie: more would take long and "
        "teach little. Where they are of several days, give the days one after the other as her past: then all count."
    )
    return kept


def _named(frame: pd.DataFrame, only_spot: str | None, notes: list[str]) -> dict[str, pd.Series]:
    """Return club, lie, spot and option of each chip; say what was not noted, and what is not used."""
    spots, lies = _texts(frame, "spot"), _texts(frame, "lie")
    beside = spots.map(around).notna()
    if beside.any():
        green = only_spot or UNNAMED
        notes.append(
            f"The spot in {_rows(frame, beside)} is ground around the green: taken as played to {green}. Name as the "
            "spot the green that a ball was played to, and as the lie where it lay."
        )
        spots = spots.mask(beside, green)
    blank = spots == ""
    if blank.any():
        taken = only_spot or (UNNAMED if blank.all() else str(spots[~blank].iloc[0]))
        spots = spots.mask(blank, taken)
        if only_spot is not None or not blank.all():
            notes.append(f"No spot is noted in {_rows(frame, blank)}: taken as {taken}.")
    unknown = "how the green slopes along that line is not known, so those chips count for less"
    headings: tuple[Any, str] = ~np.isfinite(numbers_of(frame, "heading")), unknown
    unnoted: tuple[Any, str] = lies == "", "taken as one of which nothing is known"
    for what, (missing, effect) in {"heading": headings, "lie": unnoted}.items():
        if missing.any():
            notes.append(f"No {what} is noted for {'any chip' if missing.all() else _rows(frame, missing)}: {effect}.")
    sloping = np.nan_to_num(numbers_of(frame, "lie_slope")) != 0.0
    if sloping.any():
        notes.append(
            f"A slope under the ball is noted in {_rows(frame, sloping)}: the fit takes the lie as level, so what the "
            "slope did counts as her delivery and her errors."
        )
    club = frame["club"].astype(str)
    return {"club": club, "lie": lies.mask(lies == "", UNNOTED), "spot": spots, "option": frame["option"]}


def numbers_of(frame: pd.DataFrame, name: str) -> Array:
    """Return a column of a sheet, NaN where there is none."""
    return frame[name].to_numpy(dtype=float).copy() if name in frame else np.full(len(frame), np.nan)


def _rows(frame: pd.DataFrame, which: Any) -> str:
    mask = np.asarray(which)
    return placed(rows_of(frame)[mask], files_of(frame)[mask])


def _quoted(names: pd.Series) -> str:
    return ", ".join(repr(name) for name in dict.fromkeys(names.astype(str)))


def _texts(frame: pd.DataFrame, name: str) -> pd.Series:
    return frame.get(name, pd.Series("", index=frame.index)).fillna("").astype(str).str.strip()


@dataclass(frozen=True, kw_only=True)
class Targets:
    """Sets of balls played at a target."""

    aims: Chips  # a chip for each set, of which only club, lie and aim are known
    size: Array  # of the target, across, m
    tries: Array
    hits: Array


def targets_of(sheet: Any, clubs: Mapping[str, Club]) -> Targets:
    """Take the sets of a sheet of targets whose clubs are known; ValueError if there is none.

    Examples
    --------
    >>> import pandas as pd
    >>> from golfphys.physics.club import BAG
    >>> row = {"club": ["sand wedge"], "lie": "tight", "distance": 8.0, "target_size": 1.5, "tries": 10, "hits": 4}
    >>> targets_of(Sheet(kind="targets", frame=pd.DataFrame(row)), BAG).aims.target.tolist()
    [8.0]
    """
    frame = sheet.frame
    if not frame["club"].isin(list(clubs)).any():
        raise ValueError(f"no set of target hits names a known club; expected one of: {', '.join(clubs)}")
    if (more := frame["hits"] > frame["tries"]).any():
        raise ValueError(f"{_rows(frame, more)} of the sheet of targets has more hits than tries; check both")
    aims = chips_of(Sheet(kind="chips", frame=frame.assign(target_carry=frame["distance"])), clubs)
    size, tries, hits = (frame[name].to_numpy(dtype=float)[aims.at] for name in ("target_size", "tries", "hits"))
    notes = tuple(note.replace("chips in", "target hits in") for note in aims.left_out)
    return Targets(aims=replace(aims, notes=notes), size=size, tries=tries, hits=hits)
