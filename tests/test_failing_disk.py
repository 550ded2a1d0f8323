"""A refill killed, or failed by the disk, at each of its calls to the file system."""

from __future__ import annotations

import os
import signal
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from books import edited
from failing_disk import WRITING, FailingDisk, broken, full

from estimator.errors import FileError
from estimator.model import build_model
from estimator.workbook.refill import file as refill_file
from estimator.workbook.refill.file import refill_workbook
from estimator.workbook.refill.save import previous_path

pytestmark = pytest.mark.skipif(os.name != "posix", reason="needs fork, signals and flock")
CHANGING = WRITING - {"open", "close"}  # tables of the model are opened too, to read
OLD, NEW, OLDER = b"old" * 9_000, b"newer" * 8_000, b"oldest"


@pytest.fixture(autouse=True)
def _quick(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """What a refill makes is known, so that only its dealings with the disk are left."""

    def made(*_: object) -> tuple[bytes, Any, tuple[str, ...]]:
        return NEW, None, ()

    monkeypatch.setattr(refill_file, "refill_bytes", made)
    (tmp_path / "temporary").mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "temporary"))


def book_in(folder: Path, kept: bool) -> Path:
    """A workbook, and its version from before if one is kept, in a folder of its own."""
    folder.mkdir()
    path = folder / "job.xlsx"
    path.write_bytes(OLD)
    if kept:
        previous_path(path).write_bytes(OLDER)
    return path


def refilled(path: Path) -> None:
    refill_workbook(path, build_model())


def calls(path: Path, step: int = 0, happens: Callable[[str], None] = broken) -> list[str]:
    """The calls of a refill, with something that happens at one of them: done, or a sentence."""
    disk = FailingDisk(step, happens)
    with pytest.MonkeyPatch.context() as patch:
        disk.put_in(patch)
        try:
            refilled(path)
        except FileError as error:
            sentence = error.what
        else:
            sentence = "done"
    assert sentence
    return disk.calls


def whole(path: Path, kept: bool) -> None:
    """The old file or the new one, whole; and the next run puts all in order."""
    assert path.read_bytes() in (OLD, NEW)
    before = previous_path(path)
    if before.exists():
        assert before.read_bytes() in ((OLD, OLDER) if kept else (OLD,))
    else:
        assert not kept
    refilled(path)
    assert path.read_bytes() == NEW
    assert {p.name for p in path.parent.iterdir()} <= {path.name, before.name}


@pytest.mark.parametrize("kept", [False, True])
@pytest.mark.parametrize("happens", [full, broken])
def test_a_disk_that_fails_at_any_call_leaves_one_file_whole(
    tmp_path: Path, kept: bool, happens: Callable[[str], None]
) -> None:
    usual = calls(book_in(tmp_path / "usual", kept))
    assert len(usual) > 40
    assert set(usual) >= WRITING
    seen = set()
    for step, name in enumerate(usual, 1):
        if happens is full and name not in WRITING:
            continue
        path = book_in(tmp_path / str(step), kept)
        calls(path, step, happens)
        seen.add(path.read_bytes())
        whole(path, kept)
    assert seen == {OLD, NEW}


@pytest.mark.slow
@pytest.mark.parametrize("kept", [False, True])
def test_a_run_killed_at_any_call_leaves_one_file_whole(tmp_path: Path, kept: bool) -> None:
    usual = calls(book_in(tmp_path / "usual", kept))
    seen = set()
    for step in range(1, len(usual) + 1):
        path = book_in(tmp_path / str(step), kept)
        child = os.fork()
        if child == 0:
            try:
                calls(path, step, lambda _: os.kill(os.getpid(), signal.SIGKILL))
            finally:
                os._exit(0)
        ended = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
        assert ended == -signal.SIGKILL
        seen.add(path.read_bytes())
        whole(path, kept)
    assert seen == {OLD, NEW}


@pytest.mark.slow
def test_a_whole_refill_deals_with_the_disk_as_these_do(
    tmp_path: Path, demo_book: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    usual = calls(book_in(tmp_path / "usual", kept=True))
    monkeypatch.undo()
    path = book_in(tmp_path / "demo", kept=True)
    path.write_bytes(edited(demo_book, {"in_wage_per_h": 37.5}))
    assert [name for name in calls(path) if name in CHANGING] == [n for n in usual if n in CHANGING]
    assert path.read_bytes() != demo_book
