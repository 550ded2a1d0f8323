"""Renders the pictures of the README and of the guide to the live link.

Makes the demo, converts it with headless LibreOffice and crops the first page of some sheets to
what is on it; the guide's sheets hold what the functions give, which LibreOffice lacks. Needs
soffice, pdftoppm and pdftotext on the path, and Pillow.

    python scripts/render_pictures.py [NAME ...]    all of them, or only these
"""

from __future__ import annotations

import io
import os
import subprocess
import sys
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path

from openpyxl import Workbook, load_workbook
from openpyxl.styles import Alignment, Border, Font, PatternFill, Side
from openpyxl.worksheet.properties import PageSetupProperties
from openpyxl.worksheet.worksheet import Worksheet
from PIL import Image, ImageChops

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from estimator.live import udfs  # noqa: E402
from estimator.live.conf_sheet import with_settings  # noqa: E402
from estimator.workbook.package.parts import Package  # noqa: E402

PICTURES = ROOT / "docs" / "pictures"
SHEETS = {
    "start": "Base of a small outbuilding",
    "field_sheet": "First the call; then heights",
    "pictures": "Sides of the base",
    "cut_plan": "At the saw: boards of the chosen option",
}
DPI = 100
MARGIN = 20


def run(*command: str) -> str:
    """Run a command to its end; what it printed."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    done = subprocess.run(command, check=True, capture_output=True, env=environment, text=True)
    return done.stdout


def cropped(path: Path) -> Image.Image:
    """A page without its white margins and its footer."""
    page = Image.open(path).convert("RGB")
    page = page.crop((0, 0, page.width, int(page.height * 0.93)))
    box = ImageChops.difference(page, Image.new("RGB", page.size, "white")).getbbox()
    assert box is not None
    left, top, right, bottom = box
    bottom = min(bottom + MARGIN, page.height)
    return page.crop((left - MARGIN, top - MARGIN, right + MARGIN, bottom))


EXAMPLE = {
    "INTERPRETER_WIN": r"C:\Users\you\estimator\.venv\Scripts\python.exe",
    "PYTHONPATH": r"C:\Users\you\estimator",
    "UDF MODULES": "estimator.live.udfs",
}
PIECES = (("joist", 117.0, 13.0), ("rim", "16 ft", 2.0), ("block", 14.5, 12.0))
STOCK = (("2x8 12 ft", 12.0, 11.5), ("2x8 16 ft", 16.0, 15.75), ("2x8 20 ft", 20.0, 21.4))
THIN = Side(style="thin", color="C8C8C8")
HEAD = PatternFill("solid", fgColor="E8EDE6")


def settings_book(folder: Path) -> Path:
    """A workbook whose sheet of settings reads as it does on somebody's Windows."""
    path = folder / "settings.xlsx"
    empty = folder / "empty.xlsx"
    Workbook().save(empty)
    book = load_workbook(io.BytesIO(with_settings(Package.open(empty), EXAMPLE)))
    sheet = book["xlwings.conf"]
    one_page_wide(sheet)
    sheet.print_options.gridLines = sheet.print_options.headings = True
    book.save(path)
    return path


def function_book(folder: Path) -> Path:
    """A sheet with the ranges that a function takes and the table that it gives."""
    book = Workbook()
    sheet = book.worksheets[0]
    one_page_wide(sheet)
    table(sheet, 3, 1, (("Piece", "Length", "Count"), *PIECES))
    table(sheet, 3, 5, (("Board", "Feet", "Price"), *STOCK))
    plan = udfs.base_cut_plan([list(r) for r in PIECES], [list(r) for r in STOCK], 0.125)
    table(sheet, 9, 1, plan)
    sheet["A1"] = "A9:    =BASE_CUT_PLAN(A4:C6, E4:G6, 0.125)"
    total = 'B17:  =IF(LEFT(A9,2)="OK", SUM(C10:C15), "incomplete: "&A9)'
    sheet["A16"], sheet["A17"] = total, "Boards"
    sheet["B17"] = sum(float(row[2]) for row in plan[1:])
    for cell in ("A1", "A16"):
        sheet[cell].font = Font(name="DejaVu Sans Mono", size=10, color="1F5C3A")
    for column, width in zip("ABCDEFG", (46, 12, 13, 40, 13, 9, 9), strict=True):
        sheet.column_dimensions[column].width = width
    path = folder / "function.xlsx"
    book.save(path)
    return path


def one_page_wide(sheet: Worksheet) -> None:
    """Print a sheet on one page's width."""
    sheet.page_setup.orientation = "landscape"
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    sheet.page_setup.fitToHeight = 0


def table(sheet: Worksheet, row: int, column: int, rows: Sequence[Sequence[object]]) -> None:
    """Put a table on a sheet, its first row as headings."""
    for r, line in enumerate(rows):
        for c, value in enumerate(line):
            cell = sheet.cell(row + r, column + c, value)
            cell.border = Border(THIN, THIN, THIN, THIN)
            cell.alignment = Alignment(horizontal="left")
            if r == 0:
                cell.fill, cell.font = HEAD, Font(bold=True)


def render(book: Path, pictures: Mapping[str, str]) -> None:
    """Render pages of a workbook, each found by a text on it."""
    folder = book.parent
    profile = f"-env:UserInstallation={(folder / 'profile').as_uri()}"
    run("soffice", profile, "--headless", "--convert-to", "pdf", "--outdir", str(folder), str(book))
    pdf = str(book.with_suffix(".pdf"))
    pages = run("pdftotext", "-layout", pdf, "-").split("\f")
    for name, title in pictures.items():
        number = next(n for n, text in enumerate(pages, 1) if title in text)
        page, at = folder / name, str(number)
        run("pdftoppm", "-r", str(DPI), "-f", at, "-l", at, "-singlefile", "-png", pdf, str(page))
        picture = cropped(page.with_suffix(".png")).quantize(64)
        picture.save(PICTURES / f"{name}.png", optimize=True)
        print(f"docs/pictures/{name}.png from page {number}")


def main() -> None:
    """Render every picture, or those that are named."""
    wanted = sys.argv[1:]
    PICTURES.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        sheets = {n: t for n, t in SHEETS.items() if not wanted or n in wanted}
        if sheets:
            book = folder / "demo.xlsx"
            run(sys.executable, "-m", "estimator", "new", str(book), "--demo")
            render(book, sheets)
        if not wanted or "live_settings" in wanted:
            render(settings_book(folder), {"live_settings": "INTERPRETER_WIN"})
        if not wanted or "live_function" in wanted:
            render(function_book(folder), {"live_function": "BASE_CUT_PLAN"})


if __name__ == "__main__":
    main()
