"""Saving over a file people own: the old one or the new one, whole, at every moment."""

from __future__ import annotations

import builtins
import errno
import os
import random
import signal
import stat
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from estimator.errors import FileError
from estimator.workbook.refill import save
from estimator.workbook.refill.save import lock_of, previous_path, write_atomically

posix = pytest.mark.skipif(os.name != "posix", reason="needs fork, signals or permission bits")
OLD, NEW = b"old" * 50_000, b"newer" * 60_000


@pytest.fixture
def book(tmp_path: Path) -> Path:
    path = tmp_path / "job.xlsx"
    path.write_bytes(OLD)
    return path


def others(path: Path) -> list[str]:
    """What else is in the folder."""
    return sorted(p.name for p in path.parent.iterdir() if p != path)


def in_child(work: Callable[[], object]) -> int:
    """Run something in a process of its own; the status that it ended with."""
    child = os.fork()
    if child == 0:
        try:
            work()
            os._exit(0)
        except FileError:
            os._exit(3)
        except BaseException:
            os._exit(4)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def test_a_save_replaces_the_file_and_keeps_the_version_from_before(book: Path) -> None:
    saved = write_atomically(book, NEW)
    assert book.read_bytes() == NEW
    assert saved.previous == previous_path(book) == book.with_name("job.previous.xlsx")
    assert previous_path(book).read_bytes() == OLD
    write_atomically(book, b"third")
    assert previous_path(book).read_bytes() == NEW
    assert others(book) == ["job.previous.xlsx"]


def test_the_kept_version_is_not_changed_by_later_writing_into_the_file(book: Path) -> None:
    write_atomically(book, NEW)
    with builtins.open(book, "r+b") as file:
        file.write(b"scribble")
    assert previous_path(book).read_bytes() == OLD


def test_a_new_file_has_nothing_to_keep(tmp_path: Path) -> None:
    saved = write_atomically(tmp_path / "new.xlsx", NEW)
    assert saved.previous is None
    assert others(tmp_path / "new.xlsx") == []
    umask = os.umask(0)
    os.umask(umask)
    assert stat.S_IMODE((tmp_path / "new.xlsx").stat().st_mode) == 0o666 & ~umask


def test_saving_the_same_bytes_touches_nothing(book: Path) -> None:
    before = book.stat().st_mtime_ns
    assert not write_atomically(book, OLD).changed
    assert book.stat().st_mtime_ns == before
    assert others(book) == []


def test_no_version_is_kept_where_none_is_wanted(book: Path) -> None:
    write_atomically(book, NEW, keep_previous=False)
    assert others(book) == []


@posix
def test_permissions_stay_and_a_link_stays_a_link(book: Path) -> None:
    book.chmod(0o640)
    link = book.with_name("link.xlsx")
    link.symlink_to(book)
    write_atomically(link, NEW)
    assert link.is_symlink()
    assert book.read_bytes() == NEW
    assert stat.S_IMODE(book.stat().st_mode) == 0o640


@pytest.mark.parametrize("lock", [".~lock.job.xlsx#", "~$job.xlsx"])
def test_a_file_that_is_open_in_a_spreadsheet_program_is_left_alone(book: Path, lock: str) -> None:
    book.with_name(lock).write_bytes(b"someone")
    assert lock_of(book) == book.with_name(lock)
    with pytest.raises(FileError, match="open in a spreadsheet program") as caught:
        write_atomically(book, NEW)
    assert lock in caught.value.cure
    assert book.read_bytes() == OLD
    assert others(book) == [lock]


def test_a_read_only_file_is_left_alone(book: Path) -> None:
    book.chmod(0o444)
    with pytest.raises(FileError, match="read-only"):
        write_atomically(book, NEW)
    assert book.read_bytes() == OLD
    assert others(book) == []


def test_a_missing_folder_and_a_folder_of_that_name_are_said(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="no folder"):
        write_atomically(tmp_path / "gone" / "job.xlsx", NEW)
    with pytest.raises(FileError, match="folder or a device"):
        write_atomically(tmp_path, NEW)


def test_a_folder_that_can_t_be_written_to_is_said(
    book: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(errno.EACCES, "Permission denied")

    real = os.access
    monkeypatch.setattr(save.tempfile, "mkstemp", refuse)
    monkeypatch.setattr(os, "access", lambda p, mode: Path(p) != book.parent and real(p, mode))
    with pytest.raises(FileError, match="can't be written to; the old file is as it was"):
        write_atomically(book, NEW)
    assert book.read_bytes() == OLD


def test_a_file_held_open_where_that_bars_replacing_is_said(
    book: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = os.replace

    def refuse(source: Any, target: Any) -> None:
        if Path(target) == book:
            raise PermissionError(errno.EACCES, "Access is denied")
        real(source, target)

    monkeypatch.setattr(os, "replace", refuse)
    with pytest.raises(FileError, match="open in another program"):
        write_atomically(book, NEW)
    assert book.read_bytes() == OLD
    assert others(book) == ["job.previous.xlsx"]


@pytest.mark.parametrize("failing", ["write", "fsync"])
def test_a_full_disk_leaves_the_old_file_whole_and_no_litter(
    book: Path, monkeypatch: pytest.MonkeyPatch, failing: str
) -> None:
    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    real = os.fdopen

    class Full:
        def __init__(self, file: Any) -> None:
            self.file = file

        def __enter__(self) -> Full:
            return self

        def __exit__(self, *_: object) -> None:
            self.file.close()

        def write(self, data: bytes) -> None:
            self.file.write(data[:1000])
            full()

    if failing == "write":
        monkeypatch.setattr(os, "fdopen", lambda *a: Full(real(*a)))
    else:
        monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(FileError, match="disk is full; the old file is as it was"):
        write_atomically(book, NEW)
    assert book.read_bytes() == OLD
    assert others(book) == []


@posix
def test_a_file_size_limit_of_the_system_leaves_the_old_file_whole(book: Path) -> None:
    import resource

    def limited() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, 100_000))
        write_atomically(book, NEW)

    assert in_child(limited) == 3
    assert book.read_bytes() == OLD
    assert others(book) == []


def test_without_hard_links_the_version_from_before_is_copied(
    book: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> None:
        raise OSError(errno.EPERM, "Operation not permitted")

    monkeypatch.setattr(os, "link", refuse)
    write_atomically(book, NEW)
    assert previous_path(book).read_bytes() == OLD
    assert others(book) == ["job.previous.xlsx"]


def test_litter_of_a_killed_run_is_cleared_later_but_not_that_of_a_running_one(
    book: Path,
) -> None:
    stale = book.with_name(".job.xlsx.abc.estimator.tmp")
    fresh = book.with_name(".job.xlsx.def.estimator.tmp")
    for path in (stale, fresh):
        path.write_bytes(b"half")
    os.utime(stale, (time.time() - 7200, time.time() - 7200))
    write_atomically(book, NEW)
    assert others(book) == [fresh.name, "job.previous.xlsx"]


STEPS = ("replace", "link", "fsync", "chmod", "unlink", "close", "fdopen", "open")


def dies_at(step: int, path: Path) -> None:
    """Save, and kill this very process just before, or half through, its n-th system step."""
    count = [0]

    def counted(real: Callable[..., Any]) -> Callable[..., Any]:
        def call(*args: Any, **keywords: Any) -> Any:
            count[0] += 1
            if count[0] == step:
                os.kill(os.getpid(), signal.SIGKILL)
            return real(*args, **keywords)

        return call

    for name in STEPS:
        setattr(os, name, counted(getattr(os, name)))
    real_fdopen = os.fdopen

    def slow_fdopen(*args: Any) -> Any:
        file = real_fdopen(*args, 0)
        raw_write = file.write

        class InPieces:
            def __enter__(self) -> InPieces:
                return self

            def __exit__(self, *_: object) -> None:
                file.close()

            def write(self, data: bytes) -> None:
                for start in range(0, len(data), 50_000):
                    counted(raw_write)(data[start : start + 50_000])

            def flush(self) -> None:
                file.flush()

            def fileno(self) -> int:
                return int(file.fileno())

        return InPieces()

    os.fdopen = slow_fdopen  # type: ignore[assignment]
    write_atomically(path, NEW)


@posix
@pytest.mark.parametrize("kept", [False, True])
def test_killed_at_every_step_of_a_save_one_file_is_there_whole(tmp_path: Path, kept: bool) -> None:
    seen, step, ended = set(), 0, -9
    while ended != 0:
        step += 1
        folder = tmp_path / str(step)
        folder.mkdir()
        path = folder / "job.xlsx"
        path.write_bytes(OLD)
        if kept:
            previous_path(path).write_bytes(b"oldest")
        ended = in_child(lambda step=step, path=path: dies_at(step, path))  # type: ignore[misc]
        assert ended in (0, -signal.SIGKILL)
        assert path.read_bytes() in (OLD, NEW)
        seen.add(path.read_bytes())
        if previous_path(path).exists():
            assert previous_path(path).read_bytes() in ((OLD, b"oldest") if kept else (OLD,))
        write_atomically(path, b"after")  # the folder is usable as before
        assert path.read_bytes() == b"after"
    assert step > 12
    assert seen == {OLD, NEW}


@posix
def test_killed_at_random_moments_one_file_is_there_whole(book: Path) -> None:
    rng = random.Random(3)

    def for_ever() -> None:
        while True:
            write_atomically(book, NEW)
            write_atomically(book, OLD)

    for _ in range(25):
        child = os.fork()
        if child == 0:
            for_ever()
        time.sleep(rng.uniform(0.001, 0.03))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        assert book.read_bytes() in (OLD, NEW)
        if previous_path(book).exists():
            assert previous_path(book).read_bytes() in (OLD, NEW)
