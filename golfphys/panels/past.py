"""What a player logged elsewhere: in a folder of her own, and on the reader's other courses."""

from pathlib import Path

from golfphys.panels import settings
from golfphys.sheets import ChipSheet, Log, SheetError, name_key, read_course, read_player
from golfphys.sheets.reading import joined


def players() -> list[str]:
    """Return the players who have a folder of their own or are named in a sheet of the reader's courses."""
    logs = [log for name in settings.own_courses() if (log := _read(name)) is not None]
    named = [player for log in logs for player in log.players]
    return list({name_key(player): player for player in (*named, *settings.own_players())}.values())


def logged_before(player: str, but: str) -> Log | None:
    """Return the chips that a player logged elsewhere, of her own folder and of courses in which she is named.

    Parameters
    ----------
    player : str
        Her name.
    but : str
        The course that is left out: its rows are of today.
    """
    found: list[ChipSheet | None] = []
    key, folder = name_key(player), settings.players_folder()
    for name in settings.own_players():
        if name_key(name) == key:
            folder = settings.players_folder() / name
            found.append(_chips(folder))
    for name in settings.own_courses():
        log = _read(name) if name != but else None
        if log is None or log.chips is None:
            continue
        frame = log.chips.frame
        hers = frame[[name_key(who) == key for who in frame["player"]]]
        if len(hers):
            found.append(log.chips.replaced(hers.assign(course=name).reset_index(drop=True)))
    several = [sheet for sheet in found if sheet is not None]
    return Log(folder=folder, chips=joined(several), notes=[]) if several else None


def _read(course: str) -> Log | None:
    """Return a course's sheets; None where it has no rows, or they need mending, which its own page says."""
    try:
        return read_course(settings.own_sheets(course), accept_suspects=True)
    except SheetError:
        return None


def _chips(folder: Path) -> ChipSheet | None:
    """Return the chips of a player's own folder; None where there are no rows yet."""
    try:
        return read_player(folder, accept_suspects=True).chips
    except SheetError as error:
        if all(problem.file == str(folder) for problem in error.problems):
            return None
        raise
