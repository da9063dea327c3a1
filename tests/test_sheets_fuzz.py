"""Whatever stands in a file, each reader returns checked data or raises an error that names the place, nothing else."""

import csv
import io
import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from conftest import tried
from hypothesis import HealthCheck, example, given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st

from golfphys import Surface, make_course_folder, read_make_table, read_rollouts, read_study, read_wedges
from golfphys.panels import EntryForm, ImportForm
from golfphys.panels.course import Chosen
from golfphys.sheets import SheetError, append_row, new_sheet, read_course, read_sheet, template_text
from golfphys.sheets.dictionary import kind_of, kinds
from golfphys.sheets.rows import likely_matches, matched_rows, problems_of, read_source
from golfphys.sheets.writing import csv_text

CALM = {"suppress_health_check": [HealthCheck.function_scoped_fixture, HealthCheck.too_slow]}
FEW, SOME, MORE = (hypothesis_settings(max_examples=number, **CALM) for number in (12, 60, 150))
"""A few where each opens many files; more where each is one; most where the test is of the thorough ones."""


def well_said(problems):
    """Hold that each problem says what was found, what was expected and what to do."""
    assert problems
    assert all(problem.found and problem.expected and problem.advice for problem in problems)


def answer(kind, path):
    """Read a sheet and check the promise; return its frame, or None where it was refused."""
    sheet, error = tried(lambda: read_sheet(path, kind))
    if error is not None:
        well_said(error.problems)
        assert str(path) in str(error)
        assert all(item.file == str(path) and (item.row is None or item.row >= 1) for item in error.problems)
        return None
    frame = sheet.frame
    assert len(frame) > 0
    assert frame["row"].is_monotonic_increasing
    numbers = frame.select_dtypes("number").to_numpy()
    assert not np.isinf(numbers).any()
    for quantity in ("spot", "heading", "distance") if kind == "rollouts" else ():
        assert not frame[quantity].isin([""]).any()
        assert frame[quantity].notna().all()
    assert all(isinstance(note, str) and note for note in sheet.notes)
    return frame


GOOD = {
    "rollouts": "spot,heading_deg,release_speed_m_s,distance_m,side_m,measured_at,note\n"
    "low,0,1.83,3.05,-0.1,2025-05-06T09:10,a\nlow,90,1.83,2.95,,,\nlow,180,1.83,3.1,0.05,,\nlow,270,1.83,3.0,,,b\n",
    "films": "roll,spot,heading_deg,kind,time_s,distance_m\n"
    "a,low,0,putt,0,0\na,low,0,putt,0.1,0.2\na,low,0,putt,0.2,0.38\nb,low,90,ramp,0,0\nb,low,90,ramp,0.1,0.18\n",
    "drops": "spot,drop_height_m,rebound_height_m,first_flight_s,second_flight_s\n"
    "low,1.5,0.3,,\nlow,1.5,,0.5,0.2\nlow,,,0.5,0.2\n",
    "chips": "club,lie,target_carry_m,carry_m,hang_time_s,rest_m,side_m,strike\n"
    "sand wedge,fairway,6,6.3,0.9,11,-0.4,clean\n8-iron,rough,,,,9,,\n8-iron,rough,4,4.2,,,,thin\n",
    "putts": "distance_ft,tries,made,note\n10,20,9,\n20,20,3,windy\n",
    "targets": "club,lie,distance_m,target_size_m,tries,hits\nsand wedge,fairway,8,1.5,10,4\n8-iron,rough,9,1,10,2\n",
    "survey": "green,x_m,y_m,height_cm\nhome,0,0,0\nhome,2,0,4\nhome,0,2,1\nhome,2,2,5\n",
    "wedges": "club,swing,carry_yd\ngap wedge,half,50\nlob wedge,full,60\n",
}


def spoiled(text: str, spoil) -> bytes:
    """Return other bytes, or those of a text with some put in, cut out or changed."""
    if isinstance(spoil, bytes):
        return spoil
    data = bytearray(text.encode())
    for share, how, bytes_ in spoil:
        place = int(share * len(data))
        if how == "put":
            data[place:place] = bytes_
        elif how == "cut":
            del data[place : place + len(bytes_)]
        else:
            data[place : place + len(bytes_)] = bytes_
    return bytes(data)


SPOIL = st.lists(
    st.tuples(st.floats(0, 1), st.sampled_from(["put", "cut", "swap"]), st.binary(min_size=1, max_size=4)),
    min_size=1,
    max_size=4,
)


@hypothesis_settings(max_examples=120, **CALM)
@given(kind=st.sampled_from(list(kinds())), spoil=st.one_of(SPOIL, st.binary(max_size=400)))
@example(kind="rollouts", spoil=b"\xff\xfe\x00\x00")
@example(kind="rollouts", spoil=b'"')
@example(kind="rollouts", spoil=b"#\n#")
@example(kind="rollouts", spoil=b"\xef\xbb\xbf#,spot\r")
def test_spoiled_sheets_and_any_bytes_are_read_or_refused(tmp_path, kind, spoil):
    path = tmp_path / "sheet.csv"
    path.write_bytes(spoiled(GOOD[kind], spoil))
    answer(kind, path)


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


@pytest.mark.thorough
@MORE
@given(
    kind=st.sampled_from(list(kinds())),
    changes=st.lists(st.tuples(st.integers(0, 5), st.integers(0, 8), CELLS), max_size=4),
    separator=st.sampled_from([",", ";", "\t", "|"]),
    end=st.sampled_from(["\n", "\r\n", "\r"]),
    quoting=st.sampled_from([csv.QUOTE_MINIMAL, csv.QUOTE_ALL]),
    encoding=st.sampled_from(["utf-8", "utf-8-sig", "utf-16"]),
)
def test_spoiled_cells_are_never_lost_in_silence(tmp_path, kind, changes, separator, end, quoting, encoding):
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


@pytest.mark.thorough
@MORE
@given(kind=st.sampled_from(list(kinds())), data=st.data())
def test_appending_anything_keeps_the_file_or_adds_a_readable_row(tmp_path_factory, kind, data):
    path = new_sheet(tmp_path_factory.mktemp("own") / f"{kind}.csv", kind)
    path.write_text(GOOD[kind], encoding="utf-8")
    old = path.read_bytes()
    names = [column.name for column in kinds()[kind].columns] + ["wind", ""]
    values = st.one_of(CELLS, st.floats(), st.integers(), st.none(), st.booleans(), st.binary(max_size=3))
    row = data.draw(st.dictionaries(st.sampled_from(names), values, max_size=8))
    before = len(answer(kind, path))
    number, refused = tried(lambda: append_row(path, row, kind=kind))
    if number is None:
        assert isinstance(refused, SheetError)
        assert path.read_bytes() == old
        return
    assert path.read_bytes().startswith(old)
    after = answer(kind, path)
    assert after is not None
    assert len(after) == before + 1
    assert after["row"].iloc[-1] == number


@pytest.mark.parametrize("kind", ["rollouts", "chips"])
def test_long_lines_and_many_columns_do_not_hang(tmp_path, kind):
    path = tmp_path / "sheet.csv"
    for text in (
        template_text(kind) + "x" * 300_000 + "\n",
        ",".join(f"column{number}" for number in range(5000)) + "\n" + "1," * 4999 + "1\n",
        "\n" * 200_000,
        GOOD[kind] + '"' * 100_001,
        GOOD[kind].splitlines()[0] + "\n" + "9" * 5000 + "," + "a'" * 5000 + "\n",
    ):
        path.write_text(text)
        assert answer(kind, path) is None


@FEW
@given(spoil=st.fixed_dictionaries({kind: st.one_of(st.just([]), SPOIL) for kind in kinds()}))
def test_a_course_folder_is_read_whole_or_every_problem_is_named(tmp_path_factory, spoil):
    folder = make_course_folder(tmp_path_factory.mktemp("own") / "course")
    for kind, changes in spoil.items():
        (folder / f"{kind}.csv").write_bytes(spoiled(GOOD[kind], changes))
    broken = {kind for kind in kinds() if tried(lambda k=kind: read_sheet(folder / f"{k}.csv", k))[1] is not None}
    course, refused = tried(lambda: read_course(folder))
    if refused is not None:
        named = {problem.file.rsplit("/", 1)[-1].removesuffix(".csv") for problem in refused.problems}
        assert named <= broken
        well_said(refused.problems)
        return
    for kind in kinds():
        assert (getattr(course, kind) is None) == (kind in broken)
        assert (kind not in broken) or any(f"{kind}.csv" in note for note in course.notes)


@pytest.mark.thorough
@MORE
@given(
    kind=st.sampled_from(list(kinds())), spoil=SPOIL, separator=st.sampled_from([",", ";", "\t"]), accept=st.booleans()
)
def test_a_matched_file_comes_in_whole_or_not_at_all(tmp_path_factory, kind, spoil, separator, accept):
    folder = tmp_path_factory.mktemp("own")
    path, target = folder / "theirs.csv", folder / "ours.csv"
    text = GOOD[kind].replace(",", separator).replace("_m", " (m)").replace("club", "Clubs").replace("spot", "Green")
    path.write_bytes(spoiled(text, spoil))
    sheet = kind_of(kind)

    def brought() -> tuple[list[dict[str, str]], dict[str, str], Path]:
        source = read_source(path)
        matches = likely_matches(source, sheet)
        problems = [item for item in problems_of(source, matches, sheet) if not (item.suspect and accept)]
        if problems:
            raise SheetError(str(path), problems)
        rows = matched_rows(source, matches, sheet)
        target.write_text(csv_text([matches.values(), *(row.values() for row in rows)]), encoding="utf-8")
        return rows, matches, target

    found, refused = tried(brought)
    if refused is not None:
        assert not target.exists()
        assert str(path) in str(refused)
        well_said(refused.problems)
        return
    rows, matches, made = found
    assert len(set(matches.values())) == len(matches)
    assert len(read_sheet(made, kind, accept_suspects=True).frame) == sum(any(row.values()) for row in rows)


@FEW
@given(kind=st.sampled_from(list(kinds())), data=st.one_of(st.binary(max_size=60), SPOIL))
def test_forms_open_on_any_file(tmp_path_factory, kind, data):
    path = tmp_path_factory.mktemp("own") / f"{kind}.csv"
    path.write_bytes(spoiled(GOOD[kind], data))
    before = path.read_bytes()
    course = Chosen(name="own", folder=path.parent, units="metres")
    form, brought = EntryForm(kind, course), ImportForm(course)
    brought.open(path.name, before)
    assert (
        form.sheet is not None
        or "alert" in form.message.value
        or "no rows" in str(tried(lambda: read_sheet(path, kind))[1])
    )
    assert brought.source is not None or "alert" in brought.message.value
    assert path.read_bytes() == before


def read_shots(path):
    return read_wedges(path).frame


WEDGES = "# mine\nclub,swing,carry_yd\ngap wedge,half,50\nlob wedge,full,60\n# windy\nlob wedge,full,61\n"
PUTT_TABLE = "# mine\ndistance_ft,tries,made\n10,20,9\n20,20,3\n"
STUDY = "plan,loss,se,loss_95,same_club,cases\nmeasured,0.02,0.01,0.05,0.5,14\nhandbook,0.2,0.02,0.5,0.4,14\n"


@SOME
@given(
    door=st.sampled_from([(WEDGES, read_shots), (PUTT_TABLE, read_make_table), (STUDY, read_study)]),
    data=st.one_of(SPOIL, st.binary(max_size=80)),
)
@example(door=(WEDGES, read_shots), data=b"club,swing,carry_m\ngap wedge,half,50,60\n")
@example(door=(WEDGES, read_shots), data=b"club,swing,carry_m\ngap wedge # old,half,50\n")
@example(door=(WEDGES, read_shots), data=b"club,swing,carry_m\ngap wedge,50\nlob wedge,\n,60\n")
@example(door=(PUTT_TABLE, read_make_table), data=b"distance_m,tries,made\n1,10,9,5\n")
@example(door=(PUTT_TABLE, read_make_table), data=b"distance_m,tries,made,made\n1,10,9,5\n")
@example(door=(PUTT_TABLE, read_make_table), data=b"distance_m,tries,made\n1,inf,9\n")
@example(door=(STUDY, read_study), data=b"plan,loss,se,loss_95,same_club,cases\na,0.2,0.02,0.5,0.4,14,15\n")
@example(door=(STUDY, read_study), data=b"")
def test_smaller_tables_are_read_or_refused_by_name(tmp_path_factory, door, data):
    text, reader = door
    path = tmp_path_factory.mktemp("own") / "table.csv"
    path.write_bytes(spoiled(text, data))
    found, error = tried(lambda: reader(path))
    if error is not None:
        assert "table" in str(error)
        return
    numbers = found.select_dtypes("number") if hasattr(found, "columns") else np.stack([found.distance, found.tries])
    assert np.isfinite(np.asarray(numbers, dtype=float)).all()


PLACES = ("missing.csv", "folder", "nul\0.csv", "x" * 5000, None, 3.5, ["a.csv"], "http://127.0.0.1:9/a.csv")


@pytest.mark.parametrize("reader", [read_wedges, read_make_table, read_study, read_rollouts, read_course])
@pytest.mark.parametrize("place", PLACES, ids=lambda place: str(place)[:9])
def test_places_that_cannot_be_read_are_named(tmp_path, reader: Callable, place: object):
    (tmp_path / "folder").mkdir()
    here = isinstance(place, str) and "://" not in place
    _, error = tried(lambda: reader(tmp_path / place if here else place))
    assert len(str(error)) > 20


COORDINATES = st.one_of(
    st.integers(-3, 3).map(float), st.floats(-1e3, 1e3), st.sampled_from([math.nan, math.inf, 1e300])
)


@SOME
@given(points=st.lists(st.tuples(COORDINATES, COORDINATES, COORDINATES), max_size=9), sd=st.floats(0.0, 0.1))
@example(points=[(0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (1.0, 1.0, 1e-300), (0.5, 1e-12, 0.0)], sd=0.0)
def test_a_survey_becomes_ground_or_is_refused(points, sd):
    x, y, heights = (np.array([point[i] for point in points]) for i in range(3))
    ground, refused = tried(lambda: Surface.from_points(x, y, heights, height_sd=sd))
    if refused is not None:
        assert len(str(refused)) > 20
        return
    assert np.isfinite(ground.residual_sd)
    assert np.isfinite(ground.height(float(x.mean()), float(y.mean())))
