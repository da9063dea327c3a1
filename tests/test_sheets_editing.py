"""Rows mended, deleted and brought back: one line changes, the rest of the file stays byte for byte."""

from collections.abc import Callable
from pathlib import Path

import pytest

from golfphys.sheets import SheetError, read_chips
from golfphys.sheets.rows import delete_row, mend_row, take_back

LINES = (
    "# mine", "club,lie,carry_m,rest_m,own words", "sand wedge,fairway,6.3,11.2,a", "", "lob wedge,fairway,5,7,b",
    "9-iron,tight,5,14,c",
)  # fmt: skip
TEXT = "\r\n".join(LINES)
FORMS = {
    "plain": TEXT.encode(),
    "marked": b"\xef\xbb\xbf" + TEXT.encode(),
    "semicolons": TEXT.replace(",", ";").replace(".", ",").encode(),
    "two bytes": b"\xff\xfe" + TEXT.encode("utf-16-le"),
}


@pytest.mark.parametrize("form", FORMS)
def test_one_row_changes_and_the_rest_stays(form: str, sheet: Callable[..., Path]) -> None:
    """The mended row stands where it stood; taking back gives the very bytes."""
    path = sheet(FORMS[form])
    change = mend_row(path, 5, {"club": "lob wedge", "lie": "rough", "carry_m": 5.5, "rest_m": 8}, kind="chips")
    chips = read_chips(path).chips
    assert chips["lie"].tolist() == ["fairway", "rough", "tight"]
    assert chips["carry"].tolist() == [6.3, 5.5, 5.0]
    assert path.read_bytes().count(b"\r") == FORMS[form].count(b"\r")
    take_back(change)
    assert path.read_bytes() == FORMS[form]


@pytest.mark.parametrize("row", [3, 5, 6])
def test_a_row_is_deleted(row: int, sheet: Callable[..., Path]) -> None:
    """The others stay, in order."""
    path = sheet(TEXT)
    change = delete_row(path, row, kind="chips")
    kept = {3: ["lob wedge", "9-iron"], 5: ["sand wedge", "9-iron"], 6: ["sand wedge", "lob wedge"]}
    assert read_chips(path).chips["club"].tolist() == kept[row]
    take_back(change)
    assert path.read_bytes() == TEXT.encode()


def test_what_is_not_right_changes_nothing(sheet: Callable[..., Path]) -> None:
    """A bad cell, a row that is not there, a change that is not the last one."""
    path = sheet(TEXT)
    with pytest.raises(SheetError, match="far"):
        mend_row(path, 5, {"club": "lob wedge", "lie": "rough", "carry_m": "far"}, kind="chips")
    with pytest.raises(SheetError, match="no row 4"):
        delete_row(path, 4, kind="chips")
    assert path.read_bytes() == TEXT.encode()
    change = delete_row(path, 6, kind="chips")
    delete_row(path, 5, kind="chips")
    with pytest.raises(SheetError, match="changed again since"):
        take_back(change)
    assert len(read_chips(path).chips) == 1
