"""Adding rows: nothing that was in the file is ever lost, whatever fails and whoever else writes."""

import errno
import itertools
import math
import os
import subprocess
import sys
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from conftest import ROOT, refused
from test_sheets_reading import SAVED

from golfphys import append_rows, make_course_folder, read_course, read_rollouts, sheets
from golfphys.sheets import SheetError, append_row, kinds, new_sheet, read_chips, read_drops, read_putts, writing
from golfphys.sheets.errors import Findings
from golfphys.sheets.rows import delete_row, mend_row, take_back

TEXT = "# mine\nspot,weather,heading_deg,distance_ft,side_ft,note\nlow,sun,0,10.0,,first\n"
ROW = {"spot": "low", "heading_deg": 90, "distance_ft": 9.8, "weather": "rain", "note": 'a "gust", strong'}


@pytest.fixture
def path(tmp_path):
    file = tmp_path / "rollouts.csv"
    file.write_bytes(TEXT.encode())
    return file


STYLES = ["utf-8 mark", "utf-16", "utf-16 unmarked", "windows", "old mac", "no last line end", "decimal commas", "tabs"]


@pytest.mark.parametrize("style", ["", *STYLES])
def test_a_row_lands_under_its_headings_and_the_rest_stays_in_the_style_of_the_file(path, style):
    old = SAVED[style][0](TEXT) if style else TEXT.encode()
    path.write_bytes(old)
    assert append_row(path, ROW) == 4
    assert path.read_bytes().startswith(old)
    assert style or path.read_bytes() == old + b'low,rain,90,9.8,,"a ""gust"", strong"\n'
    rolls = read_rollouts(path).frame
    np.testing.assert_allclose(rolls["distance"], [10.0 * 0.3048, 9.8 * 0.3048])
    assert rolls["weather"].tolist() == ["sun", "rain"]
    assert rolls["note"].tolist() == ["first", 'a "gust", strong']
    if b"\r\n" in old:
        assert path.read_bytes().count(b"\r\n") == path.read_bytes().count(b"\n") == 4


def test_values_of_every_type_are_written_and_other_units_converted_to_the_column_of_the_sheet(path, tmp_path):
    append_row(path, {"spot": "low", "heading_deg": 0, "distance_m": 3.048, "side_in": -6})
    rolls = read_rollouts(path).frame
    np.testing.assert_allclose(rolls[["distance", "side"]].to_numpy()[1], [3.048, -0.1524], rtol=1e-9)
    path = new_sheet(tmp_path / "chips.csv", "chips")
    numbers = {"carry_m": np.float64(6.25), "rest_m": np.int64(11), "side_m": float("nan")}
    words = {"club": "SW", "lie": "clean", "spot": None, "note": "two\nlines"}
    append_row(path, {**numbers, **words, "measured_at": pd.Timestamp("2025-05-06 09:10")})
    append_row(path, {**numbers, **words, "date": "7.5.2025"})
    chip, another = read_chips(path).frame.itertuples()
    assert another.date == pd.Timestamp("2025-05-07")
    assert (chip.carry, chip.rest, chip.note) == (6.25, 11.0, "two lines")
    assert math.isnan(chip.side)
    assert chip.measured_at == pd.Timestamp("2025-05-06 09:10")


WRONG = (
    *(({"distance_ft": -1}, "distance_ft"), ({"heading_deg": "north"}, "heading_deg"), ({"wind": 3}, "wind")),
    *(({"heading_deg": None}, "heading_deg"), ({"spot": "#1"}, "spot"), ({"distance_m": 3}, "distance_ft")),
    *(({"distance_ft": None, "distance_m": "three"}, "distance_ft"), ({"distance_ft": 3.0}, "distance_ft")),
)


@pytest.mark.parametrize(("change", "column"), WRONG)
def test_a_row_that_is_not_right_is_refused_and_nothing_changes(path, change, column):
    row = {"spot": "low", "heading_deg": 0, "distance_ft": 9} | change
    found = refused("", lambda: append_row(path, row), SheetError)
    assert column in [problem.column for problem in found.problems]
    refused("at least one filled cell", lambda: append_row(path, {}), SheetError)
    assert path.read_bytes() == TEXT.encode()


def test_of_several_rows_all_are_added_or_none(path):
    assert append_rows(path, [ROW, ROW]) == [4, 5]
    before = path.read_bytes()
    refused("", lambda: append_rows(path, [ROW, {"spot": "low"}]), SheetError)
    assert path.read_bytes() == before
    assert append_rows(path, []) == []
    assert path.read_bytes() == before
    assert append_row(path, {"spot": "low", "heading_deg": 0, "distance_ft": 3.0}, accept_suspects=True) == 6


def test_who_enters_a_row_that_stands_alone_is_asked_and_a_file_with_it_is_read(tmp_path):
    path, thin = new_sheet(tmp_path / "chips.csv", "chips"), {"club": "SW", "lie": "clean", "carry_m": 5, "rest_m": 36}
    append_rows(path, [thin | {"carry_m": 5 + n / 10, "rest_m": 11 + n / 5} for n in range(6)])
    refused("Was it thin\\?", lambda: append_row(path, thin), SheetError)
    row = append_row(path, thin | {"strike": "thin"})
    assert not read_chips(path).notes
    mend_row(path, row, {"strike": ""}, kind="chips", accept_suspects=True)
    assert any(f"row {row}, column rest_m" in note for note in read_chips(path).notes)


@pytest.mark.parametrize("style", ["", *STYLES])
def test_a_sheet_from_before_a_column_gets_it_with_the_first_row_that_fills_it(style: str, tmp_path: Path) -> None:
    path, text = tmp_path / "films.csv", "# mine\nroll,spot,kind,time_s,distance_m,weather\n"
    text += "".join(f"a,low,putt,{n / 10},{n / 9},sun\n" for n in range(4))
    path.write_bytes(SAVED[style][0](text) if style else text.encode())
    roll = {"roll": "b", "spot": "low", "kind": "putt", "weather": "rain"}
    rows = [{**roll, "time_s": n / 10, "distance_m": n / 9, "scale_error": 0.05} for n in range(4)]
    append_rows(path, rows, kind="films")
    films = sheets.read_films(path)
    assert not any("missing" in note for note in films.notes)
    assert films.frame["scale_error"].isna().tolist() == [True] * 4 + [False] * 4
    assert films.frame["weather"].tolist() == ["sun"] * 4 + ["rain"] * 4
    if not style:
        assert path.read_text().startswith(text.replace("weather", "weather,scale_error").replace("sun", "sun,"))
        refused("wind.*Add the column", lambda: append_rows(path, [{**rows[0], "wind": 3}]), SheetError)
    mend_row(path, 10, {**rows[3], "note": "new"}, kind="films")
    assert sheets.read_films(path).frame["note"].tolist() == [*[""] * 7, "new"]


def test_what_stands_in_the_way_of_a_new_row_is_named_and_old_rows_that_are_wrong_do_not(path):
    cafe, omega = TEXT.replace("first", "caf\xe9").encode("cp1252"), ROW | {"note": "\N{GREEK SMALL LETTER OMEGA}"}
    opened, wrong = (TEXT + 'low,sun,0,10,,"oops\n').encode(), (TEXT + "low,sun,0,oops,,\n").encode()
    for old, row, words in ((cafe, omega, "alphabet"), (opened, ROW, "quotation")):
        path.write_bytes(old)
        refused(words, lambda row=row: append_row(path, row), SheetError)
        assert path.read_bytes() == old
    path.write_bytes(wrong)
    assert append_row(path, ROW) == 5
    assert path.read_bytes().startswith(wrong)


def test_the_kind_is_told_from_the_headings(tmp_path):
    folder = make_course_folder(tmp_path / "own")
    append_row(folder / "drops.csv", {"spot": "low", "drop_height_m": 1.5, "rebound_height_m": 0.3})
    append_row(folder / "putts.csv", {"distance_m": 2, "tries": 10, "made": 6})
    append_row(folder / "chips.csv", {"club": "SW", "lie": "clean", "rest_m": 9})
    assert len(read_drops(folder / "drops.csv").frame) == len(read_putts(folder / "putts.csv").frame) == 1
    (tmp_path / "other.csv").write_text("a,b\n1,2\n")
    refused("headings", lambda: append_row(tmp_path / "other.csv", {"a": 1}), SheetError)


def test_missing_and_read_only_files(path, tmp_path, monkeypatch):
    refused("no file", lambda: append_row(tmp_path / "nothing.csv", ROW), SheetError)
    assert not list(tmp_path.glob(".nothing*"))
    monkeypatch.setattr(os, "access", lambda *_: False)
    refused("read-only", lambda: append_row(path, ROW), SheetError)
    assert path.read_bytes() == TEXT.encode()


def test_a_link_keeps_pointing_at_its_sheet_which_keeps_its_rights(path, tmp_path):
    link = tmp_path / "link.csv"
    link.symlink_to(path)
    path.chmod(0o640)
    append_row(link, ROW)
    assert link.is_symlink()
    assert len(read_rollouts(path).frame) == 2
    assert path.stat().st_mode & 0o777 == 0o640


CALLS = ("open", "fsync", "close", "replace", "copymode")


def _failing(monkeypatch, call, at, error):
    """Make the `at`-th call of an operating-system function that saving uses fail."""
    owner = writing.shutil if call == "copymode" else writing.os
    real, calls = getattr(owner, call), itertools.count(1)

    def fails(*arguments, **options):
        if next(calls) != at:
            return real(*arguments, **options)
        if call == "close":
            real(*arguments, **options)
        raise error

    monkeypatch.setattr(owner, call, fails)


@pytest.mark.parametrize("error", [OSError(errno.ENOSPC, "No space left on device"), OSError(errno.EIO, "I/O error")])
@pytest.mark.parametrize("call", CALLS)
@pytest.mark.parametrize("at", [1, 2, 3, 4])
def test_a_failure_at_any_step_leaves_the_old_sheet_or_the_new_one_whole(path, monkeypatch, call, at, error):
    old = path.read_bytes()
    kept, said = old + b'low,rain,90,9.8,,"a ""gust"", strong"\n', f"{error.strerror} gust"
    with monkeypatch.context() as patch:
        _failing(patch, call, at, error)
        try:
            append_row(path, ROW)
        except SheetError as caught:
            kept, said = old, str(caught)
    assert path.read_bytes() == kept
    assert error.strerror in said
    assert call != "replace" or "gust" in said  # the row is in the error, so that it can be entered again
    assert not list(path.parent.glob("*.part")) + list(path.parent.glob(".*.part"))
    append_row(path, ROW)
    assert path.read_bytes().startswith(old)


def test_a_disk_that_takes_only_some_bytes_leaves_the_old_sheet(path):
    resource = pytest.importorskip("resource", reason="this system limits no file's size")
    limits = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (20, limits[1]))
    try:
        refused("File too large", lambda: append_row(path, ROW), SheetError)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, limits)
    assert path.read_bytes() == TEXT.encode()
    assert not list(path.parent.glob(".*.part"))


def python(code, *arguments):
    """Start Python on code that appends rows to a sheet."""
    begin = "import os, sys\nfrom golfphys.sheets import append_row\npath, word = sys.argv[1:]\n"
    row = 'row = {"spot": "low", "heading_deg": 90, "distance_ft": 9.8}\n'
    return subprocess.Popen([sys.executable, "-c", begin + row + code, *map(str, arguments)], cwd=ROOT)


@pytest.mark.parametrize("call", ["fsync", "replace"])
def test_a_crash_leaves_the_old_sheet_and_the_next_writer_clears_up(path, call):
    killed = python("setattr(os, word, lambda *_: os._exit(7)); append_row(path, row)", path, call)
    assert killed.wait(timeout=60) == 7
    assert path.read_bytes() == TEXT.encode()
    assert len(list(path.parent.glob(".rollouts.csv.*.part"))) == 1
    append_row(path, ROW)
    assert not list(path.parent.glob(".rollouts.csv.*.part"))
    assert len(read_rollouts(path).frame) == 2


def test_rows_of_threads_and_of_processes_all_arrive(path):
    notes, names = [str(number) for number in range(12)], ("first", "second")
    with ThreadPoolExecutor(3) as threads:
        list(threads.map(lambda note: append_row(path, ROW | {"note": note}), notes))
    code = 'for number in range(10): append_row(path, row | {"note": f"{word}-{number}"})'
    writers = [python(code, path, name) for name in names]
    assert [writer.wait(timeout=60) for writer in writers] == [0, 0]
    notes += [f"{name}-{number}" for name in names for number in range(10)]
    assert sorted(read_rollouts(path).frame["note"][1:]) == sorted(notes)


def test_a_writer_that_does_not_let_go_is_reported(path):
    with (
        writing.locked(path.resolve(), Findings("held")),
        pytest.raises(SheetError, match="one writer"),
        writing.locked(path.resolve(), Findings(str(path)), wait=0.05),
    ):
        pytest.fail("the lock was given twice")


def test_a_file_changed_meanwhile_by_another_program_is_read_again(path, monkeypatch):
    real, saves = os.fsync, ["from a spreadsheet"]

    def fsync(handle):  # another program saves between the check and the replacement
        for note in saves and [saves.pop()]:
            with path.open("a") as stream:
                stream.write(f"low,sun,0,10.1,,{note}\n")
        return real(handle)

    monkeypatch.setattr(writing.os, "fsync", fsync)
    append_row(path, ROW)
    assert read_rollouts(path).frame["note"].tolist() == ["first", "from a spreadsheet", 'a "gust", strong']
    saves += ["again"] * 50
    refused("keeps changing", lambda: append_row(path, ROW), SheetError)
    assert read_rollouts(path).frame["note"].tolist().count('a "gust", strong') == 1


def test_a_new_sheet_never_overwrites(path, tmp_path, monkeypatch):
    refused("name that is free", lambda: new_sheet(path, "rollouts"), SheetError)
    assert path.read_bytes() == TEXT.encode()
    refused("expected one of", lambda: new_sheet(tmp_path / "new.csv", "wombats"))
    refused("metres, feet", lambda: new_sheet(tmp_path / "new.csv", "drops", units="cubits"))
    refused("save", lambda: new_sheet(tmp_path / "no folder" / "new.csv", "drops"), SheetError)
    _failing(monkeypatch, "fsync", 1, OSError(errno.ENOSPC, "No space left on device"))
    refused("No space left", lambda: new_sheet(tmp_path / "new.csv", "drops"), SheetError)
    assert not (tmp_path / "new.csv").exists()


def test_a_course_folder_is_made_whole_or_not_at_all(tmp_path, monkeypatch):
    folder = make_course_folder(tmp_path / "own", units="feet", reference_line="from the gate\nto the mill")
    assert sorted(file.stem for file in folder.glob("*.csv")) == sorted(kinds())
    assert "# reference line: from the gate to the mill\n" in (folder / "rollouts.csv").read_text()
    before = (folder / "rollouts.csv").read_bytes()
    refused("already", lambda: make_course_folder(folder), SheetError)
    assert (folder / "rollouts.csv").read_bytes() == before

    def fails(self, data):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(Path, "write_bytes", fails)
    refused("No space left", lambda: make_course_folder(tmp_path / "other"), SheetError)
    assert [item.name for item in tmp_path.iterdir()] == ["own"]


def test_a_course_is_read_as_far_as_it_is_filled(tmp_path):
    folder = make_course_folder(tmp_path / "own")
    refused("no sheet with rows", lambda: read_course(folder), SheetError)
    append_row(folder / "putts.csv", {"distance_m": 2, "tries": 10, "made": 6})
    (folder / "chips.csv").unlink()
    course = read_course(folder)
    assert course.putts is not None
    assert course.rollouts is course.chips is None
    assert {"There is no chips.csv.", "rollouts.csv has no rows yet."} <= set(course.notes)
    (folder / "drops.csv").write_text("spot,drop_height_m,rebound_height_m\nlow,1,x\n")
    (folder / "chips.csv").write_text("club,lie,rest_m\n,clean,3\n")
    found = refused("drops.csv", lambda: read_course(folder), SheetError)
    assert {Path(problem.file).name for problem in found.problems} == {"drops.csv", "chips.csv"}
    refused("make_course_folder", lambda: read_course(tmp_path / "nowhere"), SheetError)


MENDED = """# mine
club,lie,carry_m,rest_m,own words
sand wedge,fairway,6.3,11.2,a

lob wedge,fairway,5,7,b
9-iron,tight,5,14,c""".replace("\n", "\r\n")


@pytest.mark.parametrize("style", ["no last line end", "utf-8 mark", "decimal commas", "utf-16"])
def test_one_row_changes_or_goes_and_the_rest_stays(style: str, sheet: Callable[..., Path]) -> None:
    old = SAVED[style][0](MENDED)
    path = sheet(old)
    change = mend_row(path, 5, {"club": "lob wedge", "lie": "rough", "carry_m": 5.5, "rest_m": 8}, kind="chips")
    chips = read_chips(path).frame
    assert chips["lie"].tolist() == ["fairway", "rough", "tight"]
    assert chips["carry"].tolist() == [6.3, 5.5, 5.0]
    assert path.read_bytes().count(b"\r") == old.count(b"\r")
    take_back(change)
    kept = {3: ["lob wedge", "9-iron"], 5: ["sand wedge", "9-iron"], 6: ["sand wedge", "lob wedge"]}
    for row, clubs in kept.items():
        assert path.read_bytes() == old
        change = delete_row(path, row, kind="chips")
        assert read_chips(path).frame["club"].tolist() == clubs
        take_back(change)


def test_what_is_not_right_changes_nothing(sheet: Callable[..., Path]) -> None:
    path = sheet(MENDED)
    far = {"club": "lob wedge", "lie": "rough", "carry_m": "far"}
    refused("far", lambda: mend_row(path, 5, far, kind="chips"), SheetError)
    refused("row 4: found no such row", lambda: delete_row(path, 4, kind="chips"), SheetError)
    assert path.read_bytes() == MENDED.encode()
    change = delete_row(path, 6, kind="chips")
    delete_row(path, 5, kind="chips")
    refused("changed again since", lambda: take_back(change), SheetError)
    assert len(read_chips(path).frame) == 1


def test_a_number_is_never_left_in_the_wrong_unit(sheet):
    path = sheet("club;lie;carry_ft;rest_ft;side_ft\nSW;fairway;20;34;0,5\n")
    append_row(path, {"club": "SW", "lie": "fairway", "carry_m": "6,1", "rest_m": 9, "side_m": "\N{MINUS SIGN}0.3"})
    chips = read_chips(path).frame.iloc[-1]
    assert [round(float(chips[name]), 3) for name in ("carry", "rest", "side")] == [6.1, 9.0, -0.3]


def test_a_heading_on_two_lines_is_left_to_the_program_that_made_it(sheet):
    text = 'carry_m,lie,club,"rest\n(m)"\n6,fairway,SW,9\n7,fairway,SW,10\n8,fairway,SW,11\n'
    path = sheet(text)
    for row in (2, 3, 4):
        refused("several lines", lambda row=row: delete_row(path, row, kind="chips"), SheetError)
        refused("several lines", lambda row=row: mend_row(path, row, {"lie": "tight"}, kind="chips"), SheetError)
    assert path.read_text() == text


def test_cells_that_a_spreadsheet_would_run_are_quoted_and_read_back(sheet):
    path = sheet("spot,heading_deg,distance_m,note\nlow,0,3.05,a\n")
    append_row(path, {"spot": "low", "heading_deg": 90, "distance_m": 3.0, "note": "=1+1"})
    assert "'=1+1" in path.read_text()
    frame = read_rollouts(path).frame
    assert frame["note"].tolist() == ["a", "=1+1"]
    names = ["spot", "heading_deg", "distance_m", "note"]
    text = sheets.sheet_text(frame.assign(note=["@here", "+x"]), "rollouts", names)
    text += sheets.table_text(pd.DataFrame({"=x": ["@y"], "n": [-1.5]}))
    assert all(cell in text for cell in ("'@here", "'+x", "'=x", "'@y", "-1.5"))
    assert "'-1.5" not in text
