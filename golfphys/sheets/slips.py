"""Slips of a hand that copies: rows pasted twice, a file kept twice, a word written otherwise once."""

import difflib
from collections.abc import Iterable, Sequence

import numpy as np
import pandas as pd

from golfphys.physics.club import BAG, LIES
from golfphys.sheets.cells import name_key
from golfphys.sheets.table import Table

BLOCK = 5
"""Rows in a row that are the same again only if they were pasted: distances are read to a few per cent."""
LIKE = 0.86
"""How alike two words must be for one to be a slip of the other: one letter in seven."""
KNOWN = {"club": tuple(BAG), "lie": tuple(LIES)}


def suspect_repeats(table: Table) -> None:
    """Ask about rows that repeat earlier ones, cell by cell and in their order."""
    cells = pd.util.hash_pandas_object(table.frame.drop(columns="row", errors="ignore"), index=False).to_numpy()
    seen: dict[bytes, int] = {}
    for start in range(len(cells) - BLOCK + 1):
        block = cells[start : start + BLOCK]
        first = seen.setdefault(block.tobytes(), start)
        if start - first >= BLOCK and len(np.unique(block)) == BLOCK:
            table.findings.add(
                row=table.row(start),
                found=f"rows that repeat those from row {table.row(first)} on, cell by cell",
                expected="every ball once",
                advice="If they were pasted twice, delete them here.",
                suspect=True,
            )
            return


def suspect_words(table: Table) -> None:
    """Ask about a club or a lie that is written nearly as one that is known, or more frequent in the sheet."""
    for quantity, known in KNOWN.items():
        counts = table.frame[quantity].value_counts()
        for word, count in counts.items():
            if name_key(str(word)) in map(name_key, known):
                continue
            usual = {name_key(name): name for name in (*known, *counts.index[counts > count])}
            close = difflib.get_close_matches(name_key(str(word)), list(usual), n=1, cutoff=LIKE)
            if close and close[0] != name_key(str(word)):
                position = int(np.flatnonzero(table.frame[quantity] == word)[0])
                table.findings.add(
                    row=table.row(position),
                    column=table.heading_for(quantity),
                    found=table.written(position, quantity),
                    expected=f"a {quantity} that is known",
                    advice=f"Write {usual[close[0]]} if that is what it is.",
                    suspect=True,
                )


def copies(frames: Sequence[pd.DataFrame]) -> Iterable[tuple[int, int]]:
    """Yield (copy, original) for each frame all of whose rows, two or more, stand in another."""
    held = [set(map(tuple, frame.drop(columns="row", errors="ignore").astype(str).to_numpy())) for frame in frames]
    for number, rows in enumerate(held):
        others = (at for at, more in enumerate(held) if at != number and rows <= more and (rows < more or at < number))
        original = next(others, None)
        if original is not None and len(rows) > 1:
            yield number, original
