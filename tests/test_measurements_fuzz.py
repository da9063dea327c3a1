"""Whatever stands in a file, a reader returns checked data or raises `SheetError` naming the place: nothing else.

Bytes at random, sheets with cells, rows and separators spoiled at random, and rows at random through append and back.
"""

import csv
import io
import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from golfphys.measurements import (
    SheetError,
    append_row,
    new_sheet,
    read_chips,
    read_drops,
    read_putts,
    read_rollouts,
    read_traces,
    template_text,
)
from golfphys.measurements.dictionary import kinds

READERS = {
    "rollouts": read_rollouts,
    "traces": read_traces,
    "drops": read_drops,
    "chips": read_chips,
    "putts": read_putts,
}
FEW = settings(max_examples=30, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
MORE = settings(max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])


def _read(kind, path):
    try:
        return READERS[kind](path), None
    except SheetError as error:
        return None, error


def answer(kind, path):
    """Read a sheet and check the promise; return its frame, or None where it was refused."""
    sheet, error = _read(kind, path)
    if error is not None:
        assert error.problems
        assert str(path) in str(error)
        for problem in error.problems:
            assert problem.file == str(path)
            assert problem.row is None or problem.row >= 1
            assert problem.found
            assert problem.expected
            assert problem.advice
        return None
    frame = next(value for value in vars(sheet).values() if isinstance(value, pd.DataFrame))
    assert len(frame) > 0
    assert frame["row"].is_monotonic_increasing
    numbers = frame.select_dtypes("number").to_numpy()
    assert not np.isinf(numbers).any()
    for quantities in ("spot", "heading", "distance"):
        if kind == "rollouts":
            assert not frame[quantities].isin([""]).any()
            assert frame[quantities].notna().all()
    assert all(isinstance(note, str) and note for note in sheet.notes)
    return frame


# bytes


@MORE
@given(data=st.binary(max_size=400), kind=st.sampled_from(list(READERS)))
@example(data=b"", kind="rollouts")
@example(data=b"\xff\xfe", kind="rollouts")
@example(data=b"\xff\xfe\x00\x00", kind="rollouts")
@example(data=b'"', kind="rollouts")
@example(data=b"#\n#", kind="rollouts")
@example(data=b"sep=,\n", kind="rollouts")
@example(data=b"\xef\xbb\xbf#,spot\r", kind="rollouts")
def test_any_bytes_are_read_or_refused(tmp_path, data, kind):
    path = tmp_path / "sheet.csv"
    path.write_bytes(data)
    answer(kind, path)


GOOD = {
    "rollouts": "spot,heading_deg,release_speed_m_s,distance_m,side_m,measured_at,note\n"
    "low,0,1.83,3.05,-0.1,2025-05-06T09:10,a\nlow,90,1.83,2.95,,,\nlow,180,1.83,3.1,0.05,,\nlow,270,1.83,3.0,,,b\n",
    "traces": "roll,spot,heading_deg,kind,time_s,distance_m\n"
    "a,low,0,putt,0,0\na,low,0,putt,0.1,0.2\na,low,0,putt,0.2,0.38\nb,low,90,ramp,0,0\nb,low,90,ramp,0.1,0.18\n",
    "drops": "spot,drop_height_m,rebound_height_m,first_flight_s,second_flight_s\n"
    "low,1.5,0.3,,\nlow,1.5,,0.5,0.2\nlow,,,0.5,0.2\n",
    "chips": "club,lie,target_carry_m,carry_m,hang_time_s,rest_m,side_m,strike\n"
    "sand wedge,fairway,6,6.3,0.9,11,-0.4,clean\n8-iron,rough,,,,9,,\n8-iron,rough,4,4.2,,,,thin\n",
    "putts": "distance_ft,tries,made,note\n10,20,9,\n20,20,3,windy\n",
}


@MORE
@given(
    kind=st.sampled_from(list(READERS)),
    spoil=st.lists(
        st.tuples(st.floats(0, 1), st.sampled_from(["put", "cut", "swap"]), st.binary(min_size=1, max_size=4)),
        min_size=1,
        max_size=6,
    ),
)
def test_good_sheets_with_bytes_spoiled_are_read_or_refused(tmp_path, kind, spoil):
    data = bytearray(GOOD[kind].encode())
    for share, how, bytes_ in spoil:
        place = int(share * len(data))
        if how == "put":
            data[place:place] = bytes_
        elif how == "cut":
            del data[place : place + len(bytes_)]
        else:
            data[place : place + len(bytes_)] = bytes_
    path = tmp_path / "sheet.csv"
    path.write_bytes(bytes(data))
    answer(kind, path)


# cells

ODD_CELLS = (
    *("", " ", "0", "-0", "1e5", "1e-400", "1e400", "NaN", "inf", "-1", "3,05", "3.05", "1,234.5", "#N/A", "9' 6\""),
    *("9.5 ft", "1_000", "0x10", "1.2.3", "+", ".", "1e", "TRUE", "2025-05-06", "45783", "#x", "'", '"', '""', "=1+1"),
    *("\N{ARABIC-INDIC DIGIT THREE}", "\N{FULLWIDTH DIGIT THREE}", "\N{MINUS SIGN}3", "\xa03\xa0", "3\u20093"),
    *("\N{LATIN SMALL LIGATURE FI}", "a\nb", "a,b;c\td", "-" * 50, "9" * 400),
)
CELLS = st.one_of(
    st.sampled_from(ODD_CELLS),
    st.text(max_size=12),
    st.floats(allow_nan=True).map(repr),
    st.integers(-(10**6), 10**6).map(str),
)


def text_of(rows, separator, end, quoting):
    stream = io.StringIO()
    csv.writer(stream, delimiter=separator, lineterminator=end, quoting=quoting).writerows(rows)
    return stream.getvalue()


@MORE
@given(
    kind=st.sampled_from(list(READERS)),
    changes=st.lists(st.tuples(st.integers(0, 5), st.integers(0, 8), CELLS), max_size=4),
    separator=st.sampled_from([",", ";", "\t", "|"]),
    end=st.sampled_from(["\n", "\r\n", "\r"]),
    quoting=st.sampled_from([csv.QUOTE_MINIMAL, csv.QUOTE_ALL]),
    encoding=st.sampled_from(["utf-8", "utf-8-sig", "utf-16"]),
)
def test_spoiled_cells_are_never_lost_in_silence(tmp_path, kind, changes, separator, end, quoting, encoding):
    """Every row of what was written stands in the frame, or the sheet is refused or the row is named in a note."""
    rows = list(csv.reader(io.StringIO(GOOD[kind])))
    for row, column, cell in changes:
        rows[row % len(rows)][column % len(rows[0])] = cell
    path = tmp_path / "sheet.csv"
    text = text_of(rows, separator, end, quoting)
    path.write_bytes(text.encode(encoding, errors="replace"))
    frame = answer(kind, path)
    if frame is None:
        return
    filled = [row for row in rows[1:] if any(cell.strip() for cell in row)]
    comments = [row for row in filled if row[0].strip().startswith("#")]
    assert len(frame) == len(filled) - len(comments)


@MORE
@given(kind=st.sampled_from(list(READERS)), data=st.data())
def test_headings_at_random_are_read_or_refused(tmp_path, kind, data):
    names = [column.name for column in kinds()[kind].columns]
    heading = st.one_of(st.sampled_from(names), st.sampled_from(names).map(str.upper), CELLS)
    head = data.draw(st.lists(heading, min_size=1, max_size=8))
    rows = data.draw(st.lists(st.lists(CELLS, min_size=0, max_size=9), max_size=4))
    path = tmp_path / "sheet.csv"
    path.write_bytes(text_of([head, *rows], ",", "\n", csv.QUOTE_MINIMAL).encode("utf-8", errors="replace"))
    answer(kind, path)


# good values survive


@st.composite
def rollout(draw):
    """Return a roll that no reader has a reason to refuse."""
    level = draw(st.floats(6.0, 12.0))
    speed = draw(st.floats(1.0, 1.83))
    distance = level * 0.3048 * (speed / 1.83) ** 2
    return {
        "spot": draw(st.text(st.characters(categories=["L", "Nd"]), min_size=1, max_size=10)),
        "heading_deg": draw(st.floats(-180, 360)),
        "release_speed_m_s": speed,
        "distance_m": distance,
        "side_m": draw(st.one_of(st.none(), st.floats(-0.9, 0.9).map(lambda share: share * distance))),
        "note": draw(st.text(st.characters(exclude_categories=["C", "Z"]), max_size=20)),
    }


@FEW
@given(rows=st.lists(rollout(), min_size=1, max_size=6), text=st.sampled_from(["metres", "mark", "windows"]))
def test_what_is_appended_reads_back_exactly(tmp_path_factory, rows, text):
    path = tmp_path_factory.mktemp("own") / "rollouts.csv"
    head = "# mine\nspot,heading_deg,release_speed_m_s,distance_m,side_m,note\n"
    styles = {
        "metres": head.encode(),
        "mark": b"\xef\xbb\xbf" + head.encode(),
        "windows": head.replace("\n", "\r\n").encode(),
    }
    path.write_bytes(styles[text])
    for row in rows:
        append_row(path, row)
    read = read_rollouts(path).rolls
    assert read["spot"].tolist() == [row["spot"] for row in rows]
    assert read["note"].tolist() == [row["note"].strip() for row in rows]
    assert read["distance"].tolist() == [row["distance_m"] for row in rows]
    assert read["release_speed"].tolist() == [row["release_speed_m_s"] for row in rows]
    np.testing.assert_array_equal(read["side"], [np.nan if row["side_m"] is None else row["side_m"] for row in rows])
    turned = [math.radians(row["heading_deg"]) for row in rows]
    np.testing.assert_allclose(np.exp(1j * read["heading"]), np.exp(1j * np.array(turned)), atol=1e-9)


def _appended(kind, path, row):
    try:
        return append_row(path, row, kind=kind)
    except SheetError:
        return None


@MORE
@given(kind=st.sampled_from(list(READERS)), data=st.data())
def test_appending_anything_keeps_the_file_or_adds_a_readable_row(tmp_path_factory, kind, data):
    path = new_sheet(tmp_path_factory.mktemp("own") / f"{kind}.csv", kind)
    path.write_text(GOOD[kind], encoding="utf-8")
    old = path.read_bytes()
    names = [column.name for column in kinds()[kind].columns] + ["wind", ""]
    values = st.one_of(CELLS, st.floats(), st.integers(), st.none(), st.booleans(), st.binary(max_size=3))
    row = data.draw(st.dictionaries(st.sampled_from(names), values, max_size=8))
    before = len(answer(kind, path))
    number = _appended(kind, path, row)
    if number is None:
        assert path.read_bytes() == old
        return
    assert path.read_bytes().startswith(old)
    after = answer(kind, path)
    assert after is not None
    assert len(after) == before + 1
    assert after["row"].iloc[-1] == number


@pytest.mark.parametrize("kind", READERS)
def test_long_lines_and_many_columns_do_not_hang(tmp_path, kind):
    path = tmp_path / "sheet.csv"
    path.write_text(template_text(kind) + "x" * 300_000 + "\n")
    assert answer(kind, path) is None
    path.write_text(",".join(f"column{number}" for number in range(5000)) + "\n" + "1," * 4999 + "1\n")
    assert answer(kind, path) is None
    path.write_text("\n" * 200_000)
    assert answer(kind, path) is None
    path.write_text(GOOD[kind] + '"' * 100_001)
    assert answer(kind, path) is None
    path.write_text(GOOD[kind].splitlines()[0] + "\n" + "9" * 5000 + "," + "a'" * 5000 + "\n")
    assert answer(kind, path) is None
