"""Latency of the live functions and of a refill of an open document, beside the headless refill.

Each function is called 200 times on the demo's sizes: cold (a changed input every time) and cached
(the same one). ``cpu`` is the processor's time of a cold call, which other programs do not stretch.
So is the first live block of every solver, from the demo workbook's cells. Then, in the same run,
LibreOffice opens the demo workbook and is refilled over its socket after an edit, beside
``estimator refill`` of the file. Prints numbers; asserts nothing.

    python scripts/bench_live.py [--calls N] [--no-office]
"""

from __future__ import annotations

import argparse
import os
import shutil
import socket
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from estimator.live import solved, udfs  # noqa: E402
from estimator.live.blocks import Block  # noqa: E402
from estimator.live.calc import CalcBook, python_with_uno  # noqa: E402
from estimator.live.convert import forget  # noqa: E402
from estimator.model import build_model  # noqa: E402
from estimator.typed_job import DEMO_JOB, load_job  # noqa: E402
from estimator.workbook.package.a1 import address  # noqa: E402
from estimator.workbook.package.cells import apply  # noqa: E402
from estimator.workbook.package.parts import Package  # noqa: E402
from estimator.workbook.refill.file import create_workbook  # noqa: E402
from estimator.workbook.refill.file_port import FilePort  # noqa: E402
from estimator.workbook.refill.live_blocks import can_be_live, live_ranges  # noqa: E402
from estimator.workbook.refill.port import range_of  # noqa: E402

GRID = [(8.0 * i, 8.0 * j, 10.0 - 0.12 * i * j + 0.05 * i) for i in range(5) for j in range(5)]
CORNERS = [(4.0, 4.0), (20.0, 4.0), (20.0, 16.0), (4.0, 16.0)]
LARGE = [(0.0, 0.0), (40.0, 0.0), (40.0, 24.0), (0.0, 24.0)]
STOCK = [("8 ft", 8.0, 6.2), ("10 ft", 10.0, 8.1), ("12 ft", 12.0, 9.7), ("16 ft", 16.0, 13.9)]


def calls() -> dict[str, Callable[[float], Any]]:
    """Every function on sizes like the demo's; the number makes the input a new one."""
    pieces = [("joist", 117.0, 13.0), ("rim", 192.0, 2.0), ("block", 14.5, 24.0)]
    members = [("Southern pine", "No.2", "2x8", s, 40.0, 10.0) for s in (12.0, 16.0, 19.2, 24.0)]
    return {
        "BASE_GROUND, 100 places": lambda d: udfs.base_ground(
            GRID, [(x * 3.0 + d, y * 3.0) for x in range(10) for y in range(10)]
        ),
        "BASE_GROUND_GRID, 10 x 10": lambda d: udfs.base_ground_grid(
            GRID, [[x * 3.0 + d for x in range(10)]], [[y * 3.0] for y in range(10)]
        ),
        "BASE_CUT_FILL, 20 heights": lambda d: udfs.base_cut_fill(
            GRID, CORNERS, [[8.0 + 0.1 * k + d] for k in range(20)]
        ),
        "BASE_COURSES, four sides": lambda d: udfs.base_courses(
            GRID, CORNERS, 10.0 + d, 5.5, 5.5, 4.0
        ),
        "BASE_CUT_PLAN, 39 pieces": lambda d: udfs.base_cut_plan(
            [(*pieces[0][:1], 117.0 - d * 8, 13.0), *pieces[1:]], STOCK, 0.125
        ),
        "BASE_BOARDS_COST, 39 pieces": lambda d: udfs.base_boards_cost(
            [(*pieces[0][:1], 117.0 - d * 8, 13.0), *pieces[1:]], STOCK, 0.125
        ),
        "BASE_COURSES, 40 x 24 ft": lambda d: udfs.base_courses(
            GRID, LARGE, 12.0 + d, 5.5, 5.5, 4.0
        ),
        "BASE_SHEETS, 16 x 12 ft": lambda d: udfs.base_sheets(16.0, 12.0 - d, 16.0),
        "BASE_SHEETS, 20 x 13 ft": lambda d: udfs.base_sheets(20.0, 13.0 - d, 12.0),
        "BASE_SHEETS, 32 x 16 ft": lambda d: udfs.base_sheets(32.0, 16.0 - d, 12.0),
        "BASE_SHEETS, 36 x 20 ft": lambda d: udfs.base_sheets(36.0, 20.0 - d, 19.2),
        "BASE_SPAN, 4 joists": lambda d: udfs.base_span(
            [(*m[:4], 40.0 + d, 10.0) for m in members]
        ),
        "BASE_FOOTING, 20 loads": lambda d: udfs.base_footing(
            [(1000.0 + 100 * k + d, "clay") for k in range(20)]
        ),
        "BASE_FEET, 100 lengths": lambda d: udfs.base_feet(
            [[f"12' {n % 12}\"", d] for n in range(50)]
        ),
        "BASE_FEET_INCHES, 100": lambda d: udfs.base_feet_inches([[n + d, n] for n in range(50)]),
    }


CHANGED = {
    "cutting": "kerf_in",
    "sheets": "building_width_ft",
    "joists": "building_length_ft",
    "suggest": "building_width_ft",
    "range": "tax_share",
}
"""For each solver what is changed to make a live block's input a new one; else a reading, or the
first number that it reads."""


def blocks() -> dict[str, Callable[[float], Any]]:
    """The first live block of every solver, fed with the cells of the demo workbook."""
    model = build_model()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "demo.xlsx"
        create_workbook(path, model, load_job(DEMO_JOB))
        port = FilePort(Package.open(path))

        def cells(key: str) -> list[list[Any]]:
            return [[content.value for content in row] for row in port.read(*range_of(port, key))]

        found = {}
        for name in can_be_live(model):
            solver = model.solvers[name]
            reads = {key: cells(key) for key in (*solver.reads, *solver.prices)}
            first = live_ranges(model, port.ranges(), name)[0]
            found[f"BASE_BLOCK, {solver.label}"[:30]] = partial(_call, first.label, name, reads)
    return found


def _call(label: str, solver: str, reads: dict[str, list[list[Any]]], by: float) -> Any:
    usual = CHANGED.get(solver, "point_x_ft")
    numbers = (key for key, rows in reads.items() if isinstance(rows[0][0], float))
    key = usual if usual in reads else next(numbers)
    (first, *others), *rows = reads[key]
    return udfs.base_block(label, *{**reads, key: [[first + by / 10, *others], *rows]}.values())


Times = tuple[list[float], list[float]]
"""Milliseconds by the clock and by the processor."""


def times(action: Callable[[int], Any], count: int) -> Times:
    """How long each of many calls took."""
    clock, processor = [], []
    for n in range(count):
        start, busy = time.perf_counter(), time.process_time()
        answer = action(n)
        clock.append(1000 * (time.perf_counter() - start))
        processor.append(1000 * (time.process_time() - busy))
        if str(answer[0][0]).startswith("ERROR"):
            raise SystemExit(answer[0][0])
    return clock, processor


def functions(count: int) -> None:
    """Print the table of functions."""
    heads = f"{'cold median':>12}{'worst':>9}{'cpu median':>12}{'cached median':>15}{'worst':>9}"
    print(f"{'function':30}{heads}   ms")
    for name, call in {**calls(), **blocks()}.items():
        forget()
        solved.forget()
        call(-0.001)  # imports and the fitted surface
        cold, cpu = times(lambda n, c=call: c(0.002 * (n + 1)), count)
        call(0.002)
        cached, _ = times(lambda _, c=call: c(0.002), count)
        median = statistics.median
        print(
            f"{name:30}{median(cold):12.2f}{max(cold):9.2f}{median(cpu):12.2f}"
            f"{median(cached):15.3f}{max(cached):9.3f}",
            flush=True,
        )


EDITS: dict[str, tuple[str, int, Callable[[int], float]]] = {
    "the place of a reading": ("point_x_ft", 2, lambda n: 0.25 + 0.01 * n),
    "the length of the building": ("building_length_ft", 0, lambda n: 17.0 + 0.25 * n),
}
"""What is edited before a refill: input, row and value."""


def refills(count: int) -> None:
    """Print the seconds of a refill of an open document and of the file, by what was edited."""
    office = shutil.which("soffice")
    if office is None or python_with_uno() is None:
        print("LibreOffice or its module uno is missing: no refill of an open document.")
        return
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "demo.xlsx"
        environment = {**os.environ, "PYTHONPATH": str(ROOT)}
        estimator = [sys.executable, "-m", "estimator"]
        run = {"check": True, "capture_output": True, "env": environment}
        subprocess.run([*estimator, "new", str(path), "--demo"], **run)
        open_path = Path(folder) / "open.xlsx"
        shutil.copy(path, open_path)
        port = _free_port()
        process = subprocess.Popen(
            [
                office, f"-env:UserInstallation={(Path(folder) / 'profile').as_uri()}",
                "--headless", "--norestore",
                f"--accept=socket,host=127.0.0.1,port={port},tcpNoDelay=1;urp;", str(open_path),
            ],
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        try:
            _wait(port, open_path)
            ports = ["--port", str(port)]
            for what, (key, row, value_of) in EDITS.items():
                live, headless = Took([], []), Took([], [])
                for n in range(count):  # in turn, so that both meet the same load of the machine
                    value = value_of(n)
                    package = Package.open(path.read_bytes(), label=path.name)
                    sheet, area = range_of(FilePort(package), f"in_{key}")
                    place = address(area.row1 + row, area.column1)
                    path.write_bytes(apply(package, {(sheet, place): value}))
                    with CalcBook(port, open_path) as book:
                        sheet, area = range_of(book, f"in_{key}")
                        book.write((Block(sheet, area.row1 + row, area.column1, ((value,),)),))
                    headless.add([*estimator, "refill", str(path)], **run)
                    live.add([*estimator, "link", "--refill", str(open_path), *ports], **run)
                print(f"after an edit of {what}, start of the process included:")
                print(f"  refill of the open document  {live.told()}")
                print(f"  refill of the file, headless {headless.told()}")
                ratio = statistics.median(live.clock) / statistics.median(headless.clock)
                print(f"  {ratio:.2f} times the headless one", flush=True)
        finally:
            process.terminate()
            process.wait(timeout=60)


@dataclass(frozen=True)
class Took:
    """Seconds that runs of a command took by the clock, and of the processor in it.

    LibreOffice's own seconds are in those by the clock alone.
    """

    clock: list[float]
    processor: list[float]

    def add(self, command: list[str], **run: Any) -> None:
        """One more run."""
        start, before = time.perf_counter(), os.times()
        subprocess.run(command, **run)
        after = os.times()
        self.clock.append(time.perf_counter() - start)
        used = after.children_user + after.children_system
        self.processor.append(used - before.children_user - before.children_system)

    def told(self) -> str:
        """Median and worst."""
        median = statistics.median
        return (
            f"{median(self.clock):6.2f} s median, {max(self.clock):.2f} worst,"
            f" {median(self.processor):.2f} s of the processor"
        )


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _wait(port: int, path: Path) -> None:
    for _ in range(180):
        try:
            with CalcBook(port, path):
                return
        except Exception:
            time.sleep(1)
    raise SystemExit("LibreOffice did not open the workbook.")


def main() -> None:
    """Print both tables."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--calls", type=int, default=200, help="calls of each function")
    parser.add_argument("--refills", type=int, default=5, help="refills of each kind")
    parser.add_argument("--no-office", action="store_true", help="the functions alone")
    options = parser.parse_args()
    functions(options.calls)
    if not options.no_office:
        refills(options.refills)


if __name__ == "__main__":
    main()
