"""LibreOffice as the program that puts a workbook on paper."""

from __future__ import annotations

import logging
import os
import shutil
import signal
import subprocess
import tempfile
from collections.abc import Sequence
from pathlib import Path

from estimator.errors import FileError

MOST_SECONDS = 300
"""How long LibreOffice is waited for."""

_LOG = logging.getLogger(__name__)
_ELSEWHERE = (
    Path("C:/Program Files/LibreOffice/program/soffice.exe"),
    Path("/Applications/LibreOffice.app/Contents/MacOS/soffice"),
)
_SETTINGS = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load">
<prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop></item>
<item oor:path="/org.openoffice.Office.Common/Filter/PDF/Export">
<prop oor:name="UseTaggedPDF" oor:op="fuse"><value>true</value></prop></item>
</oor:items>
"""
"""Every formula is worked out anew; pages tell their reading order and what pictures show."""


def find_office() -> Path | None:
    """The program file of LibreOffice, if this machine has it."""
    found = shutil.which("soffice")
    if found:
        return Path(found)
    return next((path for path in _ELSEWHERE if path.is_file()), None)


def to_pdf(workbook: bytes, label: str, office: Path, most_seconds: float = MOST_SECONDS) -> bytes:
    """The pages that a workbook prints, every formula worked out anew.

    A LibreOffice that is open is left alone: this one has settings of its own.

    Args:
        workbook: An .xlsx file.
        label: Its name, for messages.
        office: The program file of LibreOffice.
        most_seconds: How long it may take, s.

    Raises:
        FileError: If LibreOffice can't be started, takes too long or makes no pages.
    """
    with tempfile.TemporaryDirectory() as folder:
        base = Path(folder)
        settings = base / "settings" / "user"
        settings.mkdir(parents=True)
        (settings / "registrymodifications.xcu").write_text(_SETTINGS, encoding="utf-8")
        (base / "book.xlsx").write_bytes(workbook)
        command = [
            str(office),
            f"-env:UserInstallation={settings.parent.as_uri()}",
            *("--headless", "--convert-to", "pdf", "--outdir", str(base)),
            str(base / "book.xlsx"),
        ]
        _LOG.info("LibreOffice lays out the pages of %s", label)
        try:
            done = _run(command, most_seconds)
        except OSError as error:
            raise FileError(
                f"LibreOffice can't be started: {error.strerror or error}.",
                where=label,
                cure="Install it again, or print from your spreadsheet.",
            ) from None
        if not done:
            raise FileError(
                f"LibreOffice made no pages within {most_seconds:g} seconds.",
                where=label,
                cure="Close other programs and try again, or print from your spreadsheet.",
            )
        pages = base / "book.pdf"
        if not pages.is_file():
            raise FileError(
                "LibreOffice made no pages of it.",
                where=label,
                cure="Open the workbook in LibreOffice and print from there.",
            )
        return pages.read_bytes()


def _run(command: Sequence[str], most_seconds: float) -> bool:
    """Whether a program ends in time; else it is stopped with all that it started."""
    quiet = subprocess.DEVNULL
    posix = os.name == "posix"
    with subprocess.Popen(
        command, stdin=quiet, stdout=quiet, stderr=quiet, start_new_session=posix
    ) as process:
        try:
            process.wait(most_seconds)
        except BaseException as error:
            if posix:
                os.killpg(process.pid, signal.SIGKILL)
            else:
                process.kill()
            if not isinstance(error, subprocess.TimeoutExpired):
                raise
            return False
    return True
