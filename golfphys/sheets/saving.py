"""Writes files so that a crash, a full disk or a second writer never costs a row that was there.

A file is written aside, in the same folder, forced to the disk, and then put in the place of the old one in a single
step that the system does whole or not at all. A lock on a small file beside the sheet keeps two writers apart; the
system frees it when its holder ends, however it ends.
"""

import contextlib
import os
import shutil
import sys
import time
import uuid
from collections.abc import Iterator
from pathlib import Path

from golfphys.sheets.errors import Findings

if sys.platform == "win32":
    import msvcrt
else:
    import fcntl

LOCK_WAIT = 10.0
LOCK_POLL = 0.02
ASIDE = ".part"


def create_file(path: Path, data: bytes, findings: Findings) -> None:
    """Make a new file; record a problem and raise if one is there already or it cannot be written."""
    try:
        handle = os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY | _BINARY, 0o666)
    except FileExistsError:
        findings.add(
            found="a file or folder of this name",
            expected="a name that is free",
            advice="It was left as it is; choose another name.",
        )
    except (OSError, ValueError) as error:
        _add_unsaved(findings, error, "Nothing was made; check the folder and your right to write there.")
    else:
        try:
            _write_all(handle, data)
        except OSError as error:
            with contextlib.suppress(OSError):
                os.unlink(path)
            _add_unsaved(findings, error, "Nothing was made; free some space and try again.")
    findings.raise_if_any()


_BINARY: int = getattr(os, "O_BINARY", 0)


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


def replace_file(path: Path, data: bytes) -> None:
    """Put `data` in the place of the file `path`, whole or not at all.

    Raises
    ------
    OSError
        If it could not be done; the old file is then as it was.
    """
    aside = path.with_name(f".{path.name}.{os.getpid()}.{uuid.uuid4().hex[:8]}{ASIDE}")
    try:
        _write_all(os.open(aside, os.O_CREAT | os.O_EXCL | os.O_WRONLY | _BINARY, 0o600), data)
        with contextlib.suppress(PermissionError):  # some file systems have no rights to copy
            shutil.copymode(path, aside)
        os.replace(aside, path)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(aside)
        raise
    # The new file is in place; a folder that cannot be forced to the disk is no reason to report a failure, which
    # would have the row entered twice.
    with contextlib.suppress(OSError):
        _force_folder(path.parent)


def _force_folder(folder: Path) -> None:
    if sys.platform != "win32":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def remove_leftovers(path: Path) -> None:
    """Remove what a writer that was cut off left beside `path`; call it with the lock held."""
    for leftover in path.parent.glob(f".{_literal(path.name)}.*{ASIDE}"):
        with contextlib.suppress(OSError):
            leftover.unlink()


def _literal(name: str) -> str:
    return "".join(f"[{letter}]" if letter in "*?[" else letter for letter in name)


@contextlib.contextmanager
def locked(path: Path, findings: Findings, wait: float = LOCK_WAIT) -> Iterator[None]:
    """Hold the lock of the sheet `path`; record a problem and raise if it is not free within `wait` seconds."""
    handle = -1
    try:
        handle = os.open(path.with_name(f".{path.name}.lock"), os.O_CREAT | os.O_RDWR, 0o666)
        if not _wait_for_lock(handle, wait):
            findings.add(
                found=f"another program that has been adding to this sheet for {wait:g} s",
                expected="one writer at a time",
                advice="Try again; if it stays so, close the other notebook.",
            )
    except OSError as error:
        _add_unsaved(findings, error, "Nothing was added; check the folder and your right to write there.")
    try:
        findings.raise_if_any()
        yield
    finally:
        if handle >= 0:
            with contextlib.suppress(OSError):  # the row is in or its failure is reported already
                os.close(handle)  # frees the lock


def _wait_for_lock(handle: int, wait: float) -> bool:
    give_up = time.monotonic() + wait
    while True:
        try:
            _try_lock(handle)
        except (BlockingIOError, PermissionError):
            if time.monotonic() >= give_up:
                return False
            time.sleep(LOCK_POLL)
        else:
            return True


def _try_lock(handle: int) -> None:
    if sys.platform == "win32":
        msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
    else:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)


def _add_unsaved(findings: Findings, error: Exception, advice: str) -> None:
    reason = getattr(error, "strerror", None) or str(error)
    findings.add(found=f"no way to save: {reason}", expected="a place where the file can be written", advice=advice)
