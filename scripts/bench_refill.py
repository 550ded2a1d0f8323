"""Times a whole refill of the demo workbook beside two other ways to recalculate the same file.

Side by side in one run: ``estimator refill`` (process start, solving and writing included),
LibreOffice's headless recalculation of the file, and loading and calculating it with the
``formulas`` library, which is stopped after a limit. Prints seconds and ratios; asserts nothing.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
FORMULAS = """
import sys, formulas
formulas.ExcelModel().loads(sys.argv[1]).finish().calculate()
"""


ALWAYS_RECALCULATE = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load">
<prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop></item>
</oor:items>
"""
"""Setting of LibreOffice without which it may believe the values in the file."""


def timed(action: Callable[[], None]) -> float:
    """Seconds that an action takes."""
    start = time.perf_counter()
    action()
    return time.perf_counter() - start


def run(*command: str, limit_s: float | None = None) -> None:
    """Run a command to its end, quietly, or until the limit."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)  # compiled once, as on anybody's machine
    with contextlib.suppress(subprocess.TimeoutExpired):
        subprocess.run(command, check=True, capture_output=True, env=environment, timeout=limit_s)


def main() -> None:
    """Make the demo, then time each way."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--times", type=int, default=5, help="runs of the quick ways")
    parser.add_argument("--no-formulas", action="store_true", help="leave out the slow library")
    parser.add_argument("--limit", type=float, default=600.0, help="seconds given to that library")
    options = parser.parse_args()
    office = shutil.which("soffice")
    with tempfile.TemporaryDirectory() as folder:
        book = Path(folder) / "demo.xlsx"
        run(sys.executable, "-m", "estimator", "new", str(book), "--demo")
        settings = Path(folder) / "profile" / "user" / "registrymodifications.xcu"
        settings.parent.mkdir(parents=True)
        settings.write_text(ALWAYS_RECALCULATE, encoding="utf-8")
        profile = f"-env:UserInstallation={settings.parent.parent.as_uri()}"

        def refill() -> None:
            run(sys.executable, "-m", "estimator", "refill", str(book))

        def libreoffice() -> None:
            run(
                str(office), profile, "--headless", "--convert-to", "xlsx",
                "--outdir", str(Path(folder) / "out"), str(book),
            )  # fmt: skip

        ours = [timed(refill) for _ in range(options.times)]
        print(f"refill, process start included   {min(ours):6.2f} s best of {len(ours)}")
        if office:
            libreoffice()
            theirs = [timed(libreoffice) for _ in range(options.times)]
            print(f"LibreOffice, headless            {min(theirs):6.2f} s best of {len(theirs)}")
            print(f"  refill takes {min(ours) / min(theirs):.2f} of that")
        if not options.no_formulas:
            command = (sys.executable, "-c", FORMULAS, str(book))
            library = timed(lambda: run(*command, limit_s=options.limit))
            stopped = library >= options.limit
            end, word = ("and stopped", "less than ") if stopped else ("once", "")
            print(f"formulas library, load and run   {library:6.2f} s {end}")
            print(f"  refill takes {word}{min(ours) / library:.3f} of that")


if __name__ == "__main__":
    main()
