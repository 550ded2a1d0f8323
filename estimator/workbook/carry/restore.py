"""Sheets, rows and defined names that were deleted from a workbook, brought back from the template.

A name whose cells still stand is put on them again. A sheet that is gone, or that lost rows, is
the template's again, with what can still be told of a person's own carried over. Formulas that
read what was deleted get their references back; no other cell and no other part changes.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from estimator.engine import Model
from estimator.workbook.carry.losses import OVER, Losses, cells_of
from estimator.workbook.carry.match import Match, match, placed
from estimator.workbook.carry.names_again import named_again
from estimator.workbook.carry.put_back import Intact, formulas_of, put_back
from estimator.workbook.carry.replace import Replaced, Replacement
from estimator.workbook.carry.upgrade import Upgrade, opened, written
from estimator.workbook.package.cells import patched
from estimator.workbook.package.parts import Package, read_file
from estimator.workbook.refill.book import not_ours, other_version, version_of
from estimator.workbook.refill.damage import faults
from estimator.workbook.refill.displaced import Displaced
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.locking import locked
from estimator.workbook.refill.made_with import read_made_from
from estimator.workbook.refill.port import place_text
from estimator.workbook.refill.save import Saved, Seen
from estimator.workbook.template.made_from import MADE_SHEET
from estimator.workbook.template.names import TEMPLATE_VERSION, VERSION

_ENTRIES = ", with the template's entries where yours are gone: go through them"

SEVERAL = 4
"""So many names that were set again are told one by one."""


@dataclass(frozen=True, slots=True)
class Missing:
    """What a workbook lacks: sheets that are to be whole again, and names whose cells stand."""

    sheets: frozenset[str]
    names: tuple[str, ...]


def missing(
    port: FilePort, template: FilePort, found: Match, known: frozenset[str] = frozenset()
) -> Missing:
    """What a workbook lacks of the template, with the sheets that are known to be damaged."""
    new, now = template.ranges(), port.ranges()
    broken = {name.casefold() for name, t in port.package.names.items() if not t.ref}
    wrong = faults(port, new)
    names = [
        fault.name
        for fault in wrong
        if fault.name not in now
        and fault.name.casefold() not in broken
        and found.present[fault.home] is not None
    ]
    sheets = {*known, *(fault.home for fault in wrong if fault.name not in names)}
    sheets |= {home for home, title in found.present.items() if title is None}
    moved = placed(port, template, found, frozenset(sheets))
    for name in names:
        home, area = new[name]
        if moved.spot(home, area.row1, area.column1) is None:
            sheets.add(home)
    left = tuple(name for name in names if new[name][0] not in sheets)
    return Missing(frozenset(sheets), left)


def restored(package: Package, template: Package) -> Replaced:
    """The workbook with what it lacks, not refilled; unchanged where nothing is missing.

    Raises:
        FileError: If it is not a workbook of ours, or is one of another version.
    """
    ours = FilePort(template)
    package, copies = named_again(package, ours)
    port = FilePort(package)
    common = Counter(name in port.ranges() for name in ours.ranges())
    if common[True] * 3 < common[False]:
        raise not_ours(port)
    if VERSION in port.ranges() and version_of(port) != TEMPLATE_VERSION:
        raise other_version(port, version_of(port))
    made = read_made_from(port)
    unmade = not made.ranges
    if unmade:
        made = read_made_from(ours)
    formulas = formulas_of(template)
    found = match(port, ours, made, {})
    lacking = missing(port, ours, found, frozenset({MADE_SHEET} if unmade else ()))
    known = placed(port, ours, found, lacking.sheets)
    before = Displaced(
        formulas, known, Intact(package, template, found, formulas, known, lacking.sheets)
    )
    work = Replacement(port, ours, made, {}, before)
    done = work.run(lacking.sheets)
    result = done.package if lacking.sheets or lacking.names else package
    moved = placed(FilePort(result), ours, found, frozenset())
    intact = Intact(result, template, found, formulas, moved, lacking.sheets)
    back = put_back(result, found, formulas, moved, intact, ours.ranges())
    edits, losses = back.edits, Losses()
    for own in back.over:
        losses.add(own, OVER)
    if not lacking.sheets and not lacking.names and not edits and not copies:
        return Replaced(package, ("Nothing is missing.",))
    notes = [*copies, *_sentences(port, FilePort(result), found, lacking, edits), *done.notes]
    notes += losses.sentences()
    if back.lost:
        places = Counter(sheet for sheet, _, _ in back.lost)
        for sheet in places:
            cells = cells_of(sheet, [(row, column) for s, row, column in back.lost if s == sheet])
            notes.append(f"Type the formula anew that read what was deleted: {cells}.")
    return Replaced(patched(result, edits) if edits else done.package, tuple(notes))


def _sentences(
    port: FilePort,
    result: FilePort,
    found: Match,
    lacking: Missing,
    edits: Iterable[tuple[str, str]],
) -> Iterator[str]:
    whole = sorted(found.titles[home] for home in lacking.sheets)
    typed = {
        sheet
        for name, (sheet, _) in result.ranges().items()
        if name.startswith("in_") and name not in port.ranges()
    }
    for titles, entries in (
        ([title for title in whole if title in typed], _ENTRIES),
        ([title for title in whole if title not in typed], ""),
    ):
        if titles:
            one = len(titles) == 1
            said = f"The sheet {titles[0]} is" if one else f"The sheets {', '.join(titles)} are"
            yield f"{said} whole again{entries}."
    surplus = len(lacking.names) - SEVERAL
    if surplus > 0:
        first = ", ".join(lacking.names[:SEVERAL])
        yield f"The names {first} and {surplus} more stand on their cells again."
    for name in lacking.names if surplus <= 0 else ():
        sheet, area = result.ranges()[name]
        place = place_text(sheet, area.row1, area.column1)
        yield f"The name {name} stands on its cells again ({place})."
    back = Counter(sheet for sheet, _ in edits)
    if back:
        places = ", ".join(f"{sheet} ({count})" for sheet, count in back.most_common(5))
        more = f" and {len(back) - 5} more sheets" if len(back) > 5 else ""
        many = f"{back.total()} formulas" if back.total() > 1 else "1 formula"
        yield f"Put back: {many} that no longer read what belongs there, on {places}{more}."


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
        if done.package is package:
            return Upgrade(Saved(path, None, False), None, done.notes)
        return written(path, Seen.of(data), model, done)
