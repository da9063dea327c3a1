"""Filling in on the page: entry forms, files brought in, results handed out."""

import math
import threading
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

import golfphys
from golfphys import panels
from golfphys.panels import entry, exporting, fields, running, settings
from golfphys.sheets import SheetError, read_chips, read_drops, read_rollouts, template_text
from golfphys.sheets.dictionary import kind_of
from golfphys.sheets.foreign import bring_in, read_source

NOON = datetime(2025, 5, 6, 12, 0)
ROLL = {"spot": "practice-low", "heading_deg": "0", "ramp_run_m": "0.762", "distance_m": "3.05"}


@pytest.fixture(autouse=True)
def own_home(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """Settings and sheets of these tests stay in a temporary folder."""
    monkeypatch.setenv(settings.HOME, str(tmp_path / "home"))
    return tmp_path / "home"


def form_for(kind: str, path: Path | None = None, **options: Any) -> panels.EntryForm:
    """Return a form with a clock that stands still."""
    return panels.EntryForm(kind, path, clock=lambda: NOON, **options)


def saved(form: panels.EntryForm, **cells: object) -> None:
    """Type a row and press the button."""
    form.put(**cells)
    form.button.click()
    assert "Saved as row" in form.message.value, form.message.value


# saving


def test_the_first_row_makes_the_course_folder(own_home: Path) -> None:
    """Opening a form makes nothing; the first row makes the folder with all its sheets, and is in it."""
    form = form_for("rollouts")
    assert not own_home.exists()
    form.line.value = "along the west edge"
    saved(form, **ROLL)
    folder = own_home / "courses" / "my course"
    assert {path.name for path in folder.glob("*.csv")} == {
        "rollouts.csv", "traces.csv", "drops.csv", "chips.csv", "putts.csv"
    }  # fmt: skip
    sheet = read_rollouts(folder / "rollouts.csv")
    assert sheet.rolls["distance"].tolist() == [3.05]
    assert sheet.rolls["measured_at"].tolist() == [pd.Timestamp(NOON)]
    assert sheet.reference_line == "along the west edge"
    assert "along the west edge" in form.head.value


def test_a_new_form_shows_the_rows_of_the_old(tmp_path: Path) -> None:
    """What a reloaded page shows is what is in the file."""
    path = tmp_path / "mine.csv"
    first = form_for("rollouts", path)
    saved(first, **ROLL)
    saved(first, distance_m="3.11", note="through a mark")
    again = form_for("rollouts", path)
    assert "<b>2 rows</b>" in again.rows.value
    assert "through a mark" in again.rows.value
    assert "So far" in again.estimates.value
    assert again.fields["spot"].input.options == ("practice-low",)
    assert again.units.layout.display == "none"


def test_fields_that_stay_the_same_are_kept() -> None:
    """After a row the spot and the heading stay, what was measured is cleared."""
    form = form_for("rollouts")
    saved(form, **ROLL, side_m="-0.1", note="dew")
    assert form.cells == {name: ROLL[name] for name in ("spot", "heading_deg", "ramp_run_m")}


def test_without_the_tick_no_time_is_written() -> None:
    """The time of day is the user's to leave out."""
    form = form_for("rollouts")
    form.stamp.value = False
    saved(form, **ROLL)
    assert form.sheet.rolls["measured_at"].isna().all()


@pytest.mark.parametrize(
    ("name", "typed", "said"),
    [
        ("distance_m", "3,05", "Write the decimal sign as a point: 3.05"),
        ("distance_m", "3.05 m", "write 3.05"),
        ("distance_m", "-1", "cannot be negative"),
        ("distance_m", "ten", "expected a number of metres from 0 to 60"),
        ("heading_deg", "north", "expected a number of degrees from -180 to 360"),
        ("spot", "", "to be filled in"),
    ],
)
def test_cells_are_checked_while_they_are_typed(name: str, typed: str, said: str) -> None:
    """The message stands beside the cell at once, and a row with it is not saved."""
    form = form_for("rollouts")
    form.put(**ROLL)
    form.put(**{name: typed})
    assert said in form.fields[name].message.value
    form.button.click()
    assert "Not saved yet" in form.message.value
    assert said in form.message.value
    assert not form.path.exists()
    assert form.fields[name].input.value == typed
    form.put(**{name: ROLL[name]})
    assert "ok" in form.fields[name].message.value
    form.button.click()
    assert "Saved" in form.message.value


def test_what_is_typed_is_never_taken_as_markup() -> None:
    """Signs of markup in a cell are shown as they are."""
    form = form_for("rollouts")
    saved(form, **ROLL, note="<img src=x onerror=alert(1)>")
    assert "<img" not in form.rows.value
    assert "&lt;img" in form.rows.value
    form.put(distance_m="<b>3</b>")
    assert "<b>3" not in form.fields["distance_m"].message.value


def test_a_value_hard_to_believe_is_asked_about() -> None:
    """Feet under a heading of metres: said, not saved; saved when the user says that it is right."""
    form = form_for("rollouts")
    for heading, distance in ((0, 3.05), (0, 3.1), (180, 2.4), (180, 2.45)):
        saved(form, **(ROLL | {"heading_deg": heading, "distance_m": distance}))
    form.put(distance_m="8.2", heading_deg="0")
    form.button.click()
    assert "It looks like feet typed under a heading of metres" in form.message.value
    assert form.anyway.layout.display == ""
    assert len(read_rollouts(form.path).rolls) == 4
    form.anyway.click()
    assert "Saved as row" in form.message.value
    assert form.anyway.layout.display == "none"
    assert len(read_rollouts(form.path, accept_suspects=True).rolls) == 5
    assert "So far" in form.estimates.value


def test_rows_of_the_sheet_that_need_mending_are_named(tmp_path: Path) -> None:
    """A bad old row does not stand in the way of a new one, and estimates wait until it is mended."""
    path = tmp_path / "rollouts.csv"
    path.write_text(template_text("rollouts") + "practice-low,0,0.762,far,,,\n", encoding="utf-8")
    form = form_for("rollouts", path)
    assert "need mending" in form.message.value
    assert "far" in form.message.value
    assert form.estimates.value == ""
    form.put(**ROLL)
    form.button.click()
    assert "3.05" in path.read_text(encoding="utf-8").splitlines()[-1]


def test_a_sheet_of_another_kind_is_left_alone(tmp_path: Path) -> None:
    """The wrong sheet is named, not written to."""
    path = tmp_path / "other.csv"
    path.write_text("club,lie,carry_m\nsand wedge,tight,5\n", encoding="utf-8")
    form = form_for("rollouts", path)
    assert "cannot be added to as it is" in form.message.value
    assert form.fields == {}


def test_an_existing_sheet_keeps_its_own_units(tmp_path: Path) -> None:
    """Fields are those of the sheet: feet here, though metres are remembered."""
    path = tmp_path / "rollouts.csv"
    path.write_text(template_text("rollouts", "feet"), encoding="utf-8")
    form = form_for("rollouts", path)
    assert "distance_ft" in form.fields
    saved(form, spot="ninth-front", heading_deg=90, ramp_run_in=30, distance_ft="10.0")
    assert form.sheet.rolls["distance"].tolist() == [pytest.approx(3.048)]


def test_units_of_a_new_sheet_are_chosen() -> None:
    """Switching the units of a sheet that is not there yet changes its fields and keeps what fits."""
    form = form_for("rollouts")
    form.put(spot="home-left")
    form.units.value = "feet"
    assert "distance_ft" in form.fields
    assert form.fields["spot"].text == "home-left"
    saved(form, heading_deg=0, ramp_run_in=30, distance_ft="9.5")
    assert form.sheet.rolls["distance"].tolist() == [pytest.approx(2.8956)]


@pytest.mark.parametrize("place", ["panels", "../data/demo/rollouts.csv", "measurements/new.csv"])
def test_nothing_is_written_into_the_package(place: str) -> None:
    """Neither the library nor the data that come with it take a user's rows."""
    target = Path(golfphys.__file__).parent / place
    with pytest.raises(ValueError, match="within golfphys itself"):
        form_for("rollouts", target)
    with pytest.raises(ValueError, match="expected one of: rollouts"):
        form_for("rollout")


def test_a_place_that_cannot_be_written_is_said(tmp_path: Path) -> None:
    """A file where the folder should be: a sentence, and what was typed stays."""
    (tmp_path / "blocked").write_text("", encoding="utf-8")
    form = form_for("rollouts", tmp_path / "blocked" / "deeper" / "course")
    form.put(**ROLL)
    form.button.click()
    assert "Not saved" in form.message.value
    assert form.cells == ROLL


def test_a_full_disk_loses_nothing(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """When the system takes no more bytes the old rows stay, the new one stays typed, and the reason is said."""
    form = form_for("rollouts", tmp_path / "rollouts.csv")
    saved(form, **ROLL)
    before = form.path.read_bytes()
    form.put(distance_m="3.2")

    def full(*arguments: Any) -> int:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.write", full)
    form.button.click()
    monkeypatch.undo()
    assert "No space left on device" in form.message.value
    assert form.path.read_bytes() == before
    assert form.cells["distance_m"] == "3.2"


def test_two_open_forms_lose_no_row(tmp_path: Path) -> None:
    """Two notebooks open at once, both saving: every row is there."""
    path = tmp_path / "drops.csv"
    saved(form_for("drops", path), spot="home-left", drop_height_m=1.5, rebound_height_m=0.31)
    forms = [form_for("drops", path) for _ in range(2)]

    def fill(form: panels.EntryForm) -> None:
        for number in range(5):
            form.put(spot="home-left", drop_height_m=1.5, rebound_height_m=round(0.28 + 0.01 * number, 2))
            form.save()

    threads = [threading.Thread(target=fill, args=(form,)) for form in forms]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(read_drops(path).drops) == 11


def test_a_fault_is_said_and_raised(monkeypatch: pytest.MonkeyPatch) -> None:
    """A fault of the program is said on the page and goes on; the button can be pressed again."""
    form = form_for("rollouts")
    form.put(**ROLL)

    def broken(*arguments: Any, **options: Any) -> int:
        raise RuntimeError("the gears slipped")

    monkeypatch.setattr(entry, "append_row", broken)
    form.button.click()  # ipywidgets writes what a button's callback raises into the log
    assert "The form failed" in form.message.value
    assert not form.button.disabled
    with pytest.raises(RuntimeError, match="gears"):
        form._save_clicked(form.button)


def test_unknown_fields_are_refused() -> None:
    """A slip in a notebook is said at once."""
    with pytest.raises(ValueError, match="no field 'distance_yd'; it has: spot"):
        form_for("rollouts").put(distance_yd=3)


@pytest.mark.parametrize("kind", ["rollouts", "drops", "chips", "putts", "traces"])
def test_every_kind_has_a_form(kind: str) -> None:
    """Fields follow the dictionary, one for each quantity of the template, required ones marked."""
    form = form_for(kind)
    columns = [column for column in fields.new_columns(kind_of(kind), "metres") if column.quantity != "measured_at"]
    assert list(form.fields) == [column.name for column in columns]
    for column in columns:
        assert form.fields[column.name].input.description.endswith("*") == column.required
    assert "application/vnd.jupyter.widget-view+json" in form._repr_mimebundle_()


def test_putts_and_traces_are_counted() -> None:
    """Kinds without a quick estimate still say what is there."""
    putts = form_for("putts")
    saved(putts, distance_m=2, tries=10, made=6)
    assert "10 putts, 6 holed" in putts.estimates.value
    traces = form_for("traces")
    saved(traces, roll="a", time_s=0, distance_m=0)
    saved(traces, time_s=0.5, distance_m=0.8)
    assert "2 frames of 1 rolls" in traces.estimates.value


# estimates so far


def test_estimates_narrow_as_rolls_come_in() -> None:
    """One roll tells nothing and says so; four headings tell green speed and slope; advice points across."""
    form = form_for("rollouts")
    saved(form, **ROLL)
    assert "nothing to tell yet" in form.estimates.value
    saved(form, **(ROLL | {"heading_deg": 180, "distance_m": 2.4}))
    assert "Two more at heading 90 would at least halve the interval of the slope" in form.estimates.value
    saved(form, **(ROLL | {"heading_deg": 90, "distance_m": 2.7}))
    saved(form, **(ROLL | {"heading_deg": 270, "distance_m": 2.8}))
    said = form.estimates.value
    assert "practice-low, 4 rolls: green speed" in said
    assert "slope" in said


def test_advice_agrees_with_rolling_two_more() -> None:
    """The interval promised for two more rolls is about what two more rolls give."""
    rng = np.random.default_rng(3)
    headings = np.radians([0, 90, 180, 270] * 2)
    frame = pd.DataFrame(
        {
            "row": range(2, 10),
            "spot": "home-left",
            "heading": headings,
            "release_speed": 1.83,
            "distance": 2.8 + 0.4 * np.cos(headings) + 0.08 * rng.standard_normal(8),
            "side": np.nan,
        }
    )
    fit = running._fit(frame)
    spread = [running._expected(rolls, fit) for rolls in (frame, running._with_two(frame, 0.0))]
    for parameter in ("stimp_ft", "grade"):
        assert 0.7 < spread[1][parameter] / spread[0][parameter] < 1.0
    assert running.next_rolls(frame, fit).startswith("Two more")


def test_many_rolls_are_enough() -> None:
    """Where two more would change little, the form sends the measurer on."""
    headings = np.radians([0, 90, 180, 270] * 10)
    rng = np.random.default_rng(1)
    frame = pd.DataFrame(
        {
            "row": range(2, 42),
            "spot": "home-left",
            "heading": headings,
            "release_speed": 1.83,
            "distance": 2.9 + 0.05 * rng.standard_normal(40),
            "side": np.nan,
        }
    )
    assert running.rollouts_so_far(frame, "home-left")[-1].endswith("go on to the next.")


def test_mean_interval_covers_as_it_says() -> None:
    """Over many small samples of known mean, nine in ten intervals hold it."""
    rng = np.random.default_rng(7)
    held = [abs((found := running.mean_interval(rng.standard_normal(4))).mean) <= found.half for _ in range(3000)]
    assert 0.88 < np.mean(held) < 0.92
    assert math.isinf(running.mean_interval([1.0]).half)
    assert running.mean_interval([np.nan]).count == 0


def test_drops_and_chips_say_what_they_show() -> None:
    """Restitution with its interval, carry against target, and how many more would halve the interval."""
    drops = form_for("drops")
    saved(drops, spot="home-left", drop_height_m=1.5, rebound_height_m="0.30")
    assert f"{math.sqrt(0.2):.3f} of its speed" in drops.estimates.value
    assert "One more drop shows how much they scatter" in drops.estimates.value
    saved(drops, rebound_height_m="0.33")
    assert "6 more drops would about halve this interval" in drops.estimates.value
    saved(drops, first_flight_s="0.5", rebound_height_m="")
    assert "1 drop timed only" in drops.estimates.value
    chips = form_for("chips")
    saved(chips, club="sand wedge", lie="fairway", target_carry_m=6, carry_m="6.2", rest_m="10.1")
    saved(chips, carry_m="5.2", rest_m="9.3")
    assert "sand wedge, 2 chips" in chips.estimates.value
    assert "0.3 m \N{PLUS-MINUS SIGN} 3.2 m short of the target" in chips.estimates.value
    assert "They run 4.0 m on average after landing" in chips.estimates.value
    assert len(read_chips(chips.path).chips) == 2


# bringing in

FOREIGN = "# my notes\nPlace;Heading (deg);Distance [ft];Wind\nlow;0;10,2;light\nlow;180;8,1;none\nlow;90;9,1;\n"


def foreign(tmp_path: Path, text: str = FOREIGN) -> Path:
    """Write a file of another layout."""
    path = tmp_path / "foreign.csv"
    path.write_text(text, encoding="utf-8")
    return path


def test_a_foreign_file_becomes_a_sheet(tmp_path: Path) -> None:
    """Columns are guessed, decimal commas mended, own columns kept; the file brought in is left as it is."""
    source, target = foreign(tmp_path), tmp_path / "rollouts.csv"
    form = panels.ImportForm("rollouts", source, target)
    assert form.matches == {"Place": "spot", "Heading (deg)": "heading_deg", "Distance [ft]": "distance_ft"}
    assert "3 rows, nothing wrong" in form.findings.value
    form.button.click()
    assert "3 rows written" in form.message.value
    sheet = read_rollouts(target)
    assert sheet.rolls["distance"].round(4).tolist() == [3.109, 2.4689, 2.7737]
    assert sheet.rolls["Wind"].tolist() == ["light", "none", ""]
    assert source.read_text(encoding="utf-8") == FOREIGN
    assert "my notes" in sheet.comments


def test_an_existing_sheet_is_never_overwritten(tmp_path: Path) -> None:
    """A second press, or a file in the way, leaves what is there."""
    target = tmp_path / "rollouts.csv"
    target.write_text("mine", encoding="utf-8")
    form = panels.ImportForm("rollouts", foreign(tmp_path), target)
    form.button.click()
    assert "It was left as it is; choose another name" in form.message.value
    assert target.read_text(encoding="utf-8") == "mine"


def test_errors_name_the_rows_of_the_file_brought_in(tmp_path: Path) -> None:
    """Row numbers are those of the file that the user has open, comments counted."""
    source = foreign(tmp_path, FOREIGN.replace("low;180;8,1", ";180;far"))
    form = panels.ImportForm("rollouts", source, tmp_path / "new.csv")
    assert "row 4, column spot" in form.findings.value
    assert "row 4, column distance_ft: found &#x27;far&#x27;" in form.findings.value
    form.button.click()
    assert "Nothing was written" in form.message.value
    assert not (tmp_path / "new.csv").exists()


def test_matches_and_units_are_the_users_to_change(tmp_path: Path) -> None:
    """A column that was not guessed is chosen; another unit changes what is read; one column cannot be two things."""
    source = foreign(tmp_path, "a,b,c\nlow,0,120\nlow,180,98\n")
    form = panels.ImportForm("rollouts", source, tmp_path / "new.csv")
    assert form.matches == {}
    assert "would be wrong" in form.findings.value
    for quantity, heading in (("spot", "a"), ("heading", "b"), ("distance", "b")):
        form.choices[quantity][0].value = heading
    assert "One column for two things: b" in form.findings.value
    form.button.click()
    assert not (tmp_path / "new.csv").exists()
    form.choices["distance"][0].value = "c"
    form.choices["distance"][1].value = "in"
    assert "2 rows, nothing wrong" in form.findings.value
    form.write()
    assert read_rollouts(tmp_path / "new.csv").rolls["distance"].tolist() == pytest.approx([3.048, 2.4892])


def test_suspects_are_brought_in_only_when_accepted(tmp_path: Path) -> None:
    """Metres that look like feet are said, and written when the user says that they are right."""
    source = foreign(tmp_path, "spot,heading_deg,distance_m\nlow,0,10.1\nlow,180,9.5\nlow,90,9.9\nlow,270,9.8\n")
    form = panels.ImportForm("rollouts", source, tmp_path / "new.csv")
    form.write()
    assert "Nothing was written" in form.message.value
    assert "feet typed under a heading of metres" in form.message.value
    form.accept.value = True
    form.write()
    assert "4 rows written" in form.message.value


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "no rows under a line of headings"),
        ("spot,heading_deg,distance_m\n", "no rows under a line of headings"),
        ("spot,distance_m\nlow,3,stray\n", "3 cells under 2 headings"),
    ],
)
def test_files_that_cannot_be_brought_in_are_named(text: str, said: str, tmp_path: Path) -> None:
    """An empty file, headings alone, cells without a heading: each gets its sentence, nothing is dropped."""
    form = panels.ImportForm("rollouts", foreign(tmp_path, text), tmp_path / "new.csv")
    assert said in form.message.value
    form.button.click()
    assert "no file to bring in" in form.message.value
    missing = panels.ImportForm("rollouts", tmp_path / "none.csv", tmp_path / "new.csv")
    assert "no file" in missing.message.value


def test_doubled_and_blank_headings_can_be_told_apart(tmp_path: Path) -> None:
    """Two columns of one name are offered as two."""
    source = read_source(foreign(tmp_path, "spot,len,len,\nlow,1,2,3\n"))
    assert source.headings == ("spot", "len", "len (column 3)", "column 4")


def test_bringing_in_raises_for_scripts(tmp_path: Path) -> None:
    """The step behind the form says what is wrong as an error."""
    source = read_source(foreign(tmp_path, "spot\nlow\n"))
    with pytest.raises(SheetError, match="no such column"):
        bring_in(source, {}, kind_of("rollouts"), tmp_path / "new.csv")


# handing out


def test_results_are_written_as_csv_png_and_pdf(tmp_path: Path) -> None:
    """Each table all digits, each figure in both forms, and the message names them."""
    table = pd.DataFrame({"third": [1 / 3]}, index=pd.Index(["home-left"], name="spot"))
    form = panels.ExportForm(
        {"the greens": table, "late": lambda: pd.DataFrame({"a": [1]})},
        {"a line": lambda ax: ax.plot([0, 1]), "a roll": panels.RollPanel()},
        folder=tmp_path / "results",
    )
    form.button.click()
    names = {path.name for path in (tmp_path / "results").iterdir()}
    assert names == {"the-greens.csv", "late.csv", "a-line.png", "a-line.pdf", "a-roll.png", "a-roll.pdf"}
    assert (tmp_path / "results" / "the-greens.csv").read_text() == "spot,third\nhome-left,0.3333333333333333\n"
    assert (tmp_path / "results" / "a-roll.pdf").read_bytes().startswith(b"%PDF")
    assert "a-line.png" in form.message.value
    assert (form.progress.bar.value, form.progress.bar.max) == (6, 6)
    assert "done" in form.progress.words.value


def test_results_never_overwrite(tmp_path: Path) -> None:
    """A second press writes beside the first."""
    form = panels.ExportForm({"greens": pd.DataFrame({"a": [1]})}, folder=tmp_path)
    form.write()
    (tmp_path / "greens.csv").write_text("mine")
    assert [path.name for path in form.write()] == ["greens-2.csv"]
    assert (tmp_path / "greens.csv").read_text() == "mine"


def test_nothing_ticked_writes_nothing(tmp_path: Path) -> None:
    """And says so."""
    form = panels.ExportForm({"greens": pd.DataFrame({"a": [1]})}, folder=tmp_path / "results")
    form.wanted["greens"].value = False
    form.button.click()
    assert "Nothing is ticked" in form.message.value
    assert not (tmp_path / "results").exists()


def test_results_stay_out_of_the_package_and_of_files_in_the_way(tmp_path: Path) -> None:
    """A folder within golfphys, or a file where the folder should be, is a sentence."""
    table = {"greens": pd.DataFrame({"a": [1]})}
    inside = panels.ExportForm(table, folder=Path(golfphys.__file__).parent / "results")
    inside.button.click()
    assert "within golfphys itself" in inside.message.value
    (tmp_path / "results").write_text("")
    blocked = panels.ExportForm(table, folder=tmp_path / "results")
    blocked.button.click()
    assert "Not all was written" in blocked.message.value
    assert not blocked.button.disabled


def test_names_of_files_are_plain(tmp_path: Path) -> None:
    """Signs that a file system does not take are left out."""
    assert exporting.free_path(tmp_path, "slope (%): a/b", ".csv").name == "slope-a-b.csv"
    assert exporting.free_path(tmp_path, "../..", ".csv") == tmp_path / "result.csv"
