"""Runs a folder of workbooks through the cell layer and says of each whether all else was kept.

    python scripts/run_corpus.py FOLDER

Of each workbook every cell is read, one cell beyond those in use is written, and the file is read
back: kept, where all other parts are byte for byte what they were, and all other cells hold what
they held; refused, where it could not be read or written, with the sentence; failed, where
something else changed or the program did. Exit code: 1 if one failed.
"""

from __future__ import annotations

import argparse
import sys
import traceback
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from estimator.errors import EstimatorError
from estimator.workbook.package.a1 import address
from estimator.workbook.package.cells import CellValue, apply
from estimator.workbook.package.parts import Package
from estimator.workbook.package.reading import grid

ENDINGS = (".xlsx", ".xlsm", ".xltx", ".xltm")
WRITTEN = 12.75


def cells_of(package: Package) -> dict[tuple[str, int, int], CellValue]:
    """What every cell of every worksheet holds."""
    return {
        (info.name, *place): grid(package, info.name).value(*place)
        for info in package.sheets
        if info.kind == "worksheet"
        for place in grid(package, info.name).cells
    }


def outcome(data: bytes, label: str) -> tuple[str, str]:
    """One of kept, refused and failed, and why."""
    try:
        before = Package.open(data, label=label)
        cells = cells_of(before)
        sheet = next((info for info in before.sheets if info.kind == "worksheet"), None)
        if sheet is None:
            return "refused", "It has no worksheet."
        row = max((place[1] for place in cells if place[0] == sheet.name), default=0) + 3
        after = Package.open(apply(before, {(sheet.name, address(row, 2)): WRITTEN}), label=label)
        found = cells_of(after)
    except EstimatorError as error:
        return "refused", str(error)
    except Exception:
        return "failed", traceback.format_exc()
    written = found.pop((sheet.name, row, 2), None)
    if written is None or written.value != WRITTEN:
        return "failed", f"{sheet.name}!{address(row, 2)} does not hold what was written"
    if found != cells:
        changed = [place for place in cells if found.get(place) != cells[place]]
        return "failed", f"{len(changed)} other cells changed, such as {changed[:1]}"
    others = [name for name in before.parts if name != sheet.part]
    if after.parts != before.parts or any(before.read(n) != after.read(n) for n in others):
        return "failed", "another part changed"
    return "kept", ""


def main() -> int:
    """Run the folder's workbooks and print what came of them."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("folder", type=Path)
    folder = parser.parse_args().folder
    counts: Counter[str] = Counter()
    for path in sorted(p for p in folder.rglob("*") if p.suffix.lower() in ENDINGS):
        what, why = outcome(path.read_bytes(), path.name)
        counts[what] += 1
        if what != "kept":
            print(f"{what}: {path}: {why}", flush=True)
    print(", ".join(f"{what} {counts[what]}" for what in ("kept", "refused", "failed")))
    return int(counts["failed"] > 0)


if __name__ == "__main__":
    sys.exit(main())
