"""The phone's recordings and films become rows: flights of drops and chips that were heard, rolls that were filmed."""

# ruff: noqa: I001  # several lines for a module with many names
import io
from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import lru_cache, partial
from itertools import count
from pathlib import Path
from typing import Any

import ipywidgets
import numpy as np

from golfphys.panels import settings
from golfphys.panels.clicking import ClickablePicture
from golfphys.panels.course import Chosen
from golfphys.panels.exchange import PhoneForm
from golfphys.panels.panel import LOOK, SLIDER, Refusal, asked, button, new_figure, picture, row, status, watch
from golfphys.recordings.filmed import Track, drift, film_rows, speed_at_start, view_of
from golfphys.recordings.follow import follow
from golfphys.recordings.heard import PATTERNS, Heard, Onsets, chosen_events, column_words, corrected, find_onsets
from golfphys.recordings.heard import heard_chip, heard_drop
from golfphys.recordings.opening import Clip, Grey, RecordingError, Sound, one_frame, open_clip, read_sound
from golfphys.sheets import mend_row
from golfphys.show.markup import escape
from golfphys.show.plots import plot_film_distance, plot_heard
from golfphys.show.style import CYCLE, rendered


KINDS = (("a dropped ball", "drop"), ("a chip", "chip"))
NOT_HEARD = -1


class ListeningForm(PhoneForm):
    """Choose a recording, see and mend what was heard, and put the times into the course's own sheet.

    Those of a dropped ball make a new row of the drops; those of a chip go into a row of the chip log that is there.
    """

    def __init__(self, course: Chosen) -> None:
        super().__init__(course, "Choose a recording", ".wav,.m4a,.mp3,.ogg,.aac,.3gp,.mp4,.mov")
        self.sound: Sound | None = None
        self.onsets: Onsets | None = None
        self._filling = False
        self.kind = ipywidgets.Dropdown(options=KINDS, description="what was recorded", **LOOK)
        unit, (near, high) = course.unit, (1.0, 1.5) if course.unit == "m" else (3.0, 5.0)
        places = {f"from phone to {name} ({unit})": at for name, at in (("strike", 0.0), ("landing", near))}
        self.places = [ipywidgets.FloatText(value=at, description=words, **LOOK) for words, at in places.items()]
        self.height = ipywidgets.FloatText(value=high, description=f"dropped from ({unit})", **LOOK)
        self.row = ipywidgets.Dropdown(description="chip in the log", **LOOK)
        self._saved: list[Any] = []
        self.events = [ipywidgets.Dropdown(options=[("not heard", NOT_HEARD)], **LOOK) for _ in range(3)]
        self.moves = [ipywidgets.FloatText(value=0.0, step=0.5, description="moved by (ms)", **LOOK) for _ in range(3)]
        self.image = picture()
        self.player = ipywidgets.Audio(value=b"", autoplay=False, layout={"width": "30em", "max_width": "100%"})
        self.button = button("Put these times into the sheet", self.save, primary=True)
        picks = [row(*pair) for pair in zip(self.events, self.moves, strict=True)]
        head = [self.kind, self.chooser, self.spot, self.day, self.height, *self.places, self.row, self.player]
        parts = [*head, self.image, *picks, self.words, self.button, self.anyway, self.message]
        self.widget = ipywidgets.VBox(parts)
        watch(self._kind_changed, self.kind)
        watch(self._picked, *self.events, *self.moves, *self.places, self.height)
        self._kind_changed()

    @asked()
    def open(self, path: str | Path) -> None:
        """Read a recording, give it to be played, and propose what is what in it."""
        self.sound = self.onsets = None
        self.image.value, self.player.value, self.words.value, self.message.value = b"", b"", "", ""
        sound = read_sound(path)
        self.sound, self.onsets = sound, find_onsets(sound)
        self._offer_rows()
        if self._saved and self._saved[-1][2] == self.row.label:  # that chip has its times
            self.row.index = None
        self.player.value, self.player.format = Path(path).read_bytes(), Path(path).suffix.lstrip(".")
        self.propose()

    @asked()
    def propose(self) -> None:
        """Take the pattern of onsets that is clearest for what was recorded."""
        if self.onsets is None:
            return
        times = enumerate(self.onsets.table["time"])
        options = [("not heard", NOT_HEARD), *((f"{number + 1}: {time:.3f} s", number) for number, time in times)]
        self.message.value, self._filling = "", True
        for event, move in zip(self.events, self.moves, strict=True):
            event.options, event.value, move.value = options, NOT_HEARD, 0.0
        try:
            drop = self.kind.value == "drop"
            found = heard_drop(self.onsets, drop_height=self._height()) if drop else heard_chip(self.onsets)
            for event, pick in zip(self.events, found.events.values(), strict=False):
                event.value = pick
        finally:
            self._filling = False
            self._picked()

    def heard(self) -> Heard | None:
        """Return what the onsets as picked and moved say; None where fewer than two are picked."""
        picks = [event.value for event in self.events]
        if self.onsets is None or NOT_HEARD in picks[:2]:
            return None
        table, picks = self.onsets.table.copy(), [pick for pick in picks if pick != NOT_HEARD]
        for pick, move in zip(picks, self.moves, strict=False):
            table.loc[pick, "time"] += move.value / 1000.0
        heard = chosen_events(replace(self.onsets, table=table), self.kind.value, picks)
        places = [place.value * self.course.metres or None for place in self.places]  # none is typed as 0
        return corrected(heard, places if self.kind.value == "chip" else places[1:] * 2)

    @asked()
    def save(self, *, accept_suspects: bool = False) -> None:
        """Put the times into the sheet; on any problem say which, and change nothing."""
        if (heard := self.heard()) is None:
            first, second, _ = PATTERNS[self.kind.value][0]
            raise Refusal(f"Pick at least {first} and {second}.")
        self._needs_own_course()
        values = {name: round(value, 4) for name, value in heard.values.items()}
        chip = self.row.label if self.kind.value == "chip" else ""
        (name, value), *_ = values.items()
        there = repr(value) in self.course.words(f"{self.kind.value}s", name)  # it may have been deleted
        if (saved := (self.sound and self.sound.path, values, chip)) in self._saved and there:
            raise Refusal("These times are in the sheet already.")
        path, said = self.course.folder / f"{self.kind.value}s.csv", list[str]()
        if self.kind.value == "drop":
            cells = {**self._about, "drop_height_m": self._height(), **values}
            self.course.add("drops", [cells], accept_suspects=accept_suspects)
            place = "a new row"
        elif (self.row.label, number := self.row.value) not in self._rows():
            self._offer_rows()
            raise Refusal(
                "Choose the chip in the log: these are its rows now. If it has none yet, type the chip in first."
            )
        else:
            log = self._log()[number]
            mend_row(path, number, values, kind="chips", accept_suspects=accept_suspects, there=log)
            place = str(self.row.label).partition(":")[0]
            said = [f"{column_words(name)} {log[name]} s" for name in values if log.get(name)]
        self._saved.append(saved)
        now = ", ".join(f"{column_words(name)} {value:.3f} s" for name, value in values.items())
        instead = f", in place of {', '.join(said)}" if said else ""
        self.message.value = status(escape(f"{now} is now in {place} of {path}{instead}."))

    def _height(self) -> float | None:
        return self.height.value * self.course.metres if self.height.value > 0 else None

    def _rows(self) -> list[tuple[str, int]]:
        """Rows of the chip log, the newest first, as a person tells them apart."""
        shown = "club", "lie", "carry_m", "carry_ft", "rest_m", "rest_ft"
        named = [
            (f"row {place}: {', '.join(filter(None, map(cells.get, shown)))}", number)
            for place, (number, cells) in enumerate(self._log().items(), start=1)
        ]
        return named[::-1]

    def _offer_rows(self) -> None:
        """Offer the rows of the log as they are now; a row that was chosen stays so."""
        rows, chosen = self._rows(), (self.row.label, self.row.value)
        self.row.options = rows
        self.row.index = rows.index(chosen) if chosen in rows else 0 if rows and chosen[1] is None else None

    def _log(self) -> Mapping[int, dict[str, str]]:
        raw = settings.raw_sheet(self.course.folder, "chips")
        return raw.rows if raw else {}

    def _kind_changed(self) -> None:
        self._offer_rows()
        chip = self.kind.value == "chip"
        for widget in (self.spot, self.day, self.height, self.places[0], self.row):
            widget.layout.display = None if chip == (widget in (self.places[0], self.row)) else "none"
        for event, name in zip(self.events, PATTERNS[self.kind.value][0], strict=True):
            event.description = name
        self.propose()

    @asked()
    def _picked(self) -> None:
        """Draw what is picked and say what it means."""
        sound, onsets, self.words.value = self.sound, self.onsets, ""
        if self._filling or sound is None or onsets is None:
            return
        heard = self.heard()
        self.image.value = drawn(lambda ax: plot_heard(sound, onsets, heard, ax=ax), (8.4, 3.6))
        if heard is None:
            self.words.value = status(f"{len(onsets)} onsets were found. Pick what each was.")
            return
        said = [
            f"{column_words(name)}: <b>{value:.3f} s</b>, standard error {1000 * heard.sds[name]:.1f} ms"
            for name, value in heard.values.items()
        ]
        self.words.value = status("<br>".join([*said, *(escape(note) for note in heard.notes)]))


def drawn(draw: Callable[[Any], Any], size: tuple[float, float]) -> bytes:
    """Return the PNG of a figure of `size` (inches) with what `draw` draws on the Axes that it is given."""
    return rendered(new_figure(lambda figure: draw(figure.subplots()), size), "png")


CORNERS = ("near left", "near right", "far right", "far left")
SIDES = ("marks, from left to right", "marks, from near to far")


class FilmingForm(PhoneForm):
    """Choose a film, click four marks, have the ball followed, mend the track, and add it to the films sheet.

    The marks are the corners of a rectangle taped on the green, clicked near left, near right, far right, far left, as
    the picture shows them.
    A click on the picture once all four are there sets the ball by hand in the frame that is shown.
    """

    def __init__(self, course: Chosen) -> None:
        super().__init__(course, "Choose a film", "video/*")
        self.clip: Clip | None = None
        self.track: Track | None = None
        self.followed: Any = None  # what the track was made from
        self._saved: Any = None  # what the last roll was made from, and its name
        self.marks: list[tuple[float, float]] = []
        self.by_hand: dict[float, tuple[float, float]] = {}
        self.distances = picture()
        sides = zip(SIDES, (3.0, 1.0) if course.unit == "m" else (10.0, 3.0), strict=True)
        labels = {f"{name} ({course.unit})": at for name, at in sides}
        self.sides = [ipywidgets.FloatText(value=at, description=label, **LOOK) for label, at in labels.items()]
        stills = {"min": 0.0, "max": 1.0, "step": 1 / 30, "continuous_update": False}
        self.time = ipywidgets.FloatSlider(value=0.0, description="shown at (s)", **stills, **SLIDER)
        self.picture = ClickablePicture()
        self.roll = ipywidgets.Text(value=self._free_name(), description="name of the roll", **LOOK)
        self.heading = ipywidgets.Text(placeholder="blank: not noted", description="heading (deg)", **LOOK)
        self.kind = ipywidgets.Dropdown(options=["putt", "chip", "ramp"], description="set off by", **LOOK)
        self.bar = ipywidgets.FloatProgress(min=0.0, max=1.0, layout={"width": "20em", "visibility": "hidden"})
        self.button = button("Follow the ball", self.follow, primary=True)
        self.add = button("Add this roll to the films", self.save, primary=True)
        buttons = row(button("Take back the last click", self.take_back), self.button, self.bar)
        head = [self.chooser, *self.sides, self.words, self.picture, self.time, buttons, self.distances]
        names = [self.roll, self.spot, self.day, self.heading, self.kind]
        self.widget = ipywidgets.VBox([*head, *names, self.add, self.anyway, self.message])
        self.picture.observe(lambda change: self.click(*change["new"][:2]), names="clicked")
        watch(self._draw, self.time)
        watch(self._say, *self.sides)
        self._say()

    @asked()
    def open(self, path: str | Path) -> None:
        """Open a film and show its first frame."""
        self.message.value = ""
        self.clip, self.marks, self.by_hand, self.track = None, [], {}, None
        self.time.value, self.distances.value, self.picture.png = 0.0, b"", b""
        self._say()
        clip = open_clip(path)
        self._frame = lru_cache(maxsize=1)(partial(one_frame, clip))  # a late frame takes a second to find
        self._frame(0.0)
        self.clip = clip
        self.time.max = max(0.1, clip.duration if np.isfinite(clip.duration) else 20.0)
        self._draw()

    def click(self, right: float, down: float) -> None:
        """Take a click on a pixel of the frame: the next mark, or, once there are four, the ball in this frame."""
        if self.clip is None:
            return
        if len(self.marks) < len(CORNERS):
            self.marks.append((right, down))
        else:
            self.by_hand[float(self.time.value)] = (right, down)
        self._draw()

    @asked()
    def take_back(self) -> None:
        """Take back the last click."""
        if self.by_hand:
            self.by_hand.popitem()
        elif self.marks:
            self.marks.pop()
        self._draw()

    @property
    def _given(self) -> Any:
        """What a track is made from."""
        return *self.marks, *self.by_hand.items(), *(side.value for side in self.sides)

    @asked()
    def follow(self) -> None:
        """Have the ball followed through the film."""
        if self.clip is None or len(self.marks) < len(CORNERS):
            raise Refusal("Choose a film and click the four marks first.")
        self.track, self.bar.layout.visibility, self.distances.value, given = None, "visible", b"", self._given
        across, away = (side.value * self.course.metres for side in self.sides)
        ground = [(0.0, 0.0), (across, 0.0), (across, away), (0.0, away)]
        try:
            view = view_of(ground, self.marks, (self.clip.width, self.clip.height))
            track = follow(self.clip, view, by_hand=self.by_hand, progress=partial(setattr, self.bar, "value"))
            self.message.value, self.track, self.followed = "", track, given
            self.distances.value = drawn(lambda ax: plot_film_distance(track, ax=ax, unit=self.course.unit), (7.0, 3.2))
        finally:
            self.bar.layout.visibility = "hidden"
            self._draw()

    @asked("Nothing was added")
    def save(self, *, accept_suspects: bool = False) -> None:
        """Add the roll to the films sheet; on any problem say which, and add none."""
        if self.track is None or self.followed != self._given:
            raise Refusal("Have the ball followed first, with sides and clicks as they are now.")
        self._needs_own_course()
        made = self.clip and self.clip.path, self.followed
        if self._saved and self._saved[0] == made and self._saved[1] in self.course.words("films", "roll"):
            raise Refusal(f"This roll is in the films already, as {self._saved[1]}.")
        about = {"roll": self.roll.value, "spot": self.spot.value, "kind": self.kind.value}
        rows = film_rows(self.track, **about).assign(**self._about, heading_deg=self.heading.value)
        cells = [{str(name): value for name, value in row.items()} for row in rows.to_dict("records")]
        path = self.course.add("films", cells, accept_suspects=accept_suspects)
        self.message.value = status(f"{len(rows)} rows of {escape(self.roll.value)} added to {escape(str(path))}.")
        self._saved = made, self.roll.value.strip()
        self.track, self.roll.value = None, self._free_name()  # not to be added twice under two names

    def _free_name(self) -> str:
        """Return a name that no roll of the films has yet."""
        names = self.course.words("films", "roll")
        return next(name for number in count(1) if (name := f"roll-{number}") not in names)

    def _say(self) -> None:
        """Say what is to be done next, or what was found."""
        if self.clip is None:
            said = "Film with the phone on a stand, all four marks in view; then choose the film."
        elif len(self.marks) < len(CORNERS):
            said = f"Click the mark that is <b>{CORNERS[len(self.marks)]}</b> (or arrow keys, then Enter)."
        elif self.track is None or self.followed != self._given:
            said = "Press <i>Follow the ball</i>."
        else:
            unit, metres, off = self.course.unit, self.course.metres, drift(self.track)
            try:
                speed = speed_at_start(self.track)
                quick = f"<b>{speed.value / metres:.2f} ± {speed.sd / metres:.2f} {unit}/s</b>"
            except RecordingError as few:
                quick = f"not known ({few})"
            said = (
                f"Found in {len(self.track.table)} of {self.track.frames} frames. Speed at the first of them "
                f"{quick}; it ends "
                f"{abs(off.value) / metres:.2f} ± {off.sd / metres:.2f} {unit} to the "
                f"{'left' if off.value > 0 else 'right'} of where it set off. "
                "Where the track leaves the ball, go to that time, click the ball, and follow again."
            )
            said += "".join(f"<br>{escape(note)}" for note in self.track.notes)
        self.words.value = status(said)

    def _draw(self) -> None:
        """Send the frame to the browser, then say what comes next: whoever reads that sees the frame it is about."""
        if self.clip is not None:
            self.picture.png = self._marked(self._frame(self.time.value))
        self._say()

    def _marked(self, shown: Grey) -> bytes:
        """Return the PNG of a frame with marks and track, pixel for pixel."""
        from PIL import Image, ImageDraw

        frame = Image.fromarray(shown).convert("RGB")
        pen = ImageDraw.Draw(frame)
        for right, down in self.marks:
            pen.line([(right - 9, down), (right + 9, down)], fill=CYCLE[4], width=2)
            pen.line([(right, down - 9), (right, down + 9)], fill=CYCLE[4], width=2)
        if self.track is not None:
            for place in self.track.table[["right", "down"]].to_numpy(dtype=float):
                pen.ellipse([*(place - 2), *(place + 2)], outline=CYCLE[1])
        for right, down in self.by_hand.values():
            pen.ellipse([right - 6, down - 6, right + 6, down + 6], outline=CYCLE[6], width=2)
        buffer = io.BytesIO()
        frame.save(buffer, format="PNG", compress_level=3)
        return buffer.getvalue()
