"""Folders of a course and of a player: several days, several players, and what is hers on every course."""

import math
from pathlib import Path

import numpy as np
import pytest
from conftest import refused

from golfphys import make_course_folder, make_player_folder, read_course, read_rollouts
from golfphys.physics.surface import Surface
from golfphys.sheets import SheetError, around, foreign, kind_of, read_chips, read_drops, read_player, read_survey

DEMO = Path(__file__).parents[1] / "data" / "demo"


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
    assert course.chips.chips["date"].dt.day.tolist()[:3] == [6, 7, 8]
    assert course.chips.chips["sheet"].tolist() == ["chips.csv"] * 2 + ["chips bo.csv"] * 2
    assert any("'Bo'" in note for note in course.notes)
    assert course.of("BO").chips.chips["rest"].tolist() == [12, 13, 14]
    assert len(course.of("bo").rollouts.rolls) == 3


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
    assert log.chips.chips["rest"].tolist() == [9, 8, 10]
    assert log.chips.chips["course"].tolist() == ["home", "away", "Windy Links"]
    assert log.chips.chips["club"].unique().tolist() == ["sand wedge"]
    assert log.targets.targets["hits"].tolist() == [4]
    refused("no sheet with rows", lambda: read_player(make_player_folder(tmp_path / "players" / "bo")), SheetError)
    refused("already", lambda: make_player_folder(hers), SheetError)


def test_chips_may_tell_option_slope_and_time_of_the_hop(sheet):
    text = "club,lie,option,lie_slope_deg,rest_m,hop_time_s,player\nsand wedge,rough,Hands Level,-3,9,0.4,Ann\n"
    chip = read_chips(sheet(text)).chips.iloc[0]
    assert (chip["option"], chip["player"], chip["hop_time"]) == ("Hands Level", "Ann", 0.4)
    assert chip["lie_slope"] == pytest.approx(math.radians(-3))


def test_ground_around_the_green_is_no_green_of_the_wrong_unit(sheet):
    head = "spot,heading_deg,distance_m\n"
    rows = "".join(f"Fringe ninth,{heading},0.9\nlow,{heading},3.0\n" for heading in (0, 90, 180, 270))
    assert len(read_rollouts(sheet(head + rows)).rolls) == 8
    assert around("Fringe ninth") == "fringe"
    assert around("rough_left") == "rough"
    assert around("roughly here") is None
    drops = read_drops(sheet("spot,drop_height_m,rebound_height_m\ncollar,1.5,0.2\nlow,1.5,0.31\n")).drops
    assert [around(spot) for spot in drops["spot"]] == ["collar", None]


def test_a_survey_on_a_grid_or_anywhere_is_read(sheet):
    grid = "x_m,y_m,height_cm\n" + "".join(f"{x},{y},{x + 2 * y}\n" for x in (0, 2, 4) for y in (0, 3))
    read = read_survey(sheet(grid)).points
    np.testing.assert_allclose(read["height"], [0.0, 0.06, 0.02, 0.08, 0.04, 0.10])
    assert (read["x"].tolist(), read["y"].tolist()) == ([0, 0, 2, 2, 4, 4], [0, 3] * 3)
    with pytest.raises(SheetError) as caught:
        read_survey(sheet(grid + "4,3.005,9\n2,1.5,120\n"))
    assert {(item.row, item.column) for item in caught.value.problems} == {(7, "x_m"), (8, "x_m"), (9, "height_cm")}
    assert all(item.suspect for item in caught.value.problems)


def test_the_surveyed_demonstration_green_has_its_tier():
    points = read_course(DEMO).survey.points
    home = points[points["green"] == "home"]
    ground = Surface.from_points(home["x"], home["y"], home["height"], height_sd=0.005)
    assert 0.25 < ground.height(17.0, 0.0) - ground.height(9.0, 0.0) < 0.6
    assert read_course(DEMO).targets.targets["hits"].between(0, 10).all()


def test_text_with_commas_is_left_alone(tmp_path):
    path = written(tmp_path / "theirs.csv", "spot;heading_deg;distance_m;note\n1,2;0;3,05;7,5 late\n1,2;180;3,1;b\n")
    source, kind = foreign.read_source(path), kind_of("rollouts")
    matches = foreign.likely_matches(source, kind)
    rolls = read_rollouts(written(tmp_path / "rollouts.csv", foreign.sheet_text_of(source, matches, kind))).rolls
    assert rolls["spot"].tolist() == ["1,2", "1,2"]
    assert rolls["note"].tolist() == ["7,5 late", "b"]
    assert rolls["distance"].tolist() == [3.05, 3.1]


SLIPS = {
    "a spreadsheet saved under the name": ("chips.csv", b"PK\x03\x04"),
    "tabs": ("rollouts.csv", b"spot\theading_deg\tdistance_m\nlow\t0\t3.05\n"),
    "quotes left open": ("rollouts.csv", b'spot,heading_deg,distance_m,note\nlow,0,3.05,"a\nlow,90,3,b\n'),
    "a total below the rows": ("putts.csv", b"distance_m,tries,made\n2,10,6\ntotal,10,6\n"),
    "headings twice": ("putts.csv", b"distance_m,tries,made\n2,10,6\ndistance_m,tries,made\n3,10,4\n"),
    "units beside numbers": ("drops.csv", b"spot,drop_height_m,rebound_height_m\nlow,1.5 m,31 cm\n"),
    "rows swapped with columns": ("drops.csv", b"spot,low,low\ndrop_height_m,1.5,1.5\nrebound_height_m,0.3,0.3\n"),
    "a title above the headings": ("drops.csv", b"Tuesday\nspot,drop_height_m,rebound_height_m\nlow,1.5,0.3\n"),
    "a formula's error": ("chips.csv", b"club,lie,rest_m\nsand wedge,fairway,#REF!\n"),
    "capitals and blanks": ("chips.csv", b" Club , LIE ,Rest m\nSAND WEDGE, Fairway ,9\n"),
    "two sheets in one file": ("chips.csv", b"club,lie,rest_m\nsand wedge,fairway,9\n\nspot,drop_height_m\nlow,1.5\n"),
    "dashes for blanks": ("chips.csv", b"club,lie,rest_m,side_m\nsand wedge,fairway,9,-\n"),
    "percent": ("putts.csv", b"distance_m,tries,made\n2,10,60%\n"),
}


def tried(folder):
    try:
        return read_course(folder), []
    except SheetError as error:
        return None, error.problems


@pytest.mark.parametrize("slip", SLIPS)
def test_a_folder_spoiled_by_hand_is_read_or_refused_in_words(tmp_path, slip):
    name, content = SLIPS[slip]
    folder = make_course_folder(tmp_path / "own")
    (folder / name).write_bytes(content)
    course, problems = tried(folder)
    for problem in problems:
        assert Path(problem.file).name == name
        assert problem.found
        assert len(problem.advice) > 10
    assert problems or len(next(iter(course.sheets.values())).frame) == 1
