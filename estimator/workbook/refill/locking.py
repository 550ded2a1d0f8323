"""One run at a time on a file: a lock that the system gives back when its owner is killed.

The lock stands in the person's folder for temporary files, so that nothing is left beside the
workbook. It does not reach another machine: there a save sees by content that the file is not
the one that was read.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from filelock import BaseFileLock, FileLock, Timeout

from estimator.errors import FileError
from estimator.workbook.refill.save import check_replaceable, clear_leftovers

PATIENCE_S = 20.0
"""How long a run waits for another; a refill takes a few seconds."""


@contextmanager
def locked(path: Path) -> Iterator[None]:
    """Keep other runs off a file while it is read, worked out and replaced.

    What a killed run left beside the file is removed. Links are followed.

    Raises:
        FileError: If another run holds the file for long, or the file can't be replaced anyway.
    """
    target = Path(os.path.realpath(path))
    check_replaceable(target)
    lock = _lock_of(target)
    try:
        clear_leftovers(target)
        yield
    finally:
        with suppress(OSError):  # the system takes it back in any case
            lock.release()


def _lock_of(target: Path) -> BaseFileLock:
    try:
        lock: BaseFileLock = FileLock(_lock_file(target))
        lock.acquire(timeout=PATIENCE_S)
        return lock
    except Timeout as error:
        raise FileError(
            "another run of the estimator is at work on this file, so nothing was written.",
            where=target.name,
            cure="Let it end, then run again.",
        ) from error
    except OSError as error:
        raise FileError(
            f"can't be locked against another run ({error.strerror or error}).",
            where=target.name,
            cure="Free some space in the folder for temporary files, or name another in TMPDIR.",
        ) from error


def _lock_file(target: Path) -> Path:
    """Where the lock of a file stands: in a folder of this person's, named by the file's path."""
    owner = os.getuid() if hasattr(os, "getuid") else ""
    folder = Path(tempfile.gettempdir()) / f"estimator-locks-{owner}"
    folder.mkdir(mode=0o700, exist_ok=True)
    name = hashlib.sha256(os.path.normcase(target).encode(errors="surrogatepass")).hexdigest()
    return folder / f"{name[:32]}.lock"
