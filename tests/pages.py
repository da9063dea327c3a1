"""Reading notebooks as the tests do: which there are, what their outputs say, and whether two outputs agree."""

import base64
import io
import re
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image

ROOT = Path(__file__).parent.parent
NOTEBOOKS = sorted((ROOT / "notebooks").glob("*.ipynb"))
NUMBER = re.compile(r"(?<![\w.])[-+\u2212]?\d+(?:\.\d+)?(?:e[-+]?\d+)?(?!\w)")
CROP, SHRINK = 3, 8


def code_cells(notebook: Any) -> list[Any]:
    return [cell for cell in notebook.cells if cell.cell_type == "code"]


def markdown(notebook: Any) -> str:
    return "\n\n".join(cell.source for cell in notebook.cells if cell.cell_type == "markdown")


def outputs(cell: Any) -> Iterator[tuple[str, str]]:
    """Yield (kind, content) of every output of a cell; pictures as base64 text."""
    for output in cell.outputs:
        if output.output_type == "stream":
            yield output.name, output.text
        for kind, content in sorted(output.get("data", {}).items()):
            yield kind, content if isinstance(content, str) else repr(content)


def disagreement(kind: str, stored: str, fresh: str) -> str:
    """Say how two outputs of one kind disagree; nothing if they agree.

    Words agree exactly, blank space apart. A page prints the digits that are known, so a number may differ by its
    rounding and by a fiftieth of its uncertainty: two units of the last digit printed. Whole numbers are counts and
    agree exactly, but for percentages. Pictures agree if they look alike at an eighth of their size.
    """
    if kind == "image/png":
        return _picture_disagreement(stored, fresh)
    if " ".join(NUMBER.sub("#", stored).split()) != " ".join(NUMBER.sub("#", fresh).split()):
        return f"the words differ:\nstored: {stored[:500]}\nfresh:  {fresh[:500]}"
    pairs = zip(NUMBER.finditer(stored), NUMBER.finditer(fresh), strict=True)
    wrong = [f"{old[0]} is now {new[0]}" for old, new in pairs if not _close(old, new)]
    return "; ".join(wrong[:10])


def _close(old: re.Match[str], new: re.Match[str]) -> bool:
    one, other = (found[0].replace("\u2212", "-") for found in (old, new))
    unit = max(_last_digit(one), _last_digit(other))
    if not unit and re.match(r"\s?%", old.string[old.end() :]):
        unit = 0.5
    # figures shown to their last digit are not promised beyond the sixth: libraries differ there
    allowed = max(2.001 * unit, 1e-6 * abs(float(one)) if unit else 0.0)
    return abs(float(one) - float(other)) <= allowed


def _last_digit(text: str) -> float:
    return float(10.0 ** int(Decimal(text).as_tuple().exponent)) if re.search("[.e]", text) else 0.0


def _picture_disagreement(stored: str, fresh: str) -> str:
    if stored == fresh:
        return ""
    old, new = (Image.open(io.BytesIO(base64.b64decode(text))).convert("L") for text in (stored, fresh))
    # a tight crop may move by a pixel or two with the width of a label
    if max(abs(a - b) for a, b in zip(old.size, new.size, strict=True)) > CROP:
        return f"the picture's size was {old.size}, is {new.size}"
    small = [max(1, length // SHRINK) for length in old.size]
    one, other = (np.asarray(picture.resize(small, Image.Resampling.BOX), float) for picture in (old, new))
    different = float(np.mean(np.abs(one - other) > 48))
    return f"{100 * different:.2f} % of the picture differs" if different > 0.02 else ""
