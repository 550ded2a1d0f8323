"""Bad input: one clear sentence with the place and a cure, exit code 2, and no file changed."""

from __future__ import annotations

import io
import os
import shutil
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import openpyxl
import pytest
import xlsxwriter
from books import Spot, edited, opened, spot, value
from known_job import KNOWN_BOOK, KNOWN_JOB, known_job

from estimator.cli import main
from estimator.errors import EstimatorError
from estimator.inputs import TypedJob

Run = Callable[..., str]


@pytest.fixture
def refused(capsys: pytest.CaptureFixture[str]) -> Run:
    """Runs the command; gives the one sentence that it refused with."""

    def run(*arguments: object) -> str:
        code = main([str(a) for a in arguments])
        out, said = capsys.readouterr()
        assert code == 2, f"exit code {code}; {out}"
        assert out == ""
        assert said.startswith("estimator: ")
        assert said.count("\n") == 1
        assert "Traceback" not in said
        assert said.strip().endswith((".", ".xlsx"))
        return said.removeprefix("estimator: ").strip()

    return run


def row_of(demo: TypedJob, key: str, entry: str) -> int:
    """Line of a table of the demo by what stands in a column."""
    return next(row for (k, row), v in demo.cells.items() if k == key and v == entry)


# --- cells of a workbook ---

CELLS: list[tuple[str, dict[Spot, Any], Spot, list[str]]] = [
    (
        "text where a number belongs",
        {"in_wage_per_h": "a lot"},
        "in_wage_per_h",
        ['the text "a lot" where a number belongs', "Type a number between"],
    ),
    (
        "text where a length belongs",
        {"in_building_length_ft": "long"},
        "in_building_length_ft",
        ["'long' can't be read as a length", "Type it like"],
    ),
    (
        "negative size",
        {"in_building_length_ft": "-12"},
        "in_building_length_ft",
        ["must lie between", "Check the number and its unit."],
    ),
    (
        "absurd size",
        {"in_building_width_ft": "4000 ft"},
        "in_building_width_ft",
        ["4000 ft", "must lie between"],
    ),
    (
        "number too large to be one",
        {"in_wage_per_h": 1e307},
        "in_wage_per_h",
        ["Type a number between"],
    ),
    (
        "blank required cell",
        {"in_wall_height_ft": None},
        "in_wall_height_ft",
        ["is blank", "Type a length such as"],
    ),
    (
        "unknown kind of option",
        {("in_option_kind", 1): "stilts"},
        ("in_option_kind", 1),
        ['"stilts" is not known', "Use one of: "],
    ),
    (
        "yes or no where a number belongs",
        {"in_crew_size": True},
        "in_crew_size",
        ["where a number belongs"],
    ),
    (
        "part of a person",
        {"in_crew_size": 2.5},
        "in_crew_size",
        ["2.5, not a whole number"],
    ),
    (
        "reading without a name",
        {("in_point_name", 0, 3): None},
        ("in_point_name", 0, 3),
        ["its", "is blank", "or clear the line"],
    ),
    (
        "two readings of one name",
        {("in_point_name", 0, 3): "P1"},
        ("in_point_name", 0, 3),
        ["two lines have", '"P1"', "Rename or clear one of them."],
    ),
    (
        "error value",
        {"in_wage_per_h": "=1/0"},
        "in_wage_per_h",
        ["Type a number between"],
    ),
]


@pytest.mark.parametrize(
    ("cells", "where", "said"), [c[1:] for c in CELLS], ids=[c[0] for c in CELLS]
)
def test_a_bad_cell_is_named_and_the_file_stays(
    cells: dict[Spot, Any],
    where: Spot,
    said: list[str],
    demo_book: bytes,
    tmp_path: Path,
    refused: Run,
) -> None:
    path = tmp_path / "shed.xlsx"
    data = edited(demo_book, cells)
    path.write_bytes(data)
    sheet, cell = spot(demo_book, where)
    text = refused("refill", path)
    assert f"{sheet}!{cell}" in text
    for part in said:
        assert part in text
    assert path.read_bytes() == data
    assert os.listdir(tmp_path) == ["shed.xlsx"]
    if cells is CELLS[0][1] or cells is CELLS[-1][1]:  # it reads as a refill does
        assert refused("check", path) == text


def test_an_item_that_every_option_needs_without_a_price_is_named(
    demo_book: bytes, tmp_path: Path, refused: Run
) -> None:
    row = row_of(known_job(), "item_key", "joist_tie")
    path = tmp_path / "shed.xlsx"
    data = edited(demo_book, {("in_item_price", 0, row): None})
    path.write_bytes(data)
    sheet, cell = spot(demo_book, ("in_item_price", 0, row))
    text = refused("refill", path)
    assert f"{sheet}!{cell}" in text
    assert "price" in text
    assert path.read_bytes() == data


def survey(*points: tuple[float, float, float]) -> dict[Spot, Any]:
    """The demo's readings replaced."""
    cells: dict[Spot, Any] = {}
    for row in range(20):
        there = row < len(points)
        cells["in_point_name", 0, row] = f"Q{row + 1}" if there else None
        cells["in_point_setup", 0, row] = "S1" if there else None
        for at, key in enumerate(("point_x_ft", "point_y_ft", "point_reading_ft")):
            cells[f"in_{key}", 0, row] = f"{points[row][at]:g}" if there else None
    return cells


@pytest.mark.parametrize(
    ("points", "said"),
    [
        ([(float(n), 2.0 * n, 4.0) for n in range(6)], "line"),
        (
            [(0, 0, 4.0), (30, 0, 4.2), (0, 30, 4.4), (30, 30, 4.6), (30, 30, 5.9)],
            "Q4",
        ),
    ],
    ids=["all in a line", "one place read twice and differently"],
)
def test_a_survey_that_gives_no_ground_is_refused(
    points: list[tuple[float, float, float]],
    said: str,
    demo_book: bytes,
    tmp_path: Path,
    refused: Run,
) -> None:
    path = tmp_path / "shed.xlsx"
    data = edited(demo_book, survey(*points))
    path.write_bytes(data)
    text = refused("refill", path)
    assert said in text
    assert "Survey" in text
    assert path.read_bytes() == data


def test_two_readings_are_an_open_point_and_nothing_is_worked_out_from_them(
    demo_book: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "shed.xlsx"
    path.write_bytes(edited(demo_book, survey((0.0, 0.0, 4.0), (30.0, 30.0, 5.0))))
    assert main(["refill", str(path)]) == 0
    assert capsys.readouterr().out.startswith("To do: Survey: type a reading")
    data = path.read_bytes()
    assert value(data, "overall_flag").startswith("TO DO")
    for key in ("chosen_total", ("total_cost", 0), ("ground_corner_1_ft", 0)):
        assert value(data, key) in (None, ""), key


def test_a_length_that_became_a_date_is_flagged(
    demo_book: bytes, tmp_path: Path, refused: Run
) -> None:
    sheet, cell = spot(demo_book, "in_building_length_ft")
    path = tmp_path / "shed.xlsx"
    book = openpyxl.load_workbook(io.BytesIO(demo_book))
    book[sheet][cell].value = 46362
    book[sheet][cell].number_format = "d mmm yyyy"
    book.save(path)
    text = refused("refill", path)
    assert f"{sheet}!{cell}" in text
    assert "date" in text


# --- files ---


def test_there_is_no_such_file(tmp_path: Path, refused: Run) -> None:
    for command in ("refill", "check"):
        text = refused(command, tmp_path / "nothing.xlsx")
        assert "no such file" in text
        assert "nothing.xlsx" in text


def test_a_folder_is_no_workbook(tmp_path: Path, refused: Run) -> None:
    (tmp_path / "folder.xlsx").mkdir()
    assert "folder" in refused("refill", tmp_path / "folder.xlsx")


def foreign() -> bytes:
    stream = io.BytesIO()
    with xlsxwriter.Workbook(stream, {"in_memory": True}) as book:
        book.add_worksheet("Budget").write(0, 0, 5)
    return stream.getvalue()


def word_document() -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        archive.writestr(
            "[Content_Types].xml",
            '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"/>',
        )
        archive.writestr(
            "_rels/.rels",
            '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
            '<Relationship Id="r1" Type="http://schemas.openxmlformats.org/officeDocument/2006/'
            'relationships/officeDocument" Target="word/document.xml"/></Relationships>',
        )
        archive.writestr("word/document.xml", "<document/>")
    return stream.getvalue()


@pytest.mark.parametrize(
    ("name", "data", "said"),
    [
        ("budget.xlsx", foreign(), "not a workbook made by this estimator"),
        ("prices.csv", b"item_key,item_price\nnails,5\n", "not an .xlsx workbook"),
        ("prices.xlsx", b"item_key,item_price\nnails,5\n", "not an .xlsx workbook"),
        ("letter.docx", word_document(), "not an .xlsx workbook"),
        ("empty.xlsx", b"", "empty"),
        ("old.xls", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), ".xls"),
    ],
    ids=["workbook from elsewhere", "csv", "csv named xlsx", "docx", "empty", "old format"],
)
def test_a_file_that_is_not_ours_is_refused(
    name: str, data: bytes, said: str, tmp_path: Path, refused: Run
) -> None:
    path = tmp_path / name
    path.write_bytes(data)
    text = refused("refill", path)
    assert name in text
    assert said in text
    assert path.read_bytes() == data


@pytest.mark.parametrize("share", [0.02, 0.5, 0.98])
def test_a_truncated_file_is_refused(
    share: float, demo_book: bytes, tmp_path: Path, refused: Run
) -> None:
    path = tmp_path / "shed.xlsx"
    path.write_bytes(demo_book[: int(len(demo_book) * share)])
    assert "shed.xlsx" in refused("refill", path)
    assert path.stat().st_size == int(len(demo_book) * share)


def test_a_deleted_name_is_told_with_a_cure(demo_book: bytes, tmp_path: Path, refused: Run) -> None:
    from rich_workbooks import change_part

    path = tmp_path / "shed.xlsx"
    data = change_part(
        demo_book,
        "xl/workbook.xml",
        lambda content: content.replace(b'name="in_wage_per_h"', b'name="in_wages"'),
    )
    path.write_bytes(data)
    text = refused("refill", path)
    assert "in_wage_per_h" in text
    assert "estimator restore" in text
    assert path.read_bytes() == data


@pytest.fixture
def changed_book(demo_book: bytes, tmp_path: Path) -> Path:
    """A workbook that a refill would change."""
    path = tmp_path / "shed.xlsx"
    path.write_bytes(edited(demo_book, {"in_wage_per_h": 41.0}))
    return path


@pytest.mark.parametrize("lock", [".~lock.shed.xlsx#", "~$shed.xlsx"])
def test_a_file_open_in_a_spreadsheet_is_not_written(
    lock: str, changed_book: Path, refused: Run
) -> None:
    before = changed_book.read_bytes()
    changed_book.with_name(lock).write_text("me")
    text = refused("refill", changed_book)
    assert "open in a spreadsheet" in text
    assert "Close it there" in text
    assert changed_book.read_bytes() == before


def test_a_read_only_file_is_not_written(changed_book: Path, refused: Run) -> None:
    before = changed_book.read_bytes()
    changed_book.chmod(0o444)
    text = refused("refill", changed_book)
    assert "read-only" in text
    assert changed_book.read_bytes() == before


@pytest.mark.skipif(
    not hasattr(os, "geteuid") or os.geteuid() == 0, reason="this account may write anywhere"
)
def test_a_read_only_folder_is_not_written(changed_book: Path, refused: Run) -> None:
    before = changed_book.read_bytes()
    changed_book.parent.chmod(0o555)
    try:
        text = refused("refill", changed_book)
    finally:
        changed_book.parent.chmod(0o755)
    assert "can't be written to" in text
    assert changed_book.read_bytes() == before


# --- a job file and a price list ---


@pytest.fixture
def job_file(tmp_path: Path) -> Path:
    """The known job as a file to spoil."""
    return Path(shutil.copy(KNOWN_JOB, tmp_path / "shed.toml"))


def line_of(path: Path, start: str) -> int:
    """Number of the first line that begins so."""
    lines = path.read_text(encoding="utf-8").splitlines()
    return next(n for n, line in enumerate(lines, 1) if line.startswith(start))


def replaced(path: Path, start: str, line: str) -> int:
    """Replace the first line that begins so; gives its number."""
    number = line_of(path, start)
    lines = path.read_text(encoding="utf-8").splitlines()
    lines[number - 1] = line
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return number


@pytest.mark.parametrize(
    ("start", "line", "said"),
    [
        ("wall_height_ft", 'wall_height_ft = "tall"', "tall"),
        ("building_length_ft", 'building_length_ft = "-12 ft"', "must lie between"),
        ("wall_height_ft", 'wall_height_ft = ""', "is blank"),
        ("building_length_ft", "bilding_length_ft = 12", "is not an input of the job"),
        ("option_kind", 'option_kind = "stilts"', "Use one of"),
        ("soil", 'soil = "cheese"', "Use one of"),
        ("wall_height_ft", "wall_height_ft = = 8", "not valid TOML"),
    ],
)
def test_a_bad_line_of_a_job_file_is_named(
    start: str, line: str, said: str, job_file: Path, tmp_path: Path, refused: Run
) -> None:
    number = replaced(job_file, start, line)
    text = refused("new", tmp_path / "new.xlsx", "--job", job_file)
    assert f"line {number}" in text
    assert said in text
    assert not (tmp_path / "new.xlsx").exists()


def test_a_bad_line_of_a_price_list_is_named(
    fresh_template: Path, tmp_path: Path, refused: Run
) -> None:
    assert fresh_template.exists()
    prices = Path(shutil.copy(KNOWN_BOOK / "items.csv", tmp_path / "yard.csv"))
    lines = prices.read_text(encoding="utf-8").splitlines()
    lines[4] += ",and more"
    prices.write_text("\n".join(lines) + "\n", encoding="utf-8")
    text = refused("new", tmp_path / "new.xlsx", "--demo", "--prices", prices)
    assert "yard.csv, line 5" in text
    assert not (tmp_path / "new.xlsx").exists()


@pytest.mark.parametrize("name", ["shed.csv", "shed.xls", "shed.ods", "shed.xlsm"])
def test_a_new_workbook_ends_in_xlsx(name: str, tmp_path: Path, refused: Run) -> None:
    text = refused("new", tmp_path / name, "--demo")
    assert ".xlsx" in text
    assert os.listdir(tmp_path) == []


def test_a_file_that_is_there_is_not_replaced_unasked(tmp_path: Path, refused: Run) -> None:
    path = tmp_path / "shed.xlsx"
    path.write_text("mine")
    assert "--force" in refused("new", path, "--demo")
    assert path.read_text() == "mine"


def test_a_folder_that_is_not_there_is_told(
    fresh_template: Path, tmp_path: Path, refused: Run
) -> None:
    assert fresh_template.exists()
    text = refused("new", tmp_path / "none" / "shed.xlsx", "--demo")
    assert "no folder" in text


# --- every typed cell of the workbook ---


ENTRIES = ("text", -1e9, 1e305, True, None, " ", "1/0", "=A1", "12' 6\" x", 1e-320)
EVERY = 1 if os.environ.get("BAD_INPUT") == "all" else 9
"""Of how many pairs of a cell and an entry one is tried; 9 meets every entry and every cell."""


def test_no_entry_in_any_typed_cell_ends_in_anything_but_a_sentence(
    demo_book: bytes,
) -> None:
    """Every cell with one or two of the entries, and so every entry in every ninth cell.

    With the environment variable BAD_INPUT set to ``all``, every entry in every cell.
    """
    from estimator.model import build_model
    from estimator.typed_job import read_inputs
    from estimator.workbook.refill.book import read_book
    from estimator.workbook.refill.file_port import FilePort

    model = build_model()
    book = read_book(FilePort(opened(demo_book)), model)
    pairs = [(*cell, entry) for cell in _first_cells(model) for entry in ENTRIES][::EVERY]
    unclear = []
    for key, place, entry in pairs:
        cells = dict(book.typed.cells)
        cells[key, place] = entry
        try:
            read_inputs(model, TypedJob(cells, book.typed.where))
        except EstimatorError as error:
            if "!" not in error.where or not error.cure:
                unclear.append((key, entry, str(error)))
    assert unclear == []
    assert {(key, place) for key, place, _ in pairs} == set(_first_cells(model))
    assert {entry for _, _, entry in pairs} == set(ENTRIES)


def _first_cells(model: Any) -> Iterator[tuple[str, int]]:
    for key, item in model.quantities.items():
        if item.role == "input":
            yield key, 0
