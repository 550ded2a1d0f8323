"""Sheets, rows and defined names that were deleted from a workbook, brought back from the template.

A name whose cells still stand is put on them again. A sheet that is gone, or that lost rows, is
the template's again, with what can still be told of a person's own carried over. Formulas that
read what was deleted get their references back; no other cell and no other part changes.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from estimator.engine import Model
from estimator.workbook.carry.match import Match, match, placed
from estimator.workbook.carry.replace import Replaced, Replacement
from estimator.workbook.carry.upgrade import Upgrade, opened, written
from estimator.workbook.package.a1 import LOST_REFERENCE, address
from estimator.workbook.package.cells import Edit, Formula, apply
from estimator.workbook.package.moves import Moves
from estimator.workbook.package.parts import Package, read_file
from estimator.workbook.package.reading import formula_cells
from estimator.workbook.refill.book import not_ours, other_version, version_of
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.locking import locked
from estimator.workbook.refill.made_with import read_made_from
from estimator.workbook.refill.port import place_text
from estimator.workbook.refill.save import Saved, Seen
from estimator.workbook.template.names import TEMPLATE_VERSION, VERSION


@dataclass(frozen=True, slots=True)
class Missing:
    """What a workbook lacks: sheets that are gone or lost rows, and names whose cells stand."""

    sheets: frozenset[str]
    names: tuple[str, ...]


def missing(port: FilePort, template: FilePort, found: Match) -> Missing:
    """What a workbook lacks of the template."""
    now = port.ranges()
    broken = {name.casefold() for name, t in port.package.names.items() if not t.ref}
    sheets = {home for home, title in found.present.items() if title is None}
    names = []
    for name, (home, area) in template.ranges().items():
        there = now.get(name)
        if home in sheets:
            continue
        if there is not None:
            shorter = there[1].row2 - there[1].row1 < area.row2 - area.row1
            if shorter and there[0] == found.present[home]:
                sheets.add(home)
        elif name.casefold() in broken:
            sheets.add(home)
        else:
            names.append(name)
    moved = placed(port, template, found, frozenset(sheets))
    for name in names:
        home, area = template.ranges()[name]
        if moved.spot(home, area.row1, area.column1) is None:
            sheets.add(home)
    left = tuple(name for name in names if template.ranges()[name][0] not in sheets)
    return Missing(frozenset(sheets), left)


def restored(package: Package, template: Package) -> Replaced:
    """The workbook with what it lacks, not refilled; unchanged where nothing is missing.

    Raises:
        FileError: If it is not a workbook of ours, or is one of another version.
    """
    port, ours = FilePort(package), FilePort(template)
    common = Counter(name in port.ranges() for name in ours.ranges())
    if common[True] * 3 < common[False]:
        raise not_ours(port)
    if VERSION in port.ranges() and version_of(port) != TEMPLATE_VERSION:
        raise other_version(port, version_of(port))
    made = read_made_from(port)
    if not made.ranges:
        made = read_made_from(ours)
    found = match(port, ours, made, {})
    lacking = missing(port, ours, found)
    if not lacking.sheets and not lacking.names:
        return Replaced(package.with_parts({}), ("Nothing is missing.",))
    work = Replacement(port, ours, made, {})
    done = work.run(lacking.sheets)
    result = Package.open(done.data, label=port.label)
    moved = placed(port, ours, found, lacking.sheets)
    edits, unknown = _references(result, template, found, moved)
    notes = [*_sentences(FilePort(result), found, lacking), *done.notes]
    notes += [f"{where} read what was deleted: type its formula anew." for where in unknown]
    return Replaced(apply(result, edits) if edits else done.data, tuple(notes))


def _sentences(result: FilePort, found: Match, lacking: Missing) -> list[str]:
    notes = []
    for home in sorted(lacking.sheets):
        title = found.titles[home]
        typed = any(n.startswith("in_") and t == title for n, (t, _) in result.ranges().items())
        entries = ", with the template's entries where yours are gone: go through them"
        notes.append(f"The sheet {title} is whole again{entries if typed else ''}.")
    for name in lacking.names:
        sheet, area = result.ranges()[name]
        place = place_text(sheet, area.row1, area.column1)
        notes.append(f"The name {name} stands on its cells again ({place}).")
    return notes


def _references(
    result: Package, template: Package, found: Match, moved: Moves
) -> tuple[dict[tuple[str, str], Edit], list[str]]:
    """The template's formulas for cells that lost a reference, and cells that it knows nothing of.

    Only formulas that the template has without a lost reference are put in.
    """
    lost = {
        (sheet, row, column)
        for sheet, row, column, content in formula_cells(result)
        if LOST_REFERENCE in (content.formula or "")
    }
    if not lost:
        return {}, []
    edits: dict[tuple[str, str], Edit] = {}
    for home, row, column, content in formula_cells(template):
        spot = moved.spot(home, row, column)
        if spot is None or (found.titles[home], *spot) not in lost:
            continue
        pieces = moved.pieces(content.formula or "", home)
        if not any(kind == "cell" and "?" in piece for kind, piece in pieces):
            edits[found.titles[home], address(*spot)] = Formula("".join(p for _, p in pieces))
            lost.discard((found.titles[home], *spot))
    return edits, sorted(place_text(*cell) for cell in lost)


def restore_workbook(path: Path, model: Model) -> Upgrade:
    """Bring back what a workbook lacks, in place, and refill it; the one from before is kept.

    Where nothing is missing nothing is written.

    Raises:
        EstimatorError: If it is no workbook of ours, or can't be read or written; the file is
            then as it was.
    """
    with locked(path):
        data = read_file(path)
        package, template, model = opened(data, path.name, model)
        done = restored(package, template)
        if done.data == package.with_parts({}):
            return Upgrade(Saved(path, None, False), None, done.notes)
        return written(path, Seen.of(data), model, done)
