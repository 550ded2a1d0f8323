"""Commands that replace a file killed, or failed by the disk, at each of their calls to it."""

from __future__ import annotations

import os
import signal
import tempfile
from collections.abc import Callable
from contextlib import nullcontext
from functools import cache
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from books import edited
from failing_disk import WRITING, FailingDisk, broken, full

from estimator.csv_tables import file_text
from estimator.errors import FileError
from estimator.inputs import TypedJob
from estimator.model import build_model
from estimator.model.carry_over import RENAMED, unasked
from estimator.workbook.carry import restore, upgrade
from estimator.workbook.carry.replace import Replaced
from estimator.workbook.package.print_copy import Footer
from estimator.workbook.refill import file as refill_file
from estimator.workbook.refill import price_list, printed
from estimator.workbook.refill.save import previous_path
from estimator.workbook.template import shipped

pytestmark = pytest.mark.skipif(os.name != "posix", reason="needs fork, signals and flock")
CHANGING = WRITING - {"open", "close"}  # tables of the model are opened too, to read
OLD, NEW, OLDER = b"%PDF-old" * 9_000, b"%PDF-newer" * 8_000, b"%PDF-oldest"
FOOT = Footer(("", ""), "")
LIST, BOOK = "list.csv", "book.xlsx"


model = cache(build_model)
"""One for all runs but a refill's, which reads the model's tables too."""


def _refill(path: Path) -> None:
    refill_file.refill_workbook(path, build_model())


def _upgrade(path: Path) -> None:
    upgrade.upgrade_workbook(path, model(), RENAMED, unasked)


def _restore(path: Path) -> None:
    restore.restore_workbook(path, model())


def _prices(path: Path) -> None:
    price_list.import_prices(path, path.parent.parent / LIST, model())


def _prices_out(path: Path) -> None:
    price_list.export_prices(path.parent.parent / BOOK, path, model())


def _new(path: Path) -> None:
    refill_file.create_workbook(path, model(), TypedJob({}, str), replace=True)


def _print(path: Path) -> None:
    printed.print_pages(path.parent.parent / BOOK, path, model(), None, lambda _: FOOT)


COMMANDS = {
    "refill": _refill,
    "upgrade": _upgrade,
    "restore": _restore,
    "prices in": _prices,
    "prices out": _prices_out,
    "new": _new,
    "print": _print,
}
Run = Callable[[Path], None]


@pytest.fixture(params=COMMANDS)
def run(request: pytest.FixtureRequest) -> Run:
    """What a command does to a workbook."""
    return COMMANDS[request.param]


@pytest.fixture(autouse=True)
def _quick(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """What a command makes is known, so that only its dealings with the disk are left."""

    def made(*_: object) -> tuple[bytes, Any, tuple[str, ...]]:
        return NEW, SimpleNamespace(values={}), ()

    def listed(_: object, source: Path) -> tuple[dict[Any, Any], tuple[str, ...], tuple[str, ...]]:
        assert file_text(source)
        return {}, (), ()

    def book(data: bytes, label: str) -> Any:
        return SimpleNamespace(data=data, label=label, sheets=(), changed=lambda _: None)

    prices = SimpleNamespace(model=model(), edits=lambda _: {}, rows=lambda _: ())
    package = SimpleNamespace(open=lambda *_, **__: SimpleNamespace(sheets=()))
    replaced: Any = Replaced(SimpleNamespace(), ())  # type: ignore[arg-type]
    for module, name, stand_in in (
        (refill_file, "refill_bytes", made),
        (refill_file, "refill_package", made),
        (refill_file, "filled_template", lambda *_: package),
        (refill_file, "told_where_typed", lambda *_: nullcontext()),
        (upgrade, "refill_package", made),
        (price_list, "refill_package", made),
        (upgrade, "Package", SimpleNamespace(open=book)),
        (price_list, "Package", SimpleNamespace(open=book)),
        (upgrade, "FilePort", lambda _: SimpleNamespace(ranges=dict)),
        (upgrade, "suited", lambda model, _: model),
        *((upgrade, name, lambda *_: replaced) for name in ("upgraded", "nothing_added")),
        (upgrade, "chosen_by_name", lambda *_: replaced),
        (restore, "restored", lambda *_: replaced),
        (price_list, "PriceBook", SimpleNamespace(of=lambda *_: prices)),
        (price_list, "list_entries", listed),
        (price_list, "patched", lambda package, _: package),
        (price_list, "old_prices", lambda _: ()),
        (price_list, "table_text", lambda *_: NEW.decode()),
        (printed, "Package", package),
        (printed, "FilePort", lambda _: SimpleNamespace(ranges=dict)),
        (printed, "find_office", lambda: "office"),
        (printed, "check_book", lambda *_: SimpleNamespace(values={})),
        (printed, "shown_rows", lambda *_: None),
        (printed, "suited", lambda model, _: model),
        *((printed, name, lambda *_, **__: None) for name in ("row_heights", "print_copy")),
        (printed, "to_pdf", lambda *_: NEW),
        (shipped, "TEMPLATE", tmp_path / "template.xlsx"),
        (shipped, "built", lambda **_: b"PK\x05\x06" + bytes(18)),
    ):
        monkeypatch.setattr(module, name, stand_in)
    (tmp_path / "template.xlsx").write_bytes(b"template mark")
    (tmp_path / "template.txt").write_bytes(b"mark\n")
    (tmp_path / BOOK).write_bytes(b"book")
    (tmp_path / LIST).write_text("item_key,item_price\n", encoding="utf-8")
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


def calls(
    run: Run, path: Path, step: int = 0, happens: Callable[[str], None] = broken
) -> list[str]:
    """The calls of a command, with something that happens at one of them: done, or a sentence."""
    disk = FailingDisk(step, happens)
    with pytest.MonkeyPatch.context() as patch:
        disk.put_in(patch)
        try:
            run(path)
        except FileError as error:
            sentence = error.what
        else:
            sentence = "done"
    assert sentence
    return disk.calls


def whole(run: Run, path: Path, kept: bool) -> None:
    """The old file or the new one, whole; and the next run puts all in order."""
    assert path.read_bytes() in (OLD, NEW)
    before = previous_path(path)
    if before.exists():
        assert before.read_bytes() in ((OLD, OLDER) if kept else (OLD,))
    else:
        assert not kept
    run(path)
    assert path.read_bytes() == NEW
    assert {p.name for p in path.parent.iterdir()} <= {path.name, before.name}


@pytest.mark.parametrize("kept", [False, True])
@pytest.mark.parametrize("happens", [full, broken])
def test_a_disk_that_fails_at_any_call_leaves_one_file_whole(
    run: Run, tmp_path: Path, kept: bool, happens: Callable[[str], None]
) -> None:
    usual = calls(run, book_in(tmp_path / "usual", kept))
    assert len(usual) > 25
    assert set(usual) >= (WRITING - {"link"} if run is _print else WRITING)
    seen = set()
    for step, name in enumerate(usual, 1):
        if happens is full and name not in WRITING:
            continue
        path = book_in(tmp_path / str(step), kept)
        calls(run, path, step, happens)
        seen.add(path.read_bytes())
        whole(run, path, kept)
    assert seen == {OLD, NEW}


@pytest.mark.slow
@pytest.mark.parametrize("kept", [False, True])
def test_a_run_killed_at_any_call_leaves_one_file_whole(
    run: Run, tmp_path: Path, kept: bool
) -> None:
    usual = calls(run, book_in(tmp_path / "usual", kept))
    seen = set()
    for step in range(1, len(usual) + 1):
        path = book_in(tmp_path / str(step), kept)
        child = os.fork()
        if child == 0:
            try:
                calls(run, path, step, lambda _: os.kill(os.getpid(), signal.SIGKILL))
            finally:
                os._exit(0)
        ended = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
        assert ended == -signal.SIGKILL
        seen.add(path.read_bytes())
        whole(run, path, kept)
    assert seen == {OLD, NEW}


@pytest.mark.slow
def test_a_whole_refill_deals_with_the_disk_as_these_do(
    tmp_path: Path, demo_book: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    usual = calls(_refill, book_in(tmp_path / "usual", kept=True))
    monkeypatch.undo()
    path = book_in(tmp_path / "demo", kept=True)
    path.write_bytes(edited(demo_book, {"in_wage_per_h": 37.5}))
    assert [name for name in calls(_refill, path) if name in CHANGING] == [
        n for n in usual if n in CHANGING
    ]
    assert path.read_bytes() != demo_book
