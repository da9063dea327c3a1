"""What the panels remember of the reader, and where her own sheets live: never in the package.

The choice of feet or metres is kept in a small file in the user's own configuration folder. The environment variable
``GOLFPHYS_HOME`` names one folder for both settings and sheets instead; the tests use it to stay out of everyone's way.
"""

import json
import os
import sys
import uuid
from pathlib import Path
from typing import Any

import golfphys
from golfphys.sheets.templates import Units

HOME = "GOLFPHYS_HOME"
UNITS: tuple[Units, ...] = ("metres", "feet")
SYMBOLS: dict[Units, str] = {"metres": "m", "feet": "ft"}
"""Unit symbol of lengths under each choice of units."""


def settings_file() -> Path:
    """Return where the settings are kept; the file need not exist."""
    if os.environ.get(HOME):
        return Path(os.environ[HOME]) / "settings.json"
    if sys.platform == "win32":
        return Path(os.environ.get("APPDATA") or Path.home() / "AppData" / "Roaming") / "golfphys" / "settings.json"
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Application Support" / "golfphys" / "settings.json"
    return Path(os.environ.get("XDG_CONFIG_HOME") or Path.home() / ".config") / "golfphys" / "settings.json"


def own_sheets(course: str = "my course") -> Path:
    """Return the folder of a course of the user's own; nothing is made.

    Parameters
    ----------
    course : str
        What the user calls it: a plain name, without slashes.

    Returns
    -------
    pathlib.Path
        ``golfphys/<course>`` in the user's home folder, or ``courses/<course>`` under ``GOLFPHYS_HOME``.

    Raises
    ------
    ValueError
        If the name is empty or holds a slash.

    Examples
    --------
    >>> own_sheets("my course").name
    'my course'
    """
    if not course.strip() or course.strip(". ") != course or any(letter in course for letter in "/\\:\0"):
        raise ValueError(f"course is {course!r}; expected a plain name, without slashes, colons or dots at its ends")
    base = Path(os.environ[HOME]) / "courses" if os.environ.get(HOME) else Path.home() / "golfphys"
    return base / course


def is_packaged(path: Path) -> bool:
    """Tell whether `path` lies within the package, or among the data that come with its source.

    Parameters
    ----------
    path : pathlib.Path
        A file or a folder, there or not.

    Returns
    -------
    bool
        True where nothing of the user's may be written.
    """
    package = Path(golfphys.__file__).resolve().parent
    shipped = [package]
    if (package.parent / "data" / "datapackage.json").is_file():
        shipped.append(package.parent / "data")
    return any(path.resolve().is_relative_to(folder) for folder in shipped)


def read_settings() -> dict[str, Any]:
    """Return the settings; empty where there are none or they cannot be read."""
    try:
        found = json.loads(settings_file().read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):  # a damaged file costs the choice of units, not the page
        return {}
    return found if isinstance(found, dict) else {}


def remembered_units() -> Units:
    """Return the units chosen last, metres at first."""
    units = read_settings().get("units")
    return "feet" if units == "feet" else "metres"


def remember_units(units: Units) -> None:
    """Keep the choice of units for the next page.

    Parameters
    ----------
    units : {"metres", "feet"}
        What lengths are shown in.

    Raises
    ------
    ValueError
        If it is neither.
    OSError
        If it cannot be kept.
    """
    if units not in UNITS:
        raise ValueError(f"units is {units!r}; expected one of: {', '.join(UNITS)}")
    path = settings_file()
    path.parent.mkdir(parents=True, exist_ok=True)
    aside = path.with_name(f".{path.name}.{uuid.uuid4().hex[:8]}")
    try:
        aside.write_text(json.dumps({**read_settings(), "units": units}, indent=1) + "\n", encoding="utf-8")
        os.replace(aside, path)
    except OSError:
        aside.unlink(missing_ok=True)
        raise
