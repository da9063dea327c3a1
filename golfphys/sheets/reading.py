"""Reads a sheet of any kind into its rows in SI units and radians."""

import dataclasses
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, ClassVar, Self, TypeVar

import numpy as np
import pandas as pd

from golfphys.physics.putting_fits import PUTTING_TABLES, MakeTable
from golfphys.sheets.checks import check
from golfphys.sheets.decoding import load_bytes
from golfphys.sheets.dictionary import kind_of
from golfphys.sheets.errors import AnyPath, Findings
from golfphys.sheets.suspects import nearly_same
from golfphys.sheets.table import KNOWN_NAMES, NAMES, ROW, parse_table, same_names


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """A sheet that has been read and checked.

    Every kind has a frame with one line for each row: ``row`` (as a spreadsheet numbers it), every quantity of the data
    dictionary in SI units and radians (NaN, NaT or an empty text where blank), then columns that only this sheet has,
    as text. Headings are clockwise from the reference line, 0 to 2 pi. Notes say what was assumed or kept; `path` is
    where the sheet was read, or what made it.
    """

    kind: ClassVar[str]
    holds: ClassVar[str]

    notes: list[str]
    path: str
    comments: list[str]

    def __init_subclass__(cls, *, kind: str, holds: str) -> None:
        """Name the kind, and the field that holds its rows."""
        cls.kind, cls.holds = kind, holds

    @property
    def frame(self) -> pd.DataFrame:
        """The rows, whatever the kind calls them."""
        found: pd.DataFrame = getattr(self, self.holds)
        return found

    @property
    def reference_line(self) -> str | None:
        """What heading 0 points at, if a comment of the sheet says so (``# reference line: ...``)."""
        return reference_line(self.comments)

    def replaced(self, frame: pd.DataFrame, notes: Iterable[str] = ()) -> Self:
        """Return the same sheet with other rows, and more notes."""
        changed: dict[str, Any] = {self.holds: frame, "notes": list(dict.fromkeys([*self.notes, *notes]))}
        return dataclasses.replace(self, **changed)


def reference_line(comments: Iterable[str]) -> str | None:
    """Return what the comment ``reference line: ...`` says, or None where none does or it was never filled in.

    Examples
    --------
    >>> reference_line(["measured by the demo player", "reference line: along the west edge"])
    'along the west edge'
    """
    for comment in comments:
        head, colon, rest = comment.partition(":")
        if colon and head.strip().lower() == "reference line" and not rest.strip().startswith("("):
            return rest.strip() or None
    return None


@dataclass(frozen=True, kw_only=True)
class RolloutSheet(Sheet, kind="rollouts", holds="rolls"):
    """Rolls: ``spot``, ``heading``, ``release_speed`` (m/s), ``distance`` (m, straight along the ground from release
    to rest), ``side`` (m from the line of the heading, + to the left as seen from the ramp, NaN where not noted).
    """  # noqa: D205

    rolls: pd.DataFrame


@dataclass(frozen=True, kw_only=True)
class FilmSheet(Sheet, kind="films", holds="frames"):
    """Filmed rolls, a line for each frame: ``roll`` (its name), ``spot``, ``heading``, ``kind`` (putt, chip, ramp or
    empty), ``time`` (s), ``distance`` (m along the path).
    """  # noqa: D205

    frames: pd.DataFrame

    @property
    def rolls(self) -> list[str]:
        """Names of the rolls in the order of the sheet."""
        return list(dict.fromkeys(self.frames["roll"]))


@dataclass(frozen=True, kw_only=True)
class DropSheet(Sheet, kind="drops", holds="drops"):
    """Drops: ``spot``, ``drop_height`` (m, NaN where only times are given), ``rebound_height`` (m or NaN),
    ``first_flight`` and ``second_flight`` (s or NaN: from the first touch to the second, the second to the third).
    """  # noqa: D205

    drops: pd.DataFrame


@dataclass(frozen=True, kw_only=True)
class ChipSheet(Sheet, kind="chips", holds="chips"):
    """A chip log: ``player``, ``club``, ``lie``, ``option`` (which delivery), ``lie_slope`` (rad, uphill along the line
    of play), ``spot``, ``heading``, then, in m along the line of play from where the ball lay and NaN where not seen,
    ``target_carry``, ``edge`` (of the green), ``carry``, ``landing_side``, ``first_hop`` (second landing), ``rest``,
    ``side`` (sides + to the left); ``hang_time`` and ``hop_time`` (s: strike to first landing, first to second);
    ``strike`` (clean, thin, heavy or empty).
    """  # noqa: D205

    chips: pd.DataFrame


@dataclass(frozen=True, kw_only=True)
class PuttSheet(Sheet, kind="putts", holds="putts"):
    """Putts: ``player``, ``distance`` (m), ``tries`` and ``made`` (whole numbers), ``spot``."""

    putts: pd.DataFrame


@dataclass(frozen=True, kw_only=True)
class TargetSheet(Sheet, kind="targets", holds="targets"):
    """Balls landed on a target: ``player``, ``club``, ``lie``, ``option``, ``distance`` (m, ball to the middle of the
    target), ``target_size`` (m across), ``tries`` and ``hits`` (whole numbers).
    """  # noqa: D205

    targets: pd.DataFrame


@dataclass(frozen=True, kw_only=True)
class SurveySheet(Sheet, kind="survey", holds="points"):
    """Surveyed heights: ``green``, ``x`` and ``y`` (m along the reference line and to its left), ``height`` (m)."""

    points: pd.DataFrame


@dataclass(frozen=True, kw_only=True)
class WedgeSheet(Sheet, kind="wedges", holds="wedges"):
    """Wedge distances: ``player``, ``club``, ``swing`` (its length in the player's own words), ``carry`` (m)."""

    wedges: pd.DataFrame


# What a sheet of each kind becomes when it is read.
SHEETS: Mapping[str, type[Sheet]] = {
    item.kind: item
    for item in (RolloutSheet, FilmSheet, DropSheet, ChipSheet, PuttSheet, TargetSheet, SurveySheet, WedgeSheet)
}
AnySheet = TypeVar("AnySheet", bound=Sheet)


def read_sheet(path: AnyPath, kind: str, *, accept_suspects: bool = False) -> Sheet:
    r"""Read a sheet of any kind; `read_rollouts` and its like do it for one kind each.

    Parameters
    ----------
    path, kind : path-like, str
        A CSV file on this machine, with columns of the data dictionary (``data/README.md`` tells where it is), and
        ``rollouts``, ``films``, ``drops``, ``chips``, ``putts``, ``targets``, ``survey`` or ``wedges``.
    accept_suspects : bool
        Take values that can be read but are hard to believe, such as distances that look like feet under a heading
        of metres; they are then mentioned in the notes.

    Returns
    -------
    Sheet
        The rows in SI units and radians, in the order of the file.

    Raises
    ------
    SheetError
        If anything is wrong; it lists every problem with row and column.

    Examples
    --------
    >>> import tempfile, pathlib
    >>> path = pathlib.Path(tempfile.mkdtemp()) / "targets.csv"
    >>> _ = path.write_text("club,lie,distance_m,target_size_m,tries,hits\nsand wedge,fairway,8,1.5,10,4\n")
    >>> read_sheet(path, "targets").frame[["tries", "hits"]].values.tolist()
    [[10, 4]]
    """
    return _read(path, SHEETS[kind_of(kind).name], accept_suspects)


def _read(path: AnyPath, sheet: type[AnySheet], accept_suspects: bool) -> AnySheet:
    findings = Findings(str(path), accept_suspects)
    table = parse_table(load_bytes(path, findings), kind_of(sheet.kind), findings)
    if all(item.row != table.raw.header_row for item in findings.problems):  # else a column that is needed is not there
        check(table)
    findings.raise_if_any()
    own = [name for name in table.frame.columns if name not in (ROW, *table.kind.quantities)]
    known = [name for name in table.kind.quantities if name != "ramp_run"]
    rows = {sheet.holds: table.frame[[ROW, *known, *own]]}
    return sheet(notes=findings.notes, path=str(path), comments=list(table.raw.comments), **rows)


_DOCUMENTED = """Read a sheet of {kind} into a `{sheet}`, whose ``{holds}`` are its rows.

Parameters
----------
path, accept_suspects
    As for `read_sheet`.

Examples
--------
>>> import tempfile, pathlib
>>> path = pathlib.Path(tempfile.mkdtemp()) / "{kind}.csv"
>>> _ = path.write_text("{head}" + chr(10) + "{row}")
>>> len(read_{kind}(path).{holds})
1
"""


def _reader(sheet: type[AnySheet], head: str, row: str) -> Callable[..., AnySheet]:
    """Make the reader of one kind; `head` and `row` are the sheet of its example."""

    def read(path: AnyPath, *, accept_suspects: bool = False) -> AnySheet:
        return _read(path, sheet, accept_suspects)

    read.__name__ = read.__qualname__ = f"read_{sheet.kind}"
    read.__doc__ = _DOCUMENTED.format(kind=sheet.kind, sheet=sheet.__name__, holds=sheet.holds, head=head, row=row)
    return read


read_rollouts = _reader(RolloutSheet, "spot,heading_deg,ramp_run_in,distance_ft", "ninth-front,90,30,10.0\\n")
read_films = _reader(FilmSheet, "roll,time_s,distance_m", "first,0,0\\n")
read_drops = _reader(DropSheet, "spot,drop_height_cm,rebound_height_cm", "home-left,150,31\\n")
read_chips = _reader(ChipSheet, "club,lie,carry_m,rest_m", "sand wedge,fairway,6.3,11.2\\n")
read_putts = _reader(PuttSheet, "distance_ft,tries,made", "10,20,9\\n")
read_targets = _reader(TargetSheet, "club,lie,distance_m,target_size_m,tries,hits", "sand wedge,fairway,8,1.5,10,4\\n")
read_survey = _reader(SurveySheet, "x_m,y_m,height_m", "0,1.5,0.02\\n")
read_wedges = _reader(WedgeSheet, "club,swing,carry_yd", "gap wedge,half,50\\n")


def read_make_table(table: AnyPath) -> MakeTable:
    """Read a table of putts tried and holed.

    Parameters
    ----------
    table : str or path-like
        Path of a sheet of putts, or the name of a published table that comes with golfphys: ``berry_1996`` or
        ``broadie_2016_2018``.

    Examples
    --------
    >>> int(read_make_table("berry_1996").tries.sum())
    5988
    """
    published = {file.stem: file for file in PUTTING_TABLES.glob("*.csv")}
    putts = read_putts(published.get(str(table), table)).putts
    columns = {name: putts[name].to_numpy(dtype=np.float64) for name in ("distance", "tries", "made")}
    return MakeTable(name=Path(table).stem, **columns)


def completed(frame: pd.DataFrame, kind: str) -> pd.DataFrame:
    """Return a frame with every quantity of a kind of sheet, in order, blank where it has none."""
    sheet = kind_of(kind)
    names = [name for name in sheet.quantities if name != "ramp_run"]
    made = frame.copy()
    for name in names:
        form = sheet.columns_of(name)[0].type
        if name not in frame:
            made[name] = pd.NaT if form.startswith("date") else "" if form == "string" else np.nan
        if form.startswith("date"):
            made[name] = made[name].astype("datetime64[us]")
    if "date" not in frame and "measured_at" in frame:
        made["date"] = made["measured_at"].dt.normalize()
    return made[[ROW, *names]]


def joined(sheets: Iterable[AnySheet]) -> AnySheet:
    """Return sheets of one kind as one; ``sheet`` tells the file of each row where there are several."""
    first, *others = found = list(sheets)
    if not others:
        return first
    frames = [item.frame.assign(sheet=Path(item.path).name) for item in found]
    notes = [f"{Path(item.path).name}: {note}" for item in found for note in item.notes]
    lines = {item.reference_line for item in found} - {None}
    if len(lines) > 1 and "heading" in frames[0]:
        notes.append(f"The sheets name different reference lines: {', '.join(sorted(map(repr, lines)))}.")
    comments = list(dict.fromkeys(comment for item in found for comment in item.comments))
    bare = dataclasses.replace(first, notes=[], comments=comments)
    return bare.replaced(pd.concat(frames, ignore_index=True), notes)


def with_same_names(sheets: Mapping[str, AnySheet]) -> tuple[dict[str, AnySheet], list[str]]:
    """Give names that look the same in several sheets one spelling."""
    notes: list[str] = []
    for quantity in sorted(NAMES):
        frames = {key: sheet.frame for key, sheet in sheets.items() if quantity in sheet.frame}
        if not frames:
            continue
        written = np.concatenate([frame[quantity].to_numpy(dtype=object) for frame in frames.values()])
        same, found = same_names(written, KNOWN_NAMES.get(quantity, ()))
        sizes = np.cumsum([len(frame) for frame in frames.values()])[:-1]
        for (key, frame), names in zip(frames.items(), np.split(same, sizes), strict=True):
            if (frame[quantity].to_numpy(dtype=object) != names).any():
                said = [f"Column {quantity}: {note}" for note in found]
                sheets = {**sheets, key: sheets[key].replaced(frame.assign(**{quantity: names}), said)}
        if quantity == "spot":
            found += nearly_same([sheet.frame["spot"] for sheet in sheets.values() if "spot" in sheet.frame])
        notes += [f"Column {quantity}: {note}" for note in found]
    return dict(sheets), notes
