"""What panels and forms are made of: what they say, and their widgets, each made in one way.

What goes wrong is said beside the button that was pressed, in plain words, and a fault of the program as such.
"""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Any

import ipywidgets

from golfphys.recordings.opening import RecordingError
from golfphys.sheets import SheetError
from golfphys.show import style
from golfphys.show.markup import escape

LINES = "line-height: 1.45; margin: 0.4em 0"
"""Style of everything said in words: the notebook's own lines stand far apart."""
LABEL_WIDTH, LAYOUT = "min(19em, 45vw)", {"width": "min(40em, 96vw)", "max_width": "100%"}
LOOK: dict[str, Any] = {"style": {"description_width": LABEL_WIDTH}, "layout": LAYOUT}


class Displayed:
    """What shows its `widget` as the last line of a cell."""

    widget: Any

    def _repr_mimebundle_(self, **options: Any) -> Any:
        return self.widget._repr_mimebundle_(**options)


# words


def length(metres: float, unit: str, digits: int = 1) -> str:
    """Return a length in words, with its unit.

    Examples
    --------
    >>> length(3.048, "ft"), length(math.inf, "m")
    ('10.0 ft', 'no end')
    """
    if not math.isfinite(metres):
        return "no end"
    return f"{style.LengthUnit(unit).show(metres):.{digits}f} {unit}"


def alert(words: str) -> str:
    """Return `words`, HTML, as a message that a screen reader speaks at once."""
    return f"<div role='alert' style='{LINES}; border-left: 4px solid #D55E00; padding-left: 0.6em'>{words}</div>"


def status(words: str) -> str:
    """Return `words`, HTML, as a message that a screen reader speaks when it has time."""
    return f"<div role='status' style='{LINES}'>{words}</div>"


def reason(problem: Exception) -> str:
    """Return why something failed, without the codes of the system, as HTML."""
    return escape(getattr(problem, "strerror", None) or str(problem))


def html_table(headings: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Return cells as an HTML table, signs of markup shown as they are.

    Examples
    --------
    >>> "&lt;b&gt;" in html_table(["note"], [["<b>"]])
    True
    """
    look = "style='padding: 0.1em 0.8em 0.1em 0; text-align: left'"
    head = "".join(f"<th {look}>{escape(name)}</th>" for name in headings)
    body = "".join(f"<tr>{''.join(f'<td {look}>{escape(cell)}</td>' for cell in row)}</tr>" for row in rows)
    return f"<div style='overflow-x: auto'><table style='{LINES}'><tr>{head}</tr>{body}</table></div>"


def listed(problems: Sequence[Any], head: str) -> str:
    """Return problems of a sheet as HTML, the first eight of them."""
    items = "".join(f"<li>{escape(str(problem))}</li>" for problem in problems[:8])
    more = f"<li>and {len(problems) - 8} more</li>" if len(problems) > 8 else ""
    return f"<b>{escape(head)}.</b><ul style='margin:0.2em 0'>{items}{more}</ul>"


@contextmanager
def faults_said(message: Any, what: str) -> Iterator[None]:
    """Say a fault of the program in the widget `message` as well as raise it, for a kernel hides it in a log."""
    try:
        yield
    except Exception as fault:
        said = escape(f"{type(fault).__name__}: {fault}")
        message.value = alert(f"<b>{what} failed</b>, which is a fault of the program, not yours: {said}")
        raise


@contextmanager
def busy(button: Any, message: Any, what: str) -> Iterator[None]:
    """Keep a button from being pressed twice while its work is done, and say a fault of the program."""
    button.disabled = True
    try:
        with faults_said(message, what):
            yield
    finally:
        button.disabled = False


def pressed(
    pressed_on: Any,
    message: Any,
    work: Callable[[], Any],
    failed: str = "Nothing was changed",
    listing: Callable[[Sequence[Any], str], str] = listed,
) -> Any:
    """Do what a button asks for and return what comes of it; say why it cannot be done, and then return None."""
    with busy(pressed_on, message, "The form"):
        try:
            return work()
        except SheetError as error:
            message.value = alert(listing(error.problems, failed))
        except RecordingError as problem:
            message.value = alert(escape(str(problem)))
        except OSError as problem:
            message.value = alert(f"<b>{failed}:</b> {reason(problem)}.")
    return None


# widgets


def button(words: str, *, primary: bool = False) -> Any:
    """Return a button as wide as its words; a page's main one is `primary`."""
    look = {"button_style": "primary"} if primary else {}
    return ipywidgets.Button(description=words, layout={"width": "auto"}, **look)


def row(*widgets: Any) -> Any:
    """Return widgets beside each other, below each other where the page is narrow."""
    return ipywidgets.Box(widgets, layout={"flex_flow": "row wrap"})


def picture(content: bytes = b"") -> Any:
    """Return a place for a picture, no wider than the page."""
    return ipywidgets.Image(value=content, format="png", layout={"max_width": "100%"})


def upload(words: str, accept: str, message: Any, work: Callable[[Any], Any]) -> Any:
    """Return a button that brings a file from the reader's machine into the page, and then does `work` with it."""
    chooser = ipywidgets.FileUpload(accept=accept, description=words, layout={"width": "16em"})

    def came(change: Mapping[str, Any]) -> None:
        if change["new"]:
            with busy(chooser, message, "The form"):
                work(change["new"][0])

    chooser.observe(came, names="value")
    return chooser
