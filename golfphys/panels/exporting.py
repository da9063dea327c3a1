"""Hand out results: tables as CSV, figures as PNG and PDF, into a folder of the user's own."""

import html
import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import ipywidgets
import pandas as pd

from golfphys.panels import drawing, settings
from golfphys.panels.base import Panel, alert, busy, faults_said
from golfphys.panels.entry import listed
from golfphys.sheets import SheetError
from golfphys.sheets.errors import Findings
from golfphys.sheets.saving import create_file

FIGURE_SIZE = (7.5, 4.5)
PRINT_DPI = 200
NARROW = {"width": "12em"}

Table = pd.DataFrame | Callable[[], pd.DataFrame]
Picture = Panel | Callable[[Any], Any]


class Progress:
    """A bar that says how far a long piece of work has come, and with what it is busy.

    Examples
    --------
    >>> progress = Progress()
    >>> [step for step in progress.through(["read", "fit"], "working")]
    ['read', 'fit']
    >>> progress.bar.value, progress.bar.max
    (2, 2)
    """

    def __init__(self) -> None:
        self.bar = ipywidgets.IntProgress(value=0, min=0, max=1, layout={"width": "20em"})
        self.words = ipywidgets.HTML()
        self.widget = ipywidgets.HBox([self.bar, self.words], layout={"visibility": "hidden"})

    def through(self, steps: Sequence[Any], what: str) -> Iterator[Any]:
        """Yield the steps one after the other, moving the bar after each.

        Parameters
        ----------
        steps : sequence
            What is to be done.
        what : str
            The work in a word or two.

        Yields
        ------
        object
            Each step in turn.
        """
        self.bar.max, self.bar.value = max(len(steps), 1), 0
        self.widget.layout.visibility = "visible"
        for number, step in enumerate(steps):
            self.words.value = f"<span role='status'>{html.escape(what)}: {number + 1} of {len(steps)}</span>"
            yield step
            self.bar.value = number + 1
        self.words.value = f"<span role='status'>{html.escape(what)}: done</span>"


def free_path(folder: Path, name: str, suffix: str) -> Path:
    """Return the path of a file that is not there yet: ``name.csv``, or else ``name-2.csv`` and so on.

    Parameters
    ----------
    folder : pathlib.Path
        Where it is to be.
    name : str
        What it is to be called; spaces become hyphens.
    suffix : str
        Ending, with its point.

    Returns
    -------
    pathlib.Path
        Free at this moment.
    """
    spaced = "".join(letter if letter.isalnum() or letter in "-_" else " " for letter in name)
    plain = "-".join(spaced.split()) or "result"
    path = folder / f"{plain}{suffix}"
    number = 2
    while os.path.lexists(path):
        path = folder / f"{plain}-{number}{suffix}"
        number += 1
    return path


def save_table(table: pd.DataFrame, folder: Path, name: str) -> Path:
    """Write a table as CSV, all digits, under a name that is free.

    Parameters
    ----------
    table : DataFrame
        The result.
    folder : pathlib.Path
        Where to write it; it must exist.
    name : str
        What to call it.

    Returns
    -------
    pathlib.Path
        The new file.

    Raises
    ------
    SheetError
        If it cannot be written.
    """
    path = free_path(folder, name, ".csv")
    numbered = isinstance(table.index, pd.RangeIndex)
    create_file(path, table.to_csv(index=not numbered, lineterminator="\n").encode("utf-8"), Findings(str(path)))
    return path


def save_figure(picture: Picture, folder: Path, name: str, form: str) -> Path:
    """Write a figure under a name that is free.

    Parameters
    ----------
    picture : Panel or callable
        A panel, or a function that draws on the Axes that it is given.
    folder : pathlib.Path
        Where to write it; it must exist.
    name : str
        What to call it.
    form : {"png", "pdf"}
        File format.

    Returns
    -------
    pathlib.Path
        The new file.

    Raises
    ------
    SheetError
        If it cannot be written.
    """
    if isinstance(picture, Panel):
        figure = picture.figure()
    else:
        figure = drawing.new_figure(lambda new: picture(new.subplots()), FIGURE_SIZE)
    path = free_path(folder, name, f".{form}")
    create_file(path, drawing.rendered(figure, form, dpi=PRINT_DPI), Findings(str(path)))
    return path


class ExportForm:
    """A form that writes results into a folder: tables as CSV, figures as PNG and PDF; no file is ever overwritten.

    Parameters
    ----------
    tables : mapping of str to DataFrame or callable
        Tables by name; a function is called when its table is asked for.
    figures : mapping of str to Panel or callable
        Figures by name: panels, or functions that draw on the Axes that they are given.
    folder : path-like, optional
        Where to write; ``results`` in the folder of the user's own course if left out.

    Examples
    --------
    >>> import tempfile
    >>> form = ExportForm({"greens": pd.DataFrame({"stimp_ft": [10.0]})}, folder=tempfile.mkdtemp())
    >>> [path.name for path in form.write()]
    ['greens.csv']
    """

    def __init__(
        self,
        tables: Mapping[str, Table] | None = None,
        figures: Mapping[str, Picture] | None = None,
        *,
        folder: str | os.PathLike[str] | None = None,
    ) -> None:
        self.tables, self.figures = dict(tables or {}), dict(figures or {})
        self.folder = ipywidgets.Text(
            value=str(settings.own_sheets() / "results" if folder is None else folder),
            description="folder",
            continuous_update=False,
            layout={"width": "40em", "max_width": "100%"},
        )
        self.wanted = {
            name: ipywidgets.Checkbox(value=True, description=name, indent=False)
            for name in (*self.tables, *self.figures)
        }
        self.forms = {
            form: ipywidgets.Checkbox(value=True, description=f"figures as {form.upper()}", indent=False, layout=NARROW)
            for form in ("png", "pdf")
        }
        self.button = ipywidgets.Button(description="Write the files", button_style="primary")
        self.progress = Progress()
        self.message = ipywidgets.HTML()
        forms = list(self.forms.values()) if self.figures else []
        self.widget = ipywidgets.VBox(
            [
                *(self.folder, ipywidgets.VBox(list(self.wanted.values())), ipywidgets.HBox(forms)),
                *(ipywidgets.HBox([self.button, self.progress.widget]), self.message),
            ]
        )
        self.button.on_click(self._clicked)

    def write(self) -> list[Path]:
        """Write what is ticked.

        Returns
        -------
        list of pathlib.Path
            The new files, in order; what could not be written is said in the message.
        """
        folder = Path(self.folder.value).expanduser()
        steps = [(name, "csv") for name in self.tables if self.wanted[name].value]
        chosen = [form for form, box in self.forms.items() if box.value]
        steps += [(name, form) for name in self.figures if self.wanted[name].value for form in chosen]
        if not steps:
            self.message.value = alert("Nothing is ticked, so nothing was written.")
            return []
        written: list[Path] = []
        try:
            if settings.is_packaged(folder):
                raise ValueError(f"folder is {str(folder)!r}, within golfphys itself; expected one of your own")
            folder.mkdir(parents=True, exist_ok=True)
            for name, form in self.progress.through(steps, "writing"):
                written.append(self._one(folder, name, form))
        except SheetError as error:
            self.message.value = alert(listed(error, "Not all was written"))
        except (OSError, ValueError) as problem:
            reason = getattr(problem, "strerror", None) or str(problem)
            self.message.value = alert(f"Not all was written: {html.escape(reason)}.")
        else:
            names = ", ".join(html.escape(path.name) for path in written)
            self.message.value = f"<p role='status'>Written to {html.escape(str(folder))}: {names}.</p>"
        return written

    def _one(self, folder: Path, name: str, form: str) -> Path:
        if form == "csv":
            table = self.tables[name]
            return save_table(table if isinstance(table, pd.DataFrame) else table(), folder, name)
        return save_figure(self.figures[name], folder, name, form)

    def _clicked(self, _button: Any) -> None:
        with busy(self.button), faults_said(self.message, "The form"):
            self.write()

    def _repr_mimebundle_(self, **options: Any) -> Any:
        return self.widget._repr_mimebundle_(**options)
