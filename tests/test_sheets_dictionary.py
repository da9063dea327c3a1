"""The data dictionary, the templates and the demonstration sheets, held to each other and to an outside validator."""

import importlib.util
import json
import math
from pathlib import Path

import frictionless
import numpy as np
import pytest
from conftest import refused

from golfphys.sheets import SHEETS, SheetError, read_rollouts, read_sheet, sheet_text, template_columns, template_text
from golfphys.sheets.dictionary import descriptor, kind_of, kinds

DATA = Path(__file__).parents[1] / "data"


def script(name):
    """Load a script of the data folder."""
    spec = importlib.util.spec_from_file_location(name, DATA / f"{name}.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_dictionary_is_a_valid_data_package():
    assert list(frictionless.Package.metadata_validate(descriptor())) == []
    for resource in descriptor()["resources"]:
        assert list(frictionless.Schema.metadata_validate(resource["schema"])) == []


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


@pytest.fixture(scope="module")
def report():
    return frictionless.validate(str(DATA / "datapackage.json"))


def test_every_sheet_is_valid_to_the_outside_validator(report):
    assert report.valid, report.flatten(["name", "rowNumber", "fieldName", "message"])
    paths = {task.place for task in report.tasks}
    folders = ("demo", "published", "templates")
    assert paths == {path.relative_to(DATA).as_posix() for folder in folders for path in (DATA / folder).glob("*.csv")}


def test_the_outside_validator_counts_the_same_rows(report):
    for task in report.tasks:
        path = DATA / task.place
        if path.parent.name == "templates":
            with pytest.raises(SheetError) as caught:
                read_sheet(path, path.stem.removesuffix("_feet"))
            assert caught.value.unfilled
            continue
        assert len(read_sheet(path, path.stem).frame) == task.stats["rows"]


def test_templates_and_description_are_what_the_script_makes():
    made = script("make_sheets")
    stored = {path.name: path.read_text(encoding="utf-8") for path in (DATA / "templates").glob("*.csv")}
    assert stored == made.templates()
    assert json.loads((DATA / "datapackage.json").read_text(encoding="utf-8")) == made.package()


def test_demonstration_sheets_are_what_the_script_makes():
    for name, text in script("make_demo").files().items():
        stored = (DATA / "demo" / name).read_text(encoding="utf-8")
        assert stored == text, f"{name}: run data/make_demo.py"


@pytest.mark.parametrize("units", ["metres", "feet"])
@pytest.mark.parametrize("kind", SHEETS)
def test_the_example_row_of_a_template_can_be_read(tmp_path, kind, units):
    text = template_text(kind, units)
    example = next(line.split(": ", 1)[1] for line in text.splitlines() if line.startswith("# A row might read"))
    path = tmp_path / "sheet.csv"
    path.write_text(text + example + "\n")
    sheet = read_sheet(path, kind)
    assert not [note for note in sheet.notes if "kept as" in note]
    assert sheet.reference_line is None
    assert len(template_columns(kind_of(kind), units)) == len(example.split(","))


def test_every_demonstration_sheet_is_marked_invented():
    files = list((DATA / "demo").glob("*.csv"))
    assert len(files) >= 2
    for path in files:
        assert path.read_text(encoding="utf-8").startswith("# Invented")
    assert json.loads((DATA / "demo" / "truth.json").read_text())["invented"].startswith("Invented")


def test_published_sheets_carry_source_and_mark():
    rolls = read_rollouts(DATA / "published" / "rollouts.csv").rolls
    assert (rolls["source"] != "").all()
    assert set(rolls["mark"]) <= {"read", "memory", "derived", "practice"}
    inches = (rolls["distance"] / 0.0254).round(6).tolist()
    assert inches == [168, 108, 240, 24, 147, 134, 145]


@pytest.mark.parametrize("units", ["metres", "feet"])
def test_what_is_written_reads_back(tmp_path, units):
    frame = read_rollouts(DATA / "demo" / "rollouts.csv").rolls
    names = [column.name for column in template_columns(kind_of("rollouts"), units) if column.quantity != "ramp_run"]
    speed = {"metres": "release_speed_m_s", "feet": "release_speed_ft_s"}[units]
    path = tmp_path / "sheet.csv"
    path.write_text(sheet_text(frame, "rollouts", [*names, speed], ["reference line: here"]))
    again = read_rollouts(path)
    assert again.reference_line == "here"
    for name in ("heading", "release_speed", "distance", "side"):
        np.testing.assert_allclose(again.rolls[name], frame[name], atol=0.006)
    assert again.rolls["measured_at"].tolist() == frame["measured_at"].tolist()
    refused("no 'wind'", lambda: sheet_text(frame, "rollouts", ["wind"]))
