"""The panels without a browser: they answer, keep their place on impossible entries, and switch units."""

import io
import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from matplotlib.figure import Figure
from PIL import Image

from golfphys import panels
from golfphys.panels import bouncing, controls, drawing, measuring, rolling, settings, showing
from golfphys.panels.base import Panel
from golfphys.physics.club import BAG
from golfphys.physics.green import Green
from golfphys.physics.shot import Trace
from golfphys.planning import speed_study

KINDS = [
    panels.RollPanel,
    panels.BouncePanel,
    panels.ChipPanel,
    panels.ClubsPanel,
    panels.GreenSpeedPanel,
    panels.MeasuringPanel,
]
every_panel = pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)


@pytest.fixture(autouse=True)
def own_home(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """Settings and sheets of these tests stay in a temporary folder."""
    monkeypatch.setenv(settings.HOME, str(tmp_path / "home"))
    return tmp_path / "home"


def picture(panel: Panel) -> Image.Image:
    """Return the panel's picture."""
    return Image.open(io.BytesIO(panel.image.value))


def moved(panel: Panel, name: str) -> None:
    """Move a slider one step up, or down from its top; choose another word; tick or type something else."""
    control, widget = next(item for item in panel.controls if item.name == name), panel.inputs[name]
    if control.choices:
        widget.value = next(word for word in reversed(control.choices) if word != widget.value)
    elif isinstance(widget.value, bool):
        widget.value = not widget.value
    elif isinstance(widget.value, str):
        widget.value = "0, 120, 240"
    else:
        step = widget.step if widget.value + widget.step <= widget.max else -widget.step
        widget.value += step


# every panel


@every_panel
def test_each_input_changes_words_or_picture(kind: type[Panel]) -> None:
    """No input is dead: with everything else as it was, the picture is another one."""
    panel = kind(slope_pct=2.0) if kind is panels.RollPanel else kind()
    for name in panel.inputs:
        before = panel.image.value
        moved(panel, name)
        assert "alert" not in panel.message.value
        assert panel.image.value != before, f"{kind.__name__}: {name} changes nothing"


@every_panel
def test_labels_carry_units(kind: type[Panel]) -> None:
    """Every number has its unit in its label, in metres and in feet."""
    for units in settings.UNITS:
        panel = kind(units=units)
        for control in panel.controls:
            label = panel.inputs[control.name].description
            if isinstance(control.start, bool | str) or control.name == "repeats":
                continue
            assert label.endswith(")"), label
            assert ("(ft" in label) == (units == "feet") or not control.unit, label


@every_panel
def test_the_picture_is_whole_and_the_words_are_a_status(kind: type[Panel]) -> None:
    """The picture has its size and something on it; the words are spoken by a screen reader."""
    panel = kind()
    shown = picture(panel)
    assert shown.size == tuple(round(drawing.DOTS_PER_INCH * side) for side in kind.figure_size)
    assert np.asarray(shown.convert("L")).std() > 5
    assert panel.message.value.startswith("<div role='status'")


@every_panel
def test_a_fault_is_said_and_raised(kind: type[Panel], monkeypatch: pytest.MonkeyPatch) -> None:
    """A fault of the program is no silence: the page says so and the error goes on to whoever watches."""
    panel = kind()
    before = panel.image.value

    def broken(self: Any, **values: Any) -> Any:
        raise RuntimeError("the gears <slipped>")

    monkeypatch.setattr(kind, "compute", broken)
    name = next(iter(panel.inputs))
    with pytest.raises(RuntimeError, match="gears"):
        moved(panel, name)
    assert "This panel failed" in panel.message.value
    assert "the gears &lt;slipped&gt;" in panel.message.value
    assert panel.image.value == before


@every_panel
def test_an_impossible_entry_keeps_the_picture(kind: type[Panel], monkeypatch: pytest.MonkeyPatch) -> None:
    """The message is plain, escaped and an alert; picture and result stay; the next good entry clears it."""
    panel = kind()
    before, result = panel.image.value, panel.result
    good = kind.compute

    def refuses(self: Any, **values: Any) -> Any:
        raise ValueError("the pin lies <before> the edge")

    name = next(iter(panel.inputs))
    monkeypatch.setattr(kind, "compute", refuses)
    moved(panel, name)
    assert "Not possible:</b> the pin lies &lt;before&gt; the edge" in panel.message.value
    assert "role='alert'" in panel.message.value
    assert panel.image.value == before
    assert panel.result is result
    monkeypatch.setattr(kind, "compute", good)
    panel.redraw()
    assert "alert" not in panel.message.value


@every_panel
def test_switching_units_shows_the_same_and_is_remembered(kind: type[Panel], own_home: Path) -> None:
    """Feet and back give the same values to within a step, and the next panel opens in feet."""
    panel = kind()
    before = panel.values
    panel.switch.value = "feet"
    for control in panel.controls:
        if control.unit:
            step = control.step_feet * control.factor("feet")
            assert panel.values[control.name] == pytest.approx(before[control.name], abs=0.5001 * step)
        else:
            assert panel.values[control.name] == before[control.name]
    assert json.loads((own_home / "settings.json").read_text())["units"] == "feet"
    assert kind().units == "feet"
    panel.switch.value = "metres"
    assert settings.remembered_units() == "metres"


@every_panel
def test_figure_is_the_picture_with_its_settings(kind: type[Panel]) -> None:
    """For readers without a kernel: a figure that shows itself and says under which settings it was drawn."""
    panel = kind()
    figure = panel.figure()
    assert isinstance(figure, Figure)
    assert figure._repr_png_().startswith(b"\x89PNG")
    said = " ".join(figure._supxlabel.get_text().split())
    for control in panel.controls:
        assert f"{panel.inputs[control.name].description}: " in said


@every_panel
def test_figure_says_the_settings_that_were_drawn(kind: type[Panel], monkeypatch: pytest.MonkeyPatch) -> None:
    """After an impossible entry the figure still belongs to the last good one, words and all."""
    panel = kind()
    before = panel.figure()._supxlabel.get_text()

    def refuses(self: Any, **values: Any) -> Any:
        raise ValueError("no")

    monkeypatch.setattr(kind, "compute", refuses)
    moved(panel, next(iter(panel.inputs)))
    assert panel.figure()._supxlabel.get_text() == before


@every_panel
def test_shows_itself_in_a_notebook(kind: type[Panel]) -> None:
    """A panel is shown as the widget that it is."""
    assert "application/vnd.jupyter.widget-view+json" in kind()._repr_mimebundle_()


def test_unknown_or_impossible_starts_are_refused() -> None:
    """A slip in a notebook is said at once."""
    with pytest.raises(ValueError, match="no such control: stimp; this panel has stimp_ft"):
        panels.ChipPanel(stimp=10)
    with pytest.raises(ValueError, match="stimp_ft is 40; expected a number from 6 to 14"):
        panels.ChipPanel(stimp_ft=40)
    with pytest.raises(ValueError, match="lie is 'mud'; expected one of: tight, fairway"):
        panels.ChipPanel(lie="mud")
    with pytest.raises(ValueError, match="headings is 3; expected a str"):
        panels.MeasuringPanel(headings=3)
    with pytest.raises(ValueError, match="units is 'yards'"):
        panels.ChipPanel(units="yards")


def test_a_panel_without_a_possible_start_has_no_figure() -> None:
    """An impossible start is said in the panel; there is no figure to show."""
    panel = panels.ChipPanel(to_edge=12.0, to_pin=8.0)
    assert "Not possible" in panel.message.value
    assert panel.image.value == b""
    with pytest.raises(ValueError, match="nothing to draw yet"):
        panel.figure()
    panel.inputs["to_pin"].value = 15.0
    assert "alert" not in panel.message.value
    assert panel.image.value


def test_a_panel_must_say_what_it_computes() -> None:
    """The base class has nothing of its own to show."""
    with pytest.raises(TypeError, match="must define compute"):
        Panel()


# what the single panels say


def test_roll_panel_agrees_with_the_closed_form() -> None:
    """On the level the ball rolls its green speed; on a steep slope it does not stop; across a slope it drifts down."""
    level = panels.RollPanel(stimp_ft=9.0)
    assert float(level.result.way.x[-1]) == pytest.approx(9 * 0.3048, abs=1e-3)
    assert "not at all" in level.message.value
    across = panels.RollPanel(slope_pct=2.0, heading_deg=90.0)
    assert float(across.result.way.y[-1]) < -0.1  # uphill is to the left of a ball sent 90 deg clockwise from it
    assert "to the right" in across.message.value
    down = panels.RollPanel(slope_pct=8.0, heading_deg=180.0, stimp_ft=12.0)
    assert "does not stop" in down.message.value
    up = panels.RollPanel(slope_pct=2.0, heading_deg=0.0)
    assert up.result.way.x[-1] < up.result.level.x[-1]


@pytest.mark.parametrize("law", rolling.LAWS)
def test_roll_panel_keeps_the_reading_under_every_law(law: str) -> None:
    """The law changes the way to the reading, not the reading."""
    panel = panels.RollPanel(stimp_ft=10.0, law=law)
    assert float(panel.result.level.x[-1]) == pytest.approx(3.048, abs=2e-3)


def test_bounce_panel_reads_hops_off_its_path() -> None:
    """Hops counted on the drawn path are those of the simulation, each lower than the one before; spin shortens."""
    panel = panels.BouncePanel(carry=8.0)
    heights = bouncing.hop_heights(panel.result.asked)
    assert len(heights) == panel.result.shot.bounces
    assert heights == sorted(heights, reverse=True)
    panel.inputs["spin_pct"].value = 200.0
    assert panel.result.shot.roll_distance < panel.result.usual.shot.roll_distance
    assert "shorter than with the spin as struck" in panel.message.value
    assert isinstance(panel.result.asked, Trace)


def test_chip_panel_says_what_the_plan_says() -> None:
    """Landing, run and share in the words are those of the table, in the reader's unit."""
    panel = panels.ChipPanel(to_pin=12.0)
    best = panel.result.table.iloc[0]
    assert f"<b>{best['landing_m']:.1f} m</b> out" in panel.message.value
    assert "end within 1 m" in panel.message.value
    feet = panels.ChipPanel(to_pin=12.0, units="feet")
    best = feet.result.table.iloc[0]
    assert f"<b>{best['landing_m'] / 0.3048:.1f} ft</b> out" in feet.message.value
    assert f"{100 * best['within_3ft']:.0f} % end within 3 ft" in feet.message.value


def test_measured_chip_panel_uses_the_ground_given() -> None:
    """The ground is the measured one: no green speed is asked for."""
    fast = panels.MeasuredChipPanel(Green.from_stimp(13.0), to_pin=15.0)
    slow = panels.MeasuredChipPanel(Green.from_stimp(7.0), to_pin=15.0)
    assert set(fast.inputs) == {"to_edge", "to_pin", "lie"}
    rolls = [panel.result.table.set_index("club")["roll_m"] for panel in (fast, slow)]
    assert rolls[0]["9-iron"] > rolls[1]["9-iron"]


def test_clubs_panel_counts_what_is_close_in_the_readers_unit() -> None:
    """In feet the bars are shares within three feet, in metres within one metre, and both say so."""
    for units, column, near in (("feet", "within_3ft", "3 ft"), ("metres", "within_1m", "1 m")):
        panel = panels.ClubsPanel(units=units)
        figure = Figure()
        panel.draw(panel.result, figure)
        share = figure.axes[1]
        table = panel.result.table.set_index("club")
        shown = [bar.get_width() for bar in share.patches]
        assert shown == pytest.approx([100 * table.loc[club, column] for club in BAG])
        assert near in share.get_xlabel()


def test_green_speed_panel_lands_shorter_on_faster_greens() -> None:
    """The table falls with green speed for every club, and the words quote it."""
    panel = panels.GreenSpeedPanel(stimp_ft=11.0)
    for _, line in panel.result.table.groupby("club"):
        assert (line.sort_values("stimp_ft")["landing_m"].diff().dropna() < 0).all()
    assert f"8-iron {panel.result.here.loc['8-iron', 'landing_m']:.1f} m" in panel.message.value
    steep = panels.GreenSpeedPanel(stimp_ft=14.0, uphill_pct=-4.0, to_pin=5.0, firmness="firm")
    here = steep.result.here
    missing = list(here.index[here["landing_m"].isna()])
    assert 0 < len(missing) < len(BAG)
    assert f"Not from any landing: {', '.join(missing)}." in steep.message.value


def test_measuring_panel_says_what_two_headings_cannot_tell() -> None:
    """Opposite headings leave the cross slope open, and a bad line of headings keeps the picture."""
    panel = panels.MeasuringPanel(headings="0, 180")
    assert "Slope across heading 0 will hardly be told" in panel.message.value
    assert "square to it as well" in panel.result.plans
    before = panel.image.value
    panel.inputs["headings"].value = "north, south"
    assert "&#x27;north&#x27; is no number; expected degrees such as 0, 90, 180, 270" in panel.message.value
    assert panel.image.value == before
    panel.inputs["headings"].value = "0, 90, 180, 270"
    assert "hardly be told" not in panel.message.value
    assert panel.result.half_width("this plan", "grade") < panel.result.half_width("this plan", "stimp_ft")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "0 given; expected 1 to 16"),
        ("0 400", "400 is no direction"),
        (", ".join(str(10 * number) for number in range(20)), "20 given"),
        ("0, nan", "nan is no direction"),
    ],
)
def test_headings_that_cannot_be_are_named(text: str, words: str) -> None:
    """The message names what is wrong with the line."""
    with pytest.raises(ValueError, match=words):
        measuring.read_headings(text)


def test_firmness_of_the_panels_is_that_of_the_study() -> None:
    """One meaning of soft, middling and firm."""
    assert panels.ClubsPanel().inputs["firmness"].options == tuple(speed_study.FIRMNESS)


# controls, words, settings


def test_a_slider_in_feet_has_round_steps() -> None:
    """Switched to feet a slider of metres goes in whole feet between whole ends."""
    control = controls.Control(name="x", label="x", start=3.0, low=0.0, high=20.0, step=0.5, unit="m")
    assert control.scale("feet") == (0.0, 66.0, 1.0)
    assert control.on_scale(3.0, "feet") == 10.0
    widget = control.widget("metres")
    control.switch(widget, "metres", "feet")
    assert (widget.value, widget.min, widget.max, widget.step) == (10.0, 0.0, 66.0, 1.0)
    assert widget.description == "x (ft)"
    control.switch(widget, "feet", "metres")
    assert (widget.value, widget.max, widget.description) == (3.0, 20.0, "x (m)")


def test_lengths_in_words() -> None:
    """Feet, metres, and no end."""
    assert showing.length(1.0, "m", 2) == "1.00 m"
    assert showing.side(0.3048, "ft", 1) == "1.0 ft to the left"
    assert showing.length(math.nan, "m") == "no end"


def test_damaged_settings_cost_the_choice_only(own_home: Path) -> None:
    """A file that cannot be read counts as none, and is mended by the next choice."""
    own_home.mkdir()
    for text in ("{", "[]", '{"units": "furlongs"}'):
        (own_home / "settings.json").write_text(text)
        assert settings.remembered_units() == "metres"
    settings.remember_units("feet")
    assert settings.remembered_units() == "feet"
    assert [item.name for item in own_home.iterdir()] == ["settings.json"]


def test_other_settings_are_kept(own_home: Path) -> None:
    """Choosing units leaves what else stands in the file."""
    own_home.mkdir()
    (own_home / "settings.json").write_text('{"course": "my course"}')
    settings.remember_units("feet")
    assert settings.read_settings() == {"course": "my course", "units": "feet"}
    with pytest.raises(ValueError, match="units is 'yards'"):
        settings.remember_units("yards")  # type: ignore[arg-type]


def test_units_that_cannot_be_kept_are_said(own_home: Path) -> None:
    """A folder that cannot be made is a sentence in the panel, and the switch works all the same."""
    own_home.write_text("a file in the folder's place")
    panel = panels.RollPanel()
    panel.switch.value = "feet"
    assert "could not be kept for the next page" in panel.message.value
    assert panel.inputs["speed"].description == "speed at the start (ft/s)"


@pytest.mark.parametrize("system", ["win32", "darwin", "linux"])
def test_settings_live_in_the_users_own_folder(system: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Each system's own place, never the package."""
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
    """A name cannot lead out of the folder."""
    with pytest.raises(ValueError, match="expected a plain name"):
        settings.own_sheets(name)


def test_pdf_has_no_date() -> None:
    """The same figure gives the same file."""
    figure = panels.RollPanel().figure()
    first, second = (drawing.rendered(figure, "pdf") for _ in range(2))
    assert first.startswith(b"%PDF")
    assert b"CreationDate" not in first
    assert first == second
