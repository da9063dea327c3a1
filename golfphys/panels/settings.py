"""What the pages remember of the reader, where her own sheets live, and fits kept from one page to the next.

The settings are a small file in the user's own configuration folder. The environment variable ``GOLFPHYS_HOME`` names
one folder for settings, sheets and kept fits instead; the tests use it to stay out of everyone's way.
"""

import hashlib
import hmac
import json
import os
import pickle
import re
import shutil
import sys
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any, TypeVar

import numpy as np
import pandas as pd

import golfphys
from golfphys.physics.club import BAG, bag_with
from golfphys.sheets import Course, Log, Problem, Sheet, SheetError, Units, make_player_folder, name_key
from golfphys.sheets.decoding import RawSheet, normal_heading, read_raw
from golfphys.sheets.dictionary import kind_of, kinds
from golfphys.sheets.reading import joined, read_course, read_player
from golfphys.sheets.table import same_names
from golfphys.sheets.writing import written_aside

T = TypeVar("T")
HOME = "GOLFPHYS_HOME"
UNITS: tuple[Units, ...] = ("metres", "feet")
SYMBOLS: dict[Units, str] = {"metres": "m", "feet": "ft"}  # unit symbol of lengths under each choice of units
MOST_CACHED = 12
COPIED = 3  # rows of a course that stand on another as well from which they are a copy and no chance


def _own_folder(variable: str, windows: str, mac: str, other: str) -> Path:
    """Return a folder of golfphys where this system keeps such things."""
    if os.environ.get(HOME):
        return Path(os.environ[HOME])
    systems = {"win32": (windows, "AppData/Roaming"), "darwin": ("", f"Library/{mac}")}
    named, usual = systems.get(sys.platform, (variable, other))
    return Path(os.environ.get(named) or Path.home() / usual) / "golfphys"


def settings_file() -> Path:
    """Return where the settings are kept; the file need not exist."""
    return _own_folder("XDG_CONFIG_HOME", "APPDATA", "Application Support", ".config") / "settings.json"


def courses_folder() -> Path:
    """Return the folder of all courses of the user's own: ``golfphys`` in her home folder."""
    return Path(os.environ[HOME]) / "courses" if os.environ.get(HOME) else Path.home() / "golfphys"


def own_sheets(course: str = "my course") -> Path:
    """Return the folder of a course of the user's own, called by a plain name without slashes; nothing is made."""
    return courses_folder() / _plain("course", course)


def _plain(what: str, name: str) -> str:
    """Return a name that a folder can have, or raise ValueError."""
    if not name.strip() or name.strip(". ") != name or any(letter in name for letter in "/\\:\0"):
        raise ValueError(f"{what} is {name!r}; expected a plain name, without slashes, colons or dots at its ends")
    return name


def players_folder() -> Path:
    """Return where the folders of players are, each named after her: ``players`` beside the courses."""
    return courses_folder() / "players"


def folder_of(player: str) -> Path | None:
    """Return the folder of a player's own, however her name is written; None where there is none."""
    named = (name for name in made_in(players_folder()) if name_key(name) == name_key(player))
    return next((players_folder() / name for name in named), None)


def begin_player(player: str, units: Units) -> None:
    """Make the folder of a player; ValueError or SheetError where her name cannot name one or she has one."""
    free = players_folder() / _plain("player", " ".join(player.split()))
    make_player_folder(folder_of(player) or free, units=units)


def made_in(folder: Path) -> list[str]:
    """Return the names of the courses, or players, whose folders the user has made in `folder`, in order."""
    return sorted(path.parent.name for path in folder.glob("*/READ ME.txt"))


def players() -> list[str]:
    """Return the players who have a folder of their own or are named in a sheet of the reader's courses."""
    logs = [log for name in made_in(courses_folder()) if (log := _read(name)) is not None]
    named = [*(player for log in logs for player in log.players), *made_in(players_folder())]
    return list({name_key(player): player for player in named}.values())


def logged_before(player: str, but: str) -> Log | None:
    """Return the chips and target hits of a player in her own folder and on every course `but` this one.

    Rows that name nobody are hers where no one else is named in the sheets of their course, nor, if they name none,
    known at all; rows copied from another course count once; the notes count those left out. None without either.
    """
    key, notes, folder = name_key(player), list[str](), players_folder()
    kinds, known, here = ("chips", "targets"), players(), _read(but) if but else None
    found: dict[str, list[Sheet]] = {kind: [] for kind in kinds}
    seen = {kind: set(_typed(here.sheets[kind].frame)) if here and kind in here.sheets else set() for kind in kinds}

    def add(kind: str, sheet: Sheet, name: str) -> None:
        typed = _typed(sheet.frame)
        again = typed.isin(seen[kind]).to_numpy()
        if again.sum() >= COPIED:
            notes.append(f"Of the {kind} on {name} {again.sum()} stand on another course as well and count once.")
            sheet = sheet.replaced(sheet.frame[~again])
        seen[kind].update(typed)
        if len(sheet.frame):
            found[kind].append(sheet.replaced(sheet.frame.reset_index(drop=True)))

    for name in (name for name in made_in(players_folder()) if name_key(name) == key):
        folder = players_folder() / name
        log: Log | None = held(read_player, folder)
        for kind in kinds:
            if log and kind in log.sheets:
                add(kind, log.sheets[kind], name)
        doubts = doubtful(read_player, folder)
        more = f" (and {len(doubts) - 1} more)" if len(doubts) > 1 else ""
        notes += [
            f"Hard to believe, and counted as it stands, in {name}'s folder: {first}{more}" for first in doubts[:1]
        ]
    for name in (name for name in made_in(courses_folder()) if name != but):
        log = _read(name)
        others = {name_key(who) for who in (log.players if log else ()) or known} - {key}
        for kind, sheet in log.sheets.items() if log else ():
            if kind not in kinds:
                continue
            who = sheet.frame["player"].map(name_key)
            hers, nobody = (who == key) | ((who == "") & (not others)), int((who == "").sum()) if others else 0
            if hers.any():
                add(kind, sheet.replaced(sheet.frame[hers].assign(course=name)), name)
            if nobody:
                notes.append(f"Of the {kind} on {name} {nobody} name no player and do not count: say whose they are.")
    several = {kind: joined(sheets) for kind, sheets in found.items() if sheets}
    return Log(folder=folder, notes=notes, **several) if several or notes else None


def _typed(frame: pd.DataFrame) -> "pd.Series[str]":
    """Return all that was typed in each row as one text, lengths to a tenth of a millimetre; not where it stands."""
    cells = frame.drop(columns=["course", "row", "sheet"], errors="ignore")
    return cells.map(lambda cell: f"{cell:.4f}" if isinstance(cell, float) else str(cell)).agg("|".join, axis=1)


def _read(course: str) -> Course | None:
    """Return a course's sheets; None where it has no rows, or they need mending, which its own page says."""
    try:
        return read_course(own_sheets(course), accept_suspects=True)
    except SheetError:
        return None


def held(read: Callable[..., T], folder: Path) -> T | None:
    """Return what `read` finds in a folder; None where nothing in it has rows yet."""
    try:
        return read(folder, accept_suspects=True)
    except SheetError as error:
        if all(problem.file == str(folder) for problem in error.problems):
            return None
        raise


def doubtful(read: Callable[[Path], Any], folder: Path) -> list[Problem]:
    """Return what is hard to believe in the sheets of a folder."""
    try:
        read(folder)
    except SheetError as error:
        return [problem for problem in error.problems if problem.suspect]
    return []


def is_packaged(path: Path) -> bool:
    """Tell whether `path` lies within the package or the data beside it, where nothing of the user's is written."""
    package = Path(golfphys.__file__).resolve().parent
    data = package.parent / "data"
    shipped = [package, data] if (data / "datapackage.json").is_file() else [package]
    return any(path.resolve().is_relative_to(folder) for folder in shipped)


def read_settings() -> dict[str, Any]:
    """Return the settings; empty where there are none or they cannot be read."""
    try:
        found = json.loads(settings_file().read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):  # a damaged file costs the choices, not the page
        return {}
    return found if isinstance(found, dict) else {}


def remembered_units() -> Units:
    """Return the units chosen last, metres at first."""
    return "feet" if read_settings().get("units") == "feet" else "metres"


def checked_units(units: str) -> Units:
    """Return `units`, or raise ValueError if it is neither metres nor feet."""
    if units not in UNITS:
        raise ValueError(f"units is {units!r}; expected one of: {', '.join(UNITS)}")
    return units


def remember(**choices: str) -> None:
    """Keep choices for the next page, by name: ``course``, ``player``, ``past``, ``day``, ``units``."""
    checked_units(choices.get("units", "metres"))
    write_whole(settings_file(), (json.dumps({**read_settings(), **choices}, indent=1) + "\n").encode())


def clubs_of(player: str) -> str:
    """Return under what the clubs of a player are kept."""
    return f"clubs of {name_key(player)}"


def clubs_in(text: str) -> tuple[str, ...]:
    """Return the clubs in a line of names parted by commas, the least lofted first; ValueError where one is not known.

    >>> clubs_in("60°, PW; 8 iron")
    ('8-iron', 'pitching wedge', '60-degree wedge')
    """
    parts = [part.strip() for part in re.split("[,;]", text) if part.strip()]
    names = same_names(np.array(parts, dtype=object), "club")[0].tolist()
    bag = bag_with(names)
    if unknown := [name for name in names if name not in bag]:
        raise ValueError(f"no loft is known for {', '.join(unknown)}; expected {', '.join(BAG)}, or a loft such as 52")
    return tuple(name for name in bag if name in names)


def write_whole(path: Path, content: bytes, *, private: bool = True) -> None:
    """Put `content` in the place of a file of the user's own, whole or not at all, if `private` for nobody else."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with written_aside(path, content, private=private) as aside:
        if not private:
            with suppress(OSError):  # there is none, or its rights cannot be copied
                shutil.copymode(path, aside)
        os.replace(aside, path)


def raw_sheet(folder: Path, kind: str) -> RawSheet | None:
    """Return a sheet of a folder as text cells; None where there is none to read."""
    with suppress(SheetError):
        return read_raw(folder / f"{kind}.csv", kind_of(kind))
    return None


def units_of(folder: Path) -> Units:
    """Return the units in which the sheets of a folder hold lengths, those chosen last where there is no sheet."""
    for kind in kinds():
        if (raw := raw_sheet(folder, kind)) is not None:
            known = (kind_of(kind).by_name.get(normal_heading(cell)) for cell in raw.header)
            units = {column.unit for column in known if column is not None}
            if units & {"ft", "in", "yd", "m", "cm"}:
                return "feet" if units & {"ft", "yd"} else "metres"
    return remembered_units()


# results kept from one page to the next


def cached(content: bytes, make: Callable[[], Any]) -> Any:
    """Return what `make` makes of `content`, from the cache if it was made before by this version of golfphys.

    A kept result is signed with a key that never leaves the user's own folder, and only what carries that signature
    is loaded: a file that somebody else put there is not. `content` is everything that the result depends on.
    """
    folder = _own_folder("XDG_CACHE_HOME", "LOCALAPPDATA", "Caches", ".cache") / "fits"
    path = folder / f"{hashlib.sha256(_version() + content).hexdigest()[:32]}.kept"
    try:
        key = _key(folder)
        data = path.read_bytes()
        if hmac.compare_digest(data[:32], hmac.digest(key, data[32:], "sha256")):
            return pickle.loads(data[32:])
    except Exception:  # noqa: S110, BLE001, RUF100  # whatever is wrong with a kept result costs time, not the page
        pass
    made = make()
    try:
        packed = pickle.dumps(made)
        write_whole(path, hmac.digest(_key(folder), packed, "sha256") + packed)
        for old in sorted(folder.glob("*.kept"), key=os.path.getmtime)[:-MOST_CACHED]:
            old.unlink(missing_ok=True)
    except (OSError, AttributeError, TypeError, pickle.PicklingError):
        pass
    return made


def _key(folder: Path) -> bytes:
    path = folder / "key"
    if not path.exists():
        write_whole(path, os.urandom(32))
    return path.read_bytes()


def _version() -> bytes:
    """Return what tells this state of the library from every other."""
    package = Path(golfphys.__file__).parent
    stamps = [(str(path.relative_to(package)), path.stat().st_mtime_ns) for path in sorted(package.rglob("*.py"))]
    return repr((golfphys.__version__, stamps)).encode()
