"""Putting a file in another's place so that at every moment one of them is there, whole."""

from __future__ import annotations

import errno
import os
import stat
import tempfile
import time
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from estimator.errors import FileError

__all__ = ["Saved", "lock_of", "previous_path", "write_atomically"]

_LEFTOVER_AGE_S = 3600.0


@dataclass(frozen=True, slots=True)
class Saved:
    """What a save did: ``previous`` is where the file's version from before is kept, if it is."""

    path: Path
    previous: Path | None
    changed: bool


def previous_path(path: str | Path) -> Path:
    """Where the version from before is kept: ``job.previous.xlsx`` beside ``job.xlsx``."""
    path = Path(path)
    return path.with_name(f"{path.stem}.previous{path.suffix}")


def lock_of(path: str | Path) -> Path | None:
    """The lock file by which a spreadsheet program says that it has the file open, if any."""
    path = Path(path)
    for name in (f".~lock.{path.name}#", f"~${path.name}"):
        if path.with_name(name).exists():
            return path.with_name(name)
    return None


def write_atomically(path: str | Path, data: bytes, keep_previous: bool = True) -> Saved:
    """Write a file as a whole: a temporary file beside it takes its place in one step.

    The old file keeps its permissions' bits, and its version from before is kept beside it as
    ``<name>.previous<suffix>``. If the file holds the bytes already nothing is written. A link
    is followed, so that it stays a link.

    Raises:
        FileError: If the file is open elsewhere or read-only, the folder is missing or can't be
            written to, or the disk is full; the old file is as it was.
    """
    target = Path(os.path.realpath(path))
    try:
        old = target.stat() if target.exists() else None
        if old is not None:
            _check_replaceable(target, old)
            if old.st_size == len(data) and target.read_bytes() == data:
                return Saved(Path(path), None, False)
        _clear_leftovers(target)
        return _write(Path(path), target, data, old, keep_previous)
    except OSError as error:
        raise _explained(error, target) from error


def _check_replaceable(target: Path, old: os.stat_result) -> None:
    if not stat.S_ISREG(old.st_mode):
        raise FileError(
            "There is a folder or a device of that name.",
            where=str(target),
            cure="Choose another file name.",
        )
    lock = lock_of(target)
    if lock is not None:
        raise FileError(
            "The file is open in a spreadsheet program, so nothing was written.",
            where=target.name,
            cure=f"Close it there and run again; if it is open nowhere, delete '{lock.name}' "
            "beside it.",
        )
    if not old.st_mode & (stat.S_IWUSR | stat.S_IWGRP | stat.S_IWOTH) or not os.access(
        target, os.W_OK
    ):
        raise FileError(
            "The file is read-only, so nothing was written.",
            where=target.name,
            cure="Allow writing in the file's properties, or save under another name.",
        )


def _write(
    path: Path, target: Path, data: bytes, old: os.stat_result | None, keep_previous: bool
) -> Saved:
    temporary = _temporary_with(target, data, _mode(old))
    previous = None
    try:
        if old is not None and keep_previous:
            previous = previous_path(target)
            _keep(target, previous, old)
        os.replace(temporary, target)
    finally:
        with suppress(OSError):
            temporary.unlink(missing_ok=True)
    _sync_folder(target.parent)
    return Saved(path, previous, True)


def _mode(old: os.stat_result | None) -> int:
    if old is not None:
        return stat.S_IMODE(old.st_mode)
    umask = os.umask(0)
    os.umask(umask)
    return 0o666 & ~umask


def _temporary_with(target: Path, data: bytes, mode: int) -> Path:
    """New temporary file beside the target, complete and on disk."""
    handle, name = tempfile.mkstemp(
        prefix=f".{target.name}.", suffix=".estimator.tmp", dir=target.parent
    )
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(temporary, mode)
    except BaseException:
        with suppress(OSError):
            temporary.unlink(missing_ok=True)
        raise
    return temporary


def _keep(target: Path, previous: Path, old: os.stat_result) -> None:
    """Make ``previous`` the target's present version, in one step too."""
    handle, name = tempfile.mkstemp(
        prefix=f".{target.name}.", suffix=".estimator.tmp", dir=target.parent
    )
    os.close(handle)
    link = Path(name)
    try:
        link.unlink()
        try:
            os.link(target, link)
        except OSError:  # file systems without hard links
            link = _temporary_with(target, target.read_bytes(), stat.S_IMODE(old.st_mode))
        os.replace(link, previous)
    finally:
        with suppress(OSError):
            link.unlink(missing_ok=True)


def _clear_leftovers(target: Path) -> None:
    """Remove temporary files that a killed run left; young ones may belong to another run."""
    with suppress(OSError):
        for leftover in target.parent.iterdir():
            if (
                leftover.name.startswith(f".{target.name}.")
                and leftover.name.endswith(".estimator.tmp")
                and time.time() - leftover.stat().st_mtime > _LEFTOVER_AGE_S
            ):
                leftover.unlink()


def _sync_folder(folder: Path) -> None:
    """Bring the new name to disk where the system can; the file is whole either way."""
    if os.name == "posix":
        with suppress(OSError):
            handle = os.open(folder, os.O_RDONLY)
            try:
                os.fsync(handle)
            finally:
                os.close(handle)


def _explained(error: OSError, target: Path) -> FileError:
    kept = "nothing was written" if not target.exists() else "the old file is as it was"
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        what, cure = "The disk is full", "Free some space and run again."
    elif isinstance(error, FileNotFoundError):
        what, cure = f"There is no folder '{target.parent}'", "Make it, or choose another."
    elif error.errno == errno.EROFS or not os.access(target.parent, os.W_OK):
        what = f"The folder '{target.parent.name}' can't be written to"
        cure = "Choose another folder, or allow writing to it."
    elif isinstance(error, PermissionError):
        what = "The file is open in another program or protected"
        cure = "Close it there and run again."
    else:
        what = f"The file can't be written ({error.strerror or 'unknown reason'})"
        cure = "Try another folder."
    return FileError(f"{what}; {kept}.", where=target.name, cure=cure)
