"""What a sheet gets wrong, said so that the person who filled it in can mend it without help."""

import os
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, NoReturn

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.core.names import Columns

AnyPath = str | os.PathLike[str]
SHOWN_PROBLEMS = 25
MOST_LISTED = 1000


@dataclass(frozen=True, kw_only=True)
class Problem:
    """One thing wrong with one place of a sheet, the file `file`."""

    file: str
    found: str  # what stands there, what was expected, and what to do about it
    expected: str
    advice: str
    # Row as a spreadsheet numbers it; None when the problem is the whole file's or the whole column's.
    row: int | None = None
    column: str | None = None  # column heading, or None when no single column is to blame
    suspect: bool = False  # true when the value can be read but is hard to believe; such a problem can be overridden
    # True of a suspect alone in a sheet that reads well: who enters the row is asked, a file is read with a note of it.
    lone: bool = False
    unfilled: bool = False  # true when the only thing wrong is that the sheet has headings but no rows yet

    @property
    def place(self) -> str:
        """Where in the sheet: row and column, as far as they are known."""
        parts = (("row", self.row), ("column", self.column))
        return ", ".join(f"{what} {where}" for what, where in parts if where is not None) or "the file"

    def __str__(self) -> str:
        """Return the problem as one line."""
        return f"{self.place}: found {self.found}; expected {self.expected}. {self.advice}"


class SheetError(ValueError):
    """A sheet that cannot be used as it is; every problem found in it is listed."""

    def __init__(self, file: str, problems: Sequence[Problem]) -> None:
        self.file = file
        self.problems = sorted(problems, key=lambda problem: (problem.file, problem.row or 0))
        count = len(problems)
        lines = [f"{file}: {count} problem{'s' if count != 1 else ''}; nothing in the file was changed"]
        shown = self.problems[:SHOWN_PROBLEMS]
        lines += [f"  - {item if item.file == file else f'{item.file}: {item}'}" for item in shown]
        if count > SHOWN_PROBLEMS:
            lines.append(f"  - and {count - SHOWN_PROBLEMS} more (all are in the error's .problems)")
        if any(problem.suspect for problem in problems):
            lines.append("  If a value that looks wrong here is right after all, pass accept_suspects=True.")
        super().__init__("\n".join(lines))

    @property
    def unfilled(self) -> bool:
        """True when the sheet is only waiting for its first row."""
        return all(problem.unfilled for problem in self.problems)

    def __reduce__(self) -> tuple[type["SheetError"], tuple[str, list[Problem]]]:
        """Let the error cross a process boundary."""
        return type(self), (self.file, self.problems)


class Findings:
    """Collects the problems and notes of one sheet while it is read."""

    def __init__(self, file: str, accept_suspects: bool = False, *, entering: bool = False) -> None:
        self.file, self.accept_suspects, self.entering = file, accept_suspects, entering
        self.problems: list[Problem] = []
        self.notes: list[str] = []

    def add(self, found: str, expected: str, advice: str, **more: Any) -> None:
        """Record a `Problem`, or a note of it where suspects are accepted; past `MOST_LISTED` only that there are."""
        problem = Problem(file=self.file, found=found, expected=expected, advice=advice, **more)
        if problem.lone and not self.entering:
            self.note(f"Please look at {problem}")
        elif problem.suspect and self.accept_suspects:
            self.note(f"Accepted as you asked: {str(replace(problem, advice='')).strip()}")
        elif len(self.problems) < MOST_LISTED:
            self.problems.append(problem)
        elif len(self.problems) == MOST_LISTED:
            said: dict[str, Any] = {"found": "more problems than are listed", "expected": f"fewer than {MOST_LISTED}"}
            said["advice"] = "Mend those named first, then read the sheet again."
            self.problems.append(Problem(file=self.file, row=problem.row, **said))

    def refuse(self, found: str, expected: str, advice: str, **more: Any) -> NoReturn:
        """Record a `Problem` after which nothing more can be done, and raise a `SheetError` with all of them."""
        self.problems.append(Problem(file=self.file, found=found, expected=expected, advice=advice, **more))
        raise SheetError(self.file, self.problems) from None

    def note(self, sentence: str) -> None:
        """Record a plain sentence for the reader of the sheet, once."""
        if len(self.notes) < MOST_LISTED and sentence not in self.notes:
            self.notes.append(sentence)

    def raise_if_any(self) -> None:
        """Raise a `SheetError` with all problems, if there are any."""
        if self.problems:
            raise SheetError(self.file, self.problems)


def row_list(rows: Sequence[int]) -> str:
    """Return row numbers as words for a message: ``rows 4, 7 and 9``."""
    if len(rows) == 1:
        return f"row {rows[0]}"
    shown = [*map(str, rows[:8]), f"{len(rows) - 8} more"] if len(rows) > 8 else [*map(str, rows)]
    return f"rows {', '.join(shown[:-1])} and {shown[-1]}"


# rows that were read, as fits name them


def placed(rows: Columns, files: NDArray[np.str_], most: int = 8) -> str:
    """Return row numbers in words, file by file where there are several, at most `most` of each.

    Examples
    --------
    >>> placed(np.array([4, 7, 4]), np.array(["may.csv", "may.csv", "june.csv"]))
    'rows 4, 7 of may.csv and row 4 of june.csv'
    """
    parts = []
    for file in dict.fromkeys(files.tolist()):
        mine = [str(int(row)) for row in rows[files == file]]
        words = ", ".join(mine[:most]) + (", ..." if len(mine) > most else "")
        parts.append(f"row{'s' if len(mine) > 1 else ''} {words}{' of ' if file else ''}{file}")
    return " and ".join(parts)


def at_head(seen: Any, which: Any, of: str = "") -> str:
    """Say at the head of a sentence which rows observations are, and what they are `of` where no file tells."""
    words = placed(seen.row[which], seen.file[which])
    return f"R{words[1:]}{'' if seen.file[which].any() else of}"


def rows_of(frame: pd.DataFrame) -> Columns:
    """Return row numbers of a sheet, counted from 2 where they are not in it."""
    return frame["row"].to_numpy(dtype=np.int64) if "row" in frame else np.arange(2, len(frame) + 2)


def files_of(frame: pd.DataFrame) -> NDArray[np.str_]:
    """Return the file of each row where there are several, else empty texts."""
    files = frame.get("sheet", pd.Series("", index=frame.index))
    return files.fillna("").to_numpy(dtype=str)
