"""Slips of a person with a pencil and a spreadsheet: none loses a row, none passes for a measurement in silence."""

import os

import numpy as np
import pandas as pd
import pytest

import golfphys
from golfphys import sheets
from golfphys.sheets import (
    SheetError,
    append_row,
    make_course_folder,
    new_sheet,
    read_chips,
    read_course,
    read_drops,
    read_rollouts,
)
from golfphys.sheets.checks import check
from golfphys.sheets.errors import Findings
from golfphys.sheets.table import parse_table

CHIP = "club,lie,carry_m,first_hop_m,rest_m\n"


def problems(path, reader, **options):
    """Problems of a sheet that must not be read."""
    with pytest.raises(SheetError) as caught:
        reader(path, **options)
    return caught.value.problems


# rows


def test_a_row_whose_first_cell_begins_with_a_hash_is_never_a_comment(sheet):
    text = "club;lie;carry_m;rest_m\nsand wedge;fairway;6,3;11,2\n#8 iron;fairway;4,1;12,0\nlob wedge;rough;5,0;7,5\n"
    found = problems(sheet(text), read_chips)
    assert [problem.row for problem in found] == [3]
    words = "spot;heading_deg;distance_m;note\nlow;0;3,1;a\n# low;x;y;z\n"
    assert [problem.row for problem in problems(sheet(words), read_rollouts)] == [3]
    kept = read_rollouts(sheet("spot;heading_deg;distance_m;note\nlow;0;3,1;a\n# a gust, from the left\nlow;90;3,0;\n"))
    assert len(kept.rolls) == 2
    assert "a gust, from the left" in kept.comments


def test_a_column_that_numbers_the_rows_may_be_headed_by_a_hash(sheet):
    read = read_rollouts(sheet("#,spot,heading_deg,distance_m\n1,low,0,3.05\n2,low,90,3.0\n"))
    assert read.rolls["spot"].tolist() == ["low", "low"]


# names


LOOK_ALIKE = [
    ("home-left", "Home-left"),
    ("caf\u00e9", "cafe\u0301"),
    ("home-left", "home\u200b-left"),
    ("home-left", "home\u2011left"),
    ("home-left", "home\u2013left"),
    ("greg's", "greg\u2019s"),
    ("low", "\uff4c\uff4f\uff57"),
    ("low green", "low\u00a0 green"),
    ("low", "l\u00adow"),
]


@pytest.mark.parametrize(("first", "second"), LOOK_ALIKE)
def test_names_that_look_the_same_are_the_same_with_one_note(sheet, first, second):
    read = read_rollouts(sheet(f"spot,heading_deg,distance_m\n{first},0,3.05\n{second},90,3.0\nother,90,3.0\n"))
    assert read.rolls["spot"].nunique() == 2
    assert sum("same name" in note for note in read.notes) == 1


def test_names_are_the_same_across_sheets_too(tmp_path):
    folder = make_course_folder(tmp_path / "own")
    append_row(folder / "rollouts.csv", {"spot": "home-left", "heading_deg": 0, "distance_m": 3.0})
    append_row(folder / "drops.csv", {"spot": "Home\u2013Left", "drop_height_m": 1.5, "rebound_height_m": 0.3})
    course = read_course(folder)
    assert course.drops.drops["spot"].tolist() == ["home-left"]
    assert sum("same name" in note for note in course.notes) == 1
    assert any("same name" in note for note in course.drops.notes)


def test_clubs_and_lies_match_whatever_the_case(sheet):
    read = read_chips(
        sheet(
            "club,lie,rest_m\nSand Wedge,Fairway,11\n8-IRON,rough,12\n8 iron,ROUGH,12\nmy hybrid,,9\n".replace(
                ",,", ",x,"
            )
        )
    )
    assert read.chips["club"].tolist() == ["sand wedge", "8-iron", "8-iron", "my hybrid"]
    assert read.chips["lie"].tolist() == ["fairway", "rough", "rough", "x"]


# impossible chips


@pytest.mark.parametrize(
    ("row", "column", "advice"),
    [
        ("sand wedge,fairway,9,,4", "rest_m", "13"),
        ("sand wedge,fairway,6,15,11", "first_hop_m", ""),
        ("sand wedge,fairway,6,2,11", "first_hop_m", "8"),
        ("sand wedge,fairway,20.5,,36", "carry_m", "feet"),
    ],
    ids=["rest short of landing", "hop beyond rest", "hop before landing", "feet beside metres"],
)
def test_an_impossible_chip_is_asked_about(sheet, row, column, advice):
    good = "".join(f"sand wedge,fairway,{carry},,{carry * 1.8:.1f}\n" for carry in (5.8, 6.0, 6.3, 6.4))
    head = CHIP if column != "carry_m" else CHIP.replace("carry_m", "target_carry_m,carry_m")
    if column == "carry_m":
        good = "".join(f"sand wedge,fairway,6,{carry},,{carry * 1.8:.1f}\n" for carry in (5.8, 6.0, 6.3, 6.4))
        row = row.replace("fairway,", "fairway,6,")
    path = sheet(head + good + row + "\n")
    found = problems(path, read_chips)
    assert {problem.row for problem in found} == {6}
    assert any(problem.column == column and advice in problem.advice for problem in found)
    assert all(problem.suspect for problem in found)
    assert len(read_chips(path, accept_suspects=True).chips) == 5


def test_a_log_of_runs_instead_of_rests_is_asked_about(sheet):
    rows = "".join(f"8-iron,fairway,{carry},,{carry * 0.5:.1f}\n" for carry in (5.8, 6.0, 6.3, 6.4))
    found = problems(sheet(CHIP + rows), read_chips)
    assert any("landing" in problem.advice for problem in found)


def test_an_ordinary_log_is_not_asked_about(sheet):
    rows = "lob wedge,fairway,18,18.5,17.6\nsand wedge,rough,6,7.2,8\n8-iron,fairway,3,6,12\n8-iron,fairway,3,5,14\n"
    assert len(read_chips(sheet(CHIP + rows)).chips) == 4


def test_drops_in_the_wrong_unit_are_asked_about(sheet):
    head = "spot,drop_height_m,rebound_height_m\nlow,1.5,0.31\n"
    assert "feet" in problems(sheet(head + "low,5,1.0\n"), read_drops)[0].advice
    assert problems(sheet(head + "low,1.5,1.0\n"), read_drops)[0].suspect


def logged(seed, spoil):
    """Problems of an invented log of forty chips, after `spoil` has changed its frame."""
    rng = np.random.default_rng(seed)
    greens = {"low": golfphys.Green.from_stimp(10.0, grade=0.02, fall_direction=rng.uniform(-3, 3))}
    stations = (golfphys.Station(spot="low", heading=rng.uniform(0, 6), edge=rng.uniform(1, 6)),)
    design = golfphys.ChipDesign(stations=stations, target_high=12.0)
    chips = golfphys.make_chips(golfphys.CourseTruth(greens=greens), design, rng).chips
    columns = ["club", "lie", "target_carry_m", "carry_m", "hang_time_s", "first_hop_m", "rest_m", "side_m"]
    findings = Findings("made")
    check(parse_table(sheets.sheet_text(spoil(chips), "chips", columns).encode(), sheets.kind_of("chips"), findings))
    return findings.problems


@pytest.mark.thorough
def test_honest_logs_are_never_asked_about_and_spoiled_ones_are():
    def rest_from_landing(chips):
        return chips.assign(rest=(chips["rest"] - chips["carry"].fillna(0.0)).clip(lower=0.0))

    def rest_in_feet(chips):
        return chips.assign(rest=chips["rest"] / 0.3048)

    def all_in_feet(chips):
        return chips.assign(**{name: chips[name] / 0.3048 for name in ("carry", "first_hop", "rest")})

    for seed in range(12):
        assert logged(seed, lambda chips: chips) == []
        assert all(logged(seed, spoil) for spoil in (rest_from_landing, rest_in_feet, all_in_feet))


# append and import


def test_rows_pasted_twice_and_a_word_misspelt_once_are_asked_about(sheet):
    rows = [f"low,{turn},{3 + turn / 900 + number / 50:.2f}" for number in range(2) for turn in (0, 90, 180, 270)]
    head = "spot,heading_deg,distance_m\n"
    pasted = problems(sheet("\n".join([head.strip(), *rows, *rows[1:7]])), read_rollouts)
    assert [(problem.row, problem.suspect) for problem in pasted] == [(10, True)]
    assert "from row 3 on" in pasted[0].found
    chips = "sand wedge,fairway,6,11\nsand wedge,fairwy,6.1,11.2\nsandwedge,fairway,6.2,11.4\nhybrid,Fairway,6,13\n"
    asked = problems(sheet("club,lie,carry_m,rest_m\n" + chips), read_chips)
    advice = ["Write fairway if that is what it is.", "Write sand wedge if that is what it is."]
    assert [problem.advice for problem in asked] == advice


def test_a_file_kept_twice_counts_once(tmp_path):
    folder = make_course_folder(tmp_path / "home")
    for number in range(4):
        append_row(folder / "putts.csv", {"distance_m": 2 + number, "tries": 10, "made": 6 - number})
    (folder / "putts (copy).csv").write_bytes((folder / "putts.csv").read_bytes())
    append_row(folder / "putts.csv", {"distance_m": 8, "tries": 10, "made": 1})
    course = read_course(folder)
    assert len(course.putts.putts) == 5
    assert "putts (copy).csv was left out: putts.csv has all of its rows." in course.notes


def test_feet_under_metres_are_asked_about_in_the_second_row_already(sheet):
    rolls = "spot,heading_deg,distance_m\nlow,0,3.05\nlow,90,10.2\n"
    assert [problem.row for problem in problems(sheet(rolls), read_rollouts)] == [3]
    chips = "club,lie,target_carry_m,carry_m,rest_m\nsand wedge,fairway,6,6.2,11\nsand wedge,fairway,6,20,36\n"
    asked = problems(sheet(chips), read_chips)
    assert [(problem.row, problem.column) for problem in asked] == [(3, "carry_m")]
    assert "about 1 times" in asked[0].expected


def test_text_cells_are_left_alone_by_append(tmp_path):
    path = tmp_path / "rollouts.csv"
    path.write_text("spot;heading_deg;distance_m;note\nlow;0;3,05;a\n")
    append_row(path, {"spot": "7.2", "heading_deg": 90, "distance_m": 3.1, "note": "1.5 late"})
    assert path.read_text().splitlines()[-1] == "7.2;90;3,1;1.5 late"


def test_a_save_between_the_check_and_the_replacement_is_not_lost(tmp_path, monkeypatch):
    """Another program saves while the new file is written aside: its row is read again and kept."""
    path = tmp_path / "rollouts.csv"
    path.write_text("spot,heading_deg,distance_m\nlow,0,3.05\n")
    real, done = os.fsync, []

    def fsync(handle):
        if not done:
            done.append(1)
            with path.open("a") as stream:
                stream.write("low,90,3.0\n")
        return real(handle)

    monkeypatch.setattr(sheets.saving.os, "fsync", fsync)
    append_row(path, {"spot": "low", "heading_deg": 180, "distance_m": 3.1})
    assert read_rollouts(path).rolls["distance"].tolist() == [3.05, 3.0, 3.1]


def test_new_sheets_are_never_seen_half_written(tmp_path, monkeypatch):
    path, seen = tmp_path / "drops.csv", []
    real = os.fsync
    monkeypatch.setattr(sheets.saving.os, "fsync", lambda handle: (seen.append(path.exists()), real(handle))[1])
    new_sheet(path, "drops")
    assert seen[0] is False
    assert path.exists()
    assert not list(tmp_path.glob(".*.part"))


def test_cells_that_a_spreadsheet_would_run_are_quoted_and_read_back(tmp_path):
    path = tmp_path / "rollouts.csv"
    path.write_text("spot,heading_deg,distance_m,note\nlow,0,3.05,a\n")
    append_row(path, {"spot": "low", "heading_deg": 90, "distance_m": 3.0, "note": "=1+1"})
    assert "'=1+1" in path.read_text()
    frame = read_rollouts(path).rolls
    assert frame["note"].tolist() == ["a", "=1+1"]
    frame["note"] = ["@here", "+x"]
    text = sheets.sheet_text(frame, "rollouts", ["spot", "heading_deg", "distance_m", "note"])
    assert "'@here" in text
    assert "'+x" in text
    assert "'=x" in sheets.table_text(pd.DataFrame({"=x": ["@y"], "n": [-1.5]}))
    assert "-1.5" in sheets.table_text(pd.DataFrame({"=x": ["@y"], "n": [-1.5]}))


# files


def test_an_imported_file_is_read_with_the_course_and_others_are_named(tmp_path):
    folder = make_course_folder(tmp_path / "own")
    (folder / "tuesday.csv").write_text("spot,heading_deg,distance_m\nlow,0,3.0\n")
    (folder / "chips 2025-05-07.csv").write_text("club,lie,rest_m\nsand wedge,fairway,9\n")
    append_row(folder / "chips.csv", {"club": "sand wedge", "lie": "fairway", "rest_m": 10})
    (folder / "shopping.csv").write_text("what,price\nballs,40\n")
    (folder / "photo.jpg").write_bytes(b"\xff\xd8\xff")
    course = read_course(folder)
    assert len(course.rollouts.rolls) == 1
    assert course.chips.chips["rest"].tolist() == [9.0, 10.0] or course.chips.chips["rest"].tolist() == [10.0, 9.0]
    assert any("shopping.csv" in note for note in course.notes)
    with pytest.raises(SheetError) as caught:
        read_course(make_course_folder(tmp_path / "empty"))
    assert "rollouts.csv" in str(caught.value)


def test_addresses_and_bombs_are_refused(tmp_path):
    assert "no file" in problems("http://127.0.0.1:9/a.csv", read_rollouts)[0].found
    many = tmp_path / "many.csv"
    many.write_text("spot,heading_deg,distance_m\n" + "low,x,y\n" * 20_000)
    found = problems(many, read_rollouts)
    assert len(found) <= 1001
    assert "more" in str(found[-1])


def test_a_sheet_of_many_spots_is_read(tmp_path):
    """Each spot used to cost more than the one before: these would have taken a minute."""
    path = tmp_path / "many.csv"
    path.write_text("spot,heading_deg,distance_m\n" + "".join(f"spot {n},0,3.{n % 9}\n" for n in range(20_000)))
    assert read_rollouts(path).rolls["spot"].nunique() == 20_000


# times


@pytest.mark.parametrize(
    "cell",
    [
        "2025-05-16T09:10",
        "2025-05-16 09:10:00",
        "16.5.2025 9:10",
        "16/05/2025 09:10",
        "5/16/2025 9:10 AM",
        "16 May 2025 09:10",
    ],
)
def test_dates_in_any_common_form_are_read(sheet, cell):
    read = read_rollouts(sheet(f"spot,heading_deg,distance_m,measured_at\nlow,0,3,{cell}\n"))
    assert read.rolls["measured_at"][0] == pd.Timestamp("2025-05-16 09:10")
    assert read.rolls["date"][0] == pd.Timestamp("2025-05-16")


# other slips


def test_a_title_above_the_headings_is_a_comment(sheet):
    read = read_rollouts(sheet("Tuesday, windy\n\nspot,heading_deg,distance_m\nlow,0,3.05\n"))
    assert read.rolls["row"].tolist() == [4]
    assert any("above the headings" in note for note in read.notes)
    assert "Tuesday, windy" in read.comments


@pytest.mark.parametrize("reader", [read_rollouts, read_course])
@pytest.mark.parametrize("path", [None, 3.5, ["a.csv"]])
def test_what_is_no_path_gets_a_sentence(reader, path):
    assert problems(path, reader)[0].advice


def test_what_is_no_row_gets_a_sentence(tmp_path):
    path = new_sheet(tmp_path / "putts.csv", "putts")
    with pytest.raises(ValueError, match="cells by heading"):
        append_row(path, [2.0, 10, 6])
