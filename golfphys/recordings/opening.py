"""What every recording and clip must pass before it is read: a local file of a sane size, or a sentence why not."""

import os
from pathlib import Path

LARGEST_FILE = 2_000_000_000
"""Bytes; a phone's film of ten minutes is below this."""


class RecordingError(ValueError):
    """A recording or a clip that cannot be used, with what to do about it."""


def local_file(path: str | os.PathLike[str], kind: str) -> Path:
    """Return the path of a plain local file that can be read.

    Parameters
    ----------
    path : path-like
        What the user named.
    kind : str
        "recording" or "clip", for the message.

    Examples
    --------
    >>> local_file("no_such_file.wav", "recording")
    Traceback (most recent call last):
    ...
    golfphys.recordings.opening.RecordingError: no_such_file.wav: there is no such file; ...
    """
    found = Path(path)
    if not found.exists():
        raise RecordingError(f"{found}: there is no such file; check the name and the folder")
    if not found.is_file():
        raise RecordingError(f"{found}: this is no plain file; copy the {kind} from the phone and name the copy")
    size = found.stat().st_size
    if size == 0:
        raise RecordingError(f"{found}: the file is empty; copy the {kind} from the phone again")
    if size > LARGEST_FILE:
        raise RecordingError(
            f"{found}: {size / 1e9:.1f} GB is more than a {kind} of a few minutes; cut it on the phone"
        )
    return found
