"""One LibreOffice kept open with one workbook, to edit it as a person does and read it again."""

from __future__ import annotations

import json
import shutil
import subprocess
from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path
from types import TracebackType
from typing import Any

import pytest

from estimator.workbook.refill.port import Edit

DRIVER = Path(__file__).with_name("office_driver.py")
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


class Office:
    """A workbook open in LibreOffice. Close it by leaving the ``with`` block."""

    def __init__(self, data: bytes, folder: Path) -> None:
        folder.mkdir(parents=True, exist_ok=True)
        self.folder = folder
        book = folder / "open.xlsx"
        book.write_bytes(data)
        self._process = subprocess.Popen(
            [bridge(), str(DRIVER), str(book), str(folder / "profile")],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        assert self._answer() == "ready"

    def __enter__(self) -> Office:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        assert self._process.stdin is not None
        self._process.stdin.close()
        try:
            self._process.wait(60)
        except subprocess.TimeoutExpired:
            self._process.kill()

    def send(self, **request: Any) -> None:
        """Ask for something; :meth:`receive` gives the answer."""
        assert self._process.stdin is not None
        self._process.stdin.write(json.dumps(request) + "\n")
        self._process.stdin.flush()

    def receive(self) -> Values:
        """Answer to the last request."""
        answer: Values = self._answer()
        return answer

    def edit(self, cells: dict[Edit, Any], read: Sequence[str] = ()) -> Values:
        """Type into cells (None empties one), and read whole sheets after that."""
        self.send(set=[[*place, value] for place, value in cells.items()], read=list(read))
        return self.receive()

    def keep(self, sizes: Mapping[str, tuple[int, int]]) -> Values:
        """Read so many rows and columns of sheets, and keep them to tell what differs later."""
        self.send(keep=sizes)
        return self.receive()

    def differing(self, cells: Sequence[tuple[Edit, Any]]) -> dict[str, dict[int, list[Any]]]:
        """Type into cells; the rows that are not as kept, by their place counted from 0."""
        self.send(set=[[*place, value] for place, value in cells], differ=True)
        answer = self._answer()
        return {
            sheet: {int(place): row for place, row in rows.items()}
            for sheet, rows in answer.items()
        }

    def do(self, *changes: Sequence[Any]) -> None:
        """Insert, move, rename, hide or copy; see ``office_driver.py``."""
        self.send(do=changes)
        self.receive()

    def open(self, data: bytes) -> None:
        """Leave the workbook as it is and open another one."""
        book = self.folder / "open.xlsx"
        book.write_bytes(data)
        self.send(open=str(book))
        self.receive()

    def saved(self) -> bytes:
        """The workbook as LibreOffice saves it now."""
        path = self.folder / "saved.xlsx"
        self.send(save=str(path))
        self.receive()
        return path.read_bytes()

    def _answer(self) -> Any:
        assert self._process.stdout is not None
        line = self._process.stdout.readline()
        assert line, "LibreOffice stopped"
        return json.loads(line)
