"""Putting a file in another's place so that at every moment one of them is there, whole."""

from __future__ import annotations

import errno
import hashlib
import math
import os
import stat
import tempfile
import time
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from estimator.errors import FileError

__all__ = [
    "Saved",
    "Seen",
    "bytes_at",
    "check_replaceable",
    "clear_leftovers",
    "lock_of",
    "previous_path",
    "refilled_path",
    "write_atomically",
]

_LEFTOVER_AGE_S = 3600.0


@dataclass(frozen=True, slots=True)
class Saved:
    """What a save did: ``previous`` is where the file's version from before is kept, if it is."""

    path: Path
    previous: Path | None
    changed: bool


@dataclass(frozen=True, slots=True)
class Seen:
    """What a file held when it was read: the SHA-256 of its bytes, or None where there was none."""

    digest: bytes | None

    @classmethod
    def of(cls, data: bytes | None) -> Seen:
        """What is seen of a file with these bytes."""
        return cls(None if data is None else hashlib.sha256(data).digest())

    @classmethod
    def at(cls, path: Path) -> Seen:
        """What is seen of a path now.

        Raises:
            OSError: If there is something that can't be read.
        """
        try:
            return cls.of(path.read_bytes())
        except FileNotFoundError:
            return cls.of(None)


def bytes_at(path: Path) -> bytes | None:
    """What a file holds; None where there is none.

    Raises:
        FileError: If there is something that can't be read.
    """
    try:
        return path.read_bytes()
    except FileNotFoundError:
        return None
    except OSError as error:
        raise FileError(
            f"What stands there can't be read ({error.strerror or 'unknown reason'}).",
            where=path.name,
            cure="Choose another name, or see to the disk and run again.",
        ) from error


def previous_path(path: str | Path) -> Path:
    """Where the version from before is kept: ``job.previous.xlsx`` beside ``job.xlsx``."""
    path = Path(path)
    return path.with_name(f"{path.stem}.previous{path.suffix}")


def refilled_path(path: str | Path, number: int = 1) -> Path:
    """Where a new version goes that can't take a file's place: ``job.refilled.xlsx`` beside it."""
    path = Path(path)
    again = "" if number == 1 else f".{number}"
    return path.with_name(f"{path.stem}.refilled{again}{path.suffix}")


def lock_of(path: str | Path) -> Path | None:
    """The lock file by which a spreadsheet program says that it has the file open, if any."""
    path = Path(path)
    for name in (f".~lock.{path.name}#", f"~${path.name}"):
        if path.with_name(name).exists():
            return path.with_name(name)
    return None


def write_atomically(
    path: str | Path, data: bytes, keep_previous: bool = True, seen: Seen | None = None
) -> Saved:
    """Write a file as a whole: a temporary file beside it takes its place in one step.

    The old file keeps its permissions' bits, and its version from before is kept beside it as
    ``<name>.previous<suffix>``. If the file holds the bytes already nothing is written. A link
    is followed, so that it stays a link.

    Args:
        path: The file.
        data: Its new bytes.
        keep_previous: Whether its version from before is kept.
        seen: What the file held when ``data`` was made from it. If it holds something else now
            it is left, and ``data`` is written beside it.

    Raises:
        FileError: If the file is open elsewhere or read-only, the folder is missing or can't be
            written to, or the disk is full; the old file is as it was. Also if it is not the one
            that was seen: the sentence names the file beside it.
    """
    target = Path(os.path.realpath(path))
    try:
        old = target.stat() if target.exists() else None
        if old is not None:
            check_replaceable(target)
            if old.st_size == len(data) and target.read_bytes() == data:
                return Saved(Path(path), None, False)
        clear_leftovers(target, older_than_s=_LEFTOVER_AGE_S)
        return _write(Path(path), target, data, old, keep_previous, seen)
    except OSError as error:
        raise _explained(error, target) from error


def check_replaceable(target: Path) -> None:
    """Refuse a file that can't be replaced as it is; one that isn't there can.

    Raises:
        FileError: If it is open in a spreadsheet program, read-only, or no file at all, or the
            disk does not tell.
    """
    try:
        _check_replaceable(target)
    except OSError as error:
        raise _explained(error, target) from error


def _check_replaceable(target: Path) -> None:
    if not target.exists():
        return
    old = target.stat()
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
    path: Path,
    target: Path,
    data: bytes,
    old: os.stat_result | None,
    keep_previous: bool,
    seen: Seen | None,
) -> Saved:
    temporary = _temporary_with(target, data, _mode(old))
    previous = None
    try:
        if seen is not None and Seen.at(target) != seen:
            raise _another(target, _put_beside(target, temporary))
        if old is not None and keep_previous:
            previous = previous_path(target)
            try:
                _keep(target, previous, old)
            except PermissionError as error:
                raise _not_kept(error, target, previous) from error
        os.replace(temporary, target)
    finally:
        with suppress(OSError):
            temporary.unlink(missing_ok=True)
    _sync_folder(target.parent)
    return Saved(path, previous, True)


def _put_beside(target: Path, temporary: Path) -> Path:
    """Give the complete temporary file the first free name beside the target."""
    number = 1
    while True:
        beside = refilled_path(target, number)
        try:
            os.close(os.open(beside, os.O_CREAT | os.O_EXCL | os.O_WRONLY))
        except FileExistsError:
            number += 1
            continue
        os.replace(temporary, beside)
        return beside


def _another(target: Path, beside: Path) -> FileError:
    changed = "was changed" if target.exists() else "was moved or deleted"
    return FileError(
        f"The file {changed} while this run worked on it, so it was left as it is.",
        where=target.name,
        cure=f"What came of the one that was read stands beside it in '{beside.name}'. Run again"
        " for what the file holds now.",
    )


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


def clear_leftovers(target: Path, older_than_s: float = -math.inf) -> None:
    """Remove temporary files that a killed run left.

    Without the lock on the file young ones may belong to another run.
    """
    with suppress(OSError):
        for leftover in target.parent.iterdir():
            if (
                leftover.name.startswith(f".{target.name}.")
                and leftover.name.endswith(".estimator.tmp")
                and time.time() - leftover.stat().st_mtime >= older_than_s
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


def _there(target: Path) -> bool:
    try:
        return target.exists()
    except OSError:
        return True  # nobody took it away


def _not_kept(error: PermissionError, target: Path, previous: Path) -> FileError:
    """Where the version from before can't be kept: that file is at fault, not the target."""
    if not previous.exists() or not os.access(target.parent, os.W_OK):
        return _explained(error, target)
    return FileError(
        "The version from before can't be put there: that file is open in another program or "
        f"read-only. '{target.name}' is as it was.",
        where=previous.name,
        cure="Close it there or allow writing to it, and run again.",
    )


def _explained(error: OSError, target: Path) -> FileError:
    kept = "the old file is as it was" if _there(target) else "nothing was written"
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
