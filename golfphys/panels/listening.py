"""The phone's recording becomes flights of a drop, or hang time and first hop of a chip."""

import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import ipywidgets
from matplotlib.figure import Figure

from golfphys.panels.course import Chosen
from golfphys.panels.forms import rows_of
from golfphys.panels.panel import new_figure
from golfphys.panels.pieces import LOOK, Displayed, alert, button, picture, pressed, reason, row, status, upload
from golfphys.recordings.heard import Heard, Onsets, chosen_events, corrected, find_onsets, heard_chip, heard_drop
from golfphys.recordings.opening import RecordingError, Sound, read_sound
from golfphys.sheets import append_row, mend_row, new_sheet
from golfphys.sheets.decoding import read_raw
from golfphys.sheets.dictionary import kind_of
from golfphys.show.markup import escape
from golfphys.show.recordings import plot_heard
from golfphys.show.style import LengthUnit, rendered

KINDS = {"a dropped ball": "drop", "a chip": "chip"}
EVENTS = {"drop": ("first bounce", "second bounce", "third bounce"), "chip": ("strike", "landing", "end of first hop")}
SHEETS = {"drop": "drops", "chip": "chips"}
NOT_HEARD = -1
NOT_IN_DEMO = "Make a course of your own on the start page to keep this; the demonstration stays as it is."


def kept_upload(course: Chosen, file: Any, message: Any) -> Path | None:
    """Keep an uploaded file with the course, or aside where that is the demonstration; None if it cannot be."""
    try:
        folder = Path(tempfile.mkdtemp()) if course.is_demo else course.folder / "recordings"
        folder.mkdir(exist_ok=True)
        path = folder / Path(file["name"]).name
        path.write_bytes(bytes(file["content"]))
    except OSError as problem:
        message.value = alert(f"The file could not be kept: {reason(problem)}.")
        return None
    return path


class ListeningForm(Displayed):
    """Choose a recording, see and mend what was heard in it, and put the times into the course's own sheet.

    Times of a dropped ball make a new row of the drops; those of a chip go into a row of the chip log that is there.
    """

    def __init__(self, course: Chosen) -> None:
        self.course = course
        self.sound: Sound | None = None
        self.onsets: Onsets | None = None
        self._filling = False
        self.kind = ipywidgets.Dropdown(options=list(KINDS), description="what was recorded", **LOOK)
        self.words, self.message = ipywidgets.HTML(), ipywidgets.HTML()
        self.chooser = upload("Choose a recording", ".wav,.m4a,.mp3,.ogg,.aac,.3gp,.mp4,.mov", self.message, self._came)
        unit = LengthUnit(course.unit)
        self._metres = 1.0 / float(unit.show(1.0))
        self.places = [
            ipywidgets.FloatText(
                value=1.0 if unit.metric else 3.0, description=f"from phone to {name} ({course.unit})", **LOOK
            )
            for name in ("strike", "landing")
        ]
        height = 1.5 if unit.metric else 5.0
        self.height = ipywidgets.FloatText(value=height, description=f"dropped from ({course.unit})", **LOOK)
        self.spot = ipywidgets.Text(
            value=next(iter(course.spots), "") if course.sheets else "", description="spot", **LOOK
        )
        self.row = ipywidgets.Dropdown(options=self._rows(), description="chip in the log", **LOOK)
        self.events = [ipywidgets.Dropdown(options=[("not heard", NOT_HEARD)], **LOOK) for _ in range(3)]
        self.moves = [ipywidgets.FloatText(value=0.0, step=0.5, description="moved by (ms)", **LOOK) for _ in range(3)]
        self.image = picture()
        self.player = ipywidgets.Audio(value=b"", autoplay=False, layout={"width": "min(30em, 96vw)"})
        self.button = button("Put these times into the sheet", primary=True)
        picks = [row(*pair) for pair in zip(self.events, self.moves, strict=True)]
        head = [self.kind, self.chooser, self.spot, self.height, *self.places, self.row, self.player, self.image]
        self.widget = ipywidgets.VBox([*head, *picks, self.words, self.button, self.message])
        self.kind.observe(lambda _change: self._kind_changed(), names="value")
        for widget in (*self.events, *self.moves, *self.places, self.height):
            widget.observe(lambda _change: self._picked(), names="value")
        self.button.on_click(lambda _: pressed(self.button, self.message, self.save))
        self._kind_changed()

    @property
    def kind_name(self) -> str:
        """``drop`` or ``chip``."""
        return KINDS[self.kind.value]

    def open(self, path: str | Path) -> None:
        """Read a recording and propose what is what in it."""
        self.message.value = ""
        try:
            self.sound = read_sound(path)
            self.onsets = find_onsets(self.sound)
        except RecordingError as problem:
            self.sound = self.onsets = None
            self.image.value, self.words.value = b"", ""
            self.message.value = alert(escape(str(problem)))
            return
        self.propose()

    def propose(self) -> None:
        """Take the pattern of onsets that is clearest for what was recorded."""
        if self.onsets is None:
            return
        times = self.onsets.table["time"]
        options = [("not heard", NOT_HEARD), *((f"{i + 1}: {time:.3f} s", i) for i, time in enumerate(times))]
        picks: list[int] = []
        try:
            drop = self.kind_name == "drop"
            found = heard_drop(self.onsets, drop_height=self._height()) if drop else heard_chip(self.onsets)
            picks, said = list(found.events.values()), ""
        except RecordingError as problem:
            said = alert(escape(str(problem)))
        self._filling = True
        for number, (event, move) in enumerate(zip(self.events, self.moves, strict=True)):
            event.options = options
            event.value = picks[number] if number < len(picks) else NOT_HEARD
            move.value = 0.0
        self._filling = False
        self.message.value = said
        self._picked()

    def heard(self) -> Heard | None:
        """Return what the onsets as picked and moved say; None where fewer than two are picked."""
        if self.onsets is None:
            return None
        picks = [event.value for event in self.events if event.value != NOT_HEARD]
        if len(picks) < 2 or (self.events[0].value == NOT_HEARD or self.events[1].value == NOT_HEARD):
            return None
        table = self.onsets.table.copy()
        for event, move in zip(self.events, self.moves, strict=True):
            if event.value != NOT_HEARD:
                table.loc[event.value, "time"] += move.value / 1000.0
        moved = Onsets(table=table, duration=self.onsets.duration)
        heard = chosen_events(moved, self.kind_name, picks)
        places = [place.value * self._metres for place in self.places]
        distances = places if self.kind_name == "chip" else places[1:] * 2
        return corrected(heard, distances)

    def save(self) -> None:
        """Put the times into the sheet; on any problem say which, and change nothing."""
        heard = self.heard()
        if heard is None:
            first, second, _ = EVENTS[self.kind_name]
            self.message.value = alert(f"Pick at least {first} and {second}.")
            return
        if self.course.is_demo:
            self.message.value = alert(NOT_IN_DEMO)
            return
        values = {name: round(value, 4) for name, value in heard.values.items()}
        path = self.course.folder / f"{SHEETS[self.kind_name]}.csv"
        if self.kind_name == "drop":
            if not path.exists():
                new_sheet(path, "drops", units=self.course.units)
            append_row(path, {"spot": self.spot.value, "drop_height_m": self._height(), **values}, kind="drops")
            place = "a new row"
        else:
            number = self.row.value
            if number is None:
                self.message.value = alert("The chip log has no rows yet: type the chip in first, then its times.")
                return
            place = str(self.row.label).partition(":")[0]
            mend_row(path, number, {**self._log()[number], **values}, kind="chips")
        said = ", ".join(f"{name.removesuffix('_s').replace('_', ' ')} {value:.3f} s" for name, value in values.items())
        self.message.value = status(f"{said} is now in {place} of {escape(str(path))}.")

    def _height(self) -> float | None:
        return self.height.value * self._metres if self.height.value > 0 else None

    def _rows(self) -> list[tuple[str, int]]:
        """Rows of the chip log, the newest first, as a person tells them apart."""
        shown = "club", "lie", "carry_m", "carry_ft", "rest_m", "rest_ft"
        counted = enumerate(self._log().items(), start=1)
        return [
            (f"row {place}: {', '.join(filter(None, map(cells.get, shown)))}", number)
            for place, (number, cells) in counted
        ][::-1]

    def _log(self) -> Mapping[int, dict[str, str]]:
        path = self.course.folder / "chips.csv"
        if not path.is_file():
            return {}
        return dict(rows_of(read_raw(path, kind_of("chips"))))

    def _kind_changed(self) -> None:
        chip = self.kind_name == "chip"
        for widget, shown in ((self.spot, not chip), (self.height, not chip), (self.places[0], chip), (self.row, chip)):
            widget.layout.display = None if shown else "none"
        for event, name in zip(self.events, EVENTS[self.kind_name], strict=True):
            event.description = name
        self.propose()

    def _picked(self) -> None:
        """Draw what is picked and say what it means."""
        if self._filling or self.sound is None or self.onsets is None:
            return
        try:
            heard = self.heard()
        except RecordingError as problem:
            self.words.value = alert(escape(str(problem)))
            return
        sound, onsets = self.sound, self.onsets

        def draw(figure: Figure) -> None:
            plot_heard(sound, onsets, heard, ax=figure.subplots())

        self.image.value = rendered(new_figure(draw, (8.4, 3.6)), "png")
        if heard is None:
            self.words.value = status(f"{len(onsets)} onsets were found. Pick what each was.")
            return
        said = [
            f"{name.removesuffix('_s').replace('_', ' ')}: <b>{value:.3f} s</b>, "
            f"standard error {1000 * heard.sds[name]:.1f} ms"
            for name, value in heard.values.items()
        ]
        self.words.value = status("<br>".join([*said, *(escape(note) for note in heard.notes)]))

    def _came(self, file: Any) -> None:
        path = kept_upload(self.course, file, self.message)
        if path is not None:
            self.player.value, self.player.format = path.read_bytes(), path.suffix.lstrip(".")
            self.open(path)
