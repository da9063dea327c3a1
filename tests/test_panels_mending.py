"""A row that is mended keeps all that was not changed, and no other row is touched."""

import os
from datetime import date, time
from pathlib import Path
from typing import Any
from unittest.mock import Mock

import pandas as pd
import pytest
from test_panels_forms import NOON, form_for, importer, made

from golfphys import panels
from golfphys.panels import settings
from golfphys.sheets import append_rows, make_course_folder, read_chips

pytestmark = pytest.mark.usefixtures("fresh_home")
LOG = """Club,Lie,Target carry (m),Carry (m),Rest (m),Hang time (s),Strike,Player,Measured at,Weather,Note
SW,fairway,6,6.3,9,1.1,,Ann,2025-05-01 09:10,rain,first
SW,fairway,6,5.3,8,1.0,,Bea,2025-05-01 09:20,sun,second
PW,fairway,6,5.9,11,,,Ann,2025-05-01 09:30,sun,third
"""


@pytest.fixture
def form(fresh_home: Path) -> panels.EntryForm:
    chosen = made()
    (chosen.folder / "chips.csv").write_text(LOG)
    return form_for("chips", chosen)


def lines(form: panels.EntryForm) -> list[str]:
    return form.path.read_text().splitlines()


def test_headings_in_other_words_own_columns_and_the_time_stay(form: panels.EntryForm) -> None:
    form.begin_mending(1)
    assert form.cells["carry_m"] == "6.3"
    form.put(rest_m="9.4", note="")
    form.save()
    assert "Saved as row 1" in form.message.value
    assert lines(form)[1] == "SW,fairway,6,6.3,9.4,1.1,,Ann,2025-05-01 09:10,rain,"
    assert lines(form)[2:] == LOG.splitlines()[2:]
    form.put(club="SW", lie="fairway", carry_m="6.1", rest_m="9")
    form.save()
    assert read_chips(form.path).frame["measured_at"].iloc[-1] == pd.Timestamp(NOON)


def test_a_row_that_cannot_be_right_is_named_by_its_own_number(form: panels.EntryForm) -> None:
    form.begin_mending(2)
    form.put(rest_m="1")
    form.save()
    assert "row 2," in form.message.value
    assert lines(form) == LOG.splitlines()


def test_undo_leaves_the_row_in_the_fields_as_it_is_before_it_takes_a_change_back(form: panels.EntryForm) -> None:
    form.remove(1)
    form.begin_mending(2)
    form.put(note="slip")
    form.remove(1)  # it would be saved in another row's place, or twice
    assert "Row 2 is in the fields: save it first" in form.message.value
    form.undo.click()
    assert "Row 2 is left as it was" in form.message.value
    assert lines(form)[1:] == LOG.splitlines()[2:]
    form.undo.click()
    assert lines(form) == LOG.splitlines()
    assert form.undo.disabled


def test_what_was_being_typed_comes_back_once_another_row_is_mended(form: panels.EntryForm) -> None:
    """Else the next ball would go to the club of the row that was mended."""
    form.put(club="LW", lie="rough", carry_m="7.5", player="Cat")
    form.save()
    assert form.anyway.layout.display == ""  # Cat is new
    for number in (3, 1):  # whoever takes another row instead types on where she was, too
        form.begin_mending(number)
        assert form.anyway.layout.display == "none"
    form.put(note="mended")
    form.save()
    assert form.cells == {"club": "LW", "lie": "rough", "carry_m": "7.5", "player": "Cat"}
    assert lines(form)[1].endswith(",mended")
    assert lines(form)[2:] == LOG.splitlines()[2:]


def test_the_time_of_a_row_can_be_mended(form: panels.EntryForm) -> None:
    form.begin_mending(3)
    assert (form.day.value, form.time.value) == (date(2025, 5, 1), time(9, 30))
    form.day.value = date(2025, 4, 30)
    form.save()
    assert ",2025-04-30T09:30:00," in lines(form)[3]
    assert (form.day.value, form.time.value) == (NOON.date(), None)
    form.begin_mending(3)
    form.day.value = None
    form.save()
    assert lines(form)[3] == LOG.splitlines()[3].replace("2025-05-01 09:30", "")


@pytest.mark.parametrize(("content", "said"), [(b"", "a blank sheet is made in its place"), (b"\0", "no text")])
def test_a_sheet_that_was_emptied_or_spoilt_has_no_row_to_mend(content: bytes, said: str, form: Any) -> None:
    form.path.write_bytes(content)
    form = form_for("chips", form.course)
    assert said in form.message.value
    assert [item.disabled for item in (form.chooser, form.mend, form.delete, form.undo)] == [True] * 4


def test_a_row_that_another_page_has_moved_is_not_touched(form: panels.EntryForm) -> None:
    other = form_for("chips", form.course)
    other.begin_mending(2)
    form.remove(1)
    other.save()
    assert "changed meanwhile" in other.message.value
    assert lines(form)[1:] == LOG.splitlines()[2:]
    other.undone()
    form.undone()
    other.remove(2)
    assert "changed meanwhile" in other.message.value
    assert "<b>3 rows</b>" in other.rows.value  # as they are now, to choose from
    assert lines(form) == LOG.splitlines()


def test_what_a_log_shows_so_far_is_of_the_player_that_is_typed(form: panels.EntryForm) -> None:
    assert "3 chips" not in form.estimates.value
    for name, said in (("Bea", "0.7 m short"), ("ann", "0.3 m beyond"), ("Cat", "")):
        form.put(player=name, club="sand wedge")
        form.refresh()
        assert said in form.estimates.value


def test_a_place_off_the_green_is_no_green_and_the_units_are_those_of_the_course_that_is_chosen() -> None:
    chosen = made()
    rolls = [
        {"spot": spot, "heading_deg": 90 * n, "distance_m": 3} for spot in ("low", "fringe left") for n in range(4)
    ]
    append_rows(chosen.folder / "rollouts.csv", rolls, accept_suspects=True)
    assert panels.Chosen(name=chosen.name, folder=chosen.folder, units="metres").spots == ("low",)
    make_course_folder(settings.own_sheets("away"), units="feet")
    page = panels.CoursePanel()
    page.course.value = "away"
    assert settings.remembered_units() == "feet"
    page.course.value = chosen.name
    assert settings.remembered_units() == "metres"


def test_a_full_disk_leaves_the_page_printed_before_and_no_half_of_a_recording(monkeypatch: pytest.MonkeyPatch) -> None:
    chosen = made()
    printer, listener = panels.BlankSheets(chosen), panels.ListeningForm(chosen)
    path = printer.write()
    assert path is not None
    before = path.read_bytes()
    monkeypatch.setattr(os, "fsync", Mock(side_effect=OSError(28, "No space left on device")))
    printer.write()
    listener._came({"name": "drop.wav", "content": b"RIFF"})
    for form in (printer, listener):
        assert "No space left on device" in form.message.value
    assert path.read_bytes() == before
    assert not list((chosen.folder / "recordings").iterdir())
    form = form_for("drops", chosen)
    form.put(spot="low", drop_height_m="1.5", rebound_height_m="0.3")
    form.save()
    assert "add again: low, 1.5, 0.3, 2025-05-06T12:00:00." in form.message.value


def test_dates_of_files_with_another_order_of_day_and_month_stay_what_they_are() -> None:
    head, chosen = "club,lie,carry (m),rest (m),day\nSW,fairway,6,9,", made()
    for name, days in (("ours", ("06/05/2025", "13/05/2025 09:10")), ("theirs", ("05/07/2025", "05/20/2025"))):
        form = importer(head + "\nSW,fairway,7,10,".join(days) + "\n", chosen, f"{name}.csv")
        form.kinds.value = dict(form.kinds.options)["chips"]
        form.button.click()
        assert "2 rows added" in form.message.value
    form_for("chips", chosen).remove(2)  # that which told the order
    days = [f"{day:%d %b}" for day in read_chips(chosen.folder / "chips.csv").frame["date"]]
    assert days == ["06 May", "07 May", "20 May"]


def test_a_row_beside_another_is_named_as_the_form_counts_it_whichever_is_mended() -> None:
    form = form_for("survey")
    for place in range(4):
        form.put(green="low", x_m=place, y_m=0, height_m=0.1)
        form.save()
    for mended, twin in ((None, 4), (2, 4), (4, 1)):
        if mended:
            form.begin_mending(mended)
        form.put(x_m=twin - 1, height_m=0.2)
        form.save()
        assert f"0 mm from the point in row {twin};" in form.message.value
