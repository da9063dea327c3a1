"""What readers refuse or ask about: the answer names the place and what to do; of honest sheets nothing is asked."""

import math
import os

import numpy as np
import pytest
from test_sheets_reading import (
    CENTIMETRES,
    CHIPS,
    DROPS,
    FEET,
    FILMS,
    GOOD,
    HEAD,
    HOPS,
    RAMPS,
    ROLLS,
    TIMED,
    TURNS,
    USUAL,
)

import golfphys
from golfphys.sheets import SheetError, kind_of, read_rollouts, read_sheet, sheet_text
from golfphys.sheets.checks import check
from golfphys.sheets.errors import Findings
from golfphys.sheets.table import parse_table


def problems(path, reader=read_rollouts):
    with pytest.raises(SheetError) as caught:
        reader(path)
    for problem in caught.value.problems[:25]:
        assert str(problem) in str(caught.value)
        assert problem.found
        assert problem.expected
        assert problem.advice
    assert str(path) in str(caught.value)
    return caught.value.problems


NO_DATES = ("06/05/2025", "5/6/25 9:10", "2025-13-01", "2025-02-30", "31.6.2025", "16 May", "1025-01-01", "noon")
FEET_AT, YARDS_AT = (("low", 3.05), ("high", 9.5), ("mid", 2.9)), (("low", 10), ("high", 3.2), ("mid", 9.5))
# name: kind of sheet, text, rows and columns named, words in what is said; suspects can be insisted on
REFUSED = {
    "rows as a spreadsheet numbers them": (
        *("rollouts", f'# one\n\n{HEAD}\nlow,0,1.83,3.0,,"two\nlines"\n\nlow,0,1.83,-3,,\n', [(6,)]),
    ),
    "speed and ramp": ("rollouts", RAMPS + "low,0,1.83,30,3\n", [(2,)]),
    "neither speed nor ramp": ("rollouts", RAMPS + "low,0,1.83,,3\nlow,180,,,3.1\n", [(3,)]),
    "a row like a comment": ("rollouts", GOOD + "#9 front,0,1.83,3.01,,\n", [(7,)]),
    "another": ("chips", "club;lie;carry_m;rest_m\n#8 iron;fairway;4,1;12,0\nlob wedge;rough;5,0;7,5\n", [(2,)]),
    "one time zoned": ("rollouts", TIMED + "low,0,3,2025-05-06T09:10Z\nlow,9,3,2025-05-07\n", [(None, "measured_at")]),
    "dates of two orders": (
        *("rollouts", "spot,heading_deg,distance_m,date\nlow,0,3,06/05/2025\nlow,1,3,16/05/2025\nlow,9,3,5/16/2025\n"),
        [(2,)],
    ),
    **{cell: ("rollouts", f"{TIMED}low,0,3,{cell}\n", [(2, "measured_at")]) for cell in NO_DATES},
    "two days": (
        *("rollouts", "spot,heading_deg,distance_m,date,measured_at\nlow,0,3,2025-05-06,2025-05-07T10:00\n"),
        *([(2,)], "the day of '2025-05-07T10:00'"),
    ),
    "all at once": (
        *("rollouts", f"{HEAD}\nlow,,1.83,3.05,,\nlow,90,fast,-2,,\n,180,1.83,3.1,9,\n"),
        [(2, "heading_deg"), (3, "release_speed_m_s"), (3, "distance_m"), (4, "spot"), (4, "side_m")],
    ),
    "misspelt heading": ("rollouts", "spot,heading_deg,distnace_m\nlow,0,3\n", [(1,)], "distance_m"),
    "heading without unit": ("rollouts", "spot,heading_deg,distance\nlow,0,3\n", [(1,)], "distance_m"),
    "unit not offered": ("rollouts", "spot,heading_deg,distance_yd\nlow,0,3\n", [(1,)], "distance_"),
    "heading missing": ("rollouts", "spot,distance_m\nlow,3\n", [(1,)], "heading_deg"),
    "misspelt optional": ("rollouts", "spot,heading_deg,distance_m,sied_m\nlow,0,3,0.1\n", [(1, "sied_m")], "side_m"),
    "doubled heading": ("rollouts", "spot,heading_deg,distance_m,distance_m\nlow,0,3,3\n", [(1,)], "2 columns"),
    "doubled unit": ("rollouts", "spot,heading_deg,distance_m,distance_ft\nlow,0,3,9.8\n", [(1,)], "different units"),
    "cell under no heading": ("rollouts", "spot,heading_deg,,distance_m\nlow,0,,3\nlow,0,7,3\n", [(3,)], "'7'"),
    "no headings": ("rollouts", "low,0,1.83,3.05\nlow,90,1.83,2.95\n", [(1,)]),
    "decimal commas": (
        *("rollouts", f"{HEAD}\nlow,0,1,83,3,05,,sun\nlow,90,1,83,2,95,,s\n", [(2,), (3,)]),
        "decimal comma",
    ),
    **{
        f"decimal commas{end} within the row": (
            *("rollouts", f"{HEAD}\nlow,0,1,83,3,05{end}\nlow,90,1,83,2,95{end}\n", [(None,)]),
            "decimal comma",
        )
        for end in ("", ",,")  # the cells happen to fill the row, or only blank ones stand over
    },
    "decimal commas that fill it": (
        *("rollouts", "spot,heading_deg,distance_m,side_m\nlow,0,3,05\nlow,90,2,95\n", [(None,)]),
        "decimal comma",
    ),
    "rows swallowed by quotation marks": (
        *("rollouts", GOOD + 'low,0,1.83,3.0,,"oops\nlow,0,1.83,3.1,,\nlow,0,1.83,3.2,,end"\n', [(7,)]),
    ),
    "open quotation marks": (
        *("rollouts", GOOD + 'low,0,1.83,3.0,,"oops\nlow,0,1.83,3.1,,\n', [(7,)]),
        "quotation",
    ),
    "cut off": ("rollouts", f"{HEAD}\nlow,0,1.83,3.05,,\nlow,180,1.83,3.", [(3,)], "cut off"),
    "feet among metres": ("rollouts", GOOD + "low,90,1.83,9.8,,\n", [(7, "distance_m")], "feet", True),
    "feet in the second row": ("rollouts", ROLLS + "low,0,3.05\nlow,90,10.2\n", [(3,)], "feet", True),
    "three rolls of a spot in metres": (
        *("rollouts", FEET + "low,0,9.5\nlow,0,9.7\nlow,180,9.4\nlow,180,9.6\nlow,0,2.9\nlow,180,2.9\nlow,0,3\n"),
        *([(6,), (7,), (8,)], "metres", True),
    ),
    "pasted twice": (
        "rollouts",
        ROLLS
        + "".join(f"low,{turn},{3 + turn / 900 + n / 50:.2f}\n" for n in (0, 1, 0, 1) for turn in (0, 90, 180, 270)),
        *([(10,)], "from row 2 on", True),
    ),
    "three chips pasted twice": (
        "chips",
        "club,lie,carry_m,rest_m\n" + "".join(f"sand wedge,fairway,6.{n},11.{n}\n" for n in (1, 4, 2, 1, 4, 2)),
        *([(5,)], "from row 2 on", True),
    ),
    "words misspelt once": (
        *("chips", "club,lie,carry_m,rest_m\nsand wedge,fairway,6,11\nsand wedge,fairwy,6.1,11.2\n"),
        *([(3, "lie")], "Write fairway if that is what it is.", True),
    ),
    "film backwards": (
        *("films", FILMS + "a,low,9,putt,0,0\na,low,9,putt,0.2,0.2\na,low,9,putt,0.1,0.3\n"),
        [(4, "time_s")],
    ),
    "film that changes": (
        *("films", FILMS + "a,low,90,putt,0,0\na,low,91,putt,0.1,0.2\na,high,90,chip,0.2,0.3\n"),
        [(3, "heading_deg"), (4, "spot"), (4, "kind")],
    ),
    "film of no kind": ("films", FILMS + "a,low,90,throw,0,0\n", [(2, "kind")], "putt, chip, ramp"),
    "frame numbers": (
        *("films", FILMS + "".join(f"a,low,90,putt,{frame},{frame * 0.05}\n" for frame in range(5))),
        *([(None,)], "frames per second", True),
    ),
    "a film too fast": (
        *("films", FILMS + "a,l,9,putt,0,0\na,l,9,putt,0.1,4\na,l,9,putt,0.2,8\n"),
        [(None, "distance_m")],
    ),
    "drops half told": (
        *("drops", CENTIMETRES + "low,150,,,\nlow,,31,,\nlow,,,500,\n"),
        [(2, "rebound_height_cm"), (3, "drop_height_cm"), (4, "drop_height_cm")],
    ),
    "drops that gain energy": (
        *("drops", DROPS + "low,1.5,31,,\nlow,1.5,1.6,,\nlow,1.5,,1.2,\nlow,,,0.4,0.5\n"),
        [(2, "rebound_height_m"), (3, "rebound_height_m"), (4, "first_flight_s"), (5, "second_flight_s")],
    ),
    "height and time at odds": ("drops", DROPS + "low,1.5,0.3,0.9,\n", [(2,)], "", True),
    "drops from five feet": ("drops", DROPS + "low,1.5,0.31,,\nlow,5,1.0,,\n", [(3,)], "feet", True),
    "chips half told": ("chips", CHIPS + "SW,clean,6,,,,,,\n,clean,6,6,,,,,\n", [(2, "carry_m"), (3, "club")]),
    "chips of two units": (
        *("chips", CHIPS + "".join(f"SW,clean,{6 + i},{(6 + i) / 0.3048:.1f},,,,,\n" for i in range(5))),
        *([(None,)], "different units", True),
    ),
    "one player's rests in feet": (
        *("chips", HOPS + USUAL + "".join(f"sand wedge,fairway,{5.9 + n / 9:.1f},,{37 + n}\n" for n in range(4))),
        *([(6, "rest_m"), (7, "rest_m"), (8, "rest_m"), (9, "rest_m")], "feet", True),
    ),
    "hung too long": ("chips", CHIPS + "SW,clean,6,6,3.9,,,,\n", [(2, "hang_time_s")], "", True),
    "rest short of landing": ("chips", HOPS + USUAL + "sand wedge,fairway,9,,4\n", [(6, "rest_m")], "13", True),
    "hop beyond rest": ("chips", HOPS + USUAL + "sand wedge,fairway,6,15,11\n", [(6, "first_hop_m")], "", True),
    "hop before landing": ("chips", HOPS + USUAL + "sand wedge,fairway,6,2,11\n", [(6, "first_hop_m")], "8", True),
    "carry in feet": (
        *("chips", "club,lie,target_carry_m,carry_m,rest_m\nsand wedge,fairway,6,6.2,11\nsand wedge,fairway,6,20,36\n"),
        *([(3, "carry_m")], "feet", True),
    ),
    "putts in parts": (
        *("putts", "distance_ft,tries,made\n10,5,6\n10,2.5,1\n10,0,0\n"),
        [(2, "made"), (3, "tries"), (4, "tries")],
    ),
    "hits beyond tries": (
        *(
            "targets",
            "club,lie,distance_m,target_size_cm,tries,hits\nSW,fairway,8,150,10,11\nSW,fairway,0.6,150,10,1\n",
        ),
        [(2, "hits"), (3, "target_size_cm")],
    ),
    "a spot misspelt once": (
        *("rollouts", ROLLS + "".join(f"practice-low,{turn},3.05\n" for turn in TURNS) + "pratice-low,0,3\n"),
        *([(6, "spot")], "Write practice-low", True),
    ),
    "a spot without its hyphen": (
        *("rollouts", ROLLS + "".join(f"practice-low,{turn},3.05\n" for turn in TURNS) + "practicelow,0,3\n"),
        *([(6, "spot")], "Write practice-low", True),
    ),
    "one spot in feet": (
        *("rollouts", ROLLS + "".join(f"{spot},{turn},{roll}\n" for spot, roll in FEET_AT for turn in TURNS)),
        *([(6, "distance_m")], "'high'", True),
    ),
    "one spot in yards": (
        *("rollouts", FEET + "".join(f"{spot},{turn},{roll}\n" for spot, roll in YARDS_AT for turn in TURNS)),
        *([(6, "distance_ft")], "'high'", True),
    ),
    "radians": ("rollouts", ROLLS + "low,0,3\nlow,1.57,3.1\nlow,3.14,3\nlow,4.71,3\n", [(None,)], "radians", True),
    "up and down in radians": ("rollouts", ROLLS + "low,0,3\nlow,3.14,3.1\n", [(None,)], "radians", True),
    "by the clock": ("rollouts", ROLLS + "low,12,3\nlow,3,3.1\nlow,6,3\nlow,9,3\n", [(None,)], "hours", True),
    "filled down": (
        *("rollouts", ROLLS + "".join(f"low,{n},3.{n % 7}\n" for n in range(90, 99))),
        *([(2, "heading_deg")], "filled down", True),
    ),
    "one length for every roll": (
        *(
            "rollouts",
            "spot,heading_deg,ramp_run_in,distance_ft\n" + "".join(f"low,0,{n},9.5\n" for n in (30, 20, 12, 8)),
        ),
        *([(None, "distance_ft")], "", True),
    ),
    "putts pasted twice": (
        *("putts", "distance_m,tries,made\n" + 2 * "".join(f"{n},10,{9 - n}\n" for n in range(1, 6))),
        *([(7,)], "from row 2 on", True),
    ),
    "drops pasted twice": (
        *("drops", CENTIMETRES + 2 * "".join(f"low,{n},{n // 6},,\n" for n in (50, 100, 150, 200, 300))),
        *([(7,)], "from row 2 on", True),
    ),
    "putts in feet under metres": (
        *("putts", "distance_m,tries,made\n3.3,25,20\n6.6,25,13\n9.8,25,9\n13.1,25,6\n"),
        *([(None, "distance_m")], "feet", True),
    ),
    "carries in feet under metres": (
        *("chips", CHIPS + "".join(f"sand wedge,fairway,,{carry},0.9,,{2 * carry},,\n" for carry in (20, 21, 22, 23))),
        *([(None, "carry_m")], "hang times", True),
    ),
    "slow motion": (
        *("films", FILMS + "".join(f"a,low,90,ramp,{n / 4},{0.1143 * n - 0.0011 * n * n:.4f}\n" for n in range(50))),
        *([(None, "time_s")], "frames per second", True),
    ),
    "a survey point twice": ("survey", "x_m,y_m,height_m\n" + "0,0,0\n" * 2 + "3,3,0\n", [(2,), (3,)], "row 2", True),
    "a unit beside a decimal comma": ("chips", "club;lie;rest_m\nSW;rough;13,84 m\n", [(2, "rest_m")], "write 13.84"),
    "compass": ("rollouts", ROLLS + "low,NE,3\n", [(2,)], "clockwise from the reference line"),
    "hits in per cent": ("putts", "distance_m,tries,made\n2,10,60%\n2,10,0.6\n", [(2,), (3,)], "how many"),
    "another kind": ("drops", "distance_m,tries,made\n2,10,6\n", [(1,)], "call the file putts.csv"),
    "a total below the rows": ("putts", "distance_m,tries,made\n2,10,6\ntotal,10,6\n", [(3,)], "number alone"),
    "headings twice": ("putts", 2 * "distance_m,tries,made\n2,10,6\n", [(3, "tries"), (3, "made")], "number alone"),
    "rows for columns": ("drops", "spot,low,low\ndrop_height_m,1,1\nrebound_height_m,0,0\n", [(1, "low")], "Rename"),
    "two sheets in one file": ("chips", "club,lie,rest_m\nSW,tight,9\n\nspot,drop_height_m\nlow,1.5\n", [(4,), (5,)]),
    "dashes for blanks": ("chips", "club,lie,rest_m,side_m\nSW,tight,9,-\n", [(2, "side_m")], "leave it blank"),
    "rows in quotation marks": ("rollouts", ROLLS + '"low,0,3"\n"low,90,3"\n', [(2,), (3,)], "quotation marks"),
    "blanks between the cells": ("rollouts", "spot heading_deg distance_m\nlow 0 3\n", [(1,)], "one cell"),
    "nothing": ("rollouts", "\n \n\r\n", [(None,)], "empty"),
    "a mark alone": ("rollouts", b"\xef\xbb\xbf", [(None,)], "empty"),
    "comments only": ("rollouts", "# only this\n", [(None,)], "comments"),
    **{
        f"no text: {content[:9]!r}": ("rollouts", content, [(None,)], "CSV")
        for content in (b"PK\3\4" + b"\0" * 50, b"\xd0\xcf\x11\xe0abc", b"%PDF-1.7\n", bytes(range(256)), b"\xff\xfea")
    },
}


@pytest.mark.parametrize("case", REFUSED)
def test_what_is_not_right_is_refused_with_its_place_and_what_to_do(sheet, case):
    kind, content, places, *words = REFUSED[case]
    path = sheet(content)
    found = problems(path, lambda path: read_sheet(path, kind))
    for row, *column in places:
        assert any(row in (None, item.row) and column in ([], [item.column]) for item in found), (row, column, found)
    rows = {row for row, *_ in places}
    assert None in rows or {item.row for item in found if item.row} <= rows
    suspect = words[1:]
    assert "".join(words[:1]) in " ".join(f"{item.found} {item.expected} {item.advice}" for item in found)
    if suspect:
        assert all(item.suspect for item in found)
        assert len(read_sheet(path, kind, accept_suspects=True).frame) >= 1


BAD_CELLS = {
    "distance_m": {
        **{"9.5 ft": "write 2.8956", "9' 6\"": "write 2.8956", "9ft 6in": "write 2.8956", '114"': "write 2.8956"},
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
    with pytest.raises(SheetError, match="and 75 more") as caught:
        read_rollouts(path)
    assert [problem.row for problem in caught.value.problems] == list(range(2, 102))
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
