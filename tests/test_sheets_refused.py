"""What readers refuse or ask about: the answer names the place and what to do; of honest sheets nothing is asked."""

import math
import os
import re

import numpy as np
import pytest
from conftest import refused
from test_sheets_reading import GOOD, HEAD, ROLLS, TURNS, cases

import golfphys
from golfphys.sheets import SheetError, kind_of, read_rollouts, read_sheet, sheet_text
from golfphys.sheets.checks import check
from golfphys.sheets.errors import Findings
from golfphys.sheets.table import parse_table


def problems(path, reader=read_rollouts):
    error = refused(re.escape(str(path)), lambda: reader(path), SheetError)
    for problem in error.problems[:25]:
        assert str(problem) in str(error)
        assert problem.found
        assert problem.expected
        assert problem.advice
    return error.problems


LOW, HIGH, MID = ("low", 3.05, 10), ("high", 9.5, 3.2), ("mid", 2.9, 9.5)
SPOTS = [(*spot, turn) for spot in (LOW, HIGH, MID) for turn in TURNS]
ROWS = {
    **{"PUTTS": ["distance_m,tries,made"], "METRES": ["club,lie,carry_m,rest_m"]},
    "AIMED": ["club,lie,target_carry_m,carry_m,rest_m"],
    "round": [f"practice-low,{turn},3.05" for turn in TURNS],
    "again": [f"low,{turn},{3 + turn / 900 + n / 50:.2f}" for n in (0, 1, 0, 1) for turn in TURNS],
    "high": [f"{spot},{turn},{metres}" for spot, metres, _, turn in SPOTS],
    "yards": [f"{spot},{turn},{yards}" for spot, _, yards, turn in SPOTS],
    "down": [f"low,{n},3.{n % 7}" for n in range(90, 99)],
    "thrice": [f"sand wedge,fairway,6.{n},11.{n}" for n in (1, 4, 2, 1, 4, 2)],
    "mixed": [f"SW,clean,{n},{n / 0.3048:.1f},,,,," for n in range(6, 11)],
    "flown": [f"SW,fairway,,{n},0.9,,{2 * n},," for n in range(20, 24)],
    "hers": [f"sand wedge,fairway,{5.9 + n / 9:.1f},,{37 + n}" for n in range(4)],
    "frames": [f"a,low,90,putt,{n},{n * 0.05}" for n in range(5)],
    "slow": [f"a,low,90,ramp,{n / 4},{0.1143 * n - 0.0011 * n * n:.4f}" for n in range(50)],
    "films": [
        f"{name},low,90,ramp,{slowness * n / 20},{1.5 * n / 20 - 0.3 * (n / 20) ** 2:.4f}"
        for name, slowness in (("a", 1), ("b", 1), ("c", 2))
        for n in range(50)
    ],
    "drops": 2 * [f"low,{n},{n / 6:.2f},," for n in (0.5, 1, 1.5, 2, 3)],
    "putts": 2 * [f"{n},10,{9 - n}" for n in range(1, 6)],
}
BLOCKS = {name: "\n".join([*rows, ""]) for name, rows in ROWS.items()}
# by kind: name | rows and columns that are named, "?" where it is of no row | words in what is said | the sheet;
# of those that are asked about one may insist that they are so
TABLE = r"""
[rollouts]
all at once | 2 heading_deg, 3 release_speed_m_s, 3 distance_m, 4 spot, 4 side_m | | {HEAD}\nlow,,1.83,3.05,,\n
    low,90,fast,-2,,\n,180,1.83,3.1,9,\n
decimal commas | 2, 3 | decimal comma | {HEAD}\nlow,0,1,83,3,05,,sun\nlow,90,1,83,2,95,,s\n
commas that fill the row | ? | decimal comma | {HEAD}\nlow,0,1,83,3,05\nlow,90,1,83,2,95\n
commas and blanks over | ? | decimal comma | {HEAD}\nlow,0,1,83,3,05,,\nlow,90,1,83,2,95,,\n
cut off | 3 | cut off | {HEAD}\nlow,0,1.83,3.05,,\nlow,180,1.83,3.
rows as a spreadsheet numbers them | 6 | | # one\n\n{HEAD}\nlow,0,1.83,3.0,,"two\nlines"\n\nlow,0,1.83,-3,,\n
a day that has not come | 3 date | Check the year | spot,heading_deg,distance_m,date\nlow,0,3,2025-05-06\n
    low,90,3.1,2052-05-06\n
speed and ramp | 2 | | {RAMPS}low,0,1.83,30,3\n
neither speed nor ramp | 3 | | {RAMPS}low,0,1.83,,3\nlow,180,,,3.1\n
a row like a comment | 7 | | {GOOD}#9 front,0,1.83,3.01,,\n
rows swallowed by quotation | 7 | | {GOOD}low,0,1.83,3.0,,"oops\nlow,0,1.83,3.1,,\nlow,0,1.83,3.2,,end"\n
open quotation marks | 7 | quotation | {GOOD}low,0,1.83,3.0,,"oops\nlow,0,1.83,3.1,,\n
one time zoned | ? measured_at | | {TIMED}low,0,3,2025-05-06T09:10Z\nlow,9,3,2025-05-07\n
dates of two orders | 2 | | spot,heading_deg,distance_m,date\nlow,0,3,06/05/2025\nlow,1,3,16/05/2025\n
    low,9,3,5/16/2025\n
two days | 2 | the day of '2025-05-07T10:00' | spot,heading_deg,distance_m,date,measured_at\n
    low,0,3,2025-05-06,2025-05-07T10:00\n
misspelt heading | 1 | distance_m | spot,heading_deg,distnace_m\nlow,0,3\n
heading without unit | 1 | distance_m | spot,heading_deg,distance\nlow,0,3\n
unit not offered | 1 | distance_ | spot,heading_deg,distance_yd\nlow,0,3\n
misspelt optional | 1 sied_m | side_m | spot,heading_deg,distance_m,sied_m\nlow,0,3,0.1\n
doubled heading | 1 | 2 columns | spot,heading_deg,distance_m,distance_m\nlow,0,3,3\n
doubled unit | 1 | different units | spot,heading_deg,distance_m,distance_ft\nlow,0,3,9.8\n
cell under no heading | 3 | '7' | spot,heading_deg,,distance_m\nlow,0,,3\nlow,0,7,3\n
commas that fill it | ? | decimal comma | spot,heading_deg,distance_m,side_m\nlow,0,3,05\nlow,90,2,95\n
compass | 2 | clockwise from the reference line | {ROLLS}low,NE,3\n
rows in quotation marks | 2, 3 | quotation marks | {ROLLS}"low,0,3"\n"low,90,3"\n
heading missing | 1 | heading_deg | spot,distance_m\nlow,3\n
no headings | 1 | | low,0,1.83,3.05\nlow,90,1.83,2.95\n
blanks between the cells | 1 | one cell | spot heading_deg distance_m\nlow 0 3\n
[chips]
another | 2 | | club;lie;carry_m;rest_m\n#8 iron;fairway;4,1;12,0\nlob wedge;rough;5,0;7,5\n
chips half told | 2 carry_m, 3 club | | {CHIPS}SW,clean,6,,,,,,\n,clean,6,6,,,,,\n
a unit beside a decimal comma | 2 rest_m | write 13.84 | club;lie;rest_m\nSW;rough;13,84 m\n
two sheets in one file | 4, 5 | | club,lie,rest_m\nSW,tight,9\n\nspot,drop_height_m\nlow,1.5\n
dashes for blanks | 2 side_m | leave it blank | club,lie,rest_m,side_m\nSW,tight,9,-\n
[films]
film backwards | 4 time_s | | {FILMS}a,low,9,putt,0,0\na,low,9,putt,0.2,0.2\na,low,9,putt,0.1,0.3\n
film that changes | 3 heading_deg, 4 spot, 4 kind | | {FILMS}a,low,90,putt,0,0\na,low,91,putt,0.1,0.2\n
    a,high,90,chip,0.2,0.3\n
film of no kind | 2 kind | putt, chip, ramp | {FILMS}a,low,90,throw,0,0\n
a film too fast | ? distance_m | | {FILMS}a,l,9,putt,0,0\na,l,9,putt,0.1,4\na,l,9,putt,0.2,8\n
[drops]
drops half told | 2 rebound_height_cm, 3 drop_height_cm, 4 drop_height_cm | | {CENTIMETRES}low,150,,,\nlow,,31,,\n
    low,,,500,\n
drops that gain energy | 2 rebound_height_m, 3 rebound_height_m, 4 first_flight_s, 5 second_flight_s | |
    {DROPS}low,1.5,31,,\nlow,1.5,1.6,,\nlow,1.5,,1.2,\nlow,,,0.4,0.5\n
another kind | 1 | call the file putts.csv | {PUTTS}2,10,6\n
rows for columns | 1 low | Rename | spot,low,low\ndrop_height_m,1,1\nrebound_height_m,0,0\n
[putts]
putts in parts | 2 made, 3 tries, 4 tries | | {PUTTS}10,5,6\n10,2.5,1\n10,0,0\n
hits in per cent | 2, 3 | how many | {PUTTS}2,10,60%\n2,10,0.6\n
a total below the rows | 3 | number alone | {PUTTS}2,10,6\ntotal,10,6\n
headings twice | 3 tries, 3 made | number alone | {PUTTS}2,10,6\n{PUTTS}2,10,6\n
[targets]
hits beyond tries | 2 hits, 3 target_size_cm | | club,lie,distance_m,target_size_cm,tries,hits\n
    SW,fairway,8,150,10,11\nSW,fairway,0.6,150,10,1\n
[rollouts, asked]
feet among metres | 7 distance_m | feet | {GOOD}low,90,1.83,9.8,,\n
feet in the second row | 3 | feet | {ROLLS}low,0,3.05\nlow,90,10.2\n
pasted twice | 10 | from row 2 on | {ROLLS}{again}
a spot misspelt once | 6 spot | Write practice-low | {ROLLS}{round}pratice-low,0,3\n
a spot without its hyphen | 6 spot | Write practice-low | {ROLLS}{round}practicelow,0,3\n
one spot in feet | 6 distance_m | 'high' | {ROLLS}{high}
radians | ? | radians | {ROLLS}low,0,3\nlow,1.57,3.1\nlow,3.14,3\nlow,4.71,3\n
up and down in radians | ? | radians | {ROLLS}low,0,3\nlow,3.14,3.1\n
by the clock | ? | hours | {ROLLS}low,12,3\nlow,3,3.1\nlow,6,3\nlow,9,3\n
filled down | 2 heading_deg | filled down | {ROLLS}{down}
three in metres | 6, 7, 8 | metres | {FEET}low,0,9.5\nlow,0,9.7\nlow,9,9.4\nlow,9,9.6\nlow,0,2.9\nlow,9,2.9\nlow,0,3\n
one spot in yards | 6 distance_ft | 'high' | {FEET}{yards}
one length for every roll | ? distance_ft | | spot,heading_deg,ramp_run_in,distance_ft\nlow,0,30,9.5\nlow,0,20,9.5\n
    low,0,12,9.5\nlow,0,8,9.5\n
[chips, asked]
three chips pasted twice | 5 | from row 2 on | {METRES}{thrice}
words misspelt once | 3 lie | Write fairway if that is what it is. | {METRES}SW,fairway,6,11\nSW,fairwy,6.1,11.2\n
two units | ? | different units | {CHIPS}{mixed}
hung too long | 2 hang_time_s | | {CHIPS}SW,clean,6,6,3.9,,,,\n
carries in feet | ? carry_m | hang times | {CHIPS}{flown}
one player's rests in feet | 6 rest_m, 7 rest_m, 8 rest_m, 9 rest_m | feet | {HOPS}{USUAL}{hers}
rest short of landing | 6 rest_m | 13 | {HOPS}{USUAL}sand wedge,fairway,9,,4\n
hop beyond rest | 6 first_hop_m | | {HOPS}{USUAL}sand wedge,fairway,6,15,11\n
hop before landing | 6 first_hop_m | 8 | {HOPS}{USUAL}sand wedge,fairway,6,2,11\n
carry in feet | 3 carry_m | feet | {AIMED}SW,fairway,6,6.2,11\nSW,fairway,6,20,36\n
[films, asked]
frame numbers | ? | frames per second | {FILMS}{frames}
slow motion | ? time_s | frames per second | {FILMS}{slow}
one film of three in slow motion | 102 time_s | sped up | {FILMS}{films}
[drops, asked]
height and time at odds | 2 | | {DROPS}low,1.5,0.3,0.9,\n
drops from five feet | 3 | feet | {DROPS}low,1.5,0.31,,\nlow,5,1.0,,\n
drops pasted twice | 7 | from row 2 on | {DROPS}{drops}
[putts, asked]
putts pasted twice | 7 | from row 2 on | {PUTTS}{putts}
putts in feet under metres | ? distance_m | feet | {PUTTS}3.3,25,20\n6.6,25,13\n9.8,25,9\n13.1,25,6\n
[survey, asked]
a point twice | 2, 3 | row 2 | x_m,y_m,height_m\n0,0,0\n0,0,0\n3,3,0\n
"""
NO_DATES = ("06/05/2025", "5/6/25 9:10", "2025-13-01", "2025-02-30", "31.6.2025", "16 May", "1025-01-01", "noon")
TABLE += "[rollouts]\n" + "".join(f"{cell} | 2 measured_at | | {{TIMED}}low,0,3,{cell}\\n\n" for cell in NO_DATES)


@pytest.mark.parametrize(("kind", "places", "words", "text"), cases(TABLE, **BLOCKS))
def test_what_is_not_right_is_refused_with_its_place_and_what_to_do(sheet, kind, places, words, text):
    path, (kind, *asked) = sheet(text), kind.split(", ")
    found = problems(path, lambda path: read_sheet(path, kind))
    named = [place.split() for place in places.split(", ")]
    for row, *column in named:
        assert any(row in ("?", str(item.row)) and column in ([], [item.column]) for item in found), (
            row,
            column,
            found,
        )
    rows = {row for row, *_ in named}
    assert "?" in rows or {str(item.row) for item in found if item.row} <= rows
    assert words in " ".join(f"{item.found} {item.expected} {item.advice}" for item in found)
    if asked:
        assert all(item.suspect for item in found)
        assert len(read_sheet(path, kind, accept_suspects=True).frame) >= 1


NO_TEXT = (b"PK\3\4" + b"\0" * 50, b"\xd0\xcf\x11\xe0abc", b"%PDF-1.7\n", bytes(range(256)), b"\xff\xfea")
EMPTY = {"\n \n\r\n": "empty", b"\xef\xbb\xbf": "empty", "# only this\n": "comments"} | dict.fromkeys(NO_TEXT, "CSV")


@pytest.mark.parametrize("content", EMPTY, ids=lambda content: repr(content[:9]))
def test_what_holds_no_rows_or_is_no_text_is_refused_in_words(sheet, content):
    said = " ".join(f"{item.found} {item.expected} {item.advice}" for item in problems(sheet(content)))
    assert EMPTY[content] in said


BAD_CELLS = {
    "distance_m": {
        **{"9.5 ft": "write 2.8956", "9' 6\"": "write 2.8956", "9'6": "write 2.8956", '114"': "write 2.8956"},
        **{"3.05m": "write 3.05", "305 cm": "write 3.05", "3,05": "3.05", "1,234.5": "1234.5", "#N/A": "spreadsheet"},
        **{"-3.05": "negative", "305": "centimetres", "1e999": "measured", "nan": "delete the row"},
        **{"inf": "number alone", "three": "number alone", "": "delete the row"},
    },
    "heading_deg": {"": "delete the row", "N": "clockwise", "90°": "write 90", "361": "clockwise", "-181": "clockwise"},
    "release_speed_m_s": {"6.0": "feet per second", "6 ft/s": "write 1.8288", "0": ""},
    "side_m": {"n/a": "leave it blank", "4.2": "units may differ"},
    "spot": {"": "delete the row", "#REF!": "#"},
}


@pytest.mark.parametrize(("column", "cell"), [(column, cell) for column, cells in BAD_CELLS.items() for cell in cells])
def test_a_bad_cell_is_named_with_what_to_do(sheet, column, cell):
    usual = dict(zip(HEAD.split(","), ("low", "90", "1.83", "3", "", "x"), strict=True))
    quoted = ['"' + text.replace('"', '""') + '"' for text in (usual | {column: cell}).values()]
    (problem,) = problems(sheet(GOOD + ",".join(quoted) + "\n"))
    assert problem.row == 7
    assert problem.column == column or cell == "#REF!"
    assert BAD_CELLS[column][cell] in problem.advice
    assert cell in problem.found or not cell or "'" in cell


def test_many_problems_are_all_kept_though_not_all_shown(sheet):
    path = sheet(HEAD + "\n" + "low,0,1.83,-1,,\n" * 100)
    found = refused("and 75 more", lambda: read_rollouts(path), SheetError).problems
    assert [problem.row for problem in found] == list(range(2, 102))
    bomb = problems(sheet(ROLLS + "low,x,y\n" * 20_000))
    assert len(bomb) <= 1001
    assert "more" in str(bomb[-1])


def test_missing_files_folders_and_files_too_large(tmp_path):
    assert "no file" in problems(tmp_path / "nothing.csv")[0].found
    assert "folder" in problems(tmp_path)[0].found
    with (tmp_path / "huge.csv").open("wb") as stream:
        stream.truncate(65 * 1024 * 1024)
    assert "at most" in problems(tmp_path / "huge.csv")[0].expected
    if hasattr(os, "mkfifo"):
        os.mkfifo(tmp_path / "pipe")
        assert "not a file" in problems(tmp_path / "pipe")[0].found


@pytest.mark.parametrize("stimp_ft", [5.5, 8.0, 12.0])
@pytest.mark.parametrize("grade", [0.0, 0.02])
def test_a_whole_sheet_in_the_wrong_unit_is_suspected(sheet, stimp_ft, grade):
    truth = golfphys.CourseTruth(greens={"low": golfphys.Green.from_stimp(stimp_ft, grade=grade, fall_direction=1.0)})
    rolls = golfphys.make_rollouts(truth, golfphys.RolloutDesign(release_speeds=(1.83, 1.4)), 5).frame

    def text(written: str, in_units_of: float) -> str:
        rows = [
            f"low,{math.degrees(roll.heading):.0f},{roll.release_speed},{roll.distance / in_units_of:.2f}"
            for roll in rolls.itertuples()
        ]
        return "\n".join([f"spot,heading_deg,release_speed_m_s,distance_{written}", *rows])

    for written, factor, other in (("m", 1.0, 0.3048), ("ft", 0.3048, 1.0)):
        assert len(read_rollouts(sheet(text(written, factor))).frame) == 8
        (problem,) = problems(sheet(text(written, other)))
        assert problem.suspect
        assert {"m": "distance_ft", "ft": "distance_m"}[written] in problem.advice


def asked(frame, kind, columns):
    findings = Findings("made")
    check(parse_table(sheet_text(frame, kind, columns).encode(), kind_of(kind), findings))
    return [*findings.problems, *(note for note in findings.notes if note.startswith("Please look"))]


@pytest.mark.thorough
def test_honest_rolls_are_never_asked_about():
    rng, columns = np.random.default_rng(11), ["spot", "heading_deg", "release_speed_m_s", "distance_m"]
    for _ in range(100):
        greens = {
            f"spot {index}": golfphys.Green.from_stimp(
                rng.uniform(5, 13.5), grade=rng.uniform(0, 0.035), fall_direction=rng.uniform(-3, 3)
            )
            for index in range(3)
        }
        headings = tuple(rng.uniform(0, 2 * math.pi) + np.arange(4) * math.pi / 2)
        design = golfphys.RolloutDesign(headings=headings, release_speeds=(1.83, 1.3), outliers=int(rng.integers(0, 3)))
        rolls = golfphys.make_rollouts(golfphys.CourseTruth(greens=greens), design, rng).frame
        assert asked(rolls, "rollouts", columns) == []


@pytest.mark.thorough
def test_honest_logs_are_never_asked_about_and_spoiled_ones_are():
    columns = ["club", "lie", "target_carry_m", "carry_m", "hang_time_s", "first_hop_m", "rest_m", "side_m"]
    for seed in range(12):
        rng = np.random.default_rng(seed)
        greens = {"low": golfphys.Green.from_stimp(10.0, grade=0.02, fall_direction=rng.uniform(-3, 3))}
        stations = (golfphys.Station(spot="low", heading=rng.uniform(0, 6), edge=rng.uniform(1, 6)),)
        design = golfphys.ChipDesign(stations=stations, target_high=12.0)
        chips = golfphys.make_chips(golfphys.CourseTruth(greens=greens), design, rng).frame
        assert asked(chips, "chips", columns) == []
        for spoiled in (
            {"rest": (chips["rest"] - chips["carry"].fillna(0.0)).clip(lower=0.0)},
            {"rest": chips["rest"] / 0.3048},
            {name: chips[name] / 0.3048 for name in ("carry", "first_hop", "rest")},
        ):
            assert asked(chips.assign(**spoiled), "chips", columns)
