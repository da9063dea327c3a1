"""Writes files so that a crash, a full disk or a second writer never costs a row that was there.

A file is written aside, in the same folder, forced to the disk, and then put in its place in a single step that the
system does whole or not at all. A lock on a small file beside the sheet keeps two writers apart; the system frees it
when its holder ends, however it ends.
"""

import contextlib
import os
import shutil
import sys
import uuid
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import NoReturn

import filelock

from golfphys.sheets.errors import Findings

LOCK_WAIT = 10.0
ASIDE = ".part"
_BINARY: int = getattr(os, "O_BINARY", 0)


def create_file(path: Path, data: bytes) -> None:
    """Make a new file, whole or not at all; raise `SheetError` if one is there already or it cannot be done."""
    findings = Findings(str(path))
    try:
        with _written_aside(path, data) as aside:
            _put_if_free(aside, path)
    except FileExistsError:
        found, advice = "a file or folder of this name", "It was left as it is; choose another name."
        findings.refuse(found=found, expected="a name that is free", advice=advice)
    except (OSError, ValueError) as error:
        refuse_unsaved(findings, error, "Nothing was made; check the folder, the space and your right to write there.")


def replace_file(path: Path, data: bytes, unchanged: Callable[[], bool] = lambda: True) -> bool:
    """Put `data` in the place of the file `path`, whole or not at all.

    `unchanged` is asked last of all whether the file is still the one that `data` was made from; False, and nothing
    done, if it is not.
    """
    with _written_aside(path, data) as aside:
        with contextlib.suppress(PermissionError):  # some file systems have no rights to copy
            shutil.copymode(path, aside)
        if not unchanged():
            return False
        os.replace(aside, path)
    # The new file is in place; a folder that cannot be forced to the disk is no reason to report a failure, which
    # would have the row entered twice.
    with contextlib.suppress(OSError):
        _force_folder(path.parent)
    return True


@contextlib.contextmanager
def _written_aside(path: Path, data: bytes) -> Iterator[Path]:
    """Write `data` into a file beside `path` and force it to the disk; it is gone afterwards unless it was moved."""
    if os.path.lexists(path) and path.is_dir():
        raise FileExistsError(None, "there is a folder of this name")
    aside = path.with_name(f".{path.name}.{os.getpid()}.{uuid.uuid4().hex[:8]}{ASIDE}")
    try:
        mode = 0o600 if path.exists() else 0o666
        _write_all(os.open(aside, os.O_CREAT | os.O_EXCL | os.O_WRONLY | _BINARY, mode), data)
        yield aside
    finally:
        with contextlib.suppress(OSError):
            os.unlink(aside)


def _put_if_free(aside: Path, path: Path) -> None:
    """Give the file its name unless something has it already."""
    try:
        os.link(aside, path)
    except FileExistsError:
        raise
    except OSError:  # a file system without links
        if os.path.lexists(path):
            raise FileExistsError(None, "there is something of this name") from None
        os.rename(aside, path)


def _write_all(handle: int, data: bytes) -> None:
    """Write every byte, force it to the disk and close; on failure close and raise."""
    try:
        view = memoryview(data)
        while view:
            written = os.write(handle, view)
            if written <= 0:
                raise OSError("the system took no more bytes")
            view = view[written:]
        os.fsync(handle)
    finally:
        os.close(handle)


def _force_folder(folder: Path) -> None:
    if sys.platform != "win32":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def remove_leftovers(path: Path) -> None:
    """Remove what a writer that was cut off left beside `path`; call it with the lock held."""
    literal = "".join(f"[{letter}]" if letter in "*?[" else letter for letter in path.name)
    for leftover in path.parent.glob(f".{literal}.*{ASIDE}"):
        with contextlib.suppress(OSError):
            leftover.unlink()


@contextlib.contextmanager
def locked(path: Path, findings: Findings, wait: float = LOCK_WAIT) -> Iterator[None]:
    """Hold the lock of the sheet `path`; raise `SheetError` if it is not free within `wait` seconds."""
    lock = filelock.FileLock(path.with_name(f".{path.name}.lock"), timeout=wait, mode=0o666)
    try:
        lock.acquire(poll_interval=0.02)
    except filelock.Timeout:
        found = f"another program that has been adding to this sheet for {wait:g} s"
        advice = "Try again; if it stays so, close the other notebook."
        findings.refuse(found=found, expected="one writer at a time", advice=advice)
    except OSError as error:
        refuse_unsaved(findings, error, "Nothing was added; check the folder and your right to write there.")
    try:
        yield
    finally:
        with contextlib.suppress(OSError):  # the row is in or its failure is reported already
            lock.release()


def refuse_unsaved(findings: Findings, error: Exception, advice: str) -> NoReturn:
    """Raise `SheetError`: something could not be saved, with the system's reason."""
    reason = getattr(error, "strerror", None) or str(error)
    findings.refuse(found=f"no way to save: {reason}", expected="a place where the file can be written", advice=advice)
