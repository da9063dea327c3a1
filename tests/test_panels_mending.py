"""A row that is mended keeps all that was not changed, and no other row is touched."""

from pathlib import Path

import pandas as pd
import pytest
from test_panels_forms import NOON, form_for, made

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
    form.day.value = None
    form.put(rest_m="9.4", note="")
    form.save()
    assert "Saved as row 1" in form.message.value
    assert lines(form)[1] == "SW,fairway,6,6.3,9.4,1.1,,Ann,2025-05-01 09:10,rain,"
    assert lines(form)[2:] == LOG.splitlines()[2:]
    form.put(club="SW", lie="fairway", carry_m="6.1", rest_m="9")
    form.day.value = NOON.date()
    form.save()
    assert read_chips(form.path).frame["measured_at"].iloc[-1] == pd.Timestamp(NOON)


def test_a_row_that_cannot_be_right_is_named_by_its_own_number(form: panels.EntryForm) -> None:
    form.begin_mending(2)
    form.put(rest_m="1")
    form.save()
    assert "row 2," in form.message.value
    assert lines(form) == LOG.splitlines()


def test_after_undo_a_row_is_new(form: panels.EntryForm) -> None:
    form.remove(1)
    form.begin_mending(2)
    form.undone()
    form.put(note="new")
    form.save()
    assert lines(form)[:4] == LOG.splitlines()
    assert len(lines(form)) == 5


def test_a_row_that_another_page_has_moved_is_not_touched(form: panels.EntryForm) -> None:
    other = form_for("chips", form.course)
    other.begin_mending(2)
    form.remove(1)
    for work in (other.save, lambda: other.remove(2)):
        work()
        assert "changed meanwhile" in other.message.value
        assert lines(form)[1:] == LOG.splitlines()[2:]


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
