"""Folders of a course and of a player; the data dictionary, templates and demonstration, held to each other."""

import json
import math
from dataclasses import replace

import frictionless
import numpy as np
import pytest
from conftest import ROOT, refused
from fitted_demo import script

from golfphys import append_row, make_course_folder, make_player_folder, read_course, read_rollouts
from golfphys.sheets import SheetError, append_rows, around, new_sheet, read_player, read_sheet, read_survey, sheet_text
from golfphys.sheets.dictionary import descriptor, kind_of, kinds
from golfphys.sheets.rows import likely_matches, matched_rows, read_source
from golfphys.sheets.writing import template_columns, template_text

DATA = ROOT / "data"
DEMO = DATA / "demo"


def written(path, text):
    path.write_text(text, encoding="utf-8")
    return path


def test_several_days_and_players_share_a_folder(tmp_path):
    folder = make_course_folder(tmp_path / "own")
    written(
        folder / "rollouts.csv",
        "spot,heading_deg,distance_m,date\nlow,0,3.0,2025-05-06\nlow,90,3.2,2025-05-07\nlow,180,3.1,\n",
    )
    head = "player,club,lie,rest_m,measured_at\n"
    written(folder / "chips.csv", head + "Ann,sand wedge,fairway,9,2025-05-06T10:00\nbo,8-iron,rough,12,2025-05-07\n")
    written(folder / "chips bo.csv", head + "Bo,8-iron,rough,13,2025-05-08\n,8-iron,rough,14,\n")
    course = read_course(folder)
    assert course.players == ["Ann", "bo"]
    assert course.chips.frame["date"].dt.day.tolist()[:3] == [6, 7, 8]
    assert course.chips.frame["sheet"].tolist() == ["chips.csv"] * 2 + ["chips bo.csv"] * 2
    assert any("'Bo'" in note for note in course.notes)
    assert course.of("BO").chips.frame["rest"].tolist() == [12, 13, 14]
    assert len(course.of("bo").rollouts.frame) == 3
    nobody = course.chips.frame.assign(player=["Ann", None, float("nan"), ""])  # as a table made by hand may have it
    by_hand = replace(course, chips=course.chips.replaced(nobody))
    assert by_hand.of("Ann").chips.frame["rest"].tolist() == [9, 12, 13, 14]


def test_what_a_player_logged_is_hers_on_every_course(tmp_path):
    hers = make_player_folder(tmp_path / "players" / "Ann")
    head = "club,lie,rest_m,course,date\n"
    written(hers / "chips.csv", head + "sand wedge,fairway,9,home,2025-04-01\nSand Wedge,rough,8,away,2025-04-08\n")
    written(hers / "targets.csv", "club,lie,distance_m,target_size_m,tries,hits,date\nsand wedge,fairway,8,1,10,4,\n")
    course = make_course_folder(tmp_path / "Windy Links")
    rows = "Ann,sand wedge,fairway,10,2025-05-06\nbo,8-iron,rough,13,2025-05-06\n"
    written(course / "chips.csv", "player,club,lie,rest_m,date\n" + rows)
    log = read_player(hers, read_course(course))
    assert log.players == ["Ann"]
    assert log.chips.frame["rest"].tolist() == [9, 8, 10]
    assert log.chips.frame["course"].tolist() == ["home", "away", "Windy Links"]
    assert log.chips.frame["club"].unique().tolist() == ["sand wedge"]
    assert log.targets.frame["hits"].tolist() == [4]
    refused("no sheet with rows", lambda: read_player(make_player_folder(tmp_path / "players" / "bo")), SheetError)
    refused("already", lambda: make_player_folder(hers), SheetError)


def test_ground_around_the_green_is_no_green_of_the_wrong_unit(sheet):
    rows = "".join(f"Fringe ninth,{heading},0.9\nlow,{heading},3.0\n" for heading in (0, 90, 180, 270))
    assert len(read_rollouts(sheet(f"spot,heading_deg,distance_m\n{rows}")).frame) == 8
    spots = ("Fringe ninth", "rough_left", "collar", "roughly here", "low")
    assert [around(spot) for spot in spots] == ["fringe", "rough", "collar", None, None]


def test_a_survey_on_a_grid_or_anywhere_is_read(sheet):
    grid = "x_m,y_m,height_cm\n" + "".join(f"{x},{y},{x + 2 * y}\n" for x in (0, 2, 4) for y in (0, 3))
    read = read_survey(sheet(grid)).frame
    np.testing.assert_allclose(read["height"], [0.0, 0.06, 0.02, 0.08, 0.04, 0.10])
    assert (read["x"].tolist(), read["y"].tolist()) == ([0, 0, 2, 2, 4, 4], [0, 3] * 3)
    found = refused("", lambda: read_survey(sheet(grid + "4,3.005,9\n2,1.5,120\n")), SheetError).problems
    assert {(item.row, item.column) for item in found} == {(7, "x_m"), (8, "x_m"), (9, "height_cm")}
    assert all(item.suspect for item in found)


def test_text_with_commas_is_left_alone(tmp_path):
    path = written(tmp_path / "theirs.csv", "spot;heading_deg;distance_m;note\n1,2;0;3,05;7,5 late\n1,2;180;3,1;b\n")
    source, kind = read_source(path), kind_of("rollouts")
    rows = matched_rows(source, likely_matches(source, kind), kind)
    append_rows(new_sheet(tmp_path / "rollouts.csv", "rollouts"), rows)
    rolls = read_rollouts(tmp_path / "rollouts.csv").frame
    assert rolls["spot"].tolist() == ["1,2", "1,2"]
    assert rolls["note"].tolist() == ["7,5 late", "b"]
    assert rolls["distance"].tolist() == [3.05, 3.1]


def test_columns_of_a_file_are_guessed_in_their_own_unit_and_not_in_another(tmp_path):
    kind = kind_of("chips")

    def guessed(heads, *usual):
        path = written(tmp_path / "theirs.csv", f"{heads}\n{',1' * heads.count(',')}\n# a remark,,\n")
        return read_source(path), likely_matches(read_source(path), kind, usual)

    source, found = guessed("Club,Carry deviation,Carry (yds),Total (yards),Hang time (sec)")
    assert [row for row, _ in source.records] == [2]
    wanted = {"Club": "club", "Carry (yds)": "carry_yd", "Total (yards)": "rest_yd", "Hang time (sec)": "hang_time_s"}
    assert found == wanted
    assert guessed("Club,Carry,Total", "ft", "in")[1] == {"Club": "club", "Carry": "carry_ft", "Total": "rest_ft"}
    assert guessed("Club,Carry (miles),Carry (deg)")[1] == {"Club": "club", "Carry (miles)": "carry_m"}


def test_dictionary_and_sheets_are_valid_to_the_outside_validator_which_counts_the_same_rows():
    assert list(frictionless.Package.metadata_validate(descriptor())) == []
    for resource in descriptor()["resources"]:
        assert list(frictionless.Schema.metadata_validate(resource["schema"])) == []
    report = frictionless.validate(str(DATA / "datapackage.json"))
    assert report.valid, report.flatten(["name", "rowNumber", "fieldName", "message"])
    folders = ("demo", "published", "templates")
    paths = {path.relative_to(DATA).as_posix() for folder in folders for path in (DATA / folder).glob("*.csv")}
    assert {task.place for task in report.tasks} == paths
    for task in report.tasks:
        path = DATA / task.place
        if path.parent.name == "templates":
            kind = path.stem.removesuffix("_feet")
            assert refused("", lambda path=path, kind=kind: read_sheet(path, kind), SheetError).unfilled
        else:
            assert len(read_sheet(path, path.stem).frame) == task.stats["rows"]


@pytest.mark.parametrize("kind", kinds().values(), ids=kinds())
def test_columns_of_one_quantity_differ_only_in_their_unit(kind):
    for quantity in kind.quantities:
        first, *others = kind.columns_of(quantity)
        for other in others:
            assert (other.description, other.required) == (first.description, first.required)
            limits = [(column.minimum * column.factor, column.maximum * column.factor) for column in (first, other)]
            np.testing.assert_allclose(*limits, rtol=0.06)
            assert math.isclose(float(other.example) * other.factor, float(first.example) * first.factor, rel_tol=0.06)
    for group in kind.needs:
        assert set(group) <= set(kind.quantities)


def test_templates_description_and_demonstration_are_what_the_scripts_make_and_marked_invented():
    made = script("make_sheets")
    stored = {path.name: path.read_text(encoding="utf-8") for path in (DATA / "templates").glob("*.csv")}
    assert stored == made.templates()
    assert json.loads((DATA / "datapackage.json").read_text(encoding="utf-8")) == made.package()
    for name, text in script("make_demo").files().items():
        assert (DEMO / name).read_text(encoding="utf-8") == text, f"{name}: run data/make_demo.py"
        assert text.startswith("# Invented") or json.loads(text)["invented"].startswith("Invented")


@pytest.mark.parametrize("units", ["metres", "feet"])
@pytest.mark.parametrize("kind", kinds())
def test_the_example_row_of_a_template_can_be_read(tmp_path, kind, units):
    text = template_text(kind, units)
    example = next(line.split(": ", 1)[1] for line in text.splitlines() if line.startswith("# A row might read"))
    path = tmp_path / "sheet.csv"
    path.write_text(text + example + "\n")
    sheet = read_sheet(path, kind)
    assert not [note for note in sheet.notes if "kept as" in note]
    assert sheet.reference_line is None
    assert len(template_columns(kind_of(kind), units)) == len(example.split(","))


def test_published_sheets_carry_source_and_mark():
    rolls = read_rollouts(DATA / "published" / "rollouts.csv").frame
    assert (rolls["source"] != "").all()
    assert set(rolls["mark"]) <= {"read", "memory", "derived", "practice"}
    inches = (rolls["distance"] / 0.0254).round(6).tolist()
    assert inches == [168, 108, 240, 24, 147, 134, 145]


@pytest.mark.parametrize("units", ["metres", "feet"])
def test_what_is_written_reads_back(tmp_path, units):
    frame = read_rollouts(DATA / "demo" / "rollouts.csv").frame
    names = [column.name for column in template_columns(kind_of("rollouts"), units) if column.quantity != "ramp_run"]
    speed = {"metres": "release_speed_m_s", "feet": "release_speed_ft_s"}[units]
    path = tmp_path / "sheet.csv"
    path.write_text(sheet_text(frame, "rollouts", [*names, speed], ["reference line: here"]))
    again = read_rollouts(path)
    assert again.reference_line == "here"
    for name in ("heading", "release_speed", "distance", "side"):
        np.testing.assert_allclose(again.frame[name], frame[name], atol=0.006)
    assert again.frame["measured_at"].tolist() == frame["measured_at"].tolist()
    refused("no 'wind'", lambda: sheet_text(frame, "rollouts", ["wind"]))


def test_names_are_the_same_across_sheets_and_nearly_alike_ones_are_named(tmp_path):
    written(tmp_path / "rollouts.csv", "spot,heading_deg,distance_m\nhome-left,0,3.05\nhigh,0,3\nlow,0,3\n")
    drops = "home-lefft,150,31\nHigh,150,30\nlow,150,30\n"
    written(tmp_path / "drops.csv", "spot,drop_height_cm,rebound_height_cm\n" + drops)
    course = read_course(tmp_path)
    assert course.drops.frame["spot"].tolist() == ["home-lefft", "high", "low"]
    assert sum("same name" in note for note in course.notes) == 1
    assert sum("'home-lefft'" in note and "'home-left'" in note for note in course.notes) == 1


def test_a_row_that_sums_up_the_others_is_asked_about(sheet):
    rows = "spot,drop_height_m,rebound_height_m\nlow,1.5,0.31\nlow,1.5,0.30\nAverage,1.5,0.305\n"
    (found,) = refused("means and totals", lambda: read_sheet(sheet(rows), "drops"), SheetError).problems
    assert (found.row, found.column, found.suspect) == (4, "spot", True)


def test_a_file_kept_twice_counts_once(tmp_path):
    folder = make_course_folder(tmp_path / "home")
    for number in range(4):
        append_row(folder / "putts.csv", {"distance_m": 2 + number, "tries": 10, "made": 6 - number})
    (folder / "putts (copy).csv").write_bytes((folder / "putts.csv").read_bytes())
    append_row(folder / "putts.csv", {"distance_m": 8, "tries": 10, "made": 1})
    course = read_course(folder)
    assert len(course.putts.frame) == 5
    assert "putts (copy).csv was left out: putts.csv has all of its rows." in course.notes


def test_an_imported_file_is_read_with_the_course_and_others_are_named(tmp_path):
    folder = make_course_folder(tmp_path / "own")
    (folder / "tuesday.csv").write_text("spot,heading_deg,distance_m\nlow,0,3.0\n")
    (folder / "chips 2025-05-07.csv").write_text("club,lie,rest_m\nsand wedge,fairway,9\n")
    append_row(folder / "chips.csv", {"club": "sand wedge", "lie": "fairway", "rest_m": 10})
    (folder / "shopping.csv").write_text("what,price\nballs,40\n")
    (folder / "photo.jpg").write_bytes(b"\xff\xd8\xff")
    course = read_course(folder)
    assert len(course.rollouts.frame) == 1
    assert sorted(course.chips.frame["rest"]) == [9.0, 10.0]
    assert any("shopping.csv" in note for note in course.notes)
