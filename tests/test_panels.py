"""The panels without a browser: they answer, keep their place on impossible entries, and switch units."""

import io
import json
import re
from dataclasses import replace
from pathlib import Path
from unittest.mock import Mock

import numpy as np
import pytest
from conftest import refused
from matplotlib.figure import Figure
from PIL import Image

from golfphys import BAG, panels
from golfphys.panels import Panel, Subject, physics, planning, settings

SUBJECTS = {
    "roll": physics.roll,
    "bounce": physics.bounce,
    "shot": physics.shot,
    "landing spots": physics.landing_spots,
    "chip": planning.chip,
    "clubs": planning.clubs,
    "measuring": planning.measuring,
}
pytestmark = pytest.mark.usefixtures("fresh_home")
every_panel = pytest.mark.parametrize("subject", SUBJECTS.values(), ids=SUBJECTS)


def moved(shown: Panel, name: str) -> None:
    """Move a slider one step up, or down from its top; choose another word; tick or type something else."""
    control, widget = next(item for item in shown.subject.controls if item.name == name), shown.inputs[name]
    if control.choices:
        widget.value = next(word for word in reversed(control.choices) if word != widget.value)
    elif isinstance(widget.value, bool):
        widget.value = not widget.value
    elif isinstance(widget.value, str):
        widget.value = "0, 120, 240"
    else:
        step = widget.step if widget.value + widget.step <= widget.max else -widget.step
        widget.value += step


@every_panel
def test_each_input_changes_words_or_picture(subject: Subject) -> None:
    shown = Panel(subject, **({"slope_pct": 2.0} if subject is physics.roll else {}))
    for name in shown.inputs:
        before = shown.image.value
        moved(shown, name)
        assert "alert" not in shown.message.value
        assert shown.image.value != before, f"{name} changes nothing"


@every_panel
def test_a_panel_as_shown_in_either_unit_which_is_remembered(subject: Subject, fresh_home: Path) -> None:
    shown = Panel(subject)
    before = shown.values
    for units in ("metres", "feet"):
        shown.switch.value = units
        for control in subject.controls:
            label = shown.inputs[control.name].description
            if not isinstance(control.start, bool | str) and control.name != "repeats":
                assert label.endswith(")"), label
                assert ("(ft" in label) == (units == "feet") or not control.unit, label
    for control in subject.controls:
        step = control.step_feet * control.factor("feet") if control.unit else 0.0
        assert shown.values[control.name] == pytest.approx(before[control.name], abs=0.5001 * step)
    assert json.loads((fresh_home / "settings.json").read_text())["units"] == panels.roll().units == "feet"
    image = Image.open(io.BytesIO(shown.image.value))
    assert image.size == tuple(round(100 * side) for side in subject.size)
    assert np.asarray(image.convert("L")).std() > 5
    assert shown.message.value.startswith("<div role='status'")
    assert "application/vnd.jupyter.widget-view+json" in shown._repr_mimebundle_()
    figure = shown.figure()
    assert figure._repr_png_().startswith(b"\x89PNG")
    said = " ".join(figure._supxlabel.get_text().split())
    assert all(f"{item.description}: " in said for item in shown.inputs.values())
    shown.switch.value = "metres"
    assert settings.remembered_units() == "metres"


def test_an_impossible_entry_or_a_fault_keeps_the_picture_and_an_impossible_start_has_none() -> None:
    shown = panels.roll()
    before, result, caption = shown.image.value, shown.result, shown.figure()._supxlabel.get_text()
    impossible, fault = ValueError("the pin lies <before> the edge"), RuntimeError("the gears <slipped>")
    shown.subject = replace(physics.roll, compute=Mock(side_effect=impossible))
    moved(shown, "speed")
    assert "Not possible:</b> the pin lies &lt;before&gt; the edge" in shown.message.value
    assert "role='alert'" in shown.message.value
    shown.subject = replace(physics.roll, compute=Mock(side_effect=fault))
    refused("gears", lambda: moved(shown, "speed"), RuntimeError)
    assert "This panel failed" in shown.message.value
    assert "the gears &lt;slipped&gt;" in shown.message.value
    assert (shown.image.value, shown.result) == (before, result)
    assert shown.figure()._supxlabel.get_text() == caption
    shown.subject = physics.roll
    shown.redraw()
    assert "alert" not in shown.message.value
    shown = panels.chip(to_edge=12.0, to_pin=8.0)
    assert "Not possible" in shown.message.value
    assert shown.image.value == b""
    refused("nothing to draw yet", shown.figure)
    shown.inputs["to_pin"].value = 15.0
    assert "alert" not in shown.message.value
    assert shown.image.value


def test_roll_panel_agrees_with_the_closed_form() -> None:
    level = panels.roll(stimp_ft=9.0)
    across, up = (panels.roll(slope_pct=2.0, heading_deg=heading) for heading in (90.0, 0.0))
    assert float(level.result["paths"]["on this slope"].x[-1]) == pytest.approx(9 * 0.3048, abs=1e-3)
    assert "not at all" in level.message.value
    # uphill is to the left of a ball sent 90 deg clockwise from it
    assert float(across.result["paths"]["on this slope"].y[-1]) < -0.1
    assert "to the right" in across.message.value
    assert "does not stop" in panels.roll(slope_pct=8.0, heading_deg=180.0, stimp_ft=12.0).message.value
    assert up.result["paths"]["on this slope"].x[-1] < up.result["paths"]["on the level"].x[-1]


def test_bounce_panel_reads_hops_off_its_path() -> None:
    shown = panels.bounce(carry=8.0)
    asked = shown.result["spin asked about"]
    heights = physics.hop_heights(asked)
    assert len(heights) == asked.shot.bounces
    assert heights == sorted(heights, reverse=True)
    shown.inputs["spin_pct"].value = 200.0
    asked, usual = shown.result.values()
    assert asked.shot.run < usual.shot.run
    assert "shorter than with the spin as struck" in shown.message.value


def test_chip_panel_says_what_the_plan_says() -> None:
    for units, factor, digits, near in (("metres", 1.0, 1, "1m"), ("feet", 0.3048, 0, "3ft")):
        shown = panels.chip(to_pin=12.0, units=units)
        best = shown.result.table.iloc[0]
        words = " ".join(re.sub(r"<[^>]+>", " ", shown.message.value).split())
        assert f"land it {best['landing_m'] / factor:.{digits}f} {near[1:]} from the ball" in words
        assert f"end within {near[0]} {near[1:]} {100 * best[f'within_{near}']:.0f} %" in words


def test_clubs_panel_counts_what_is_close_in_the_readers_unit() -> None:
    for units, column, near in (("feet", "within_3ft", "3 ft"), ("metres", "within_1m", "1 m")):
        shown = panels.clubs(units=units)
        figure = Figure()
        shown.subject.draw(shown.result, figure, shown.unit)
        share = figure.axes[1]
        table = shown.result.table.set_index("club")
        shown = [bar.get_width() for bar in share.patches]
        assert shown == pytest.approx([100 * table.loc[club, column] for club in BAG])
        assert near in share.get_xlabel()


def test_green_speed_panel_lands_shorter_on_faster_greens() -> None:
    shown = panels.landing_spots(stimp_ft=11.0)
    for _, line in shown.result["table"].groupby("club"):
        assert (line.sort_values("stimp_ft")["landing_m"].diff().dropna() < 0).all()
    assert f"8-iron {shown.result['here'].loc['8-iron', 'landing_m']:.1f} m" in shown.message.value
    steep = panels.landing_spots(stimp_ft=14.0, uphill_pct=-4.0, to_pin=5.0, firmness="firm")
    here = steep.result["here"]
    missing = list(here.index[here["landing_m"].isna()])
    assert 0 < len(missing) < len(BAG)
    assert f"Not from any landing: {', '.join(missing)}." in steep.message.value


def test_measuring_panel_says_what_two_headings_cannot_tell() -> None:
    shown = panels.measuring(headings="0, 180")
    assert "Slope across heading 0 will stay hardly known" in shown.message.value
    assert "square to it as well" in shown.result["table"].index
    before = shown.image.value
    shown.inputs["headings"].value = "north, south"
    assert "&#x27;north&#x27; is no number; expected degrees such as 0, 90, 180, 270" in shown.message.value
    assert shown.image.value == before
    shown.inputs["headings"].value = "0, 90, 180, 270"
    assert "stay hardly known" not in shown.message.value
    grade, stimp = shown.result["table"].loc["this plan", ["grade", "stimp_ft"]]
    assert grade < stimp


def test_a_slider_in_feet_has_round_steps() -> None:
    control = panels.Control(name="x", label="x", start=3.0, low=0.0, high=20.0, step=0.5, unit="m")
    assert control.scale("feet") == (0.0, 66.0, 1.0)
    assert control.on_scale(3.0, "feet") == 10.0
    widget = control.widget("metres", 3.0)
    control.switch(widget, "metres", "feet")
    assert (widget.value, widget.min, widget.max, widget.step) == (10.0, 0.0, 66.0, 1.0)
    assert widget.description == "x (ft)"
    control.switch(widget, "feet", "metres")
    assert (widget.value, widget.max, widget.description) == (3.0, 20.0, "x (m)")


def test_damaged_settings_cost_the_choice_only_and_units_that_cannot_be_kept_are_said(fresh_home: Path) -> None:
    fresh_home.mkdir()
    for text in ("{", "[]", '{"units": "furlongs"}'):
        (fresh_home / "settings.json").write_text(text)
        assert settings.remembered_units() == "metres"
    settings.remember(units="feet")
    assert settings.remembered_units() == "feet"
    assert [item.name for item in fresh_home.iterdir()] == ["settings.json"]
    (fresh_home / "settings.json").rename(fresh_home.with_name("elsewhere"))
    fresh_home.rmdir()
    fresh_home.write_text("a file in the folder's place")
    shown = panels.roll()
    shown.switch.value = "feet"
    assert "could not be kept for the next page" in shown.message.value
    assert shown.inputs["speed"].description == "speed at the start (ft/s)"


@pytest.mark.parametrize("system", ["win32", "darwin", "linux"])
def test_settings_live_in_the_users_own_folder(system: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.delenv(settings.HOME)
    monkeypatch.setattr(settings.sys, "platform", system)
    monkeypatch.setattr(settings.Path, "home", lambda: tmp_path)
    for name in ("APPDATA", "XDG_CONFIG_HOME"):
        monkeypatch.delenv(name, raising=False)
    path = settings.settings_file()
    assert path.is_relative_to(tmp_path)
    assert path.parent.name == "golfphys"
    assert settings.own_sheets("links") == tmp_path / "golfphys" / "links"
    assert not path.exists()


@pytest.mark.parametrize("name", ["", " ", "../x", "a/b", "c:d", ".", "x."])
def test_course_names_stay_in_their_folder(name: str) -> None:
    refused("expected a plain name", lambda: settings.own_sheets(name))
