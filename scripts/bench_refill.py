"""Times a whole refill of the demo workbook beside two other ways to recalculate the same file.

Side by side in one run: ``estimator refill`` (process start, solving and writing included),
LibreOffice's headless recalculation of the file, and loading and calculating it with the
``formulas`` library, which is stopped after a limit. Prints seconds and ratios; asserts nothing.
The two quick ways take turns, and are told in seconds of the processor as well: these hold on a
machine that does something else besides (0 where the system does not count them, as on Windows).
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
from collections.abc import Callable, Sequence
from dataclasses import dataclass
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


@dataclass(frozen=True)
class Took:
    """What an action took: seconds on the clock, and of the processor in programs it began."""

    clock: float
    processor: float


def timed(action: Callable[[], None]) -> Took:
    """What an action takes."""
    start, before = time.perf_counter(), os.times()
    action()
    clock, after = time.perf_counter() - start, os.times()
    used = after.children_user + after.children_system
    return Took(clock, used - before.children_user - before.children_system)


def least(runs: Sequence[Took]) -> Took:
    """The least of several runs, each measure by itself."""
    return Took(min(run.clock for run in runs), min(run.processor for run in runs))


def line(way: str, took: Took, runs: str) -> str:
    """A way to recalculate and what it took."""
    return f"{way:32} {took.clock:6.2f} s, {took.processor:5.2f} s of the processor  {runs}"


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

        refill()
        if office:
            libreoffice()
        ours: list[Took] = []
        theirs: list[Took] = []
        for _ in range(options.times):
            ours.append(timed(refill))
            if office:
                theirs.append(timed(libreoffice))
        best = f"best of {options.times}"
        print(line("refill, process start included", least(ours), best))
        if theirs:
            print(line("LibreOffice, headless", least(theirs), best))
            clock, processor = least(ours).clock, least(ours).processor
            print(f"  refill takes {clock / least(theirs).clock:.2f} of that by the clock", end="")
            share = least(theirs).processor
            print(f", {processor / share:.2f} of the processor" if share else "")
        if not options.no_formulas:
            command = (sys.executable, "-c", FORMULAS, str(book))
            library = timed(lambda: run(*command, limit_s=options.limit))
            stopped = library.clock >= options.limit
            end, word = ("and stopped", "less than ") if stopped else ("once", "")
            print(line("formulas library, load and run", library, end))
            print(f"  refill takes {word}{least(ours).clock / library.clock:.3f} of that")


if __name__ == "__main__":
    main()
