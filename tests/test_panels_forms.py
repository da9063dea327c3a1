"""One course chosen for every page; rows typed, mended and taken back; files brought in, results handed out."""

import asyncio
import math
from dataclasses import replace
from datetime import date, datetime
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from conftest import refused
from matplotlib.axes import Axes

import golfphys
from golfphys import panels
from golfphys.panels import Chosen, course, exchange, filling, forms, printing, settings
from golfphys.sheets import append_rows, make_course_folder, make_player_folder, read_chips, read_drops, read_rollouts
from golfphys.sheets.dictionary import kinds

pytestmark = pytest.mark.usefixtures("fresh_home")
NOON = datetime(2025, 5, 6, 12, 0)
ROLL = {"spot": "practice-low", "heading_deg": "0", "ramp_run_m": "0.762", "distance_m": "3.05"}
CHIP = {"club": "sand wedge", "lie": "fairway", "carry_ft": "20", "rest_ft": "36"}


def made(name: str = "home course", units: Any = "metres") -> Chosen:
    make_course_folder(settings.own_sheets(name), units=units, reference_line="along the west edge")
    settings.remember(course=name)
    return golfphys.chosen()


def form_for(kind: str, on: Chosen | None = None) -> panels.EntryForm:
    return panels.EntryForm(kind, on or made(), clock=lambda: NOON)


@pytest.fixture
def form(fresh_home: Path) -> panels.EntryForm:
    return form_for("rollouts")


def saved(form: panels.EntryForm, **cells: object) -> None:
    form.put(**cells)
    form._heard(None, {"event": "submit"}, [])
    assert "Saved as row" in form.message.value, form.message.value


def test_until_a_course_is_chosen_it_is_the_demonstration() -> None:
    demo = golfphys.chosen()
    assert demo.is_demo
    assert len(demo.sheet("rollouts").rolls) > 40
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


@pytest.mark.parametrize("name", ["../up", "a/b", "home course"])
def test_a_course_that_cannot_be_made_is_said(name: str) -> None:
    made()
    panel = panels.CoursePanel()
    panel.course.value = course.NEW
    panel.name.value, panel.line.value = name, "north"
    panel.make.click()
    assert "role='alert'" in panel.message.value
    assert settings.made_in(settings.courses_folder()) == ["home course"]


def test_a_course_that_has_gone_is_said() -> None:
    settings.remember(course="gone")
    refused("choose a course again on the start page", golfphys.chosen)


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
    assert set(latest.sheet("rollouts").rolls["spot"]) == {"practice-low", "practice-low 2025-05-06"}
    assert latest.sheet("chips").chips["spot"].tolist() == ["practice-low 2025-05-06", "practice-low"]
    first = replace(latest, day="2025-05-06")
    assert set(first.sheet("rollouts").rolls["spot"]) == {"practice-low", "practice-low 2025-05-07"}
    table = panels.week(first)
    assert list(table.columns) == ["2025-05-06, planned on", "2025-05-07"]
    speeds = [float(cell.split()[0]) for cell in table.loc["practice-low"]]
    assert speeds[0] - speeds[1] > 1.0
    panel = panels.CoursePanel()
    panel.day.value = "2025-05-06"
    assert golfphys.chosen().day == "2025-05-06"


def test_what_the_player_logged_elsewhere_counts_unless_it_is_left_out(monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[Any] = []
    monkeypatch.setattr(course, "fit", lambda *sheets, past: seen.append(past) or {"sheets": len(sheets)})
    chips = [{**CHIP, "player": player} for player in ("Ada", "Bea", "")]
    append_rows(made("away", units="feet").folder / "chips.csv", [*chips, chips[0]])
    folder = make_player_folder(settings.players_folder() / "ada", units="feet")
    assert course.logged_before("Bea", "home course").chips.frame["course"].tolist() == ["away"]  # type: ignore[union-attr]
    append_rows(folder / "chips.csv", [{**CHIP, "course": "elsewhere", "date": "2025-04-01"}])
    here = made(units="feet")
    append_rows(here.folder / "chips.csv", chips[:1])
    panel = panels.CoursePanel()
    assert panel.past.layout.display == "none"
    assert panel.player.options == ("ada", "Bea")
    panel.player.value = "ada"
    assert "3 chips that ada logged elsewhere count as well" in panel.message.value
    assert golfphys.chosen().fit
    assert sorted(seen[0].chips.frame["course"]) == ["away", "away", "elsewhere"]
    panel.past.value = False
    assert "elsewhere" not in panel.message.value
    assert golfphys.chosen().fit
    assert seen[1:] == [None]
    assert panels.CoursePanel().past.value is False


def test_where_the_course_lacks_a_sheet_a_page_shows_the_demonstration() -> None:
    chosen = made(units="feet")
    append_rows(chosen.folder / "rollouts.csv", [{**ROLL, "heading_deg": heading} for heading in (0, 90, 180, 270)])
    assert golfphys.chosen("rollouts").name == "home course"
    instead = golfphys.chosen("rollouts", "drops")
    assert (instead.is_demo, instead.units) == (True, "feet")
    assert chosen.sheet("drops") is None
    assert chosen.spots == ("practice-low",)
    assert (chosen.spot, chosen.line_deg, chosen.lies) == ("practice-low", 0.0, ())
    assert chosen.line_in_words == "along the west edge"


def test_results_are_kept_by_content_and_only_our_own_are_loaded(fresh_home: Path) -> None:
    calls: list[int] = []

    def make() -> dict[str, int]:
        calls.append(1)
        return {"fit": len(calls)}

    assert [settings.kept(b"a", make), settings.kept(b"a", make)] == [{"fit": 1}] * 2
    assert settings.kept(b"b", make) == {"fit": 2}
    for path in (fresh_home / "fits").glob("*.kept"):
        path.write_bytes(path.read_bytes()[:-1] + b"!")
    assert settings.kept(b"a", make) == {"fit": 3}
    assert settings.kept(b"c", lambda: make) is make
    local = lambda: None  # noqa: E731
    assert settings.kept(b"d", lambda: local) is local


def test_rows_in_feet_stay_in_feet() -> None:
    chosen = made(units="feet")
    form = form_for("chips", chosen)
    for number in range(3):
        saved(form, **CHIP)
        assert "carry (feet)" in {field.input.description for field in form.fields.values()}, number
    chips = read_chips(chosen.folder / "chips.csv").chips
    assert chips["carry"].round(3).tolist() == [6.096] * 3
    assert chips["rest"].round(3).tolist() == [10.973] * 3
    for kind in kinds():
        labels = " ".join(field.input.description for field in form_for(kind, chosen).fields.values())
        assert "(metres)" not in labels
        assert "metres per" not in labels


def test_enter_saves_and_the_cursor_goes_on(monkeypatch: pytest.MonkeyPatch, form: panels.EntryForm) -> None:
    asked: list[str] = []
    for name, field in form.fields.items():
        monkeypatch.setattr(field.input, "focus", lambda name=name: asked.append(name), raising=False)
    saved(form, **ROLL, side_m="-0.1", note="dew")
    assert form.cells == {name: ROLL[name] for name in ("spot", "heading_deg", "ramp_run_m")}
    assert asked == ["distance_m"]
    assert read_rollouts(form.path).rolls["measured_at"].tolist() == [pd.Timestamp(NOON)]
    form.day.value = date(2025, 5, 7)
    saved(form, distance_m="3.1")
    assert read_rollouts(form.path).rolls["measured_at"].tolist()[1] == pd.Timestamp("2025-05-07")


def test_enter_waits_for_the_cell_that_it_ends(form: panels.EntryForm) -> None:

    async def typed() -> None:
        form.put(**(ROLL | {"distance_m": ""}))
        form._heard(None, {"event": "submit"}, [])
        form.put(distance_m="3.05")
        await asyncio.sleep(3 * forms.SETTLED)

    asyncio.run(typed())
    assert "Saved as row 1: practice-low, 0, 0.762, 3.05." in form.message.value
    assert read_rollouts(form.path).rolls["distance"].tolist() == [3.05]


def test_the_next_heading_and_club_are_offered(form: panels.EntryForm) -> None:
    for heading in ("0", "0", "90", "90"):
        saved(form, **(ROLL | {"heading_deg": heading}))
    assert form.cells["heading_deg"] == "180"
    assert filling.offered(["9-iron", "9-iron", "sand wedge", "sand wedge", "9-iron", "9-iron"]) == "sand wedge"
    assert filling.offered(["9-iron"]) == "9-iron"
    assert filling.offered(["0", "90", "180", "270"]) == "0"


def test_rows_are_mended_deleted_and_brought_back(form: panels.EntryForm) -> None:
    for distance in ("3.05", "3.5", "2.9"):
        saved(form, **(ROLL | {"distance_m": distance}))
    before = form.path.read_bytes()
    form.begin_mending(2)
    assert form.cells["distance_m"] == "3.5"
    assert form.button.description == "Save row 2"
    saved(form, distance_m="3.0")
    assert "Saved as row 2" in form.message.value
    rolls = read_rollouts(form.path).rolls
    assert rolls["distance"].tolist() == [3.05, 3.0, 2.9]
    assert rolls["measured_at"].notna().all()
    form.chooser.value = 1
    form.delete.click()
    assert read_rollouts(form.path).rolls["distance"].tolist() == [3.0, 2.9]
    form.undo.click()
    form.undo.click()
    assert form.path.read_bytes() == before
    form.undo.click()
    assert read_rollouts(form.path).rolls["distance"].tolist() == [3.05, 3.5]
    assert "<b>2 rows</b>" in form.rows.value


def test_undo_does_not_take_the_rows_of_another_program() -> None:
    form = form_for("drops")
    saved(form, spot="low", drop_height_m=1.5, rebound_height_m=0.31)
    append_rows(form.path, [{"spot": "low", "drop_height_m": 1.5, "rebound_height_m": 0.3}])
    form.undo.click()
    assert "changed again since" in form.message.value
    assert len(read_drops(form.path).drops) == 2


@pytest.mark.parametrize(
    ("name", "typed", "said"),
    [
        ("distance_m", "3,05", "Write the decimal sign as a point: 3.05"),
        ("distance_m", "3.05 m", "write 3.05"),
        ("distance_m", "-1", "cannot be negative"),
        ("heading_deg", "north", "expected a number of degrees from -180 to 360"),
        ("spot", "", "to be filled in"),
    ],
)
def test_cells_are_checked_while_they_are_typed(name: str, typed: str, said: str, form: panels.EntryForm) -> None:
    form.put(**ROLL)
    form.put(**{name: typed})
    assert said in form.fields[name].message.value or not typed
    form.button.click()
    assert "Not saved yet" in form.message.value
    assert said in form.message.value
    assert form.records == []
    assert form.fields[name].input.value == typed
    form.put(**{name: ROLL[name]})
    form.button.click()
    assert "Saved" in form.message.value


def test_what_is_typed_is_never_taken_as_markup(form: panels.EntryForm) -> None:
    saved(form, **ROLL, note="<img src=x onerror=alert(1)>")
    assert "<img" not in form.rows.value
    assert "&lt;img" in form.rows.value
    form.put(distance_m="<b>3</b>")
    form.button.click()
    assert "<b>3" not in form.fields["distance_m"].message.value + form.message.value


def test_a_value_hard_to_believe_is_asked_about(form: panels.EntryForm) -> None:
    for heading, distance in ((0, 3.05), (0, 3.1), (180, 2.4), (180, 2.45)):
        saved(form, **(ROLL | {"heading_deg": heading, "distance_m": distance}))
    form.put(distance_m="8.2", heading_deg="0")
    form.button.click()
    assert "row 5, column distance_m" in form.message.value
    assert "It looks like feet typed under a heading of metres" in form.message.value
    assert form.anyway.layout.display == ""
    assert len(read_rollouts(form.path).rolls) == 4
    form.anyway.click()
    assert "Saved as row 5" in form.message.value
    assert form.anyway.layout.display == "none"
    assert "So far" in form.estimates.value


def test_rows_of_the_sheet_that_need_mending_are_named(form: panels.EntryForm) -> None:
    with form.path.open("a", encoding="utf-8") as sheet:
        sheet.write("practice-low,0,0.762,far,,,\n")
    form.refresh()
    assert "Rows that are in the sheet already need mending" in form.message.value
    assert "row 1, column distance_m" in form.message.value
    form.begin_mending(1)
    saved(form, distance_m="3.0")
    assert read_rollouts(form.path).rolls["distance"].tolist() == [3.0]


def test_a_fault_is_said_and_raised(monkeypatch: pytest.MonkeyPatch, form: panels.EntryForm) -> None:
    form.put(**ROLL)

    def broken(*arguments: Any, **options: Any) -> int:
        raise RuntimeError("the gears slipped")

    monkeypatch.setattr(forms, "append_row", broken)
    refused("gears", lambda: form._press(), RuntimeError)
    assert "The form failed" in form.message.value
    assert not form.button.disabled
    refused("no field 'distance_yd'; it has: spot", lambda: form.put(distance_yd=3))


def test_a_form_makes_a_sheet_that_is_not_there() -> None:
    chosen = made(units="feet")
    (chosen.folder / "chips.csv").unlink()
    form = form_for("chips", chosen)
    saved(form, **CHIP)
    sheet = read_chips(form.path)
    assert sheet.reference_line == "along the west edge"
    assert sheet.chips["carry"].round(3).tolist() == [6.096]


def test_estimates_narrow_as_rolls_come_in(form: panels.EntryForm) -> None:
    saved(form, **ROLL)
    assert "nothing known yet" in form.estimates.value
    saved(form, **(ROLL | {"heading_deg": 180, "distance_m": 2.4}))
    assert "Two more at heading 90 would at least halve the interval of the slope" in form.estimates.value
    saved(form, **(ROLL | {"heading_deg": 90, "distance_m": 2.7}))
    saved(form, **(ROLL | {"heading_deg": 270, "distance_m": 2.8}))
    said = form.estimates.value
    assert "practice-low, 4 rolls: green speed" in said
    assert "slope" in said


def test_advice_agrees_with_rolling_two_more() -> None:
    rng = np.random.default_rng(3)
    headings = np.radians([0, 90, 180, 270] * 2)
    distance = 2.8 + 0.4 * np.cos(headings) + 0.08 * rng.standard_normal(8)
    frame = pd.DataFrame({"row": range(2, 10), "spot": "home-left", "heading": headings})
    frame = frame.assign(release_speed=1.83, distance=distance, side=np.nan)
    fit = filling._fit(frame)
    spread = [filling._expected(rolls, fit) for rolls in (frame, filling._with_two(frame, 0.0))]
    for parameter in ("stimp_ft", "grade"):
        assert 0.7 < spread[1][parameter] / spread[0][parameter] < 1.0
    assert filling.next_rolls(frame, fit).startswith("Two more")


def test_mean_interval_covers_as_it_says() -> None:
    rng = np.random.default_rng(5)
    found = [filling.mean_interval(rng.standard_normal(5)) for _ in range(2000)]
    assert np.mean([abs(item.mean) < item.half for item in found]) == pytest.approx(0.9, abs=0.02)
    assert math.isinf(filling.mean_interval([1.0]).half)


def test_drops_chips_and_putts_say_what_they_show() -> None:
    """Restitution with its interval, carry against target, and how many more would halve the interval; counts."""
    chosen = made()
    drops = form_for("drops", chosen)
    for rebound in (0.30, 0.32, 0.31):
        saved(drops, spot="low", drop_height_m=1.5, rebound_height_m=rebound)
    assert "low, 3 drops: the ball comes back with 0.45" in drops.estimates.value
    assert "9 more drops would about halve this interval" in drops.estimates.value
    chips = form_for("chips", chosen)
    for carry in (5.8, 6.3, 6.6):
        saved(chips, club="sand wedge", lie="fairway", target_carry_m=6.0, carry_m=carry, rest_m=carry + 4)
    assert "beyond the target on average" in chips.estimates.value
    assert "They run 4.0 m on average" in chips.estimates.value
    putts = form_for("putts", chosen)
    saved(putts, distance_m=2, tries=10, made=6)
    assert "10 putts, 6 holed" in putts.estimates.value


FOREIGN = "place;direction;distance (ft)\nlow;0;10,2\nlow;180;8,1\n"


def test_a_name_that_nothing_knows_is_asked_about_once() -> None:
    chosen = made(units="feet")
    append_rows(chosen.folder / "rollouts.csv", [{"spot": "low", "heading_deg": 0, "distance_ft": 10}])
    form = form_for("chips", chosen)
    form.put(**{**CHIP, "club": "sandwedge", "spot": "Low"})
    form.save()
    assert "club &#x27;sandwedge&#x27; is new here; so far there are: " in form.message.value
    assert "spot" not in form.message.value
    form.save(accept_suspects=True)
    assert "Saved as row 1" in form.message.value
    saved(form, **{**CHIP, "club": "Sandwedge", "spot": "low"})
    form.put(**{**CHIP, "lie": "semi rough", "spot": "lwo"})
    form.save()
    assert form.message.value.count("is new here") == 2
    assert form.anyway.layout.display == ""
    assert "hang_time" not in form.rows.value  # columns without a value take no room


def test_how_a_file_is_cut_can_be_chosen() -> None:
    form = importer("wind; calm | sun\nspot|heading|distance (ft)\nlow|0|10,2\n")
    form.separator.value, form.heading_row.value = "|", 2
    assert "1 row will be added" in form.table.value
    form.button.click()
    assert "1 row added" in form.message.value
    assert read_rollouts(form.course.folder / "rollouts.csv").rolls["spot"].tolist() == ["low"]
    form.heading_row.value = 9
    assert "role='alert'" in form.message.value


def importer(text: str = FOREIGN, on: Chosen | None = None, name: str = "theirs.csv") -> panels.ImportForm:
    form = panels.ImportForm(on or made())
    form.open(name, text.encode())
    return form


def test_a_file_that_has_grown_adds_its_new_rows_only() -> None:
    form = importer()
    assert "2 rows will be added" in form.table.value
    assert "10.2" in form.table.value
    form.button.click()
    again = importer(on=form.course)
    assert "0 rows will be added (2 were brought in before)" in again.table.value
    again.button.click()
    grown = importer(FOREIGN + "low;90;9,3\nlow;0;10,2\n", form.course)
    grown.button.click()
    assert "2 rows added" in grown.message.value
    rolls = read_rollouts(form.course.folder / "rollouts.csv").rolls
    assert (rolls["distance"] / 0.3048).round(2).tolist() == [10.2, 8.1, 9.3, 10.2]


def test_matches_and_units_are_the_users_to_change() -> None:
    form = importer("spot,heading,distance,side\nlow,0,10.2,0.5\nlow,180,8.1,0.2\n")
    form.choices["distance"][1].value = "ft"
    form.choices["side"][0].value = exchange.NOT_THERE
    form.button.click()
    rolls = read_rollouts(form.course.folder / "rollouts.csv").rolls
    assert rolls["distance"].round(3).tolist() == [3.109, 2.469]
    assert rolls["side"].isna().all()
    form.choices["side"][0].value = "distance"
    assert "One column for two things: distance" in form.findings.value


@pytest.mark.parametrize(
    ("text", "said"), [("", "no rows under a line of headings"), ("a,b\n1,2,3\n", "3 cells under 2 headings")]
)
def test_files_that_cannot_be_brought_in_are_named(text: str, said: str) -> None:
    form = importer(text)
    assert said in form.message.value
    form.button.click()
    assert "Choose a file first" in form.message.value


def test_errors_and_suspects_of_a_file_are_said_before_it_is_written() -> None:
    form = importer(FOREIGN.replace("8,1", "far"))
    assert "Of 2 rows, this would be wrong" in form.findings.value
    assert "row 3" in form.findings.value
    metres = importer("spot,heading_deg,distance_m\nlow,0,10.2\nlow,180,9.1\n", form.course)
    assert "Hard to believe" in metres.findings.value
    metres.button.click()
    assert "Nothing was added" in metres.message.value
    metres.accept.value = True
    metres.button.click()
    assert "2 rows added" in metres.message.value


def drawn(ax: Axes) -> None:
    ax.plot([0, 1])


def exporter(on: Chosen, **tables: Any) -> panels.ExportForm:
    given: dict[str, Any] = tables or {"greens": pd.DataFrame({"stimp_ft": [10 / 3]}, index=["=low"])}
    return panels.ExportForm(on, given, {"green speeds": drawn}, today=NOON.date)


def test_results_carry_the_name_of_the_course_and_the_date() -> None:
    chosen = made()
    form = exporter(chosen)
    files = form.write()
    stem = "home-course-2025-05-06"
    assert [path.name for path in files] == [
        f"{stem}-greens.csv", f"{stem}-green-speeds.png", f"{stem}-green-speeds.pdf"
    ]  # fmt: skip
    assert {path.parent for path in files} == {chosen.folder / "results"}
    text = files[0].read_text()
    assert text.startswith("# home course, greens, 2025-05-06\n")
    table = pd.read_csv(files[0], comment="#", index_col=0)
    assert table["stimp_ft"].tolist() == [10 / 3]
    assert table.index.tolist() == ["'=low"]
    assert form.write()[0].name == f"{stem}-greens-2.csv"
    assert b"CreationDate" not in files[2].read_bytes()


def test_results_of_the_demonstration_stay_out_of_a_coachs_folder(fresh_home: Path) -> None:
    chosen = made()
    files = exporter(course.demonstration()).write()
    assert all(path.parent == fresh_home / "courses" / "results of the demonstration" for path in files)
    assert not (chosen.folder / "results").exists()
    assert settings.made_in(settings.courses_folder()) == ["home course"]


def test_results_that_cannot_be_written_are_said() -> None:
    chosen = made()
    form = exporter(chosen)
    form.folder.value = str(Path(golfphys.__file__).parent / "results")
    assert form.write() is None
    assert "within golfphys itself" in form.message.value
    form.folder.value = str(chosen.folder / "chips.csv")
    form.button.click()
    assert "Not all was written" in form.message.value
    for box in form.wanted.values():
        box.value = False
    form.write()
    assert "Nothing is ticked" in form.message.value


def rolled(monkeypatch: pytest.MonkeyPatch, *spots: str) -> Chosen:
    """Return a course with rolls, whose draws are stated and not fitted."""
    known = golfphys.assumed(golfphys.Green.from_stimp(10.0), n=4)
    monkeypatch.setattr(Chosen, "draws", lambda _self, _spot, _line: known)
    chosen, row = made(units="feet"), {"heading_deg": 0, "distance_ft": 9}
    append_rows(chosen.folder / "rollouts.csv", [{**row, "spot": spot} for spot in spots])
    return golfphys.chosen()


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
    (paper,) = again.pages()
    titles = " ".join(text.get_text() for ax in paper.axes for text in ax.texts)
    assert "7th, <front>: fairway, low, pin" in titles
    assert "Rule 4.3a" in paper._supxlabel.get_text()
    path = again.write()
    assert path is not None
    assert path.name == "plans 2025-05-06.pdf"
    again.drop.click()
    assert len(panels.KeptPlans(shown, chosen).situations) == 1


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
    assert [sheet.spot for sheet in form.sheet] == ["low"]
    form.spot.value = printing.SEVERAL
    assert [sheet.spot for sheet in form.sheet] == ["low", "top"]


def test_a_fit_is_kept_for_the_next_page(monkeypatch: pytest.MonkeyPatch) -> None:
    calls: list[int] = []
    monkeypatch.setattr(course, "fit", lambda *sheets, past: calls.append(1) or {"rolls": len(sheets)})
    chosen = rolled(monkeypatch, "low")
    assert golfphys.chosen().fit == chosen.fit
    assert calls == [1]
    append_rows(chosen.folder / "rollouts.csv", [{"spot": "low", "heading_deg": 0, "distance_ft": 9}])
    assert golfphys.chosen().fit
    assert calls == [1, 1]
