"""The phone's film of a roll becomes rows of the films sheet, from clicks on a picture.

That a picture tells where it was clicked the widgets of ipywidgets do not do; anywidget carries the few lines of the
browser's side.
"""

import io
from functools import partial
from pathlib import Path
from typing import Any

import anywidget
import ipywidgets
import numpy as np
import traitlets
from matplotlib.figure import Figure

from golfphys.panels.course import Chosen
from golfphys.panels.listening import NOT_IN_DEMO, kept_upload
from golfphys.panels.panel import new_figure
from golfphys.panels.pieces import LOOK, Displayed, alert, button, picture, pressed, row, status, upload
from golfphys.recordings.filmed import drift, film_rows, speed_at_start
from golfphys.recordings.follow import Track, follow
from golfphys.recordings.opening import Clip, Grey, RecordingError, one_frame, open_clip
from golfphys.recordings.view import View, view_of
from golfphys.sheets import append_rows, new_sheet
from golfphys.show.markup import escape
from golfphys.show.recordings import plot_film_distance
from golfphys.show.style import CYCLE, LengthUnit, rendered

CORNERS = ("near left", "near right", "far right", "far left")


BROWSER_SIDE = """
function render({ model, el }) {
  const image = document.createElement("img");
  image.style.maxWidth = "100%";
  image.style.cursor = "crosshair";
  image.setAttribute("alt", "a frame of the film");
  const show = () => {
    const bytes = model.get("png");
    const old = image.src;
    image.src = URL.createObjectURL(new Blob([bytes], { type: "image/png" }));
    if (old) URL.revokeObjectURL(old);
  };
  image.addEventListener("click", (event) => {
    const box = image.getBoundingClientRect();
    const right = ((event.clientX - box.left) * image.naturalWidth) / box.width;
    const down = ((event.clientY - box.top) * image.naturalHeight) / box.height;
    model.set("clicked", [right, down, (model.get("clicked")[2] || 0) + 1]);
    model.save_changes();
  });
  model.on("change:png", show);
  show();
  el.appendChild(image);
}
export default { render };
"""


class ClickablePicture(anywidget.AnyWidget):
    """A picture whose trait `clicked` holds right, down (pixels of the picture) and the number of clicks so far."""

    _esm = BROWSER_SIDE
    png = traitlets.Bytes(b"").tag(sync=True)
    clicked = traitlets.List(traitlets.Float(), default_value=[0.0, 0.0, 0.0]).tag(sync=True)


class FilmingForm(Displayed):
    """Choose a film, click four marks, have the ball followed, mend the track, and add it to the films sheet.

    The marks are the corners of a rectangle taped on the green, clicked near left, near right, far right, far left.
    A click on the picture once all four are there sets the ball by hand in the frame that is shown.
    """

    def __init__(self, course: Chosen) -> None:
        self.course = course
        self.clip: Clip | None = None
        self.view: View | None = None
        self.track: Track | None = None
        self.marks: list[tuple[float, float]] = []
        self.by_hand: dict[float, tuple[float, float]] = {}
        self._shown: Grey | None = None
        unit = LengthUnit(course.unit)
        self.distances, self.words, self.message = picture(), ipywidgets.HTML(), ipywidgets.HTML()
        self.chooser = upload("Choose a film", "video/*", self.message, self._came)
        sides = ((3.0, "long"), (1.0, "short")) if unit.metric else ((10.0, "long"), (3.0, "short"))
        self.sides = [
            ipywidgets.FloatText(value=value, description=f"{side} side of the marks ({unit.symbol})", **LOOK)
            for value, side in sides
        ]
        self.time = ipywidgets.FloatSlider(
            value=0.0, min=0.0, max=1.0, step=1 / 30, description="shown at (s)", continuous_update=False, **LOOK
        )
        self.picture = ClickablePicture()
        self.roll = ipywidgets.Text(value="roll-1", description="name of the roll", **LOOK)
        self.spot = ipywidgets.Text(
            value=next(iter(course.spots), "") if course.sheets else "", description="spot", **LOOK
        )
        self.heading = ipywidgets.FloatText(value=0.0, description="heading (deg)", **LOOK)
        self.kind = ipywidgets.Dropdown(options=["putt", "chip", "ramp"], description="set off by", **LOOK)
        self.bar = ipywidgets.FloatProgress(min=0.0, max=1.0, layout={"width": "20em", "visibility": "hidden"})
        self.again, self.start = button("Take back the last click"), button("Follow the ball", primary=True)
        self.add = button("Add this roll to the films", primary=True)
        buttons = row(self.again, self.start, self.bar)
        head = [self.chooser, *self.sides, self.words, self.picture, self.time, buttons, self.distances]
        names = [self.roll, self.spot, self.heading, self.kind]
        self.widget = ipywidgets.VBox([*head, *names, self.add, self.message])
        self.picture.observe(lambda change: self.click(*change["new"][:2]), names="clicked")
        self.time.observe(lambda _change: self._show(), names="value")
        for item, work in ((self.again, self.take_back), (self.start, self.follow), (self.add, self.save)):
            item.on_click(lambda it, work=work: pressed(it, self.message, work, "Nothing was added"))
        self._say()

    def open(self, path: str | Path) -> None:
        """Open a film and show its first frame."""
        self.message.value = ""
        self.marks, self.by_hand, self.view, self.track = [], {}, None, None
        try:
            self.clip = open_clip(path)
            self.time.max = max(0.1, self.clip.duration if np.isfinite(self.clip.duration) else 20.0)
            self._show()
        except RecordingError as problem:
            self.clip = None
            self.message.value = alert(escape(str(problem)))
        self._say()

    def click(self, right: float, down: float) -> None:
        """Take a click on a pixel of the frame: the next mark, or, once there are four, the ball in this frame."""
        if self.clip is None:
            return
        if len(self.marks) < len(CORNERS):
            self.marks.append((right, down))
        else:
            self.by_hand[float(self.time.value)] = (right, down)
        self._draw()
        self._say()

    def take_back(self) -> None:
        """Take back the last click."""
        if self.by_hand:
            self.by_hand.popitem()
        elif self.marks:
            self.marks.pop()
        self._draw()
        self._say()

    def follow(self) -> None:
        """Have the ball followed through the film."""
        if self.clip is None or len(self.marks) < len(CORNERS):
            self.message.value = alert("Choose a film and click the four marks first.")
            return
        self.bar.layout.visibility = "visible"
        metres = [side.value / LengthUnit(self.course.unit).show(1.0) for side in self.sides]
        ground = [(0.0, 0.0), (metres[0], 0.0), (metres[0], metres[1]), (0.0, metres[1])]
        try:
            self.view = view_of(ground, self.marks, (self.clip.width, self.clip.height))
            self.track = follow(
                self.clip, self.view, by_hand=self.by_hand, progress=partial(setattr, self.bar, "value")
            )
        except RecordingError as problem:
            self.track = None
            self.message.value = alert(escape(str(problem)))
        else:
            self.message.value = ""
            track = self.track

            def draw(figure: Figure) -> None:
                plot_film_distance(track, ax=figure.subplots(), unit=self.course.unit)

            self.distances.value = rendered(new_figure(draw, (7.0, 3.2)), "png")
        finally:
            self.bar.layout.visibility = "hidden"
        self._draw()
        self._say()

    def save(self) -> None:
        """Add the roll to the films sheet; on any problem say which, and add none."""
        if self.track is None:
            self.message.value = alert("Have the ball followed first.")
            return
        if self.course.is_demo:
            self.message.value = alert(NOT_IN_DEMO)
            return
        path = self.course.folder / "films.csv"
        about = {"roll": self.roll.value, "spot": self.spot.value, "kind": self.kind.value}
        rows = film_rows(self.track, **about, heading_deg=self.heading.value)
        if not path.exists():
            new_sheet(path, "films", units=self.course.units, reference_line=self.course.line_in_words)
        append_rows(path, [{str(k): v for k, v in cells.items()} for cells in rows.to_dict("records")], kind="films")
        self.message.value = status(f"{len(rows)} rows of {escape(self.roll.value)} added to {escape(str(path))}.")

    def _say(self) -> None:
        """Say what is to be done next, or what was found."""
        if self.clip is None:
            said = "Film with the phone on a stand, all four marks in view; then choose the film."
        elif len(self.marks) < len(CORNERS):
            said = f"Click the mark that is <b>{CORNERS[len(self.marks)]}</b>."
        elif self.track is None:
            said = "Press <i>Follow the ball</i>."
        else:
            speed, off, unit = speed_at_start(self.track), drift(self.track), LengthUnit(self.course.unit)
            shown, side = unit.show(speed.value), unit.show(off.value)
            said = (
                f"Found in {len(self.track.table)} of {self.track.frames} frames. Speed at the first of them "
                f"<b>{shown:.2f} ± {unit.show(speed.sd):.2f} {unit.symbol}/s</b>; it ends {abs(side):.2f} ± "
                f"{unit.show(off.sd):.2f} {unit.symbol} to the {'left' if side > 0 else 'right'} of where it set off. "
                "Where the track leaves the ball, go to that time, click the ball, and follow again."
            )
            said += "".join(f"<br>{escape(note)}" for note in self.track.notes)
        self.words.value = status(said)

    def _show(self) -> None:
        if self.clip is not None:
            self._shown = one_frame(self.clip, self.time.value)
            self._draw()

    def _draw(self) -> None:
        """Send the frame with marks and track to the browser, pixel for pixel."""
        if self._shown is None:
            return
        from PIL import Image, ImageDraw

        frame = Image.fromarray(self._shown).convert("RGB")
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
        self.picture.png = buffer.getvalue()

    def _came(self, file: Any) -> None:
        path = kept_upload(self.course, file, self.message)
        if path is not None:
            self.open(path)
