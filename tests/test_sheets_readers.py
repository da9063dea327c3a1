"""Every reader: what it accepts, what it refuses, and whether its answer names the place."""

import math
import os
import pickle

import numpy as np
import pandas as pd
import pytest

import golfphys
from golfphys.sheets import SheetError, kind_of, read_rollouts, sheet_text
from golfphys.sheets.checks import check
from golfphys.sheets.errors import Findings
from golfphys.sheets.table import parse_table

HEAD = "spot,heading_deg,release_speed_m_s,distance_m,side_m,note"
GOOD = f"""# reference line: along the west edge
{HEAD}
low,0,1.83,3.05,-0.10,
low,90,1.83,2.95,,a "quoted" word
low,180,1.83,3.10,0.05,
low,270,1.83,3.00,,
"""


def problems(path, reader=read_rollouts, **options):
    """Problems of a sheet that must not be read."""
    with pytest.raises(SheetError) as caught:
        reader(path, **options)
    error = caught.value
    assert str(path) in str(error)
    for problem in error.problems[:25]:
        assert str(problem) in str(error)
        assert problem.found
        assert problem.expected
        assert problem.advice
    return error.problems


def only(found):
    """The single problem of a list."""
    assert len(found) == 1, found
    return found[0]


# what is read


def test_a_good_sheet_becomes_si_and_radians(sheet):
    read = read_rollouts(sheet(GOOD))
    assert read.rolls["row"].tolist() == [3, 4, 5, 6]
    np.testing.assert_allclose(read.rolls["heading"], [0, math.pi / 2, math.pi, 3 * math.pi / 2])
    assert read.rolls["release_speed"].tolist() == [1.83] * 4
    assert read.rolls["distance"].tolist() == [3.05, 2.95, 3.10, 3.00]
    np.testing.assert_array_equal(read.rolls["side"], [-0.10, np.nan, 0.05, np.nan])
    assert read.rolls["measured_at"].isna().all()
    assert read.rolls["note"][1] == 'a "quoted" word'
    assert read.reference_line == "along the west edge"
    assert read.path.endswith("sheet.csv")


def test_feet_inches_and_ramp_are_converted(sheet):
    text = "spot,heading_deg,ramp_run_in,distance_in,side_in\nlow,-90,30,120,-6\nlow,360,7.5,30,\n"
    read = read_rollouts(sheet(text))
    np.testing.assert_allclose(read.rolls["distance"], [3.048, 0.762])
    np.testing.assert_allclose(read.rolls["side"][0], -0.1524)
    np.testing.assert_allclose(read.rolls["heading"], [3 * math.pi / 2, 0.0], atol=1e-12)
    np.testing.assert_allclose(read.rolls["release_speed"], [1.83, 1.83 / 2])
    assert any("ramp" in note for note in read.notes)


def test_without_a_release_speed_the_full_ramp_is_assumed_and_said(sheet):
    read = read_rollouts(sheet("spot,heading_deg,distance_m\nlow,0,3\nlow,180,3.1\n"))
    assert read.rolls["release_speed"].tolist() == [1.83, 1.83]
    assert any("1.83 m/s" in note for note in read.notes)


def test_speed_and_ramp_may_share_a_sheet_but_not_a_row(sheet):
    head = "spot,heading_deg,release_speed_m_s,ramp_run_in,distance_m\n"
    read = read_rollouts(sheet(head + "low,0,1.83,,3\nlow,180,,30,3.1\n"))
    np.testing.assert_allclose(read.rolls["release_speed"], 1.83)
    assert only(problems(sheet(head + "low,0,1.83,30,3\n"))).row == 2
    assert only(problems(sheet(head + "low,0,1.83,,3\nlow,180,,,3.1\n"))).row == 3


@pytest.mark.parametrize(
    ("encode", "mention"),
    [
        (lambda text: b"\xef\xbb\xbf" + text.encode(), None),
        (lambda text: text.encode("utf-16"), None),
        (lambda text: b"\xfe\xff" + text.encode("utf-16-be"), None),
        (lambda text: text.encode("utf-16-le"), "UTF-16"),
        (lambda text: text.encode("utf-32"), None),
        (lambda text: text.replace("\n", "\r\n").encode(), None),
        (lambda text: text.replace("\n", "\r").encode(), None),
        (lambda text: text.replace("\n", "\r\n", 2).encode(), "line ends"),
        (lambda text: text.replace("low", "trou n\xb0 9").encode("cp1252"), "Western"),
        (lambda text: text.replace(",", ";").encode(), None),
        (lambda text: text.replace(",", ";").replace(".", ",").encode(), "decimal signs"),
        (lambda text: text.replace(",", "\t").replace(".", ",").encode(), "tabs"),
        (lambda text: b"sep=;\n" + text.replace(",", ";").encode(), None),
        (lambda text: text.replace("\n", ",,\n").encode(), None),
        (lambda text: text.replace("\n", "\n\n,,,,,\n").encode(), None),
        (lambda text: text.rstrip("\n").encode(), None),
        (lambda text: text.upper().replace("# REFERENCE LINE: ALONG THE WEST EDGE", "# a").encode(), None),
        (lambda text: text.replace("-0.10", "\N{MINUS SIGN}0.10").encode(), None),
        (lambda text: text.replace("heading_deg", " Heading deg ").encode(), None),
    ],
    ids=[
        *(
            "utf-8 mark",
            "utf-16",
            "utf-16 be",
            "utf-16 unmarked",
            "utf-32",
            "windows",
            "old mac",
            "mixed ends",
            "cp1252",
        ),
        *("semicolons", "decimal commas", "tabs", "sep line", "trailing commas", "blank lines", "no last line end"),
        *("capitals", "minus sign", "spaced heading"),
    ],
)
def test_whatever_program_saved_it_the_numbers_are_the_same(sheet, encode, mention):
    expected = read_rollouts(sheet(GOOD)).rolls
    read = read_rollouts(sheet(encode(GOOD)))
    columns = ["heading", "release_speed", "distance", "side"]
    pd.testing.assert_frame_equal(read.rolls[columns], expected[columns])
    assert mention is None or any(mention in note for note in read.notes), read.notes


def test_rows_are_numbered_as_a_spreadsheet_numbers_them(sheet):
    text = f'# one\n\n{HEAD}\nlow,0,1.83,3.0,,"two\nlines"\n\nlow,0,1.83,-3,,\n'
    assert only(problems(sheet(text))).row == 6
    marked = '"# a comment, with a comma",,,,,\n' + GOOD
    assert read_rollouts(sheet(marked)).rolls["row"].tolist() == [4, 5, 6, 7]


def test_unknown_columns_are_kept_and_noted(sheet):
    text = GOOD.replace("note\n", "note,weather,row\n").replace(",\n", ",,sun,7\n").replace("word\n", "word,rain,8\n")
    read = read_rollouts(sheet(text))
    assert read.rolls["weather"].tolist() == ["sun", "rain", "sun", "sun"]
    assert read.rolls["row (as written)"].tolist() == ["7", "8", "7", "7"]
    assert any("weather" in note for note in read.notes)


def test_identical_rows_are_noted_and_kept(sheet):
    read = read_rollouts(sheet(GOOD + "low,270,1.83,3.00,,\n"))
    assert len(read.rolls) == 5
    assert any("rows 6 and 7" in note for note in read.notes)


def test_comments_among_rows_are_left_out_and_noted_but_no_row_is(sheet):
    read = read_rollouts(sheet(GOOD + "# a gust came up\nlow,0,1.83,3.01,,\n"))
    assert len(read.rolls) == 5
    assert any("row 7" in note for note in read.notes)
    assert "a gust came up" in read.comments
    assert only(problems(sheet(GOOD + "#9 front,0,1.83,3.01,,\n"))).row == 7


def test_cells_missing_at_the_end_of_a_row_are_blank_and_noted(sheet):
    read = read_rollouts(sheet(f"{HEAD}\nlow,0,1.83,3.05\nlow,180,1.83,3.0,0.1,x\n"))
    assert math.isnan(read.rolls["side"][0])
    assert any("row 2" in note for note in read.notes)


def test_times_are_local_and_may_lack_the_hour(sheet):
    text = "spot,heading_deg,distance_m,measured_at\nlow,0,3,2025-05-06T09:10\nlow,180,3,2025-05-07\nlow,90,3,\n"
    times = read_rollouts(sheet(text)).rolls["measured_at"]
    assert times[0] == pd.Timestamp("2025-05-06 09:10")
    assert times[1] == pd.Timestamp("2025-05-07")
    assert times.isna()[2]
    zoned = text.replace("09:10", "09:10:30+02:00").replace("low,180,3,2025-05-07\n", "")
    read = read_rollouts(sheet(zoned))
    assert read.rolls["measured_at"][0] == pd.Timestamp("2025-05-06 09:10:30")
    assert any("universal time" in note for note in read.notes)
    assert only(problems(sheet(text.replace("09:10", "09:10Z")))).column == "measured_at"


# what is refused, one cell or heading at a time

BAD_CELLS = [
    ("distance_m", "9.5 ft", "write 2.8956"),
    ("distance_m", "9' 6\"", "write 2.8956"),
    ("distance_m", "9ft 6in", "write 2.8956"),
    ("distance_m", '114"', "write 2.8956"),
    ("distance_m", "3.05m", "write 3.05"),
    ("distance_m", "305 cm", "write 3.05"),
    ("distance_m", "3,05", "3.05"),
    ("distance_m", "1,234.5", "1234.5"),
    ("distance_m", "#N/A", "spreadsheet"),
    ("distance_m", "#DIV/0!", "spreadsheet"),
    ("distance_m", "-3.05", "negative"),
    ("distance_m", "305", "centimetres"),
    ("distance_m", "1e999", "measured"),
    ("distance_m", "nan", "delete the row"),
    ("distance_m", "inf", "number alone"),
    ("distance_m", "three", "number alone"),
    ("distance_m", "", "delete the row"),
    ("heading_deg", "", "delete the row"),
    ("heading_deg", "N", "number alone"),
    ("heading_deg", "90°", "write 90"),
    ("heading_deg", "361", "clockwise"),
    ("heading_deg", "-181", "clockwise"),
    ("release_speed_m_s", "6.0", "feet per second"),
    ("release_speed_m_s", "6 ft/s", "write 1.8288"),
    ("release_speed_m_s", "0", ""),
    ("side_m", "n/a", "leave it blank"),
    ("side_m", "4.2", "units may differ"),
    ("spot", "", "delete the row"),
    ("spot", "#REF!", "#"),
]


@pytest.mark.parametrize(
    ("column", "cell", "advice"), BAD_CELLS, ids=[f"{column}={cell}" for column, cell, _ in BAD_CELLS]
)
def test_a_bad_cell_is_named_with_what_to_do(sheet, column, cell, advice):
    values = {
        "spot": "low",
        "heading_deg": "90",
        "release_speed_m_s": "1.83",
        "distance_m": "3",
        "side_m": "",
        "note": "x",
    }
    quoted = ['"' + text.replace('"', '""') + '"' for text in (values | {column: cell}).values()]
    problem = only(problems(sheet(GOOD + ",".join(quoted) + "\n")))
    assert (problem.row, problem.column) == (7, column) or cell.startswith("#R")
    assert problem.row == 7
    assert advice in problem.advice
    assert cell in problem.found or not cell or "'" in cell


BAD_TIMES = [
    "06/05/2025",
    "5/6/25 9:10",
    "2025-13-01",
    "2025-02-30",
    "31.6.2025",
    "16 May",
    "1025-01-01",
    "noon",
]


@pytest.mark.parametrize("cell", BAD_TIMES)
def test_dates_that_leave_the_day_in_doubt_are_refused(sheet, cell):
    problem = only(problems(sheet(f"spot,heading_deg,distance_m,measured_at\nlow,0,3,{cell}\n")))
    assert (problem.row, problem.column) == (2, "measured_at")


def test_a_day_number_of_a_spreadsheet_is_read_with_a_note(sheet):
    read = read_rollouts(sheet("spot,heading_deg,distance_m,measured_at\nlow,0,3,45783.4\n"))
    assert read.rolls["measured_at"][0] == pd.Timestamp("2025-05-06 09:36")
    assert any("Day numbers" in note for note in read.notes)


def test_one_date_of_a_column_shows_the_order_of_the_others(sheet):
    text = "spot,heading_deg,distance_m,date\nlow,0,3,06/05/2025\nlow,180,3,16/05/2025\n"
    assert read_rollouts(sheet(text)).rolls["date"].dt.day.tolist() == [6, 16]
    assert only(problems(sheet(text + "low,90,3,5/16/2025\n"))).row == 2


def test_all_bad_cells_are_named_at_once(sheet):
    text = f"{HEAD}\nlow,,1.83,3.05,,\nlow,90,fast,-2,,\n,180,1.83,3.1,9,\n"
    found = problems(sheet(text))
    assert {(problem.row, problem.column) for problem in found} == {
        (2, "heading_deg"),
        (3, "release_speed_m_s"),
        (3, "distance_m"),
        (4, "spot"),
        (4, "side_m"),
    }


def test_many_problems_are_all_kept_though_not_all_shown(sheet):
    path = sheet(HEAD + "\n" + "low,0,1.83,-1,,\n" * 100)
    with pytest.raises(SheetError, match="and 75 more") as caught:
        read_rollouts(path)
    assert len(caught.value.problems) == 100
    assert [problem.row for problem in caught.value.problems] == list(range(2, 102))


HEADINGS = {
    "misspelt": ("distnace_m", "distance_m"),
    "without its unit": ("distance", "distance_m"),
    "in a unit not offered": ("distance_yd", "distance_"),
    "heading missing": (None, "heading_deg"),
}


@pytest.mark.parametrize("case", HEADINGS)
def test_a_wrong_heading_is_met_with_the_right_one(sheet, case):
    written, expected = HEADINGS[case]
    text = f"spot,heading_deg,{written}\nlow,0,3\n" if written else "spot,distance_m\nlow,3\n"
    found = problems(sheet(text))
    assert any(expected in problem.expected for problem in found)
    assert all(problem.row == 1 for problem in found)


def test_a_misspelt_optional_column_is_not_silently_lost(sheet):
    problem = only(problems(sheet("spot,heading_deg,distance_m,sied_m\nlow,0,3,0.1\n")))
    assert problem.column == "sied_m"
    assert "side_m" in problem.expected


def test_doubled_headings_and_doubled_units_are_refused(sheet):
    found = problems(sheet("spot,heading_deg,distance_m,distance_m\nlow,0,3,3\n"))
    assert any("2 columns" in problem.found for problem in found)
    found = problems(sheet("spot,heading_deg,distance_m,distance_ft\nlow,0,3,9.8\n"))
    assert any("different units" in problem.found for problem in found)


def test_cells_under_no_heading_are_refused(sheet):
    problem = only(problems(sheet("spot,heading_deg,,distance_m\nlow,0,,3\nlow,0,7,3\n")))
    assert problem.row == 3
    assert "'7'" in problem.found


# decimal commas


def test_decimal_commas_that_split_numbers_get_a_clear_answer(sheet):
    text = f"{HEAD}\nlow,0,1,83,3,05,,sun\nlow,90,1,83,2,95,,sun\n"
    found = problems(sheet(text))
    assert [problem.row for problem in found] == [2, 3]
    assert all("decimal comma" in problem.advice for problem in found)
    for end in ("", ",,"):  # the cells happen to fill the row, or only blank ones stand over
        filled = problems(sheet(f"{HEAD}\nlow,0,1,83,3,05{end}\nlow,90,1,83,2,95{end}\n"))
        assert any(problem.row is None and "decimal comma" in problem.advice for problem in filled)


def test_a_split_number_that_fills_the_row_exactly_is_caught(sheet):
    found = problems(sheet("spot,heading_deg,distance_m,side_m\nlow,0,3,05\nlow,90,2,95\n"))
    assert all(problem.column == "side_m" for problem in found if problem.row)
    assert any("decimal comma" in problem.advice for problem in found)


# units mixed up


def test_one_row_of_feet_among_metres_is_suspected(sheet):
    path = sheet(GOOD + "low,90,1.83,9.8,,\n")
    problem = only(problems(path))
    assert (problem.row, problem.column, problem.suspect) == (7, "distance_m", True)
    assert "feet" in problem.advice
    read = read_rollouts(path, accept_suspects=True)
    assert len(read.rolls) == 5
    assert any("9.8" in note for note in read.notes)


def test_one_row_of_feet_is_found_though_no_other_roll_took_its_heading(sheet):
    text = GOOD.replace("low,180,1.83,3.10", "low,180,1.83,10.17")
    problem = only(problems(sheet(text)))
    assert problem.row == 5


def test_one_row_of_metres_among_feet_is_suspected(sheet):
    text = "spot,heading_deg,distance_ft\nlow,0,10.1\nlow,0,9.8\nlow,180,10.3\nlow,180,3.1\nlow,90,9.9\n"
    problem = only(problems(sheet(text)))
    assert problem.row == 5
    assert "metres" in problem.advice


@pytest.mark.parametrize("stimp_ft", [5.5, 8.0, 10.0, 12.0])
@pytest.mark.parametrize("grade", [0.0, 0.02])
def test_a_whole_sheet_in_the_wrong_unit_is_suspected(sheet, stimp_ft, grade):
    truth = golfphys.CourseTruth(greens={"low": golfphys.Green.from_stimp(stimp_ft, grade=grade, fall_direction=1.0)})
    rolls = golfphys.make_rollouts(truth, golfphys.RolloutDesign(release_speeds=(1.83, 1.4)), 5).rolls
    metres = [
        f"low,{math.degrees(roll.heading):.0f},{roll.release_speed},{roll.distance:.2f}" for roll in rolls.itertuples()
    ]
    feet = [
        f"low,{math.degrees(roll.heading):.0f},{roll.release_speed},{roll.distance / 0.3048:.2f}"
        for roll in rolls.itertuples()
    ]
    head = "spot,heading_deg,release_speed_m_s,distance_"
    assert len(read_rollouts(sheet("\n".join([head + "m", *metres]))).rolls) == 8
    assert len(read_rollouts(sheet("\n".join([head + "ft", *feet]))).rolls) == 8
    as_metres = only(problems(sheet("\n".join([head + "m", *feet]))))
    assert as_metres.suspect
    assert "distance_ft" in as_metres.advice
    as_feet = only(problems(sheet("\n".join([head + "ft", *metres]))))
    assert as_feet.suspect
    assert "distance_m" in as_feet.advice


@pytest.mark.thorough
def test_honest_sheets_are_not_suspected():
    """Slow and fast, level and steep greens, outliers included: no sheet of 100 is refused for its units."""
    rng = np.random.default_rng(11)
    refused = []
    for course in range(100):
        greens = {
            f"spot {index}": golfphys.Green.from_stimp(
                rng.uniform(5, 13.5), grade=rng.uniform(0, 0.035), fall_direction=rng.uniform(-3, 3)
            )
            for index in range(3)
        }
        design = golfphys.RolloutDesign(
            headings=tuple(rng.uniform(0, 2 * math.pi) + np.arange(4) * math.pi / 2),
            release_speeds=(1.83, 1.3),
            outliers=int(rng.integers(0, 3)),
        )
        rolls = golfphys.make_rollouts(golfphys.CourseTruth(greens=greens), design, rng).rolls
        if _is_suspected(rolls):
            refused.append(course)
    assert refused == []


def _is_suspected(rolls):
    text = sheet_text(rolls, "rollouts", ["spot", "heading_deg", "release_speed_m_s", "distance_m"])
    table = parse_table(text.encode(), kind_of("rollouts"), Findings("made"))
    check(table)
    return bool(table.findings.problems)


# whole files


def test_an_empty_sheet_says_so(sheet):
    assert "empty" in only(problems(sheet(""))).found
    assert "empty" in only(problems(sheet("\n \n\r\n"))).found
    assert "comments" in only(problems(sheet("# only this\n"))).found
    assert "empty" in only(problems(sheet(b"\xef\xbb\xbf"))).found


def test_a_sheet_with_headings_only_is_unfilled(sheet):
    path = sheet(HEAD + "\n")
    assert only(problems(path)).unfilled
    with pytest.raises(SheetError) as caught:
        read_rollouts(path)
    assert caught.value.unfilled


@pytest.mark.parametrize(
    "content",
    [
        b"PK\x03\x04" + b"\0" * 50,
        b"\xd0\xcf\x11\xe0abc",
        b"%PDF-1.7\n",
        bytes(range(256)),
        b"spot\0,heading_deg\n",
        b"\xff\xfea",
    ],
    ids=["workbook", "old workbook", "document", "all bytes", "zero byte", "half a letter"],
)
def test_what_is_no_text_is_refused(sheet, content):
    assert "CSV" in only(problems(sheet(content))).expected


def test_missing_files_folders_and_odd_paths(tmp_path):
    assert "no file" in only(problems(tmp_path / "nothing.csv")).found
    assert "folder" in only(problems(tmp_path)).found
    assert only(problems("a\0b")).found
    if hasattr(os, "mkfifo"):
        os.mkfifo(tmp_path / "pipe")
        assert "not a file" in only(problems(tmp_path / "pipe")).found


def test_a_file_too_large_is_refused_before_it_is_read(tmp_path):
    path = tmp_path / "huge.csv"
    with path.open("wb") as stream:
        stream.truncate(65 * 1024 * 1024)
    assert "at most" in only(problems(path)).expected


def test_a_large_sheet_is_read(sheet):
    rows = "".join(f"low,{row % 360},1.83,3.{row % 97:02},,\n" for row in range(10800))  # repeats itself after 34920
    assert len(read_rollouts(sheet(f"{HEAD}\n{rows}")).rolls) == 10800


def test_quotation_marks_that_swallow_rows_are_named(sheet):
    swallowed = GOOD + 'low,0,1.83,3.0,,"oops\nlow,0,1.83,3.1,,\nlow,0,1.83,3.2,,end"\n'
    assert any(problem.row == 7 for problem in problems(sheet(swallowed)))
    unclosed = GOOD + 'low,0,1.83,3.0,,"oops\nlow,0,1.83,3.1,,\n'
    assert any(problem.row == 7 and "quotation" in problem.found for problem in problems(sheet(unclosed)))


def test_a_row_cut_off_at_the_end_of_the_file_is_named(sheet):
    problem = only(problems(sheet(f"{HEAD}\nlow,0,1.83,3.05,,\nlow,180,1.83,3.")))
    assert problem.row == 3
    assert "cut off" in problem.advice


def test_a_sheet_without_headings_is_refused(sheet):
    found = problems(sheet("low,0,1.83,3.05\nlow,90,1.83,2.95\n"))
    assert {problem.row for problem in found} == {1}


def test_the_error_survives_pickling(sheet):
    with pytest.raises(SheetError) as caught:
        read_rollouts(sheet("spot\n"))
    again = pickle.loads(pickle.dumps(caught.value))
    assert str(again) == str(caught.value)
    assert again.problems == caught.value.problems
