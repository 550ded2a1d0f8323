"""One file, several hands: an edit saved meanwhile, two runs at once, a run that was killed.

The file is the small workbook of the planters, but where prices, a template or a job are read.
"""

from __future__ import annotations

import csv
import multiprocessing
import os
import signal
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import planters
import pytest
from books import edited, meanwhile, value
from known_job import KNOWN_JOB, known_job

from estimator.cli import main
from estimator.engine import Model
from estimator.errors import EstimatorError, FileError
from estimator.model import build_model
from estimator.model.carry_over import job_specific
from estimator.workbook.carry.next_job import start_next
from estimator.workbook.carry.restore import restore_workbook
from estimator.workbook.refill import locking
from estimator.workbook.refill.file import create_workbook, refill_workbook
from estimator.workbook.refill.locking import locked
from estimator.workbook.refill.price_list import export_prices, import_prices
from estimator.workbook.refill.save import Seen, previous_path, refilled_path, write_atomically

LONGER = {"in_building_length_ft": "14 ft"}
WIDER = {"in_building_width_ft": "9 ft"}


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """The planters with an entry edited, so that a refill has something to do."""
    path = tmp_path / "shed.xlsx"
    path.write_bytes(edited(planters.planted(), {planters.LENGTH: "14 ft"}))
    return path


@pytest.fixture
def whole(demo_book: bytes, tmp_path: Path) -> Path:
    """The demo with an entry edited."""
    path = tmp_path / "shed.xlsx"
    path.write_bytes(edited(demo_book, LONGER))
    return path


def others(path: Path) -> list[str]:
    """What else is in the folder."""
    return sorted(p.name for p in path.parent.iterdir() if p != path)


@pytest.fixture
def saved_meanwhile(book: Path) -> tuple[Model, bytes]:
    """A model in whose refill somebody saves the file, and what is saved then."""
    edit = edited(book.read_bytes(), {"in_planter_width_in": 36.0})
    return meanwhile(planters.model(), lambda: book.write_bytes(edit), "steps"), edit


@pytest.fixture
def whole_saved_meanwhile(whole: Path) -> tuple[Model, bytes]:
    """The same of the demo."""
    edit = edited(whole.read_bytes(), WIDER)
    return meanwhile(build_model(), lambda: whole.write_bytes(edit)), edit


def test_an_edit_saved_while_a_refill_runs_stays_and_the_refilled_one_stands_beside(
    book: Path, saved_meanwhile: tuple[Model, bytes]
) -> None:
    model, edit = saved_meanwhile
    with pytest.raises(FileError) as caught:
        refill_workbook(book, model)
    assert book.read_bytes() == edit
    assert others(book) == ["shed.refilled.xlsx"]
    assert "changed while" in caught.value.what
    assert "shed.refilled.xlsx" in str(caught.value)
    beside = refilled_path(book).read_bytes()
    assert value(beside, planters.LENGTH) == "14 ft"
    assert value(beside, ("cost_usd", 0)) != value(edit, ("cost_usd", 0))


@pytest.fixture
def read(tmp_path: Path) -> tuple[Path, Seen]:
    """A file and what was seen of it when it was read."""
    path = tmp_path / "job.xlsx"
    path.write_bytes(b"old" * 1000)
    return path, Seen.at(path)


def test_a_second_time_stands_beside_the_first(read: tuple[Path, Seen]) -> None:
    path, seen = read
    path.write_bytes(b"edited")
    for made in (b"first", b"second"):
        with pytest.raises(FileError):
            write_atomically(path, made, seen=seen)
    assert refilled_path(path).read_bytes() == b"first"
    assert refilled_path(path, 2).read_bytes() == b"second"
    assert others(path) == ["job.refilled.2.xlsx", "job.refilled.xlsx"]


def test_an_edit_of_the_same_length_and_time_is_seen_too(read: tuple[Path, Seen]) -> None:
    path, seen = read
    stamp = path.stat().st_mtime_ns
    path.write_bytes(b"new" * 1000)
    os.utime(path, ns=(stamp, stamp))
    with pytest.raises(FileError, match="changed while"):
        write_atomically(path, b"refilled", seen=seen)
    assert path.read_bytes() == b"new" * 1000


def test_a_file_saved_again_as_it_was_is_replaced(read: tuple[Path, Seen]) -> None:
    path, seen = read
    path.write_bytes(b"old" * 1000)
    assert write_atomically(path, b"refilled", seen=seen).changed
    assert path.read_bytes() == b"refilled"


def test_a_file_moved_away_meanwhile_is_not_put_back(read: tuple[Path, Seen]) -> None:
    path, seen = read
    path.rename(path.with_name("away.xlsx"))
    with pytest.raises(FileError, match=r"moved or deleted .* 'job\.refilled\.xlsx'"):
        write_atomically(path, b"refilled", seen=seen)
    assert others(path) == ["away.xlsx", "job.refilled.xlsx"]
    assert not path.exists()


def test_the_version_kept_from_before_stays_when_nothing_is_replaced(
    read: tuple[Path, Seen],
) -> None:
    path, seen = read
    previous_path(path).write_bytes(b"the one from before")
    path.write_bytes(b"edited")
    with pytest.raises(FileError):
        write_atomically(path, b"refilled", seen=seen)
    assert previous_path(path).read_bytes() == b"the one from before"


@pytest.mark.slow
def test_prices_read_in_leave_an_edit_saved_meanwhile(
    whole: Path, whole_saved_meanwhile: tuple[Model, bytes]
) -> None:
    model, edit = whole_saved_meanwhile
    prices = whole.with_name("yard.csv")
    export_prices(whole, prices, model)
    with pytest.raises(FileError, match="changed while"):
        import_prices(whole, prices, model)
    assert whole.read_bytes() == edit


@pytest.mark.slow
def test_a_restore_leaves_an_edit_saved_meanwhile(
    whole: Path, whole_saved_meanwhile: tuple[Model, bytes]
) -> None:
    from test_restore import without_name

    model, edit = whole_saved_meanwhile
    whole.write_bytes(without_name(whole.read_bytes(), "in_soil"))
    with pytest.raises(FileError, match="changed while"):
        restore_workbook(whole, model)
    assert whole.read_bytes() == edit


@pytest.mark.slow
def test_a_new_workbook_never_takes_the_place_of_one_that_came_meanwhile(tmp_path: Path) -> None:
    path = tmp_path / "shed.xlsx"
    model = meanwhile(build_model(), lambda: path.write_bytes(b"somebody's"))
    with pytest.raises(FileError, match=r"shed\.refilled\.xlsx"):
        create_workbook(path, model, known_job())
    assert path.read_bytes() == b"somebody's"


@pytest.mark.slow
@pytest.mark.parametrize("job", [None, KNOWN_JOB])
def test_the_next_job_never_takes_the_place_of_one_that_came_meanwhile(
    whole: Path, job: Path | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Also where its inputs are still to be typed and nothing is solved."""
    from estimator.workbook.carry import next_job

    path = whole.with_name("coop.xlsx")
    real = next_job.typed_edits

    def slow(*arguments: Any) -> Any:
        path.write_bytes(b"somebody's")
        return real(*arguments)

    monkeypatch.setattr(next_job, "typed_edits", slow)
    model = build_model()
    with pytest.raises(FileError, match=r"coop\.refilled\.xlsx"):
        start_next(whole, path, model, job_specific(model), job)
    assert path.read_bytes() == b"somebody's"


def test_the_command_says_so_with_exit_code_2(
    book: Path,
    saved_meanwhile: tuple[Model, bytes],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    from estimator import model

    monkeypatch.setattr(model, "build_model", lambda: saved_meanwhile[0])
    assert main(["refill", str(book)]) == 2
    said = capsys.readouterr().err
    assert said.count("\n") == 1
    assert "shed.refilled.xlsx" in said


# --- two runs at once ---


def holds(path: Path, begun: Any, seconds: float) -> None:
    with locked(path):
        begun.set()
        time.sleep(seconds)


@pytest.fixture
def holder(book: Path) -> Any:
    """Starts another process that works on the file for so many seconds."""
    context = multiprocessing.get_context("spawn")
    started: list[Any] = []

    def start(seconds: float) -> Any:
        begun = context.Event()
        process = context.Process(target=holds, args=(book, begun, seconds))
        process.start()
        started.append(process)
        assert begun.wait(30)
        return process

    yield start
    for process in started:
        process.kill()
        process.join()


def test_a_second_run_waits_for_the_first(book: Path, holder: Callable[[float], Any]) -> None:
    holder(1.0)
    began = time.monotonic()
    with locked(book):
        assert time.monotonic() - began > 0.3


def test_a_second_run_that_waited_long_refuses_with_a_sentence(
    book: Path, holder: Callable[[float], Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    before = book.read_bytes()
    holder(60.0)
    monkeypatch.setattr(locking, "PATIENCE_S", 0.2)
    with pytest.raises(FileError, match="another run of the estimator") as caught:
        refill_workbook(book, planters.model())
    assert caught.value.cure
    assert book.read_bytes() == before
    assert others(book) == []


def test_a_killed_owner_bars_nobody(book: Path, holder: Callable[[float], Any]) -> None:
    process = holder(60.0)
    process.kill()
    process.join()
    began = time.monotonic()
    with locked(book):
        assert time.monotonic() - began < 5


def test_a_link_and_the_file_are_one(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    link = book.with_name("link.xlsx")
    try:
        link.symlink_to(book)
    except OSError:
        pytest.skip("needs links")
    monkeypatch.setattr(locking, "PATIENCE_S", 0.2)
    with locked(book), pytest.raises(FileError, match="another run"), locked(link):
        pass


def test_different_files_do_not_wait_for_each_other(
    book: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(locking, "PATIENCE_S", 0.2)
    with locked(book), locked(book.with_name("other.xlsx")):
        pass


def test_nothing_of_the_lock_is_left_beside_the_file(book: Path) -> None:
    with locked(book):
        assert others(book) == []
    assert others(book) == []


def refills(path: Path, said: Any) -> None:
    try:
        refill_workbook(path, planters.model())
        said.put("done")
    except EstimatorError as error:
        said.put(str(error))


def test_two_refills_at_once_both_end_well(book: Path) -> None:
    before = book.read_bytes()
    context = multiprocessing.get_context("spawn")
    said = context.Queue()
    both = [context.Process(target=refills, args=(book, said)) for _ in range(2)]
    for process in both:
        process.start()
    answers = [said.get(timeout=120) for _ in both]
    for process in both:
        process.join()
    assert answers == ["done", "done"]
    assert others(book) == ["shed.previous.xlsx"]
    assert previous_path(book).read_bytes() == before


# --- what a killed run left ---


def test_what_a_killed_run_left_goes_at_the_next(book: Path) -> None:
    left = book.with_name(".shed.xlsx.abc.estimator.tmp")
    mine = book.with_name(".shed.xlsx.notes")
    theirs = book.with_name(".barn.xlsx.abc.estimator.tmp")
    for path in (left, mine, theirs):
        path.write_bytes(b"half")
    with locked(book):
        assert others(book) == [theirs.name, mine.name]


@pytest.mark.skipif(os.name != "posix", reason="needs signals")
def test_killed_while_it_writes_a_refill_leaves_nothing_for_long(book: Path) -> None:
    child = os.fork()
    if child == 0:
        real = os.replace
        os.replace = lambda *_: os.kill(os.getpid(), signal.SIGKILL)  # type: ignore[assignment]
        with locked(book):
            write_atomically(book, b"new", seen=Seen.of(book.read_bytes()))
        os.replace = real
        os._exit(0)
    os.waitpid(child, 0)
    assert any(name.endswith(".estimator.tmp") for name in others(book))
    refill_workbook(book, planters.model())
    assert others(book) == ["shed.previous.xlsx"]


# --- nothing missing ---


@pytest.mark.slow
def test_a_restore_of_a_whole_workbook_writes_nothing_and_says_so(
    whole: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before, stamp = whole.read_bytes(), whole.stat().st_mtime_ns
    assert main(["restore", str(whole)]) == 0
    said = capsys.readouterr().out
    assert "Nothing is missing" in said
    assert "Restored" not in said
    assert whole.read_bytes() == before
    assert whole.stat().st_mtime_ns == stamp
    assert others(whole) == []


def test_prices_written_out_have_no_lock_beside_them(whole: Path) -> None:
    out = whole.with_name("yard.csv")
    export_prices(whole, out, build_model())
    with out.open(newline="") as file:
        assert len(list(csv.reader(file))) > 10
    assert others(whole) == ["yard.csv"]
