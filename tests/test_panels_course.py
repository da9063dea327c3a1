"""One course chosen for every page; results handed out, blank sheets, plans kept, the sheet to carry."""

import math
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any
from unittest.mock import Mock

import pandas as pd
import pytest
from conftest import refused
from test_panels_forms import CHIP, NOON, ROLL, form_for, made

import golfphys
from golfphys import panels
from golfphys.fitting.fit import visits_of
from golfphys.panels import Chosen, course, planning, printing, settings
from golfphys.panels.planning import position_of
from golfphys.physics.club import bag_with
from golfphys.sheets import append_rows, make_player_folder
from golfphys.sheets.rows import delete_row
from golfphys.show.markup import escape

pytestmark = pytest.mark.usefixtures("fresh_home")
HITS = {"club": "SW", "lie": "clean", "distance_m": 8, "target_size_m": 1.5, "tries": 10, "hits": 4}


def test_until_a_course_is_chosen_it_is_the_demonstration() -> None:
    demo = golfphys.chosen()
    assert demo.is_demo
    assert len(demo.sheet("rollouts").frame) > 40
    form = panels.EntryForm("rollouts", demo)
    assert "make a course of your own" in form.head.value
    assert len(form.widget.children) == 1


def test_the_panel_makes_and_chooses_a_course(fresh_home: Path) -> None:
    panel = panels.CoursePanel()
    assert panel.new.layout.display == "none"
    panel.course.value = course.NEW
    panel.units.value, panel.name.value = "feet", "Lower Links"
    panel.make.click()
    assert "Say what heading 0 points at" in panel.message.value
    panel.line.value = "along the west edge"
    panel.make.click()
    assert "no rows yet" in panel.message.value
    chosen = golfphys.chosen()
    assert (chosen.name, chosen.units, chosen.folder) == ("Lower Links", "feet", fresh_home / "courses" / "Lower Links")
    again = panels.CoursePanel()
    assert again.course.value == "Lower Links"
    assert again.units.disabled
    again.course.value = course.DEMO
    assert golfphys.chosen().is_demo
    assert "4 films" in again.message.value  # as plans count them, not their frames


@pytest.mark.parametrize("name", ["../up", "a/b", "home course"])
def test_a_course_that_cannot_be_made_or_kept_or_has_gone_is_said(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    made()
    panel = panels.CoursePanel()
    panel.course.value = course.NEW
    panel.name.value, panel.line.value = name, "north"
    panel.make.click()
    assert "role='alert'" in panel.message.value
    assert settings.made_in(settings.courses_folder()) == ["home course"]
    settings.remember(course="gone")
    refused("choose again on the start page", golfphys.chosen)
    assert "gone is not there any more" in panels.CoursePanel().message.value
    monkeypatch.setattr(settings, "remember", Mock(side_effect=OSError(28, "No space left on device")))
    panel.course.value = course.DEMO
    assert "could not be kept" in panel.message.value


def test_rolls_of_two_days_are_two_greens() -> None:
    chosen = made()
    rolls = [{**ROLL, "heading_deg": heading} for heading in (0, 90, 180, 270)]
    for day, distance in (("2025-05-06", 3.05), ("2025-05-07", 2.6)):
        dated = [{**row, "distance_m": distance, "measured_at": day} for row in rolls]
        append_rows(chosen.folder / "rollouts.csv", dated)
    chip = {"club": "sand wedge", "lie": "fairway", "spot": "practice-low", "carry_m": 6, "rest_m": 11}
    append_rows(chosen.folder / "chips.csv", [{**chip, "measured_at": "2025-05-06"}, chip])
    latest = golfphys.chosen()
    assert latest.days == ("2025-05-07", "2025-05-06")
    assert set(latest.sheet("rollouts").frame["spot"]) == {"practice-low", "practice-low 2025-05-06"}
    assert latest.sheet("chips").frame["spot"].tolist() == ["practice-low 2025-05-06", "practice-low"]
    append_rows(chosen.folder / "chips.csv", [{**chip, "measured_at": "2025-05-01"}] * 3)
    assert golfphys.chosen().spot == "practice-low"  # not the one chipped to most often, on another day
    assert golfphys.chosen().greens == ("practice-low",)  # a sheet to carry has none of another day
    first = replace(latest, day="2025-05-06")
    assert set(first.sheet("rollouts").frame["spot"]) == {"practice-low", "practice-low 2025-05-07"}
    table = panels.week(first)
    assert list(table.columns) == ["2025-05-06, planned on", "2025-05-07"]
    speeds = [float(cell.split()[0]) for cell in table.loc["practice-low"]]
    assert speeds[0] - speeds[1] > 1.0
    panel = panels.CoursePanel()
    panel.day.value = "2025-05-06"
    assert golfphys.chosen().day == "2025-05-06"


def test_a_place_rolled_again_after_a_pause_is_another_green_and_what_came_between_belongs_to_the_nearer() -> None:
    folder, at = made().folder, "2025-05-06T"
    for hour, distance in (("06", 3.05), ("18", 2.6)):
        rolls = [{**ROLL, "heading_deg": turn, "distance_m": distance} for turn in (0, 90, 180, 270)]
        timed = [{**row, "measured_at": f"{at}{hour}:0{number}"} for number, row in enumerate(rolls)]
        append_rows(folder / "rollouts.csv", [*timed, {**timed[0], "spot": "once"}] if hour == "06" else timed)
    chip = {"club": "sand wedge", "lie": "fairway", "spot": "practice-low", "carry_m": 6, "rest_m": 11}
    times = ["", "2025-05-06", f"{at}08:30", f"{at}17:30", "2025-05-08T07:00"]
    append_rows(folder / "chips.csv", [{**chip, "measured_at": time} for time in times])
    latest, low = golfphys.chosen(), "practice-low"
    assert latest.days == ("2025-05-06", "2025-05-06 06:00")
    assert latest.greens == ("once", low)
    first, other = f"{low} 2025-05-06 06:00", f"{low} 2025-05-08"
    assert latest.sheet("chips").frame["spot"].tolist() == [low, low, first, low, other]
    morning = replace(latest, day="2025-05-06 06:00")
    assert set(morning.sheet("rollouts").frame["spot"]) == {low, f"{low} 2025-05-06", "once 2025-05-06"}
    assert not any("pauses" in text for text in golfphys.fit(morning.sheet("rollouts")).cautions)
    assert any("over 12 hours with pauses" in text for text in golfphys.fit(latest.sheets.rollouts).cautions)  # type: ignore[union-attr]
    table = panels.week(morning)
    assert list(table.columns) == ["2025-05-06 06:00, planned on", "2025-05-06, last rolls"]
    speeds = [float(cell.split()[0]) for cell in table.loc[low]]
    assert speeds[0] - speeds[1] > 1.0
    assert "2025-05-06, last rolls" in dict(panels.CoursePanel().day.options)


def test_what_is_hard_to_believe_is_said_where_the_course_is_chosen() -> None:
    """A row put into the file elsewhere has not been asked about."""
    folder = made().folder
    rows = [{**ROLL, "heading_deg": turn} for turn in range(0, 360, 45)]
    append_rows(folder / "rollouts.csv", rows)
    assert "Hard to believe" not in panels.CoursePanel().message.value
    append_rows(folder / "rollouts.csv", rows, accept_suspects=True)
    said = panels.CoursePanel().message.value
    assert "16 rollouts; lengths in metres" in said
    assert "Hard to believe, and counted as it stands." in said
    assert "rollouts.csv, row" in said


def test_chips_of_the_last_day_are_held_to_those_of_the_days_before(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(course, "fit", lambda *sheets: {sheet.kind: len(sheet.frame) for sheet in sheets})
    chosen = made(units="feet")
    append_rows(chosen.folder / "drops.csv", [{"spot": "low", "drop_height_ft": 5, "rebound_height_ft": 0.9}])
    dated = [{**CHIP, "measured_at": day, "player": "Ada"} for day in ("2025-05-06", "", "2025-05-06", "2025-05-07")]
    append_rows(chosen.folder / "chips.csv", dated[:3])
    assert golfphys.chosen().log is None
    append_rows(chosen.folder / "chips.csv", dated[3:])
    settings.remember(player="Ada")
    chosen = golfphys.chosen()
    before, latest = chosen.before_the_last_day or ({}, None)
    assert before == {"drops": 1, "chips": 3}
    assert latest.frame["date"].dt.day.tolist() == [7]
    assert chosen.log is not None
    assert len(visits_of(chosen.log)) == 3
    assert course.demonstration().before_the_last_day is None


def test_what_the_player_logged_elsewhere_counts_unless_it_is_left_out(monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[Any] = []
    monkeypatch.setattr(course, "fit", lambda *sheets, past: seen.append(past) or {"sheets": len(sheets)})
    chips = [{**CHIP, "player": player} for player in ("Ada", "Bea", "")]
    append_rows(made("away", units="feet").folder / "chips.csv", [*chips, chips[0]])
    assert "<b>Ada and Bea count as one player</b>: name the one" in panels.CoursePanel().message.value
    folder = make_player_folder(settings.players_folder() / "ada", units="feet")
    assert settings.logged_before("Bea", "home course").chips.frame["course"].tolist() == ["away"]  # type: ignore[union-attr]
    append_rows(folder / "chips.csv", [{**CHIP, "course": "elsewhere", "date": "2025-04-01"}])
    here = made(units="feet")
    append_rows(here.folder / "chips.csv", chips[:1])
    panel = panels.CoursePanel()
    assert panel.past.layout.display == "none"
    assert panel.player.options == ("ada", "Bea")
    panel.player.value = "Aba"
    assert "1 chip, 0 of the chips by Aba" in panel.message.value  # a slip of the pen shows
    panel.clubs.value = "PW, 56°"
    panel.player.value = "ada"
    assert panel.clubs.value == ""  # each has her own
    assert "3 chips that ada logged elsewhere count as well. Of the chips on away 1 name no" in panel.message.value
    assert "Hard to believe" not in panel.message.value
    odd = [{**CHIP, "course": "elsewhere", "hang_time_s": 3.9}]
    (row,) = append_rows(folder / "chips.csv", odd, accept_suspects=True)
    assert "as it stands, in ada&#x27;s folder: row" in panels.CoursePanel().message.value
    delete_row(folder / "chips.csv", row, kind="chips")
    assert golfphys.chosen().fit
    assert sorted(seen[0].chips.frame["course"]) == ["away", "away", "elsewhere"]
    panel.player.value = "Beá"
    assert "<b>Is Bea the same player?</b>" in panel.message.value
    panel.player.value = "ada"
    panel.past.value = False
    assert "elsewhere" not in panel.message.value
    assert golfphys.chosen().fit
    assert seen[1:] == [None]
    assert panels.CoursePanel().past.value is False


def test_a_player_gets_a_folder_of_her_own_and_rows_are_typed_and_brought_into_it(fresh_home: Path) -> None:
    panel, name, folder = panels.CoursePanel(), "Zoë von Müller", fresh_home / "courses" / "players" / "Zoë von Müller"
    assert panel.begin.layout.display == "none"
    panel.player.value = "../up"
    panel.begin.click()
    assert "The folder was not made" in panel.message.value
    panel.player.value = f"  {name.replace(' ', '  ')} "
    assert (panel.begin.layout.display, folder.exists()) == ("", False)
    panel.begin.click()
    assert str(folder) in panel.message.value
    append_rows(folder / "targets.csv", [HITS])
    kept = (folder / "targets.csv").read_bytes()
    panel.player.value = "ZOË VON MÜLLER"  # she has one
    assert panel.begin.layout.display == "none"
    panel.begin.click()
    assert "already" in panel.message.value
    assert ([path.name for path in folder.parent.iterdir()], (folder / "targets.csv").read_bytes()) == ([name], kept)
    made()
    panel = panels.CoursePanel()
    panel.player.value = name
    chosen, chips = golfphys.chosen(), f"chips of {name}, on any course"
    chooser, place = panels.any_form(chosen).widget.children
    chooser.label = chips
    assert escape(folder / "chips.csv") in place.children[0].children[0].value
    form = panels.ImportForm(chosen)
    form.kinds.label = chips
    form.open("winter.csv", b"club,lie,carry_m,rest_m,course,date\nSW,clean,6,9,Old Town,2025-01-05\n")
    form.button.click()
    log: Any = golfphys.chosen().log
    assert (log.chips.frame["course"].tolist(), len(log.targets.frame)) == (["Old Town"], 1)
    assert (folder / "brought in" / "chips winter.csv").exists()


def test_rows_that_name_nobody_are_of_the_one_player_there_is_and_target_hits_count() -> None:
    away = made("away").folder
    append_rows(away / "chips.csv", [{"club": "SW", "lie": "clean", "carry_m": 5, "rest_m": 9}])
    append_rows(away / "targets.csv", [HITS])
    make_player_folder(settings.players_folder() / "Ada")
    log: Any = settings.logged_before("Ada", "home course")
    assert {kind: len(sheet.frame) for kind, sheet in log.sheets.items()} == {"chips": 1, "targets": 1}
    make_player_folder(settings.players_folder() / "Bea")
    unclear: Any = settings.logged_before("Ada", "home course")
    assert not unclear.sheets
    assert "Of the chips on away 1 name no player and do not count: say whose they are." in unclear.notes


def test_rows_copied_to_another_course_count_once_and_are_said() -> None:
    chip = {"club": "SW", "lie": "clean", "rest_m": 9.2, "player": "Ada"}
    metres = [{**chip, "carry_m": 5.1 + at} for at in range(4)]
    append_rows(made("away").folder / "chips.csv", metres)
    append_rows(made("home course").folder / "chips.csv", metres[:3])
    log: Any = settings.logged_before("Ada", "home course")
    assert log.chips.frame["carry"].tolist() == [8.1]
    assert log.notes == ["Of the chips on away 3 stand on another course as well and count once."]
    everything: Any = settings.logged_before("Ada", "")
    assert len(everything.chips.frame) == 4


def test_where_the_course_lacks_a_sheet_a_page_shows_the_demonstration() -> None:
    chosen = made(units="feet")
    append_rows(chosen.folder / "rollouts.csv", [{**ROLL, "heading_deg": heading} for heading in (0, 90, 180, 270)])
    assert golfphys.chosen("rollouts").name == "home course"
    instead = golfphys.chosen("rollouts", "drops")
    assert (instead.is_demo, instead.units) == (True, "feet")
    assert chosen.sheet("drops") is None
    found = (chosen.spots, chosen.spot, chosen.line_deg, chosen.lies, chosen.line_in_words)
    assert found == (("practice-low",), "practice-low", 0.0, (), "along the west edge")


def test_the_place_to_begin_with_was_rolled_on_where_any_was() -> None:
    folder, chip = made(units="feet").folder, {**CHIP, "player": ""}
    append_rows(folder / "chips.csv", [{**chip, "spot": spot} for spot in ("high", "high", "high", "low")])
    assert golfphys.chosen().spot == "high"
    rolls = [{**ROLL, "spot": spot, "heading_deg": turn} for turn in (0, 180) for spot in ("collar", "mid", "low")]
    append_rows(folder / "rollouts.csv", rolls, accept_suspects=True)
    chosen = golfphys.chosen()
    assert (chosen.spot, chosen.greens) == ("low", ("mid", "low"))
    assert chosen.spot in golfphys.fit(chosen.sheet("rollouts")).spots


def test_results_are_kept_by_content_and_only_our_own_are_loaded(fresh_home: Path) -> None:
    make, local = Mock(side_effect=({"fit": number} for number in (1, 2, 3))), lambda: None
    assert [settings.cached(b"a", make), settings.cached(b"a", make)] == [{"fit": 1}] * 2
    assert settings.cached(b"b", make) == {"fit": 2}
    for path in (fresh_home / "fits").glob("*.kept"):
        data = path.read_bytes()
        path.write_bytes(bytes([data[0] ^ 1]) + data[1:])  # of another hand
    assert settings.cached(b"a", make) == {"fit": 3}
    assert settings.cached(b"c", lambda: local) is local


def rolled(monkeypatch: pytest.MonkeyPatch, *spots: str) -> Chosen:
    """Return a course with rolls, whose draws are stated and not fitted."""
    known = golfphys.assumed(golfphys.Green.from_stimp(10.0), n=4)
    monkeypatch.setattr(Chosen, "draws", lambda _self, _spot, _line: known)
    chosen, row = made(units="feet"), {"heading_deg": 0, "distance_ft": 9}
    append_rows(chosen.folder / "rollouts.csv", [{**row, "spot": spot} for spot in spots])
    return golfphys.chosen()


def test_plans_are_made_with_the_clubs_that_she_carries(monkeypatch: pytest.MonkeyPatch) -> None:
    made()
    known = golfphys.assumed(golfphys.Green.from_stimp(10.0), bag=bag_with(["52-degree wedge"]), n=4)
    monkeypatch.setattr(Chosen, "fit", Mock(draws=Mock(return_value=known)))
    assert set(known.bag) - set(golfphys.chosen().draws("low", 0.0).bag) == {"gap wedge"}  # hers under another name
    panel = panels.CoursePanel()
    panel.clubs.value = "my chipper, PW"
    assert "no loft is known for my chipper" in panel.message.value
    panel.clubs.value = "52°; PW"
    assert list(golfphys.chosen().draws("low", 0.0).bag) == ["pitching wedge", "52-degree wedge"]


def test_a_fit_is_kept_for_the_next_page(monkeypatch: pytest.MonkeyPatch) -> None:
    fit = Mock(return_value={"rolls": 1})
    monkeypatch.setattr(course, "fit", fit)
    chosen = rolled(monkeypatch, "low")
    assert golfphys.chosen().fit == chosen.fit
    assert fit.call_count == 1
    append_rows(chosen.folder / "rollouts.csv", [{"spot": "low", "heading_deg": 0, "distance_ft": 9}])
    assert golfphys.chosen().fit
    assert fit.call_count == 2
    chips = chosen.folder / "chips.csv"
    chips.rename(chips.with_suffix(".txt")).write_text(chips.with_suffix(".txt").read_text() + "# another\n")
    assert golfphys.chosen().fit
    assert fit.call_count == 3  # every file that a course is read from


def exporter(on: Chosen) -> panels.ExportForm:
    tables = {"greens": pd.DataFrame({"stimp_ft": [10 / 3]}, index=["=low"])}
    return panels.ExportForm(on, tables, {"green speeds": lambda ax: ax.plot([0, 1])}, today=NOON.date)


def test_results_carry_the_name_of_the_course_and_the_date_and_the_demonstrations_stay_apart(fresh_home: Path) -> None:
    chosen = made()
    elsewhere = exporter(course.demonstration()).write()
    assert {path.parent for path in elsewhere} == {fresh_home / "courses" / "results of the demonstration"}
    assert settings.made_in(settings.courses_folder()) == ["home course"]
    assert not (chosen.folder / "results").exists()
    form = exporter(chosen)
    form.folder.value = " "  # nothing is written where nobody finds it
    files = form.write()
    stem = "home-course-2025-05-06-green"
    assert [path.name for path in files] == [f"{stem}s.csv", f"{stem}-speeds.png", f"{stem}-speeds.pdf"]
    assert {path.parent for path in files} == {chosen.folder / "results"}
    assert files[0].read_text().startswith("# home course, greens, 2025-05-06\n")
    table = pd.read_csv(files[0], comment="#", index_col=0)
    assert (table["stimp_ft"].tolist(), table.index.tolist()) == ([10 / 3], ["'=low"])
    assert form.write()[0].name == f"{stem}s-2.csv"
    assert b"CreationDate" not in files[2].read_bytes()


def test_results_that_cannot_be_written_are_said() -> None:
    chosen = made()
    form = exporter(chosen)
    within = Path(golfphys.__file__).parent / "results", "within golfphys itself"
    for folder, words in (within, (chosen.folder / "chips.csv", "Not all was written")):
        form.folder.value = str(folder)
        form.button.click()
        assert words in form.message.value
    for box in form.wanted.values():
        box.value = False
    assert form.write() is None
    assert "Nothing is ticked" in form.message.value


def test_blank_sheets_are_written_in_the_units_of_the_course() -> None:
    chosen = made(units="feet")
    page = printing.blank_sheet("rollouts", chosen)
    said = [text.get_text() for ax in page.axes for text in ax.texts]
    assert any("along the west edge" in text for text in said)
    heads = [cell.get_text().get_text() for (row, _), cell in page.axes[-1].tables[0].get_celld().items() if row == 0]
    labels = [field.column.quantity.replace("_", " ") for field in form_for("rollouts", chosen).fields.values()]
    assert [head.split("\n")[0] for head in heads][1:] == labels
    assert "distance\nft" in heads
    panel = panels.BlankSheets(chosen)
    path = panel.write()
    assert path is not None
    assert path.read_bytes().count(b"/Type /Page ") == 3
    assert "blank sheets.pdf" in panel.message.value


def test_plans_are_kept_printed_and_reopened(monkeypatch: pytest.MonkeyPatch) -> None:
    chosen = rolled(monkeypatch, "low")
    shown = panels.plan(chosen, to_pin=12.0)
    assert shown.inputs["spot"].options == ("low",)
    assert "along the west edge" in shown.message.value
    assert " ft from the ball" in shown.message.value
    same = golfphys.plan_chip(chosen.draws("low", 0.0), position=position_of(shown.values))
    pd.testing.assert_frame_equal(shown.result.table, same.table)  # what is kept, printed and worked out below it
    page = panels.KeptPlans(shown, chosen, today=NOON.date)
    assert page.print.disabled
    page.name.value = "7th, <front>"
    page.keep.click()
    assert page.message.value == ""
    shown.inputs["to_pin"].value = 60.0
    shown.inputs["uphill_deg"].value = 5.0
    page.name.value = ""
    page.keep.click()
    again = panels.KeptPlans(shown, chosen, today=NOON.date)
    assert [item["name"] for item in again.situations] == ["7th, <front>", "low, pin at 60 ft"]
    assert [item["uphill_deg"] for item in again.situations] == [0.0, 5.0]
    assert "&lt;front&gt;" in again.list.value
    shown.inputs["to_pin"].value, shown.inputs["to_edge"].value = 3.0, 30.0
    assert "Not possible" in shown.message.value
    again.keep.click()
    assert len(again.situations) == 2
    shown.inputs["to_pin"].value, shown.inputs["to_edge"].value = 60.0, 10.0
    (paper,) = again.pages()
    titles = " ".join(text.get_text() for ax in paper.axes for text in ax.texts)
    assert "7th, <front>: fairway, low, line 0°, edge at 10 ft, pin at 39 ft" in titles
    foot = paper._supxlabel.get_text()
    assert "Rule 4.3a" in foot
    assert "Line 0 points along the west edge" in foot
    path = again.write()
    assert path is not None
    assert path.name == "plans 2025-05-06.pdf"
    for other in (page, again):  # the one that is chosen, and no other where it is gone already
        other.which.value = 0
        other.drop.click()
        assert [item["name"] for item in other.situations] == ["low, pin at 60 ft"]
    again.path.write_text(again.path.read_text().replace(",fairway,", ",mud,"))
    lost = panels.KeptPlans(shown, chosen)
    lost.print.click()
    assert "low, pin at 60 ft cannot be planned now, take it out (lie is" in lost.message.value
    again.path.write_text(spoilt := again.path.read_text().replace(",", ";"))
    again.keep.click()
    for other in (again, panels.KeptPlans(shown, chosen)):
        assert "cannot be read as it is" in other.message.value
    assert again.path.read_text() == spoilt


def test_a_chip_is_planned_on_the_surveyed_green_and_kept_with_its_place_on_it(monkeypatch: pytest.MonkeyPatch) -> None:
    effort = golfphys.Effort(draws=1, landings=9, errors=8, last=32)
    monkeypatch.setattr(planning, "plan_chip", partial(golfphys.plan_chip, effort=effort))
    monkeypatch.setattr(printing, "plan_chip", partial(golfphys.plan_chip, effort=effort))
    chosen = rolled(monkeypatch, "home-left", "low")
    known = golfphys.stated(golfphys.Green.from_stimp(10.0))
    monkeypatch.setattr(Chosen, "draws", lambda _self, _spot, _line: known)
    assert "ground" not in panels.plan(chosen, spot="low").inputs
    heights = [{"x_ft": x, "y_ft": y, "height_ft": 0.03 * x} for x in range(0, 100, 12) for y in range(-40, 50, 10)]
    points = [*({"green": "Home", **row} for row in [*heights, heights[0]]), {"green": "top", **heights[0]}]
    append_rows(chosen.folder / "survey.csv", points, accept_suspects=True)
    chosen = golfphys.chosen()
    shown = panels.plan(chosen, line_deg=90.0, to_pin=12.0)
    assert shown.values["ground"] == "surveyed Home"
    assert "The ground is as surveyed" in shown.message.value
    assert "The survey of the green top is left out: 1 places" in shown.message.value
    tilted = golfphys.stated(golfphys.Green.from_stimp(10.0, grade=0.03, fall_direction=-math.pi / 2))
    same = golfphys.plan_chip(tilted, position=position_of(shown.values), effort=effort)
    columns = ["landing_m", "aim_m", "roll_m", "strokes"]
    plane, survey = (plan.table.set_index("club")[columns].sort_index() for plan in (same, shown.result))
    pd.testing.assert_frame_equal(plane, survey, atol=0.1)  # also where balls come to rest beyond the survey
    page = panels.KeptPlans(shown, chosen, today=NOON.date)
    page.keep.click()
    assert "surveyed Home, 48.0 ft along, 0.0 ft left" in page.list.value
    again = panels.KeptPlans(panels.plan(chosen, ground=planning.PLANE), chosen, today=NOON.date)
    titles = " ".join(text.get_text() for ax in again.pages()[0].axes for text in ax.texts)
    assert "surveyed Home" in titles
    (chosen.folder / "survey.csv").unlink()
    lost = panels.KeptPlans(panels.plan(golfphys.chosen()), golfphys.chosen())
    lost.print.click()
    assert "ground is &#x27;surveyed Home&#x27;" in lost.message.value
    # the ground follows the green that is picked, and the pin with it
    shown.inputs["spot"].value = "low"
    assert shown.values["ground"] == planning.PLANE
    shown.inputs["pin_x"].value = 0.0
    shown.inputs["spot"].value = "home-left"
    assert shown.values["ground"] == "surveyed Home"
    assert shown.values["pin_x"] == pytest.approx(48.0 * 0.3048)  # on a scale in feet
    assert "The ground is as surveyed" in shown.message.value
    shown.inputs["pin_x"].value = 0.0
    shown.inputs["pin_y"].value = 50.0
    assert "off the surveyed ground" in shown.message.value


def test_plans_kept_before_greens_were_surveyed_are_on_planes(monkeypatch: pytest.MonkeyPatch) -> None:
    chosen = rolled(monkeypatch, "low")
    page = panels.KeptPlans(panels.plan(chosen), chosen)
    page.keep.click()
    kept = pd.read_csv(page.path).drop(columns=list(printing.ON_A_PLANE))
    kept.to_csv(page.path, index=False)
    (again,) = panels.KeptPlans(page.panel, chosen).situations
    assert again["ground"] == planning.PLANE


def test_the_sheet_to_carry_is_shown_for_one_green_or_several_and_written(monkeypatch: pytest.MonkeyPatch) -> None:
    few = {"effort": golfphys.Effort(draws=4, landings=7, errors=4, last=8), "distances": [12.0, 20.0]}
    monkeypatch.setattr(printing, "make_carry_sheet", partial(printing.make_carry_sheet, **few))
    chosen = rolled(monkeypatch, "low", "top")
    form = panels.CarryForm(chosen, today=NOON.date)
    paces = bytes(form.image.value)
    assert paces.startswith(b"\x89PNG")
    form.unit.value = "ft"
    assert bytes(form.image.value) != paces
    path = form.write()
    assert path == chosen.folder / "results" / "to carry low 2025-05-06.pdf"
    assert path.read_bytes().startswith(b"%PDF")
    assert path.stat().st_mode == (chosen.folder / "chips.csv").stat().st_mode  # for all who may read the sheets
    assert [sheet.spot for sheet in form.sheet] == ["low"]
    form.pace.value = 2.9  # feet, it seems
    assert "pace is 2.9 m; expected the length of one step" in form.message.value
    assert form.write() is None
    form.pace.value, said = 0.8, list[str]()
    form.message.observe(lambda change: said.append(change["new"]), names="value")
    form.spot.value = printing.SEVERAL
    assert ["Working out the sheet" in words for words in said] == [True, False]
    assert [sheet.spot for sheet in form.sheet] == ["low", "top"]
    monkeypatch.setattr(printing, "make_carry_sheet", lambda *_, **__: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        form.unit.value = "m"
    assert form.write() is None  # not the sheet of other choices
    assert "no sheet for these choices" in form.message.value
