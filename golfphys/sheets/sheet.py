"""What every sheet that has been read carries beside its numbers."""

from dataclasses import dataclass
from typing import Any

import pandas as pd

from golfphys.sheets.table import ROW, Table


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """A sheet that has been read and checked.

    Parameters
    ----------
    notes : list of str
        Plain sentences on what was assumed or kept.
    path : str
        Where the sheet was read, or what made it.
    comments : list of str
        Its comment lines.
    """

    notes: list[str]
    path: str
    comments: list[str]

    @property
    def reference_line(self) -> str | None:
        """What heading 0 points at, if a comment of the sheet says so (``# reference line: ...``)."""
        return reference_line(self.comments)


def reference_line(comments: list[str]) -> str | None:
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


def kept(table: Table) -> dict[str, Any]:
    """Return what a sheet keeps of the table that it was read from, as the fields of `Sheet`."""
    findings = table.findings
    return {"notes": findings.notes, "path": findings.file, "comments": list(table.raw.comments)}


def ordered(table: Table, without: tuple[str, ...] = ()) -> pd.DataFrame:
    """Return the frame with the row number, the quantities of the dictionary, then the sheet's own columns."""
    known = [name for name in table.kind.quantities if name not in without]
    own = [name for name in table.frame.columns if name not in (ROW, *table.kind.quantities)]
    return table.frame[[ROW, *known, *own]]
