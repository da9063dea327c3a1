"""Rows typed, mended and taken back; files brought in."""

import asyncio
import math
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from conftest import refused

import golfphys
from golfphys import panels
from golfphys.panels import Chosen, exchange, filling, forms, settings
from golfphys.sheets import append_rows, make_course_folder, read_chips, read_drops, read_rollouts
from golfphys.sheets.dictionary import kinds

pytestmark = pytest.mark.usefixtures("fresh_home")
NOON = datetime(2025, 5, 6, 12, 0)
ROLL = {"spot": "practice-low", "heading_deg": "0", "ramp_run_m": "0.762", "distance_m": "3.05"}
CHIP = {"club": "sand wedge", "lie": "fairway", "carry_ft": "20", "hop_time_s": "0.3", "rest_ft": "36"}


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


def test_rows_in_feet_stay_in_feet_also_where_the_form_makes_the_sheet() -> None:
    chosen = made(units="feet")
    (chosen.folder / "chips.csv").unlink()
    form = form_for("chips", chosen)
    for number in range(3):
        saved(form, **CHIP)
        assert "carry (feet)" in {field.input.description for field in form.fields.values()}, number
        assert form.cells == {"club": "sand wedge", "lie": "fairway"}  # nothing that was measured of this chip
        assert ", 20, 0.3, 36, " in form.chooser.label  # rows are told apart
    sheet = read_chips(chosen.folder / "chips.csv")
    assert sheet.reference_line == "along the west edge"
    assert sheet.frame["carry"].round(3).tolist() == [6.096] * 3
    assert sheet.frame["rest"].round(3).tolist() == [10.973] * 3
    for kind in kinds():
        labels = " ".join(field.input.description for field in form_for(kind, chosen).fields.values())
        assert "(metres)" not in labels
        assert "metres per" not in labels


def test_enter_saves_and_the_cursor_goes_on(monkeypatch: pytest.MonkeyPatch, form: panels.EntryForm) -> None:
    asked: list[str] = []
    for name, field in form.fields.items():
        monkeypatch.setattr(field.input, "focus", lambda name=name: asked.append(name), raising=False)
    saved(form, **ROLL, side_m="-0.1", note="<img src=x onerror=alert(1)>")
    assert "<img" not in form.rows.value
    assert "&lt;img" in form.rows.value  # what is typed is never taken as markup
    assert form.cells == {name: ROLL[name] for name in ("spot", "heading_deg", "ramp_run_m")}
    assert asked == ["distance_m"]
    assert read_rollouts(form.path).frame["measured_at"].tolist() == [pd.Timestamp(NOON)]
    form.day.value = date(2025, 5, 7)
    saved(form, distance_m="3.1")
    form.time.value = time(6, 10)  # of two sessions of a day that are typed in from paper
    saved(form, distance_m="3.2")
    times = read_rollouts(form.path).frame["measured_at"].tolist()
    assert times[1:] == [pd.Timestamp("2025-05-07"), pd.Timestamp("2025-05-07T06:10")]


def test_what_is_typed_once_a_row_is_saved_stays(monkeypatch: pytest.MonkeyPatch) -> None:
    """Anything new for a field, the clubs that it offers included, would overwrite what is being typed in it."""
    form, sent = form_for("chips", made(units="feet")), list[str]()
    form.message.observe(lambda change: sent.append(change["new"]), "value")
    for name, field in form.fields.items():
        field.input.observe(lambda change, name=name: sent.append(f"{change['name']} of {name}"))
        monkeypatch.setattr(field.input, "focus", lambda name=name: sent.append(f"cursor in {name}"), raising=False)
    for number, club in enumerate(("9-iron", "sand wedge", "sand wedge"), start=1):
        form.put(**(CHIP | {"club": club}))
        sent.clear()
        form.save()
        assert "options of club" in sent or number == 3
        assert sent[-2].startswith("cursor in ")
        assert f"Saved as row {number}" in sent[-1]
    assert form.fields["strike"].input.options == ("clean", "thin", "heavy")  # whatever words there are so far


def test_enter_waits_for_the_cell_that_it_ends(form: panels.EntryForm) -> None:

    async def typed() -> None:
        form.put(**(ROLL | {"distance_m": ""}))
        form._heard(form.fields["distance_m"].input, {"event": "submit"}, [])
        form.put(distance_m="3.05")
        form.put(heading_deg="45", spot="")  # whoever types on before the row is saved begins the next one
        await asyncio.sleep(3 * forms.SETTLED)

    asyncio.run(typed())
    assert "Saved as row 1: practice-low, 0, 0.762, 3.05." in form.message.value
    assert read_rollouts(form.path).frame["distance"].tolist() == [3.05]
    assert form.cells == {"heading_deg": "45", "ramp_run_m": "0.762"}


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
    rolls = read_rollouts(form.path).frame
    assert rolls["distance"].tolist() == [3.05, 3.0, 2.9]
    assert rolls["measured_at"].notna().all()
    form.chooser.value = 1
    form.delete.click()
    assert read_rollouts(form.path).frame["distance"].tolist() == [3.0, 2.9]
    form.undo.click()
    form.undo.click()
    assert form.path.read_bytes() == before
    form.undo.click()
    assert read_rollouts(form.path).frame["distance"].tolist() == [3.05, 3.5]
    assert "<b>2 rows</b>" in form.rows.value


def test_undo_does_not_take_the_rows_of_another_program() -> None:
    form = form_for("drops")
    saved(form, spot="low", drop_height_m=1.5, rebound_height_m=0.31)
    append_rows(form.path, [{"spot": "low", "drop_height_m": 1.5, "rebound_height_m": 0.3}])
    form.undo.click()
    assert "changed again since" in form.message.value
    assert len(read_drops(form.path).frame) == 2


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


def test_a_value_hard_to_believe_is_asked_about(form: panels.EntryForm) -> None:
    for heading, distance in ((0, 3.05), (0, 3.1), (180, 2.4), (180, 2.45)):
        saved(form, **(ROLL | {"heading_deg": heading, "distance_m": distance}))
    form.put(distance_m="8.2", heading_deg="0")
    form.button.click()
    assert "row 5, column distance_m" in form.message.value
    assert "It looks like feet typed under a heading of metres" in form.message.value
    assert form.anyway.layout.display == ""
    assert len(read_rollouts(form.path).frame) == 4
    form.anyway.click()
    assert "Saved as row 5" in form.message.value
    assert form.anyway.layout.display == "none"
    assert "So far" in form.estimates.value


def test_rows_of_the_sheet_that_need_mending_are_named(form: panels.EntryForm) -> None:
    with form.path.open("a", encoding="utf-8") as sheet:
        sheet.write("practice-low,0,0.762,<b>far,,,\n")
    form.refresh()
    assert "Rows that are in the sheet already need mending" in form.message.value
    assert "row 1, column distance_m" in form.message.value
    assert "<b>far" not in form.message.value
    form.begin_mending(1)
    assert "<b>far" not in form.fields["distance_m"].message.value
    saved(form, distance_m="3.0")
    assert read_rollouts(form.path).frame["distance"].tolist() == [3.0]


def test_a_fault_is_said_and_raised(monkeypatch: pytest.MonkeyPatch, form: panels.EntryForm) -> None:
    form.put(**ROLL)

    def broken(*arguments: Any, **options: Any) -> int:
        raise RuntimeError("the gears slipped")

    monkeypatch.setattr(forms, "add_rows", broken)
    refused("gears", lambda: form._press(), RuntimeError)
    assert "The form failed" in form.message.value
    assert not form.button.disabled
    refused("no field 'distance_yd'; it has: spot", lambda: form.put(distance_yd=3))


def test_estimates_narrow_as_rolls_come_in(form: panels.EntryForm) -> None:
    for heading, distance, said in (
        (0, 3.05, "nothing known yet"),
        (180, 2.4, "Two more at heading 90 would at least halve the interval of the slope"),
        (90, 2.7, "slope"),
        (270, 2.8, "practice-low, 4 rolls: green speed"),
    ):
        saved(form, **(ROLL | {"heading_deg": heading, "distance_m": distance}))
        assert said in form.estimates.value
    assert "slope" in form.estimates.value
    form.day.value = date(2025, 5, 7)  # a green of another day
    saved(form, **(ROLL | {"distance_m": 4.1}))
    assert "practice-low, 1 roll:" in form.estimates.value


def test_advice_agrees_with_the_information_of_two_more_rolls() -> None:
    rng, turns = np.random.default_rng(3), (0.0, 90.0, 180.0, 270.0)
    headings = np.radians([*turns, *turns])
    distance = 2.8 + 0.4 * np.cos(headings) + 0.08 * rng.standard_normal(8)
    frame = pd.DataFrame({"row": range(2, 10), "spot": "home-left", "heading": headings})
    frame = frame.assign(release_speed=1.83, distance=distance, side=np.nan)
    fit = filling._fit(frame)
    found = filling.narrowing(fit, turns, 1.83)
    drawn = fit.greens("home-left", 500)
    slope = {name: float(np.median(getattr(drawn, name))) for name in ("grade", "fall_direction")}
    law = golfphys.Resistance(constant=float(np.median(drawn.resistance.constant)))
    scatter = fit.estimates["estimate"].loc[[("all", "scatter_absolute"), ("all", "scatter_relative")]]
    known: dict[str, Any] = {"green": golfphys.Green(resistance=law, **slope), "scatter": tuple(scatter)}
    today, *more = (
        golfphys.expected_intervals(plan, **known, release_speed_sd=0.0)["half_width"]["spot"]
        for plan in (golfphys.RolloutPlan(headings_deg=(*turns, *one), repeats=2) for one in ((), *zip(turns)))
    )
    for turn, then in zip(turns, more, strict=True):
        across = np.hypot(then["grade_along"], then["grade_left"]) / np.hypot(today["grade_along"], today["grade_left"])
        foretold = [then["stimp_ft"] / today["stimp_ft"], across]
        assert [found[turn, name] for name in ("stimp_ft", "grade")] == pytest.approx(foretold, abs=0.08)
    assert filling.next_rolls(frame, fit).startswith("Two more")


def test_drops_chips_and_putts_say_what_they_show() -> None:
    """Restitution with its interval, carry against target, and how many more would halve the interval; counts."""
    chosen = made()
    drops, chips, putts = (form_for(kind, chosen) for kind in ("drops", "chips", "putts"))
    for rebound in (0.30, 0.32, 0.31):
        saved(drops, spot="low", drop_height_m=1.5, rebound_height_m=rebound)
    assert "low, 3 drops: the ball comes back with 0.45" in drops.estimates.value
    assert "9 more drops would about halve this interval" in drops.estimates.value
    for carry in (5.8, 6.3, 6.6):
        saved(chips, club="sand wedge", lie="fairway", target_carry_m=6.0, carry_m=carry, rest_m=carry + 4)
    assert "beyond the target on average" in chips.estimates.value
    assert "Ran 4.0 m from there on average." in chips.estimates.value
    saved(putts, distance_m=2, tries=10, made=6)
    assert "10 putts, 6 holed" in putts.estimates.value
    found = [filling.mean_interval(values) for values in np.random.default_rng(5).standard_normal((2000, 5))]
    assert np.mean([abs(item.mean) < item.half for item in found]) == pytest.approx(0.9, abs=0.02)
    assert math.isinf(filling.mean_interval([1.0]).half)


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
    saved(form, **{**CHIP, "club": "Sandwedge", "spot": "low", "player": "Ada"})
    form.put(**{**CHIP, "spot": "low", "player": "Adda"})
    form.save()
    assert "player &#x27;Adda&#x27; is new here; so far there are: " in form.message.value
    form.put(**{**CHIP, "lie": "semi rough", "spot": "lwo", "player": "ada"})
    form.save()
    assert form.message.value.count("is new here") == 2
    assert form.anyway.layout.display == ""
    assert "hang_time" not in form.rows.value  # columns without a value take no room


def test_how_a_file_is_cut_can_be_chosen() -> None:
    form = importer("wind; calm | sun\nspot|heading|distance (ft)\nlow|0|10,2\n")
    assert form.separator.label == "as found"  # a list whose value is None shows nothing in some runs
    form.separator.value, form.heading_row.value = "|", 2
    assert "1 row will be added" in form.table.value
    form.button.click()
    assert "1 row added" in form.message.value
    assert read_rollouts(form.course.folder / "rollouts.csv").frame["spot"].tolist() == ["low"]
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
    assert "0 rows will be added (2 were brought in before).</b>" in again.table.value
    assert "give the file another name" in again.findings.value
    again.button.click()
    grown = importer(FOREIGN + "low;90;9,3\nlow;0;10,2\n", form.course)
    grown.button.click()
    assert "2 rows added" in grown.message.value
    rolls = read_rollouts(form.course.folder / "rollouts.csv").frame
    assert (rolls["distance"] / 0.3048).round(2).tolist() == [10.2, 8.1, 9.3, 10.2]


def test_matches_and_units_are_the_users_to_change() -> None:
    form = importer("spot,heading,distance,side\nlow,0,10.2,0.5\nlow,180,8.1,0.2\n")
    form.choices["distance"][1].value = "ft"
    form.choices["side"][0].value = exchange.NOT_THERE
    form.button.click()
    rolls = read_rollouts(form.course.folder / "rollouts.csv").frame
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
    form.button.click()
    assert "see above" in form.message.value  # rows are counted as in the file, once
    speeds = importer("spot,heading,distance ft,release_speed_m_s,date\nlow,0,10.2,1.8,6.5.2025\n", form.course)
    assert "Nothing is wrong" in speeds.findings.value  # the sheet gets a column for the speeds
    speeds.choices["release_speed"][0].value = exchange.NOT_THERE
    assert "Nothing is wrong" in speeds.findings.value
    assert "Not taken from the file: release_speed_m_s." in speeds.findings.value
    speeds.button.click()
    assert "1 row added" in speeds.message.value
    metres = importer("spot,heading_deg,distance_m\nlow,0,10.2\nlow,180,9.1\n", form.course)
    assert "Hard to believe" in metres.findings.value
    metres.button.click()
    assert "Nothing was added" in metres.message.value
    metres.accept.value = True
    metres.button.click()
    assert "2 rows added" in metres.message.value
    metres.open("more.csv", b"spot,heading_deg,distance_m\ntop,0,10.2\ntop,180,9.1\n")
    assert not metres.accept.value  # that was said of the other file


def test_rows_of_a_file_that_cannot_be_kept_are_not_added_and_a_heading_tells_its_unit() -> None:
    form = importer("Platz;Richtung;Länge (m)\nlow;0;3,1\nlow;180;2,5\n", made(units="feet"))
    for quantity, heading in zip(("spot", "heading", "distance"), form.source.header, strict=True):
        form.choices[quantity][0].value = heading
    assert form.choices["distance"][1].value == "m"
    form.open("theirs.csv", b"Platz;Richtung;L\xe4nge (m)\nlow;0;3,1\nlow;180;2,5\n")  # saved by another program
    assert list(form.matches.values()) == ["spot", "heading_deg", "distance_m"]
    (form.course.folder / "brought in").write_text("in the way")
    form.button.click()
    assert "Nothing was added:" in form.message.value
    (form.course.folder / "brought in").unlink()
    form.button.click()
    assert read_rollouts(form.course.folder / "rollouts.csv").frame["distance"].round(3).tolist() == [3.1, 2.5]
    form.kinds.value = dict(form.kinds.options)["putts"]
    assert not form.message.value  # what was said of the sheet before
