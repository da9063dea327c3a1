"""Reading notebooks as the tests do: which there are, what their outputs say, and whether two outputs agree."""

import ast
import base64
import io
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image

ROOT = Path(__file__).parent.parent
NOTEBOOKS = sorted((ROOT / "notebooks").glob("*.ipynb"))
NUMBER = re.compile(r"(?<![\w.])[-+\u2212]?\d+(?:\.\d+)?(?:e[-+]?\d+)?(?!\w)")
LONGEST_FUNCTION = 5


def code_cells(notebook: Any) -> list[Any]:
    """Return the code cells."""
    return [cell for cell in notebook.cells if cell.cell_type == "code"]


def markdown(notebook: Any) -> str:
    """Return all text cells as one text."""
    return "\n\n".join(cell.source for cell in notebook.cells if cell.cell_type == "markdown")


def outputs(cell: Any) -> Iterator[tuple[str, str]]:
    """Yield (kind, content) of every output of a cell; pictures as base64 text."""
    for output in cell.outputs:
        if output.output_type == "stream":
            yield output.name, output.text
        for kind, content in sorted(output.get("data", {}).items()):
            yield kind, content if isinstance(content, str) else repr(content)


def long_functions(source: str) -> list[str]:
    """Return the functions of a cell whose bodies have more than five lines of code."""
    tree = ast.parse(re.sub(r"^(\s*)[%!].*$", r"\1pass", source, flags=re.MULTILINE))
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            body = node.body[1:] if ast.get_docstring(node) and len(node.body) > 1 else node.body
            lines = source.splitlines()[body[0].lineno - 1 : body[-1].end_lineno]
            if len([line for line in lines if line.strip() and not line.strip().startswith("#")]) > LONGEST_FUNCTION:
                found.append(node.name)
    return found


def disagreement(kind: str, stored: str, fresh: str) -> str:
    """Say how two outputs of one kind disagree; nothing if they agree.

    Words agree exactly, blank space apart. Numbers may differ by one unit of the last digit printed, which is what a
    different processor or library can do to a rounded figure. Pictures agree if hardly a pixel differs.
    """
    if kind == "image/png":
        return _picture_disagreement(stored, fresh)
    if " ".join(NUMBER.sub("#", stored).split()) != " ".join(NUMBER.sub("#", fresh).split()):
        return f"the words differ:\nstored: {stored[:500]}\nfresh:  {fresh[:500]}"
    pairs = zip(NUMBER.findall(stored), NUMBER.findall(fresh), strict=True)
    wrong = [f"{old} is now {new}" for old, new in pairs if not _close(old, new)]
    return "; ".join(wrong[:10])


def _close(old: str, new: str) -> bool:
    old, new = old.replace("\u2212", "-"), new.replace("\u2212", "-")
    # figures shown to their last digit are not promised beyond the sixth: libraries differ there
    allowed = max(1.001 * max(_last_digit(old), _last_digit(new)), 1e-6 * abs(float(old)) if "." in old else 0.0)
    return old == new or abs(float(old) - float(new)) <= allowed


def _last_digit(text: str) -> float:
    mantissa, _, exponent = text.partition("e")
    decimals = len(mantissa.partition(".")[2])
    if not decimals and not exponent:
        return 0.0  # whole numbers are counts: they agree exactly
    return float(10.0 ** (int(exponent or 0) - decimals))


def _picture_disagreement(stored: str, fresh: str) -> str:
    if stored == fresh:
        return ""
    old, new = (
        np.asarray(Image.open(io.BytesIO(base64.b64decode(text))).convert("L"), float) for text in (stored, fresh)
    )
    if old.shape != new.shape:
        # a tight crop may move by a pixel or two with the width of a label
        if max(abs(a - b) for a, b in zip(old.shape, new.shape, strict=True)) > 3:
            return f"the picture's size was {old.shape}, is {new.shape}"
        rows, columns = (min(sizes) for sizes in zip(old.shape, new.shape, strict=True))
        old, new = old[:rows, :columns], new[:rows, :columns]
        allowed = 0.05
    else:
        allowed = 0.01
    share = float(np.mean(np.abs(old - new) > 48))
    return f"{100 * share:.2f} % of the picture's pixels differ" if share > allowed else ""
