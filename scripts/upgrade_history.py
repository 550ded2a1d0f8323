"""Upgrades workbooks that every version of the template in this repository's history made.

    python scripts/upgrade_history.py                last commit of each version, feet and metres
    python scripts/upgrade_history.py 3 5 --keep DIR versions 3 and 5, workbooks kept

Of each version before the present one the last commit is laid out in a scratch folder and makes a
workbook of its demo. An owner's hands then type inputs, type over a computed number, change a
formula, make a cell bold, a column wide, write beside a table and on a sheet of their own with
formulas on ours. The present program upgrades it, and what the owner had is looked for: every
input by its name, typed-over numbers, formulas, looks, own cells. Prints what is not as it was and
what the upgrade says of it. Exit code: 1 if something was lost unsaid. Needs the history of the
repository; about half a minute a workbook.
"""

from __future__ import annotations

import argparse
import io
import os
import re
import subprocess
import sys
import tarfile
import tempfile
import time
import zipfile
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from lxml import etree

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from estimator.model.carry_over import RENAMED  # noqa: E402
from estimator.workbook.package.a1 import Range, address, parse_cell  # noqa: E402
from estimator.workbook.package.cells import Formula, apply, read_cell  # noqa: E402
from estimator.workbook.package.parts import Package  # noqa: E402
from estimator.workbook.package.reading import CellError  # noqa: E402
from estimator.workbook.refill.file_port import FilePort  # noqa: E402
from estimator.workbook.template.names import TEMPLATE_VERSION  # noqa: E402

NAMES = (
    "estimator/workbook/template/names.py",
    "estimator/workbook/names.py",
    "estimator/workbook/template.py",
)
_VERSION = re.compile(r'^TEMPLATE_VERSION = "(\d+)"', re.MULTILINE)
MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
OURS = "Ours"
TYPED: Mapping[str, float | str] = {
    "in_job_name": "Upgraded shed",
    "in_building_length_ft": "14 ft",
    "in_building_length_m": "4.2 m",
    "in_wall_height_ft": 8.5,
    "in_wage_per_h": 31.5,
    "in_tax_share": 0.0725,
    "in_crew_size": 3.0,
    "in_floor_live_psf": 60.0,
    "in_roof_snow_psf": 35.0,
    "in_stone_depth_in": 5.0,
    "in_joist_spacing_in": 12.0,
}
"""What an owner types, where a version asks for it."""
TYPED_OVER, CHANGED, BESIDE = "stone_order_yd3", "stone_order_m3", "in_building_width_"
OVER = 7.25
FREE = ("AH", "AI")
"""Columns of Job that no version uses."""
MOST_COLUMNS = 60
"""Columns of Job in which they are looked for."""
UNTOLD = "formulas that you changed are the estimator's again"
"""Said of workbooks that the first versions made."""
NOTE = "call the yard before noon"


def git(*arguments: str) -> bytes:
    return subprocess.run(["git", *arguments], cwd=ROOT, check=True, capture_output=True).stdout


def last_commits() -> dict[int, str]:
    """By version of the template before the present one, the last commit that has it."""
    found: dict[int, str] = {}
    for commit in git("log", "--format=%H", "--date-order").decode().split():
        for path in NAMES:
            try:
                match = _VERSION.search(git("show", f"{commit}:{path}").decode())
            except subprocess.CalledProcessError:
                continue
            if match:
                found.setdefault(int(match[1]), commit)
    found.pop(int(TEMPLATE_VERSION), None)
    return dict(sorted(found.items()))


def made_by(commit: str, folder: Path, *, metric: bool) -> bytes | None:
    """The demo workbook as the program of a commit makes it; None where it has no metric one."""
    if not folder.exists():
        with tarfile.open(fileobj=io.BytesIO(git("archive", commit))) as archive:
            archive.extractall(folder, filter="data")
    path = folder / ("metric.xlsx" if metric else "feet.xlsx")
    command = ["-m", "estimator", "new", str(path), "--demo", *(["--metric"] if metric else [])]
    done = _python(folder, *command)
    if metric and "unrecognized arguments" in done.stderr:
        return None
    if not path.exists():  # the template that was committed is not that of its model
        _python(folder, "scripts/build_templates.py")
        done = _python(folder, *command)
    if not path.exists():
        raise SystemExit(f"{commit[:7]} makes no workbook:\n{done.stderr[-2000:]}")
    return path.read_bytes()


def _python(folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    """Run Python on the program of a folder."""
    return subprocess.run(
        [sys.executable, *arguments],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(folder)},
        capture_output=True,
        text=True,
        check=False,
    )


def _parts(data: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def _packed(parts: Mapping[str, bytes]) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return stream.getvalue()


def with_own_sheet(data: bytes, cells: Mapping[str, str | float]) -> bytes:
    """The workbook with a last sheet of these cells in column A down; ``=`` begins a formula."""
    rows = "".join(
        f'<row r="{row}"><c r="A{row}">'
        + (f"<f>{entry[1:]}</f>" if isinstance(entry, str) else f"<v>{entry}</v>")
        + "</c></row>"
        for row, entry in enumerate(cells.values(), 1)
    )
    parts = _parts(data)
    parts["xl/worksheets/sheet901.xml"] = (
        f'<worksheet xmlns="{MAIN}"><sheetData>{rows}</sheetData></worksheet>'.encode()
    )
    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"
    for part, end, more in (
        (
            "[Content_Types].xml",
            "</Types>",
            f'<Override PartName="/xl/worksheets/sheet901.xml" ContentType="{kind}"/>',
        ),
        (
            "xl/_rels/workbook.xml.rels",
            "</Relationships>",
            f'<Relationship Id="rId901" Type="{OFFICE}/worksheet"'
            ' Target="worksheets/sheet901.xml"/>',
        ),
        (
            "xl/workbook.xml",
            "</sheets>",
            f'<sheet xmlns:r="{OFFICE}" name="{OURS}" sheetId="901" r:id="rId901"/>',
        ),
    ):
        parts[part] = parts[part].replace(end.encode(), (more + end).encode())
    return _packed(parts)


def restyled(data: bytes, sheet_part: str, cell: str, column: int) -> bytes:
    """The workbook with a cell in bold italics and a column 51.5 wide."""
    parts = _parts(data)
    sheet, styles = etree.fromstring(parts[sheet_part]), etree.fromstring(parts["xl/styles.xml"])
    fonts, formats = styles.find("{*}fonts"), styles.find("{*}cellXfs")
    bold = etree.SubElement(fonts, f"{{{MAIN}}}font")
    for tag, value in (("b", "1"), ("i", "1"), ("sz", "10"), ("name", "Arial")):
        etree.SubElement(bold, f"{{{MAIN}}}{tag}").set("val", value)
    found = next(c for c in sheet.iter("{*}c") if c.get("r") == cell)
    look = etree.fromstring(etree.tostring(formats[int(found.get("s"))]))
    look.set("fontId", str(len(fonts) - 1))
    look.set("applyFont", "1")
    formats.append(look)
    for element in (fonts, formats):
        element.set("count", str(len(element)))
    found.set("s", str(len(formats) - 1))
    for col in sheet.iter("{*}col"):
        if int(col.get("min")) <= column <= int(col.get("max")):
            col.set("width", "51.5")
            col.set("customWidth", "1")
    parts[sheet_part], parts["xl/styles.xml"] = etree.tostring(sheet), etree.tostring(styles)
    return _packed(parts)


def bold_italic(data: bytes, sheet_part: str, cell: str) -> bool:
    parts = _parts(data)
    styles = etree.fromstring(parts["xl/styles.xml"])
    sheet = etree.fromstring(parts[sheet_part])
    found = next(c for c in sheet.iter("{*}c") if c.get("r") == cell)
    look = styles.find("{*}cellXfs")[int(found.get("s"))]
    font = styles.find("{*}fonts")[int(look.get("fontId"))]
    return font.find("{*}b") is not None and font.find("{*}i") is not None


def areas(data: bytes) -> Mapping[str, tuple[str, Range]]:
    return FilePort(Package.open(data)).ranges()


def _spot(data: bytes, name: str, column: int = 0) -> tuple[str, str]:
    sheet, area = areas(data)[name]
    return sheet, address(area.row1, area.column1 + column)


def _first(names: Mapping[str, Any], start: str) -> str:
    return next(name for name in names if name.startswith(start))


def owned(data: bytes) -> bytes:
    """The workbook after weeks in its owner's hands."""
    known = areas(data)
    edits: dict[tuple[str, str], Any] = {
        _spot(data, name): entry for name, entry in TYPED.items() if name in known
    }
    order = TYPED_OVER if TYPED_OVER in known else CHANGED
    net = _spot(data, order.replace("order", "net"), 1)
    edits[_spot(data, order, 0)] = OVER
    edits[_spot(data, order, 1)] = Formula(f"'{net[0]}'!{net[1]}*2+1")
    width = _first(known, BESIDE)
    sheet, cell = _spot(data, width)
    row, _ = parse_cell(cell)
    edits[sheet, f"{FREE[0]}{row}"] = NOTE
    edits[sheet, f"{FREE[1]}{row}"] = Formula(f'{cell}&"!"')
    data = apply(Package.open(data), edits)
    data = with_own_sheet(
        data,
        {
            "by address": f"='{sheet}'!{cell}&amp;\"!\"",
            "by name": f'={width}&amp;"!"',
            "a number": 4.5,
            "of numbers": f"='{net[0]}'!{net[1]}*10",
        },
    )
    return restyled(data, Package.open(data).sheet(sheet).part, cell, 1)


def inputs(data: bytes) -> dict[str, list[Any]]:
    """By name of an input, what its cells hold, an option or a line after the other."""
    port = FilePort(Package.open(data))
    return {
        name: [content.value for line in port.read(sheet, area) for content in line]
        for name, (sheet, area) in port.ranges().items()
        if name.startswith("in_")
    }


def lost_inputs(before: bytes, after: bytes, said: str) -> Iterator[str]:
    """Inputs that an upgrade did not carry, unless its words name them or say that they changed."""
    old, new = inputs(before), inputs(after)
    keys = {**_item_names(before), **_item_names(after)}
    for name, entries in old.items():
        key = name.removeprefix("in_")
        now = new.get(f"in_{RENAMED.get(key, key)}")
        typed = [entry for entry in entries if entry not in (None, "")]
        if f"this version has no place for {key}" in said:
            continue
        if now is None:
            if typed:
                yield f"{name} is gone, and held {typed[:3]}"
            continue
        kept = [entry for entry in now if entry not in (None, "")]
        called = [keys.get(entry, entry) for entry in typed]
        if kept[: len(typed)] not in (typed, called) and not _among(called, kept):
            yield f"{name} held {typed[:4]}, holds {kept[:4]}"


def _among(wanted: list[Any], kept: list[Any]) -> bool:
    """Whether all entries are there, in their order."""
    rest = iter(kept)
    return all(entry in rest for entry in wanted)


def _item_names(data: bytes) -> dict[Any, Any]:
    """Names of the price book by its keys."""
    found = inputs(data)
    pairs = zip(found.get("in_item_key", ()), found.get("in_item_name", ()), strict=False)
    return {key: name for key, name in pairs if key and name}


def faults(before: bytes, after: bytes, said: str) -> list[str]:
    """What an owner had in the older workbook and has no more."""
    found = list(lost_inputs(before, after, said))
    package = Package.open(after)
    order = TYPED_OVER if TYPED_OVER in areas(before) else CHANGED
    over = read_cell(package, *_spot(after, order, 0))
    if (over.value, over.formula) != (OVER, None):
        found.append(f"{order} was typed over with {OVER}, is {over.value}")
    net = _spot(after, order.replace("order", "net"), 1)
    changed = read_cell(package, *_spot(after, order, 1))
    if UNTOLD not in said and (
        changed.formula is None or not changed.formula.endswith(f"{net[1]}*2+1")
    ):
        found.append(f"{order} had a formula of its own, has {changed.formula}")
    width = _first(areas(before), BESIDE)
    sheet, cell = _spot(after, width)
    entry = read_cell(package, sheet, cell).value
    row, _ = parse_cell(cell)
    if not bold_italic(after, package.sheet(sheet).part, cell):
        found.append(f"{sheet}!{cell} is no more bold and italic")
    beside: dict[tuple[str, str], str] = {}
    if UNTOLD not in said:
        # The sheet's columns may have become fewer or more: what stands beside them goes along.
        spots = (address(row, column) for column in range(1, MOST_COLUMNS))
        note = next((spot for spot in spots if read_cell(package, sheet, spot).value == NOTE), "")
        if note:
            beside[sheet, address(row, parse_cell(note)[1] + 1)] = f"{entry}!"
        else:
            found.append(f"the note beside {width} is not in row {row} of {sheet}")
    wanted = {
        **beside,
        (OURS, "A1"): f"{entry}!",
        (OURS, "A2"): f"{entry}!",
        (OURS, "A3"): 4.5,
        (OURS, "A4"): _ten_times(read_cell(package, *net).value),
    }
    for spot, value in wanted.items():
        now = read_cell(package, *spot).value
        close = isinstance(now, float) and isinstance(value, float) and abs(now - value) < 1e-9
        if now != value and not close:
            found.append(f"{spot[0]}!{spot[1]} shows {now!r} for {value!r}")
    return found


def _ten_times(value: Any) -> Any:
    """Ten times a number; the error that a text gives, where the book is not solved yet."""
    return value * 10 if isinstance(value, float) else CellError("#VALUE!")


def upgraded(path: Path) -> str:
    """Upgrade a workbook by the command; what it says."""
    done = _python(ROOT, "-m", "estimator", "upgrade", str(path))
    if done.returncode not in (0, 1) or "Traceback" in done.stderr:
        raise SystemExit(f"{path.name}: {done.stdout[-500:]}\n{done.stderr[-1500:]}")
    return done.stdout + done.stderr


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("versions", nargs="*", type=int, help="versions; all where none is given")
    parser.add_argument("--keep", type=Path, help="folder to keep the workbooks in")
    asked = parser.parse_args()
    bad = 0
    with tempfile.TemporaryDirectory() as scratch:
        folder = asked.keep or Path(scratch)
        folder.mkdir(parents=True, exist_ok=True)
        for version, commit in last_commits().items():
            if asked.versions and version not in asked.versions:
                continue
            for metric in (False, True):
                begun = time.perf_counter()
                made = made_by(commit, Path(scratch) / commit, metric=metric)
                if made is None:
                    continue
                name = f"version_{version}{'_metric' if metric else ''}"
                before = owned(made)
                (folder / f"{name}_before.xlsx").write_bytes(before)
                path = folder / f"{name}.xlsx"
                path.write_bytes(before)
                said = upgraded(path)
                (folder / f"{name}.txt").write_text(said, encoding="utf-8")
                lost = faults(before, path.read_bytes(), said)
                bad += len(lost)
                took = time.perf_counter() - begun
                print(f"{name} ({commit[:7]}): {len(lost)} lost, {took:.0f} s", flush=True)
                for text in lost:
                    print(f"    {text}", flush=True)
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
