"""Writes the blank templates and the description of every sheet in this folder, from the data dictionary.

Run it after any change of ``golfphys/sheets/dictionary.json`` or of a sheet's columns:

    python data/make_sheets.py

The templates go to ``templates/``; ``datapackage.json`` describes every CSV file here as a Data Package with Table
Schemas (datapackage.org). A test holds both to what this script makes.
"""

import json
from pathlib import Path
from typing import Any

from golfphys.sheets import descriptor, kinds, template_text
from golfphys.sheets.decoding import read_raw

HERE = Path(__file__).parent

OWN_COLUMNS = {
    "source": "Where the figure was published.",
    "mark": "How the figure reached the project: read, memory, derived or practice.",
}
TITLES = {
    "demo": ("demonstration", "Invented course Quillmere Downs; made by make_demo.py, truth in demo/truth.json."),
    "published": ("published figures", "Figures from the sources named in the sheet."),
    "templates": ("blank", "Blank sheet to print or to fill, made from the data dictionary by make_sheets.py."),
}


def templates() -> dict[str, str]:
    """Return the text of every blank template by file name."""
    texts = {}
    for kind in kinds():
        texts[f"{kind}.csv"] = template_text(kind, "metres")
        texts[f"{kind}_feet.csv"] = template_text(kind, "feet")
    return texts


def kind_of_file(path: Path) -> str:
    """Tell the kind of sheet from its file."""
    return path.stem.removesuffix("_feet")


def headings(path: Path) -> tuple[int, tuple[str, ...]]:
    """Return the row of the headings of a sheet, and the headings."""
    raw = read_raw(path, kinds()[kind_of_file(path)])
    return raw.header_row, raw.header


def resource(path: Path) -> dict[str, Any]:
    """Describe one sheet: the dictionary's fields for the columns that it has."""
    kind = kind_of_file(path)
    group, description = TITLES[path.parent.name]
    schema = next(item["schema"] for item in descriptor()["resources"] if item["name"] == kind)
    fields = {field["name"]: field for field in schema["fields"]}
    row, names = headings(path)
    return {
        "name": f"{path.parent.name}-{path.stem.replace('_', '-').lower()}",
        "title": f"{kinds()[kind].title}, {group}",
        "description": f"{kinds()[kind].description} {description}",
        "path": path.relative_to(HERE).as_posix(),
        "format": "csv",
        "encoding": "utf-8",
        "dialect": {"commentChar": "#", "headerRows": [row]},
        "schema": {
            "fields": [fields.get(name) or _own_field(name) for name in names],
            "missingValues": schema["missingValues"],
        },
    }


def _own_field(name: str) -> dict[str, Any]:
    return {"name": name, "title": name.replace("_", " "), "type": "string", "description": OWN_COLUMNS[name]}


def package() -> dict[str, Any]:
    """Return the description of all sheets in this folder."""
    sheets = sorted(path for group in TITLES for path in (HERE / group).glob("*.csv"))
    return {
        "$schema": descriptor()["$schema"],
        "name": "golfphys-data",
        "title": "Sheets that come with golfphys",
        "description": "Demonstration sheets (invented), published figures and blank templates. Every column is "
        "described in golfphys/sheets/dictionary.json, from which this file is made; do not edit it by hand.",
        "resources": [resource(path) for path in sheets],
    }


def main() -> None:
    """Write the templates, then the description."""
    (HERE / "templates").mkdir(exist_ok=True)
    for name, text in templates().items():
        (HERE / "templates" / name).write_text(text, encoding="utf-8", newline="\n")
    text = json.dumps(package(), indent=2, ensure_ascii=False) + "\n"
    (HERE / "datapackage.json").write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
