"""A folder of sheets for one's own course, laid out like the demonstration course."""

import os
import shutil
import uuid
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from golfphys.sheets.chips import ChipSheet, read_chips
from golfphys.sheets.dictionary import kinds
from golfphys.sheets.drops import DropSheet, read_drops
from golfphys.sheets.errors import Findings, Problem, SheetError
from golfphys.sheets.putts import PuttSheet, read_putts
from golfphys.sheets.rollouts import RolloutSheet, read_rollouts
from golfphys.sheets.sheet import Sheet
from golfphys.sheets.templates import Units, template_text
from golfphys.sheets.traces import TraceSheet, read_traces

AnySheet = TypeVar("AnySheet", bound=Sheet)

READ_ME = "READ ME.txt"


@dataclass(frozen=True, kw_only=True)
class Course:
    """The sheets of one course.

    Parameters
    ----------
    folder : pathlib.Path
        Where they are.
    rollouts, traces, drops, chips, putts : sheet or None
        Each sheet, None where there is none or it has no rows yet.
    notes : list of str
        Which sheets are missing or unfilled.
    """

    folder: Path
    rollouts: RolloutSheet | None
    traces: TraceSheet | None
    drops: DropSheet | None
    chips: ChipSheet | None
    putts: PuttSheet | None
    notes: list[str]


def make_course_folder(
    path: str | os.PathLike[str], *, units: Units = "metres", reference_line: str | None = None
) -> Path:
    """Make a folder with a blank sheet of every kind for a course of one's own.

    Parameters
    ----------
    path : path-like
        The folder to make; those above it are made as well where they are missing.
    units : {"metres", "feet"}
        Units of the lengths.
    reference_line : str, optional
        What heading 0 points at, written into every sheet that has headings.

    Returns
    -------
    pathlib.Path
        The new folder: ``rollouts.csv``, ``traces.csv``, ``drops.csv``, ``chips.csv``, ``putts.csv`` and a text that
        says what goes where.

    Raises
    ------
    SheetError
        If there is something of that name already, or it cannot be made; nothing is changed then.
    ValueError
        If `units` is neither of the two.

    Examples
    --------
    >>> import tempfile
    >>> folder = make_course_folder(Path(tempfile.mkdtemp()) / "my course", units="feet")
    >>> sorted(file.name for file in folder.glob("*.csv"))
    ['chips.csv', 'drops.csv', 'putts.csv', 'rollouts.csv', 'traces.csv']
    """
    folder = Path(path)
    texts = {f"{kind}.csv": template_text(kind, units, reference_line=reference_line) for kind in kinds()}
    texts[READ_ME] = _read_me()
    findings = Findings(str(path))
    aside = folder.with_name(f".{folder.name}.{uuid.uuid4().hex[:8]}.part")
    try:
        if os.path.lexists(folder):
            raise FileExistsError(None, "there is something of this name already")
        aside.mkdir(parents=True)
        for name, text in texts.items():
            (aside / name).write_bytes(text.encode("utf-8"))
        aside.rename(folder)
    except (OSError, ValueError) as error:
        shutil.rmtree(aside, ignore_errors=True)
        findings.add(
            found=f"no way to make the folder: {getattr(error, 'strerror', None) or error}",
            expected="a new name in a folder that you may write to",
            advice="Nothing was made or changed; choose another name or place.",
        )
        raise SheetError(findings.file, findings.problems) from error
    return folder


def _read_me() -> str:
    lines = ["Sheets of one course. Fill in those you need; the others may stay blank.", ""]
    lines += [f"{kind.name}.csv  {kind.description}" for kind in kinds().values()]
    lines += [
        "",
        "Lines that begin with # are comments. Each sheet says at its head how to fill it in.",
        "Write points for decimals, and dates with the year first. Save as CSV (UTF-8).",
        "Ask the greenkeeping staff before you put a ramp or drop balls on a green, and mend every mark.",
    ]
    return "\n".join(lines) + "\n"


def read_course(path: str | os.PathLike[str], *, accept_suspects: bool = False) -> Course:
    """Read every sheet of a course folder that has been filled in.

    Parameters
    ----------
    path : path-like
        The folder.
    accept_suspects : bool
        As for the readers.

    Returns
    -------
    Course
        The sheets; those missing or without rows are None.

    Raises
    ------
    SheetError
        If there is no such folder, no sheet in it has a row, or sheets have problems: all of them are listed.

    Examples
    --------
    >>> import tempfile
    >>> from golfphys.sheets.append import append_row
    >>> folder = make_course_folder(Path(tempfile.mkdtemp()) / "my course")
    >>> _ = append_row(folder / "putts.csv", {"distance_m": 2.0, "tries": 10, "made": 6})
    >>> len(read_course(folder).putts.putts)
    1
    """
    gathered = _Gathered(Path(path), accept_suspects)
    course = Course(
        folder=gathered.folder,
        rollouts=gathered.read("rollouts", read_rollouts),
        traces=gathered.read("traces", read_traces),
        drops=gathered.read("drops", read_drops),
        chips=gathered.read("chips", read_chips),
        putts=gathered.read("putts", read_putts),
        notes=gathered.notes,
    )
    if not gathered.problems and gathered.count == 0:
        findings = Findings(str(path))
        findings.add(
            found="no sheet with rows",
            expected=f"a folder with at least one of: {', '.join(f'{kind}.csv' for kind in kinds())}",
            advice="Check the path; make_course_folder makes such a folder.",
        )
        gathered.problems += findings.problems
    if gathered.problems:
        raise SheetError(str(path), gathered.problems)
    return course


class _Gathered:
    """Reads the sheets of a folder one after the other and keeps what is wrong with any of them."""

    def __init__(self, folder: Path, accept_suspects: bool) -> None:
        self.folder = folder
        self.accept_suspects = accept_suspects
        self.problems: list[Problem] = []
        self.notes: list[str] = []
        self.count = 0

    def read(self, kind: str, reader: Callable[..., AnySheet]) -> AnySheet | None:
        """Read one sheet; None where there is none, it is unfilled, or it has problems."""
        sheet = self.folder / f"{kind}.csv"
        try:
            if not os.path.lexists(sheet):
                self.notes.append(f"There is no {kind}.csv.")
                return None
            result = reader(sheet, accept_suspects=self.accept_suspects)
        except SheetError as error:
            if error.unfilled:
                self.notes.append(f"{kind}.csv has no rows yet.")
            else:
                self.problems += error.problems
            return None
        self.count += 1
        return result
