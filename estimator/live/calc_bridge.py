"""Runs in the Python that comes with LibreOffice: does what it is told with an open document.

One JSON request a line comes in, one JSON answer a line goes out; nothing else is printed. It
imports nothing of this project but ``calc_document``, which does the work inside LibreOffice.
"""

from __future__ import annotations

import json
import os
import sys
from typing import Any

import calc_document
import uno


class Connection:
    """One document of a running LibreOffice."""

    def __init__(self, port: int, path: str) -> None:
        local = uno.getComponentContext()
        resolver = local.ServiceManager.createInstanceWithContext(
            "com.sun.star.bridge.UnoUrlResolver", local
        )
        remote = resolver.resolve(
            f"uno:socket,host=127.0.0.1,port={port},tcpNoDelay=1;urp;StarOffice.ComponentContext"
        )
        desktop = remote.ServiceManager.createInstanceWithContext(
            "com.sun.star.frame.Desktop", remote
        )
        self.elsewhere: list[str] = []
        self.model = self._find(desktop, path)
        self._inside = calc_document.inside(remote) if self.model else None

    def _find(self, desktop: Any, path: str) -> Any:
        """The document of a file, told by its whole path, or the only or the current one.

        None if it is not open; then ``elsewhere`` has where documents of that name are.
        """
        found = []
        each = desktop.getComponents().createEnumeration()
        while each.hasMoreElements():
            item = each.nextElement()
            if hasattr(item, "supportsService") and item.supportsService(
                "com.sun.star.sheet.SpreadsheetDocument"
            ):
                found.append(item)
        if not path:
            current = desktop.getCurrentComponent()
            return found[0] if len(found) == 1 else current if current in found else None
        for document in found:
            if same_file(file_of(document), path):
                return document
        name = os.path.basename(path).lower()
        there = [file_of(document) for document in found]
        self.elsewhere = [p for p in there if os.path.basename(p).lower() == name]
        return None

    def opened(self) -> dict[str, Any]:
        """Name of the document for messages, or None, and its sheets; where others of it are."""
        name = self.model and file_of(self.model).replace("\\", "/").rsplit("/", 1)[-1]
        sheets = self.model.Sheets.getElementNames() if self.model else ()
        return {"label": name, "elsewhere": self.elsewhere, "sheets": sheets}

    def answer(self, line: str) -> str:
        """The answer to a request about the document."""
        if self._inside is None:
            return str(calc_document.answer(self.model, line))
        return str(calc_document.answer_inside(self._inside, self.model, line))


def file_of(model: Any) -> str:
    """Path of a document; its title if it was never saved, its address if it is no file."""
    url = model.getURL()
    path = uno.fileUrlToSystemPath(url) if url.startswith("file:") else url
    return str(path or model.getTitle())


def same_file(one: str, other: str) -> bool:
    """Whether two paths lead to one file."""
    try:
        return os.path.samefile(one, other)
    except OSError:
        return os.path.normcase(os.path.realpath(one)) == os.path.normcase(os.path.realpath(other))


def main() -> None:
    """Answer requests until the input ends."""
    connection: Any = None
    for line in sys.stdin:
        try:
            request = json.loads(line)
            if request["do"] == "connect":
                connection = Connection(request["port"], request["path"])
                reply = json.dumps({"answer": connection.opened()})
            else:
                reply = connection.answer(line)
        except Exception:
            reply = json.dumps({"error": "failed"})
        sys.stdout.write(reply + "\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main()
