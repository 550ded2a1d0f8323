"""Setting up the live link, and saying in plain words what is missing."""

from __future__ import annotations

import importlib.util
import os
import socket
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from estimator.errors import EstimatorError, FileError, on_command_line
from estimator.live.blocks import LiveRefill
from estimator.live.calc import PORT, accept_command, python_with_uno
from estimator.live.conf_sheet import SHEET, foreign, settings_of, with_settings
from estimator.metric import suited
from estimator.model import build_model
from estimator.office import find_office
from estimator.workbook.package.parts import Package, read_file
from estimator.workbook.refill.file import refill_package
from estimator.workbook.refill.live_copy import LiveCopy, with_live_blocks
from estimator.workbook.refill.locking import locked
from estimator.workbook.refill.save import Seen, write_atomically
from estimator.workbook.template.names import VERSION

MODULE = "estimator.live.udfs"
ROOT = Path(__file__).resolve().parents[2]
BUTTON = 'RunPython "from estimator.live.open_book import refill_caller; refill_caller()"'

STEPS_WINDOWS = f"""Windows, once:
  1. In a terminal: xlwings addin install
  2. In Excel: File > Options > Trust Center > Trust Center Settings > Macro Settings:
     tick "Trust access to the VBA project object model".
  3. Save the workbook as .xlsm, open the tab xlwings, click Import Functions.
     For a button: Alt+F11, Tools > References, tick xlwings, Insert > Module, and in a Sub:
     {BUTTON}
"""
STEPS_FUNCTIONS = """Windows, in the copy:
  1. The steps of "estimator link" once on this computer: xlwings addin install, and Trust access
     to the VBA project object model.
  2. Open the copy, allow editing, open the tab xlwings, click Import Functions, save.
  3. Press Ctrl+Alt+Shift+F9 once, so that every formula finds its function.
"""
STEPS_MAC = f"""macOS, once (refill only; spreadsheet functions need Windows):
  1. In a terminal: xlwings addin install
  2. Save the workbook as .xlsm. Tools > Macro > Visual Basic Editor, Tools > References,
     tick xlwings, Insert > Module, and in a Sub: {BUTTON}
  3. Insert > Form Control > Button, choose that Sub. Or without a macro, with the book open:
     estimator link --refill FILE.xlsx
"""
STEPS_CALC = f"""LibreOffice (Linux, or where there is no Excel):
  1. Close LibreOffice, then start it in a terminal: {accept_command()}
  2. Open the workbook in it and edit.
  3. To refill, in another terminal: estimator link --refill FILE.xlsx
"""


def steps() -> str:
    """The three steps on this system."""
    if sys.platform == "win32":
        return STEPS_WINDOWS
    return STEPS_MAC if sys.platform == "darwin" else STEPS_CALC


def settings() -> dict[str, str]:
    """What xlwings must know: this Python, where the package is, the module of functions."""
    return {
        "INTERPRETER_MAC" if sys.platform == "darwin" else "INTERPRETER_WIN": sys.executable,
        "PYTHONPATH": str(ROOT),
        "UDF MODULES": MODULE,
    }


def link_workbook(path: Path) -> tuple[str, ...]:
    """Write the settings into a workbook's sheet ``xlwings.conf``, the version before beside it.

    Returns:
        Names of settings of other programs that were taken out of it.

    Raises:
        FileError: If it is not a workbook of ours or can't be written.
    """
    with locked(path):
        before = read_file(path)
        package = Package.open(before, label=path.name)
        if VERSION not in package.names:
            raise FileError(
                "is not a workbook made by this estimator.",
                where=path.name,
                cure="Make one with: estimator new FILE.xlsx",
            )
        taken_out = foreign(settings_of(package), settings())
        data = with_settings(package, settings())
        write_atomically(path, data, seen=Seen.of(before))
    return taken_out


def link_functions(path: Path, to: Path | None = None) -> tuple[Path, LiveCopy]:
    """Write a copy of a workbook, refilled, whose solved blocks are functions (Excel on Windows).

    Args:
        path: The workbook; it stays as it is.
        to: The copy; None puts it beside the workbook, with the ending .xlsm.

    Raises:
        EstimatorError: If the workbook or an input can't be used, or the copy is there already.
    """
    to = path.with_suffix(".xlsm") if to is None else to
    if to.suffix.lower() != ".xlsm":
        raise FileError(
            "a copy with functions must be an .xlsm file.",
            where=to.name,
            cure="Give a name that ends in .xlsm.",
        )
    if to.exists():
        raise FileError(
            "there is a file of that name already.", where=str(to), cure="Choose another with -o."
        )
    package = Package.open(read_file(path), label=path.name)
    model = suited(build_model(), package.names)
    fresh, _, _ = refill_package(package, model)
    copy = with_live_blocks(Package.open(fresh, label=path.name), model)
    done = with_settings(Package.open(copy.data, label=to.name), settings())
    write_atomically(to, done, seen=Seen.of(None))
    return to, copy


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that the link needs: whether it is there, and what to do if not."""

    good: bool
    what: str
    cure: str = ""

    @property
    def line(self) -> str:
        """The finding as a line for a person."""
        return f"  ok       {self.what}" if self.good else f"  MISSING  {self.what}. {self.cure}"


def check(path: Path | None = None, port: int = PORT) -> tuple[str, bool]:
    """What the live link has and lacks on this machine, in plain words.

    Args:
        path: A workbook to look at as well.
        port: Where LibreOffice should listen.

    Returns:
        The text, and whether one way (Excel or LibreOffice) is ready.
    """
    excel, calc = tuple(_excel(path)), tuple(_calc(port))
    parts = (("Excel, through xlwings", excel), ("LibreOffice Calc", calc))
    text = []
    for title, findings in parts:
        text += [f"{title}:", *(f.line for f in findings)]
    ready = [title for title, findings in parts if all(f.good for f in findings)]
    text.append(f"Ready: {', '.join(ready)}." if ready else "Nothing is ready yet.")
    if not ready:
        text += ["", steps().rstrip()]
    return "\n".join(text), bool(ready)


def _excel(path: Path | None) -> Iterator[Finding]:
    system = sys.platform in ("win32", "darwin")
    yield Finding(
        system, "a system that Excel runs on", "Excel is for Windows and macOS; use LibreOffice."
    )
    yield Finding(
        importlib.util.find_spec("xlwings") is not None,
        "the Python package xlwings",
        "In a terminal: pip install xlwings",
    )
    if sys.platform == "win32":
        yield Finding(
            importlib.util.find_spec("pythoncom") is not None,
            "the Python package pywin32",
            "In a terminal: pip install pywin32",
        )
    if system:
        yield Finding(
            any(p.is_file() for p in _addins()),
            "the xlwings add-in in Excel's start folder",
            "In a terminal: xlwings addin install",
        )
    if path is not None:
        yield from _workbook(path)


def _addins() -> Iterator[Path]:
    home = Path.home()
    yield Path(os.environ.get("APPDATA", home)) / "Microsoft/Excel/XLSTART/xlwings.xlam"
    group = home / "Library/Group Containers/UBF8T346G9.Office/User Content.localized"
    yield group / "Startup.localized/Excel/xlwings.xlam"


def _workbook(path: Path) -> Iterator[Finding]:
    try:
        written = settings_of(Package.open(read_file(path), label=path.name))
    except EstimatorError as error:
        yield Finding(False, f"a workbook that can be read ({error})", "")
        return
    run = f"In a terminal: estimator link {on_command_line(path.name)}"
    yield Finding(bool(written), f"the sheet {SHEET} in {path.name}", run)
    if written:
        for key, wanted in settings().items():
            found = written.get(key, "")
            good = found == wanted and (key == "UDF MODULES" or Path(found).exists())
            yield Finding(good, f"{key} on it: {wanted}{_instead(found, wanted)}", run)
        others = foreign(written, settings())
        yield Finding(
            not others,
            "nothing on it of another program"
            + (f" (there is {', '.join(others)})" if others else ""),
            run,
        )
    if sys.platform == "win32":
        yield Finding(
            path.suffix.lower() == ".xlsm",
            "a workbook that may hold macros",
            "For functions and a button, save it as .xlsm.",
        )


def _instead(found: str, wanted: str) -> str:
    return "" if found in ("", wanted) else f" (there is {found})"


def _calc(port: int) -> Iterator[Finding]:
    yield Finding(find_office() is not None, "LibreOffice", "Install it.")
    yield Finding(
        python_with_uno() is not None,
        "a Python that LibreOffice answers to (module uno)",
        "On Debian and Ubuntu install python3-uno; elsewhere LibreOffice brings it.",
    )
    yield Finding(
        _listens(port),
        f"LibreOffice listening on port {port} of this machine",
        f"Close it, then start it with: {accept_command(port)}",
    )


def _listens(port: int) -> bool:
    try:
        with socket.create_connection(("127.0.0.1", port), timeout=1):
            return True
    except OSError:
        return False


def refill(path: Path | None, port: int = PORT) -> LiveRefill:
    """Refill the book that is open in Excel, or in LibreOffice where there is no Excel.

    Raises:
        EstimatorError: What is wrong; the book is then as it was.
    """
    from estimator.live.calc import refill_document
    from estimator.live.open_book import find_book, refill_book

    if sys.platform in ("win32", "darwin") and not _listens(port):
        return refill_book(find_book(path))
    return refill_document(port, path)
