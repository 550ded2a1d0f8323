"""One LibreOffice for all tests of a process: workbooks are opened in it, edited as a person edits,
worked out, read and saved."""

from __future__ import annotations

import atexit
import json
import shutil
import subprocess
import tempfile
from collections.abc import Mapping, Sequence
from functools import cache
from itertools import count
from pathlib import Path
from threading import Timer
from types import TracebackType
from typing import Any

import pytest

from estimator.workbook.refill.port import Edit

DRIVER = Path(__file__).with_name("office_driver.py")
FILTERS = {"xlsx": "Calc MS Excel 2007 XML", "ods": "calc8", "pdf": "calc_pdf_Export"}
"""What LibreOffice calls the kinds of file that tests want."""
MOST_S = 300.0
"""How long one answer of LibreOffice is waited for, s."""
Values = dict[str, list[list[Any]]]


@cache
def bridge() -> str:
    """The Python that can drive LibreOffice; empty where there is none."""
    if shutil.which("soffice") is None:
        return ""
    for program in ("/usr/bin/python3", shutil.which("python3"), shutil.which("python")):
        if program and Path(program).exists():
            asked = subprocess.run([program, "-c", "import uno"], capture_output=True, check=False)
            if asked.returncode == 0:
                return program
    return ""


needs_office = pytest.mark.skipif(
    not bridge(), reason="LibreOffice with its Python bridge is not installed"
)


class _Running:
    """A LibreOffice that runs without a window, with settings of its own."""

    def __init__(self) -> None:
        self.folder = Path(tempfile.mkdtemp(prefix="office"))
        self.numbers = count(1)
        self._process = subprocess.Popen(
            [bridge(), str(DRIVER), str(self.folder / "profile")],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        assert self._answer() == "ready"

    @property
    def runs(self) -> bool:
        """Whether it has not stopped."""
        return self._process.poll() is None

    def ask(self, **request: Any) -> Any:
        """The answer to a request, which it has five minutes for."""
        assert self._process.stdin is not None
        patience = Timer(MOST_S, self._process.kill)
        patience.start()
        try:
            self._process.stdin.write(json.dumps(request) + "\n")
            self._process.stdin.flush()
            return self._answer()
        finally:
            patience.cancel()

    def stop(self) -> None:
        """End it and throw its folder away."""
        assert self._process.stdin is not None
        self._process.stdin.close()
        try:
            self._process.wait(60)
        except subprocess.TimeoutExpired:
            self._process.kill()
        shutil.rmtree(self.folder, ignore_errors=True)

    def _answer(self) -> Any:
        assert self._process.stdout is not None
        line = self._process.stdout.readline()
        assert line, "LibreOffice stopped"
        return json.loads(line)


_RUNNING: list[_Running] = []
"""The LibreOffice of this process: starting one takes as long as opening a small workbook."""


def _running() -> _Running:
    if not _RUNNING or not _RUNNING[-1].runs:
        _RUNNING.append(_Running())
        atexit.register(_RUNNING[-1].stop)
    return _RUNNING[-1]


class Office:
    """A workbook open in LibreOffice. Close it by leaving the ``with`` block."""

    def __init__(self, data: bytes) -> None:
        self._running = _running()
        self._number = next(self._running.numbers)
        self._open(data)

    def __enter__(self) -> Office:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if self._running.runs:
            self._ask(close=True)

    def edit(self, cells: dict[Edit, Any], read: Sequence[str] = ()) -> Values:
        """Type into cells (None empties one), and read whole sheets after that."""
        typed = [[*place, value] for place, value in cells.items()]
        answer: Values = self._ask(set=typed, read=list(read))
        return answer

    def values(self) -> Values:
        """Every sheet's values; an error is a text that begins with #, a truth is 1 or 0."""
        answer: Values = self._ask(read=None)
        return answer

    def keep(self, sizes: Mapping[str, tuple[int, int]]) -> Values:
        """Read so many rows and columns of sheets, and keep them to tell what differs later."""
        answer: Values = self._ask(keep=sizes)
        return answer

    def differing(self, cells: Sequence[tuple[Edit, Any]]) -> dict[str, dict[int, list[Any]]]:
        """Type into cells; the rows that are not as kept, by their place counted from 0."""
        answer = self._ask(set=[[*place, value] for place, value in cells], differ=True)
        return {
            sheet: {int(place): row for place, row in rows.items()}
            for sheet, rows in answer.items()
        }

    def do(self, *changes: Sequence[Any]) -> None:
        """Insert, move, rename, hide or copy; see ``office_driver.py``."""
        self._ask(do=changes)

    def undo(self) -> None:
        """Undo all that was done since the workbook was opened, as a person would."""
        self._ask(undo=True)

    def open(self, data: bytes) -> None:
        """Leave the workbook as it is and open another one."""
        self._ask(close=True)
        self._open(data)

    def saved(self, kind: str = "xlsx") -> bytes:
        """The workbook as LibreOffice saves it now, or the pages that it prints."""
        path = self._running.folder / f"saved{self._number}.{kind}"
        self._ask(save=str(path), filter=FILTERS[kind])
        return path.read_bytes()

    def _open(self, data: bytes) -> None:
        book = self._running.folder / f"open{self._number}.xlsx"
        book.write_bytes(data)
        self._ask(open=str(book))

    def _ask(self, **request: Any) -> Any:
        return self._running.ask(book=self._number, **request)
