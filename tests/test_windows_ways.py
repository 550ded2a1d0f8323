"""What Windows does otherwise, as far as another system can stand in for it.

A file that is open elsewhere can't be replaced or deleted, consoles write code page 1252 or ASCII,
texts end their lines with CR LF and begin with a mark, names have blanks and accents. With the
environment variable WINDOWS_WAYS set to ``all`` every command is tried on open files and consoles;
otherwise those that take no second.
"""

from __future__ import annotations

import errno
import io
import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from estimator.cli import main
from estimator.csv_tables import table_rows
from estimator.errors import FileError, on_command_line
from estimator.model import build_model
from estimator.typed_job import DEMO_JOB, load_job
from estimator.workbook.refill.save import previous_path, write_atomically
from estimator.workbook.template import shipped

ALL = os.environ.get("WINDOWS_WAYS") == "all"
OLD, NEW, OLDER = b"old" * 100, b"newer" * 100, b"oldest"
FOLDER = "Müller's Büro & Söhne"
BOOK = "Shed No. 3, café.xlsx"
PRICES = Path(__file__).parent / "data" / "price_book" / "items.csv"

Opened = Callable[[Path], None]


@pytest.fixture
def opened(monkeypatch: pytest.MonkeyPatch) -> Opened:
    """Say of a file that another program has it open: as Windows has it, it is nobody else's."""
    held: set[str] = set()

    def keeping(real: Callable[..., Any], place: int) -> Callable[..., Any]:
        def call(*paths: Any, **more: Any) -> Any:
            if str(paths[place]) in held:
                raise PermissionError(errno.EACCES, "Access is denied", str(paths[place]))
            return real(*paths, **more)

        return call

    for name, place in (("replace", 1), ("rename", 1), ("unlink", 0), ("remove", 0)):
        monkeypatch.setattr(os, name, keeping(getattr(os, name), place))
    return lambda path: held.add(str(path))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with blanks and accents in its name."""
    path = tmp_path / FOLDER
    path.mkdir()
    return path


@pytest.fixture
def book(folder: Path, demo_book: bytes) -> Path:
    path = folder / BOOK
    path.write_bytes(demo_book)
    return path


def names(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


def test_a_file_that_is_open_elsewhere_is_left_whole(folder: Path, opened: Opened) -> None:
    path = folder / BOOK
    path.write_bytes(OLD)
    opened(path)
    with pytest.raises(FileError, match="open in another program") as told:
        write_atomically(path, NEW)
    assert told.value.where == BOOK
    assert path.read_bytes() == OLD
    assert names(folder) == {BOOK, previous_path(path).name}
    assert previous_path(path).read_bytes() == OLD


def test_an_open_version_from_before_is_named_and_not_the_workbook(
    folder: Path, opened: Opened
) -> None:
    path = folder / BOOK
    path.write_bytes(OLD)
    previous_path(path).write_bytes(OLDER)
    opened(previous_path(path))
    with pytest.raises(FileError, match="open in another program") as told:
        write_atomically(path, NEW)
    assert told.value.where == previous_path(path).name
    assert (path.read_bytes(), previous_path(path).read_bytes()) == (OLD, OLDER)
    assert names(folder) == {BOOK, previous_path(path).name}


def test_a_template_that_another_run_built_and_reads_is_taken(folder: Path, opened: Opened) -> None:
    path = folder / "template.xlsx"
    shipped.write_template(path, EMPTY_ZIP, b"mark")
    opened(path)
    shipped.write_template(path, EMPTY_ZIP, b"mark")
    assert names(folder) == {path.name}
    with pytest.raises(FileError, match="can't be built here"):
        shipped.write_template(path, EMPTY_ZIP, b"another")
    assert names(folder) == {path.name}


EMPTY_ZIP = b"PK\x05\x06" + bytes(18)

IN_PLACE = ["refill", "restore", "prices in", "next", "template", "new", "prices out"]
"""Commands that write a file; ``upgrade`` writes as ``restore`` does."""


def command(name: str, book: Path) -> tuple[list[str], Path]:
    """The words of a command and the file that it writes."""
    other, table = book.with_name("Nächster.xlsx"), book.with_name("Preise.csv")
    return {
        "check": (["check", str(book)], book),
        "refill": (["refill", str(book)], book),
        "restore": (["restore", str(book)], book),
        "prices in": (["prices", "in", str(book), str(table)], book),
        "prices out": (["prices", "out", str(book), str(table)], table),
        "next": (["next", str(book), str(other)], other),
        "template": (["template", str(book), "-o", str(other)], other),
        "new": (["new", str(other), "--force"], other),
    }[name]


def prepared(name: str, book: Path) -> tuple[list[str], Path, bytes]:
    """A command that has something to write over a file that is there; what that holds."""
    words, target = command(name, book)
    if name == "prices in":
        assert main(["prices", "out", str(book), words[-1]]) == 0
        table = Path(words[-1])
        table.write_text(table.read_text(encoding="utf-8").replace(",9.", ",8."), encoding="utf-8")
    elif name in ("refill", "restore"):
        from books import edited

        typed = {"in_wage_per_h": 37.5} if name == "refill" else {("total_cost", 0): "=#REF!+1"}
        book.write_bytes(edited(book.read_bytes(), typed))
    elif target != book and name not in ("next", "template"):
        target.write_bytes(OLD)
    return words, target, target.read_bytes() if target.exists() else b""


@pytest.mark.slow
@pytest.mark.parametrize("name", IN_PLACE if ALL else IN_PLACE[-1:])
def test_commands_say_a_sentence_of_an_open_file(
    name: str, book: Path, opened: Opened, capsys: pytest.CaptureFixture[str]
) -> None:
    words, target, before = prepared(name, book)
    around = names(book.parent)
    capsys.readouterr()
    opened(target)
    assert main(words) == 2
    said = capsys.readouterr().err
    assert said.startswith("estimator: ")
    assert said.count("\n") == 1
    assert "open in another program" in said
    assert (target.read_bytes() if target.exists() else b"") == before
    assert names(book.parent) - around <= {previous_path(target).name}


class Console(io.TextIOWrapper):
    """A console of an encoding, and what was written to it."""

    def __init__(self, encoding: str, data: bytes = b"") -> None:
        self.raw_bytes = io.BytesIO(data)
        super().__init__(self.raw_bytes, encoding=encoding, errors="strict", newline="\r\n")

    def text(self) -> str:
        self.flush()
        return self.raw_bytes.getvalue().decode(self.encoding)


@pytest.mark.slow
@pytest.mark.parametrize("encoding", ["ascii", "cp1252"])
@pytest.mark.parametrize("name", ["check", *IN_PLACE] if ALL else ["check"])
def test_commands_answer_on_consoles_that_lack_letters(
    name: str, encoding: str, book: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    words, _, _ = prepared(name, book)
    out, err = Console(encoding), Console(encoding)
    monkeypatch.setattr(sys, "stdout", out)
    monkeypatch.setattr(sys, "stderr", err)
    code = main(words)
    assert code in (0, 1), err.text()
    assert len(out.text()) > 20
    assert main(["check", str(book.with_name("Žádný ☂.xlsx"))]) == 2
    assert err.text().startswith("estimator: ")


def test_what_is_typed_in_another_code_page_is_taken_as_far_as_it_reads(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    typed = Console("ascii", "Café\r\n".encode("cp1252"))
    monkeypatch.setattr(sys, "stdin", typed)
    assert main(["check", str(tmp_path / "none.xlsx")]) == 2
    assert sys.stdin.readline().strip() == "Caf�"


BEGINNINGS = {"plain": "", "with a mark": "\ufeff"}


@pytest.mark.parametrize("begins", BEGINNINGS.values(), ids=BEGINNINGS)
def test_jobs_and_price_lists_with_cr_lf_are_read_alike(folder: Path, begins: str) -> None:
    model = build_model()
    job, prices = folder / "Job é.toml", folder / "Preis liste.csv"
    for source, path in ((DEMO_JOB, job), (PRICES, prices)):
        text = source.read_text(encoding="utf-8")
        path.write_bytes((begins + text.replace("\n", "\r\n")).encode())
    assert load_job(job, model=model).cells == load_job(DEMO_JOB, model=model).cells
    wanted = [values for _, values in table_rows(model, PRICES, "item")]
    assert [values for _, values in table_rows(model, prices, "item")] == wanted


def test_a_text_of_another_code_page_is_said(folder: Path) -> None:
    job = folder / "job.toml"
    job.write_bytes('job_name = "Café"\r\n'.encode("cp1252"))
    with pytest.raises(FileError, match="UTF-8") as told:
        load_job(job, model=build_model())
    assert told.value.where == "job.toml"
    assert "UTF-8" in told.value.cure


@pytest.mark.parametrize(
    ("name", "typed"),
    [
        ("shed.xlsx", "shed.xlsx"),
        ("Büro-2.xlsx", "Büro-2.xlsx"),
        (BOOK, f'"{BOOK}"'),
        ("a&b.xlsx", '"a&b.xlsx"'),
        ("shed (1).xlsx", '"shed (1).xlsx"'),
        ("-f.xlsx", '"-f.xlsx"'),
    ],
)
def test_commands_that_messages_name_can_be_typed(name: str, typed: str) -> None:
    assert on_command_line(name) == typed
