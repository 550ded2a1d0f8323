"""A document open in LibreOffice, for real: edited over the socket, refilled, read back.

The document is the small workbook of the planters, but where every number of a whole one matters.
"""

from __future__ import annotations

import json
import os
import shutil
import signal
import socket
import subprocess
import time
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import planters
import pytest
from books import meanwhile
from planters import LENGTH

from estimator.engine import Model
from estimator.errors import EstimatorError, FileError, SolveError
from estimator.live import calc
from estimator.live.blocks import Block, LiveRefill, Look, refill_open
from estimator.live.calc import CalcBook, python_with_uno
from estimator.model import build_model
from estimator.rows import mark_of
from estimator.workbook.package.a1 import Range, address
from estimator.workbook.refill.port import range_of
from estimator.workbook.refill.refill import plan_refill

SOFFICE, PYTHON = shutil.which("soffice"), python_with_uno()
pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(SOFFICE is None, reason="soffice (LibreOffice) is not installed"),
    pytest.mark.skipif(PYTHON is None, reason="no Python with LibreOffice's module uno"),
]
OWN_SHEET = "My own sheet"
IN_DOCUMENT = """
import sys, uno
context = uno.getComponentContext()
resolver = context.ServiceManager.createInstanceWithContext(
    "com.sun.star.bridge.UnoUrlResolver", context)
remote = resolver.resolve(
    "uno:socket,host=127.0.0.1,port=%d;urp;StarOffice.ComponentContext" % int(sys.argv[1]))
desktop = remote.ServiceManager.createInstanceWithContext("com.sun.star.frame.Desktop", remote)
opened = desktop.getComponents().createEnumeration()
document = opened.nextElement() if opened.hasMoreElements() else None
"""
# The UNO bridge's threads can crash an interpreter that tears itself down, so it does not.
LEAVE = """
import os
sys.stdout.flush()
os._exit(0)
"""
OPEN = 'desktop.loadComponentFromURL(sys.argv[2], "_blank", 0, ())'
CLOSE_ALL = """
while document is not None:
    document.close(True)
    document = opened.nextElement() if opened.hasMoreElements() else None
"""
ADD_SHEET_AND_CHART = f"""
from com.sun.star.awt import Rectangle
document.Sheets.insertNewByName("{OWN_SHEET}", 0)
sheet = document.Sheets.getByName("{OWN_SHEET}")
area = sheet.getCellRangeByName("A1:B3")
area.setDataArray((("what", "dollars"), ("paint", 120.0), ("nails", 30.0)))
sheet.getCellRangeByName("B4").setFormula("=SUM(B2:B3)+SUM(option_used)")
sheet.Charts.addNewByName("My chart", Rectangle(0, 3000, 9000, 6000), (area.getRangeAddress(),),
    True, True)
"""
COUNT_CHARTS = f"""
sheet = document.Sheets.getByName("{OWN_SHEET}")
print(sheet.Charts.getElementNames(), sheet.getCellRangeByName("B4").getValue())
"""
ALL_CELLS = """
import json
shown = {}
for sheet in document.Sheets:
    cursor = sheet.createCursor()
    cursor.gotoEndOfUsedArea(False)
    end = cursor.getRangeAddress()
    area = sheet.getCellRangeByPosition(0, 0, end.EndColumn, end.EndRow)
    groups = sheet.getUniqueCellFormatRanges()
    looks = {}
    shown[sheet.Name] = {
        "values": area.getDataArray(), "formulas": area.getFormulaArray(), "looks": looks
    }
    for group in (groups.getByIndex(n) for n in range(groups.getCount())):
        look = group.CellStyle, group.NumberFormat
        for area in group.getRangeAddresses():
            right, bottom = min(area.EndColumn, end.EndColumn), min(area.EndRow, end.EndRow)
            for row in range(area.StartRow, bottom + 1):
                for column in range(area.StartColumn, right + 1):
                    looks[f"{row} {column}"] = look
print(json.dumps(shown))
"""
UNDO = "document.getUndoManager().undo()"
REDO = "document.getUndoManager().redo()"
UNDO_STEPS = "print(document.getUndoManager().getAllUndoActionTitles())"
PROTECT = "document.Sheets.getByName(sys.argv[2]).protect('')"
TYPE_DATE = """
from com.sun.star.lang import Locale
cell = document.Sheets.getByName(sys.argv[2]).getCellByPosition(int(sys.argv[3]), int(sys.argv[4]))
cell.NumberFormat = document.getNumberFormats().getStandardFormat(2, Locale())
cell.setValue(45632)
"""
TYPE_FORMULA = """
cell = document.Sheets.getByName(sys.argv[2]).getCellByPosition(int(sys.argv[3]), int(sys.argv[4]))
cell.setFormula(sys.argv[5])
"""
SHOWN = """
cell = document.Sheets.getByName(sys.argv[2]).getCellByPosition(int(sys.argv[3]), int(sys.argv[4]))
print(cell.getString(), cell.CellStyle)
"""
CLOSE = "document.close(True)"
LOADER_SAYS = """
try:
    loader = remote.ServiceManager.createInstanceWithContext("com.sun.star.loader.Python", remote)
    print(loader.activate("inside", "", sys.argv[2], None))
except Exception as error:
    print(error)
"""


@dataclass
class Office:
    """A running LibreOffice with one document."""

    port: int
    process: subprocess.Popen[bytes]
    watching: CalcBook | None = None

    def book(self) -> CalcBook:
        """A fresh view of the document, for a refill."""
        return CalcBook(self.port, None, PYTHON)

    def watch(self) -> CalcBook:
        """A view of the document that tests type and look through, kept as long as it is open."""
        if self.watching is None:
            self.watching = self.book()
        return self.watching

    def run(self, script: str, *arguments: str) -> str:
        """Run a script in the document, as a macro of the person's would."""
        assert PYTHON is not None
        done = subprocess.run(
            [PYTHON, "-c", IN_DOCUMENT + script + LEAVE, str(self.port), *arguments],
            check=True, capture_output=True, text=True, timeout=120,
        )  # fmt: skip
        return done.stdout.strip()

    def close_all(self) -> None:
        """Close what is open, and the view of it."""
        if self.watching is not None:
            self.watching.close()
            self.watching = None
        self.run(CLOSE_ALL)


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@pytest.fixture(scope="module")
def model() -> Model:
    return planters.model()


@pytest.fixture(scope="module")
def listening(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Office]:
    """LibreOffice listening on this machine, without a document."""
    port = free_port()
    profile = tmp_path_factory.mktemp("profile").as_uri()
    assert SOFFICE is not None
    process = subprocess.Popen(
        [
            SOFFICE, f"-env:UserInstallation={profile}", "--headless", "--norestore",
            f"--accept=socket,host=127.0.0.1,port={port},tcpNoDelay=1;urp;",
        ],
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    running = Office(port, process)
    try:
        _wait(running)
        yield running
    finally:
        _stop(running)


@contextmanager
def showing(listening: Office, data: bytes, path: Path) -> Iterator[Office]:
    """A workbook open in that LibreOffice."""
    path.write_bytes(data)
    listening.run(OPEN, path.as_uri())
    try:
        yield listening
    finally:
        listening.close_all()


@pytest.fixture
def office(listening: Office, tmp_path: Path) -> Iterator[Office]:
    """The same with the small workbook open."""
    with showing(listening, planters.planted(), tmp_path / "planters.xlsx") as found:
        yield found


@pytest.fixture
def whole(listening: Office, demo_book: bytes, tmp_path: Path) -> Iterator[Office]:
    """The same with the demo workbook open, as it came from the command."""
    with showing(listening, demo_book, tmp_path / "demo.xlsx") as found:
        yield found


def _wait(office: Office) -> None:
    deadline = time.monotonic() + 180
    while True:
        try:
            office.run("")
            return
        except subprocess.CalledProcessError:
            if time.monotonic() > deadline or office.process.poll() is not None:
                raise
            time.sleep(1)


def _stop(office: Office) -> None:
    try:
        office.run("desktop.terminate()")
    except (subprocess.CalledProcessError, subprocess.TimeoutExpired):
        office.process.terminate()
    try:
        office.process.wait(timeout=30)
    except subprocess.TimeoutExpired:
        office.process.kill()
        office.process.wait()


def type_in(office: Office, name: str, down: int, right: int, value: Any) -> None:
    """Type into the typed cell so far down and right in the range of that name."""
    book = office.watch()
    sheet, area = range_of(book, name)
    book.write((Block(sheet, area.row1 + down, area.column1 + right, ((value,),)),))


def values_of(office: Office, name: str) -> list[Any]:
    """What the cells of a name show now."""
    book = office.watch()
    sheet, area = range_of(book, name)
    rows = book.ask("sheet", sheet=sheet)["values"][area.row1 - 1 : area.row2]
    return [value for row in rows for value in row[area.column1 - 1 : area.column2]]


def refilled(office: Office, model: Model) -> LiveRefill:
    with office.book() as book:
        return refill_open(book, model)


def test_soffice_shows_the_engines_numbers_of_a_whole_workbook_after_an_edit_and_a_refill(
    whole: Office,
) -> None:
    """A new one is up to date; what fills a list looks as its first row does."""
    model = build_model()
    done = refilled(whole, model)
    assert done.sentence == "demo.xlsx was up to date."
    assert done.refill.typed_over == (), "every formula reads as the model's own"

    whole.run(ADD_SHEET_AND_CHART)
    place = values_of(whole, "point_x_ft")[2]
    type_in(whole, "in_point_x_ft", 2, 0, place - 0.5)
    assert max(values_of(whole, mark_of("ground"))[:4]) == 2, "the edit must show as out of date"

    done = refilled(whole, model)

    assert done.blocks
    assert "Refilled demo.xlsx" in done.sentence
    with whole.book() as book:
        again = plan_refill(book, model)
        differing = [
            (cell, shown.value, wanted)
            for cell, wanted in {**again.caches, **again.writes}.items()
            if not same(shown := book.read(cell[0], Range(*cell[1:], *cell[1:]))[0][0], wanted)
        ]
    assert differing == []
    for solver in model.solvers:
        marks = [v for v in values_of(whole, mark_of(solver)) if v not in (None, "")]
        assert marks
        assert set(marks) == {0.0}, solver
    charts, _, total = whole.run(COUNT_CHARTS).rpartition(" ")
    assert charts == "('My chart',)"
    assert float(total) == 150 + 4, "the own formula reads the workbook's names"

    sheet, area = range_of(whole.watch(), "triangle_ft2")
    row, column = area.row2, area.column1
    block = Block(sheet, row, column, ((1.5,),))
    whole.watch().write((block,), (Look(sheet, column, row, row, area.row1),))
    assert whole.run(SHOWN, sheet, str(column - 1), str(row - 1)) == "1.500 Table solved number"


def same(shown: Any, wanted: Any) -> bool:
    """Whether a cell shows a value: LibreOffice keeps 15 digits, and sums in its own order."""
    value = shown.value
    if wanted is None or wanted == "":
        return value in (None, "")
    if isinstance(wanted, str) or not isinstance(value, float):
        return bool(value == wanted)
    return abs(value - wanted) <= 1e-9 * max(1.0, abs(wanted))


def all_of(office: Office, first: str = "") -> dict[str, Any]:
    """Every cell of the document after a script: values, formulas, styles and number formats."""
    found: dict[str, Any] = json.loads(office.run(first + ALL_CELLS))
    return found


EDITS: tuple[tuple[tuple[str, int, int, Any], ...], ...] = (
    # that moves, fills and empties cells of several blocks
    (
        (LENGTH, 0, 0, "14 ft"),
        ("in_option_kind", 0, 0, None),
        ("in_option_kind", 0, 2, "heap"),
        ("in_depth_in", 0, 2, "9"),
        ("in_option_soil", 0, 2, "Sand"),
    ),
    (("in_option_kind", 0, 0, "box"), ("in_option_kind", 0, 2, None)),
    (("in_depth_in", 0, 1, 30.0),),
    (("in_depth_in", 0, 1, 12.0), ("in_option_name", 0, 0, None)),
    (("in_soil_name", 3, 0, "Peat & ash"), ("in_soil_price", 3, 0, 2.4)),
    (("in_soil_wet_ft", 1, 0, "2' 3\""),),
    (("in_soil_wet_ft", 0, 0, 3.0), ("in_soil_season", 0, 0, "fall")),
    (("in_waste_share", 0, 0, 0.0),),
    (("in_planter_width_in", 0, 0, 36.0),),
    ((LENGTH, 0, 0, "3.5 m"),),
    (("in_soil_name", 3, 0, None), ("in_soil_price", 3, 0, None)),
    (("in_job_name", 0, 0, None), (LENGTH, 0, 0, 2.0)),
    (("in_option_name", 0, 1, "Übertopf \u201eNord\u201c"), ("in_depth_in", 0, 1, 40.0)),
    (("cost_usd", 0, 0, None),),
    (("bags", 0, 0, 50.0), ("in_planter_width_in", 0, 0, 90.0)),
    (("bags", 0, 0, None),),
    (("step_rise_in", 1, 1, 99.0),),
    (("step_word", 0, 0, None), ("step_at_ft", 2, 0, "gone")),
    (("in_soil_price", 0, 0, 9.5), ("in_boards", 0, 1, 9.0)),
    ((LENGTH, 0, 0, 99.0), ("in_bags_least", 0, 0, 45.0)),
)
"""One after another: what they type where, some of them cells that a refill empties or fills."""


def test_undo_and_redo_of_a_refill_bring_every_cell_back_in_soffice(
    office: Office, model: Model
) -> None:
    moved = filled = emptied = 0
    for number, edit in enumerate(EDITS):
        longer = (LENGTH, 0, 0, 8.0 + number), *edit  # so that there is something to solve again
        for name, down, right, value in longer:
            type_in(office, name, down, right, value)
        before = all_of(office)
        assert refilled(office, model).blocks, f"edit {number} changes nothing"
        after = all_of(office)
        moved += sum(before[name] != after[name] for name in before)
        filled += len(blanks_of(before) - blanks_of(after))
        emptied += len(blanks_of(after) - blanks_of(before))
        assert differing(all_of(office, UNDO), before) == [], f"undone after edit {number}"
        assert differing(all_of(office, REDO), after) == [], f"done again after edit {number}"
    assert moved >= 3 * len(EDITS)
    assert filled >= 15
    assert emptied >= 5


def blanks_of(found: dict[str, Any]) -> set[tuple[str, int, int]]:
    """Cells that show nothing."""
    return {
        (name, r, c)
        for name, sheet in found.items()
        for r, row in enumerate(sheet["values"])
        for c, value in enumerate(row)
        if value == ""
    }


def differing(found: dict[str, Any], wanted: dict[str, Any]) -> list[str]:
    """Cells, and looks of cells, that are not what is wanted."""
    assert found.keys() == wanted.keys()
    said = []
    for name, sheet in found.items():
        before = wanted[name]
        said += [
            f"{name} {place}: {look}, not {before['looks'][place]}"
            for place, look in sheet["looks"].items()
            if look != before["looks"][place]
        ]
        for what in ("values", "formulas"):
            for r, (row, there) in enumerate(zip(sheet[what], before[what], strict=True)):
                for c, (one, other) in enumerate(zip(row, there, strict=True)):
                    if one != other:
                        said.append(f"{name}!{address(r + 1, c + 1)} {what}: {one!r} {other!r}")
    return said


def test_an_input_that_cannot_be_read_leaves_the_soffice_document_alone(
    office: Office, model: Model
) -> None:
    type_in(office, LENGTH, 0, 0, "about ten")
    before = office.run(UNDO_STEPS)
    with pytest.raises(EstimatorError, match="about ten"):
        refilled(office, model)
    assert office.run(UNDO_STEPS) == before, "nothing was written"


def test_a_length_that_soffice_took_for_a_date_is_refused(office: Office, model: Model) -> None:
    with office.book() as book:
        sheet, area = range_of(book, LENGTH)
    office.run(TYPE_DATE, sheet, str(area.column1 - 1), str(area.row1 - 1))
    with pytest.raises(EstimatorError, match="is a date"):
        refilled(office, model)


def test_a_write_that_fails_half_way_is_taken_back_in_soffice(office: Office, model: Model) -> None:
    """The steps are written first, and the buying can't be."""
    type_in(office, LENGTH, 0, 0, "20 ft")
    sheet, steps = model.quantities["trips"].sheet, model.quantities["step_at_ft"].sheet
    assert steps < sheet, "blocks are written in the order of their sheets"
    office.run(PROTECT, sheet)
    before = {name: values_of(office, name) for name in ("snapshot_value", "step_at_ft", "trips")}
    undo_steps = office.run(UNDO_STEPS)
    with pytest.raises(FileError, match=sheet):
        refilled(office, model)
    assert {name: values_of(office, name) for name in before} == before
    assert office.run(UNDO_STEPS) == undo_steps


def test_a_blank_computed_cell_gets_its_formula_back_in_soffice(
    office: Office, model: Model
) -> None:
    before = values_of(office, "cost_usd")
    type_in(office, "cost_usd", 0, 0, None)
    assert values_of(office, "cost_usd") != before
    done = refilled(office, model)
    assert "1 blank computed cells got their formulas back." in done.notes
    assert not refilled(office, model).refill.typed_over, "the formula is the model's again"
    assert values_of(office, "cost_usd") == before


def test_a_formula_of_ones_own_in_soffice_is_kept_and_followed(
    office: Office, model: Model
) -> None:
    book = office.watch()
    sheet, area = range_of(book, "best_price")
    solved, at = range_of(book, "bags")
    own = f"=$'{solved}'.{address(at.row1, at.column1)}*10"
    office.run(TYPE_FORMULA, sheet, str(area.column1 - 1), str(area.row1 - 1), own)
    before = values_of(office, "bags")
    type_in(office, LENGTH, 0, 0, "14 ft")

    done = refilled(office, model)

    assert any("Price of the best soil" in note for note in done.notes)
    assert values_of(office, "bags") != before
    assert values_of(office, "best_price")[0] == 10 * values_of(office, "bags")[0]
    assert refilled(office, model).sentence == "planters.xlsx was up to date."


def test_a_document_closed_meanwhile_is_said_plainly_by_soffice(
    office: Office, model: Model
) -> None:
    with office.book() as book:
        book.ranges()
        office.run(CLOSE)
        with pytest.raises(FileError, match="still open"):
            refill_open(book, model)


def test_an_error_of_the_engine_in_the_middle_leaves_the_soffice_document_alone(
    office: Office, model: Model
) -> None:
    def fails() -> None:
        raise SolveError("no frame fits.", where="Options")

    type_in(office, LENGTH, 0, 0, "14 ft")
    before = office.run(UNDO_STEPS)
    with office.book() as book, pytest.raises(SolveError, match="no frame fits"):
        refill_open(book, meanwhile(model, fails, "steps"))
    assert office.run(UNDO_STEPS) == before, "nothing was written"


def test_a_document_closed_while_it_is_solved_is_said_plainly_by_soffice(
    office: Office, model: Model
) -> None:
    type_in(office, LENGTH, 0, 0, "14 ft")
    with office.book() as book, pytest.raises(FileError, match="still open"):
        refill_open(book, meanwhile(model, lambda: office.run(CLOSE), "steps"))


def test_two_refills_of_a_soffice_document_at_once_leave_what_one_leaves(
    office: Office, model: Model
) -> None:
    type_in(office, LENGTH, 0, 0, "14 ft")
    others: list[LiveRefill] = []
    with office.book() as book:
        happens = meanwhile(model, lambda: others.append(refilled(office, model)), "steps")
        first = refill_open(book, happens)
    assert first.blocks
    assert others[0].blocks
    assert refilled(office, model).sentence == "planters.xlsx was up to date."


def test_nothing_listens_and_the_message_says_how_to_start_soffice() -> None:
    with pytest.raises(FileError, match=r"does not answer.*127\.0\.0\.1"):
        CalcBook(free_port(), None, PYTHON)


def test_the_document_of_the_file_that_is_named_is_refilled_and_no_other_of_that_name(
    listening: Office, tmp_path: Path
) -> None:
    one, other = tmp_path / "a" / "shed.xlsx", tmp_path / "b" / "shed.xlsx"
    for path in (one, other):
        path.parent.mkdir()
        path.write_bytes(planters.planted())
    listening.run(OPEN, other.as_uri())
    try:
        with pytest.raises(FileError, match=f"is not open in LibreOffice.*{other}"):
            CalcBook(listening.port, one, PYTHON)
        listening.run(OPEN, one.as_uri())
        with CalcBook(listening.port, one, PYTHON) as book:
            sheet, area = range_of(book, LENGTH)
            book.write((Block(sheet, area.row1, area.column1, ((11.0,),)),))
        shown = {}
        for path in (one, other):
            with CalcBook(listening.port, path, PYTHON) as book:
                shown[path] = book.read(sheet, area)[0][0].value
                assert book.label == "shed.xlsx"
        assert shown[one] == 11.0 != shown[other]
    finally:
        listening.close_all()


def test_a_libreoffice_that_never_answers_is_given_up() -> None:
    with socket.socket() as silent:
        silent.bind(("127.0.0.1", 0))
        silent.listen()
        port = int(silent.getsockname()[1])
        with pytest.raises(FileError, match=r"does not answer on port .* within 3 seconds"):
            CalcBook(port, None, PYTHON, patience=3.0)


def test_a_libreoffice_that_stops_answering_is_given_up_and_no_class_is_named(
    office: Office,
) -> None:
    with office.book() as book:
        assert PYTHON is not None
        hasty = CalcBook(office.port, None, PYTHON, patience=2.0)
        os.kill(_soffice(office), signal.SIGSTOP)
        try:
            with pytest.raises(FileError) as told:
                hasty.ask("sheet", sheet="Planting")
        finally:
            os.kill(_soffice(office), signal.SIGCONT)
            hasty.close()
        assert "has not answered for 2 seconds" in str(told.value)
        assert "Exception" not in str(told.value)
        assert book.read("Planting", Range(1, 1, 1, 1))[0][0].value


def _soffice(office: Office) -> int:
    """The process that does the work; the one that was started only waits for it."""
    found = subprocess.run(
        ["pgrep", "-f", f"soffice.bin.*port={office.port}"],
        check=True, capture_output=True, text=True,
    )  # fmt: skip
    return int(found.stdout.split()[0])


def test_a_libreoffice_without_its_loader_is_worked_from_outside_to_the_same_end(
    office: Office, model: Model, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def seen() -> tuple[Any, ...]:
        with office.book() as book:
            return book.ranges(), [book.ask("sheet", sheet=s) for s in ("Planting", "Soils")]

    within, before = seen(), all_of(office)
    for name in ("calc_bridge.py", "calc_document.py"):
        text = calc.BRIDGE.with_name(name).read_text(encoding="utf-8")
        lacking = text.replace("def getComponentFactory", "def nothing")
        (tmp_path / name).write_text(lacking, encoding="utf-8")
    monkeypatch.setattr(calc, "BRIDGE", tmp_path / "calc_bridge.py")
    assert seen() == within
    with office.book() as book:
        sheet, area = range_of(book, LENGTH)
        book.write((Block(sheet, area.row1, area.column1, ((11.0,),)),))
    typed = all_of(office)
    assert refilled(office, model).blocks
    assert all_of(office, UNDO) == typed
    assert all_of(office, UNDO) == before


def test_an_answer_from_within_is_that_of_the_file_as_it_is_now(
    office: Office, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """LibreOffice keeps the code that it has loaded; a newer estimator must not meet an older.

    Where its loader answers nothing, the same answer comes from without.
    """
    for name in ("calc_bridge.py", "calc_document.py"):
        shutil.copy(calc.BRIDGE.with_name(name), tmp_path)
    monkeypatch.setattr(calc, "BRIDGE", tmp_path / "calc_bridge.py")
    with office.book() as book:
        assert LENGTH in book.ranges()
    inside = tmp_path / "calc_document.py"
    text = inside.read_text(encoding="utf-8")
    work = "document.names()"
    assert work in text
    inside.write_text(text.replace(work, '{__name__: "$Planting.$A$1"}'), encoding="utf-8")
    with office.book() as book:
        names = dict(book.ranges())
    assert list(names.values()) == [("Planting", Range(1, 1, 1, 1))]
    if "inside" not in names:
        warnings.warn(f"from without: {office.run(LOADER_SAYS, inside.as_uri())}", stacklevel=1)
