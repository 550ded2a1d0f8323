"""A document open in LibreOffice Calc: the port of a refill, over a socket on this machine only.

LibreOffice brings its own Python with ``uno``, which need not be the one this runs in, so that a
small helper process (``calc_bridge``) talks to it; the two exchange lines of JSON. What is asked of
the document is done inside LibreOffice (``calc_document``) where that can be.
"""

from __future__ import annotations

import json
import queue
import shutil
import subprocess
import sys
import threading
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from importlib import import_module
from pathlib import Path
from typing import Any

from estimator.errors import FileError
from estimator.live.blocks import BLANK, Block, LiveRefill, Look, SheetContent, refill_open
from estimator.live.calc_grammar import file_formula
from estimator.workbook.package.a1 import Range, parse_range, split_target
from estimator.workbook.package.cells import Formula
from estimator.workbook.refill.port import Content, Rows

PORT = 2002
"""Where LibreOffice is asked to listen, on 127.0.0.1 alone."""
BRIDGE = Path(__file__).with_name("calc_bridge.py")
PATIENCE_S = 120.0
"""How long LibreOffice is waited for at each step."""
SILENT, ENDED = "silent", "ended"
"""Errors after which the helper answers nothing more."""
START = 'soffice --accept="socket,host=127.0.0.1,port={port},tcpNoDelay=1;urp;"'
CONNECT_CURE = "Start LibreOffice with: " + START + " and open the workbook in it."


def accept_command(port: int = PORT) -> str:
    """The command that starts LibreOffice so that it listens on this machine."""
    return START.format(port=port)


def python_with_uno() -> str | None:
    """A Python that can talk to LibreOffice, or None if there is none."""
    for candidate in _candidates():
        try:
            found = subprocess.run(
                [candidate, "-c", "import uno"], capture_output=True, timeout=30, check=False
            )
        except (OSError, subprocess.TimeoutExpired):
            continue
        if found.returncode == 0:
            return candidate
    return None


def _candidates() -> Iterator[str]:
    office = shutil.which("soffice")
    folders = [Path(office).resolve().parent] if office else []
    folders += [
        Path("C:/Program Files/LibreOffice/program"),
        Path("/Applications/LibreOffice.app/Contents/Resources"),
        Path("/usr/lib/libreoffice/program"),
    ]
    for folder in folders:
        for name in ("python.exe", "python"):
            if (folder / name).is_file():
                yield str(folder / name)
    yield "/usr/bin/python3"
    yield sys.executable


READ_FIRST = ("Lists", "Options", "Solved From")
"""Sheets that a refill reads before all others, from left to right; it is no slower for others."""


class CalcBook:
    """An open document. Make a new one for every refill, as it keeps what it has read.

    Args:
        port: Where LibreOffice listens on this machine.
        path: The file whose document it is, whatever others of that name are open; None for the
            only or the current one.
        python: The Python to talk to LibreOffice with; None looks for one.
        patience: How long LibreOffice is waited for at each step, s.

    Raises:
        FileError: If LibreOffice can't be reached, does not answer or has no such document open.
    """

    def __init__(
        self,
        port: int = PORT,
        path: Path | None = None,
        python: str | None = None,
        patience: float = PATIENCE_S,
    ) -> None:
        interpreter = python or python_with_uno()
        if interpreter is None:
            raise FileError(
                "no Python with LibreOffice's module uno was found.",
                cure="Install LibreOffice; on Debian and Ubuntu also the package python3-uno.",
            )
        self._process = subprocess.Popen(
            [interpreter, str(BRIDGE)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
            encoding="utf-8",
        )
        self._patience = patience
        self._lines: queue.SimpleQueue[str] = queue.SimpleQueue()
        threading.Thread(target=self._listen, daemon=True).start()
        self._sent: list[str] = []
        self._replies: dict[str, dict[str, Any]] = {}
        self._label = path.name if path else "the open document"
        self._sheets: dict[str, SheetContent] = {}
        self._ranges: dict[str, tuple[str, Range]] | None = None
        whole = str(path.resolve()) if path else ""
        reply = self._reply("connect", port=port, path=whole)
        if "answer" not in reply:
            self.close()
            silent = reply["error"] == SILENT
            raise FileError(
                f"LibreOffice does not answer on port {port} of this machine"
                + (f" within {patience:g} seconds." if silent else "."),
                cure="Close it and what dialogs it shows, start it again and open the workbook."
                if silent
                else CONNECT_CURE.format(port=port),
            )
        if reply["answer"]["label"] is None:
            self.close()
            raise _not_open(whole, reply["answer"]["elsewhere"])
        self._label = str(reply["answer"]["label"])
        self._tabs: Sequence[str] = reply["answer"]["sheets"]

    def read_ahead(self) -> None:
        """Have all names and sheets read while this process does something else."""
        self._send("names")
        for sheet in sorted(self._tabs, key=lambda tab: tab not in READ_FIRST):
            self._send("sheet", sheet=sheet)

    def _listen(self) -> None:
        """Take the helper's answers as they come; a last empty line says that it ended."""
        assert self._process.stdout is not None
        try:
            for line in self._process.stdout:
                self._lines.put(line)
        except ValueError:  # closed meanwhile
            pass
        self._lines.put("")

    def __enter__(self) -> CalcBook:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """End the helper; the document stays open."""
        if self._process.stdin and not self._process.stdin.closed:
            with suppress(OSError):
                self._process.stdin.close()
        try:
            self._process.wait(timeout=10)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
        if self._process.stdout:
            self._process.stdout.close()

    def ask(self, do: str, **what: Any) -> Any:
        """The helper's answer to one request.

        Raises:
            FileError: If it can't be answered, or not in time.
        """
        reply = self._reply(do, **what)
        if "answer" in reply:
            return reply["answer"]
        if reply["error"] == "not written":
            raise FileError(
                f"its row {reply['row']} and those below can't be written.",
                where=f"{self._label}, {reply['sheet']}",
                cure="Take the protection off the sheet, then try again.",
            )
        if reply["error"] == SILENT:
            raise FileError(
                f"LibreOffice has not answered for {self._patience:g} seconds.",
                where=self._label,
                cure="Make sure that no dialog is open in it, take back what is half written there"
                " (Edit > Undo), then try again.",
            )
        raise FileError(
            "LibreOffice could not do what it was asked.",
            where=self._label,
            cure="Make sure the document is still open and no dialog is, then try again.",
        )

    def _reply(self, do: str, **what: Any) -> dict[str, Any]:
        """The reply to a request, which may have been sent ahead; the others sent are kept."""
        wanted = _request_line(do, what)
        if wanted not in self._replies and wanted not in self._sent:
            self._send(do, **what)
        while wanted not in self._replies:
            reply = self._next_reply()
            over = self._sent[: None if reply.get("error") in (SILENT, ENDED) else 1]
            self._replies |= dict.fromkeys(over, reply)
            del self._sent[: len(over)]
        return self._replies.pop(wanted)

    def _send(self, do: str, **what: Any) -> None:
        assert self._process.stdin is not None
        line = _request_line(do, what)
        self._sent.append(line)
        with suppress(OSError, ValueError):  # the answer then says that it ended
            self._process.stdin.write(line)
            self._process.stdin.flush()

    def _next_reply(self) -> dict[str, Any]:
        try:
            line = self._lines.get(timeout=self._patience)
        except queue.Empty:
            self._process.kill()
            return {"error": SILENT}
        reply: dict[str, Any] = json.loads(line) if line else {"error": ENDED}
        return reply

    @property
    def label(self) -> str:
        """Name of the document for messages."""
        return self._label

    def ranges(self) -> Mapping[str, tuple[str, Range]]:
        """Sheet and cells of every defined name that stands for one range."""
        if self._ranges is None:
            found = {name: _target(text) for name, text in self.ask("names").items()}
            self._ranges = {name: target for name, target in found.items() if target}
        return self._ranges

    def read(self, sheet: str, area: Range) -> Rows:
        """Contents of a range, as they were when the sheet was first read."""
        if sheet not in self._sheets:
            self._sheets[sheet] = _sheet(self.ask("sheet", sheet=sheet))
        return self._sheets[sheet].cut(area)

    def write(self, blocks: tuple[Block, ...], looks: tuple[Look, ...] = ()) -> None:
        """Write all blocks as one step of undo; the document then calculates.

        Raises:
            FileError: If one can't be written; the document then holds what it held.
        """
        alike = [[k.sheet, k.column - 1, k.first - 1, k.last - 1, k.like - 1] for k in looks]
        self.ask("write", blocks=[_request(block) for block in blocks], looks=alike)
        self._sheets.clear()
        self._replies.clear()


def _request_line(do: str, what: Mapping[str, Any]) -> str:
    return json.dumps({"do": do, **what}) + "\n"


def _not_open(path: str, elsewhere: Sequence[str]) -> FileError:
    if not path:
        return FileError(
            "no workbook is open, or several.",
            where="LibreOffice",
            cure="Open it there, or name the file.",
        )
    other = f" What is open there is {' and '.join(elsewhere)}." if elsewhere else ""
    return FileError(f"is not open in LibreOffice.{other}", where=path, cure="Open it there.")


def _request(block: Block) -> dict[str, Any]:
    formula = isinstance(block.rows[0][0], Formula)
    return {
        "sheet": block.sheet,
        "row": block.row - 1,
        "column": block.column - 1,
        "formula": formula,
        "rows": [[c.text if isinstance(c, Formula) else c for c in row] for row in block.rows],
    }


def _target(text: str) -> tuple[str, Range] | None:
    """Sheet and cells of ``$'Solved From'.$A$3:$B$9``; None for anything else."""
    sheet, dot, cells = text.rpartition(".")
    first, colon, last = text.partition(":")
    if colon and "." in last:  # the sheet is said again behind the colon
        sheet, dot, cells = first.rpartition(".")
        cells += ":" + last.rpartition(".")[2]
    elif colon:
        sheet, dot, cells = first.rpartition(".")
        cells += ":" + last
    if not dot:
        return None
    found = split_target(f"{sheet.removeprefix('$')}!{cells}")
    return (found[0], parse_range(found[1])) if found else None


def _sheet(answer: Mapping[str, Any]) -> SheetContent:
    errors = {(r, c): text for r, c, text in answer["errors"]}
    dates = {
        (row, column)
        for row1, column1, row2, column2 in answer["dates"]
        for row in range(row1, row2 + 1)
        for column in range(column1, column2 + 1)
    }
    rows = tuple(
        tuple(
            _content(errors.get((r, c), value), formula, (r, c) in dates) if formula else BLANK
            for c, (value, formula) in enumerate(zip(values, texts, strict=True))
        )
        if any(texts)
        else (BLANK,) * len(texts)
        for r, (values, texts) in enumerate(zip(answer["values"], answer["formulas"], strict=True))
    )
    return SheetContent(1, 1, rows)


def _content(value: Any, formula: str, date: bool) -> Content:
    """A cell; LibreOffice keeps a yes as the number 1, so that it reads as that number."""
    if formula.startswith("=") and formula != value:
        return Content(value, file_formula(formula[1:]))
    return BLANK if value in ("", None) else Content(value, date=date)


def refill_document(port: int = PORT, path: Path | None = None) -> LiveRefill:
    """Refill a document that LibreOffice has open.

    Raises:
        EstimatorError: What is wrong; the document is then as it was.
    """
    with CalcBook(port, path) as book:
        book.read_ahead()
        from estimator.model import build_model

        model = build_model()
        import_module("scipy.spatial")  # mostly wanted, and LibreOffice is still reading
        return refill_open(book, model)
