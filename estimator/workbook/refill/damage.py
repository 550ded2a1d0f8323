"""What happened to the cells of a workbook that no edit of a person's own explains.

Rows and columns may be put in, blocks and sheets moved; but a table keeps its lines, what stands
on one sheet of the template stands on one sheet, the columns of a table stay side by side, and no
cell belongs to two names that had each their own.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from estimator.rows import OPTION_KEYS
from estimator.workbook.package.a1 import Range
from estimator.workbook.package.moves import titles_now
from estimator.workbook.refill.astray import astray
from estimator.workbook.refill.port import Port, place_text
from estimator.workbook.template.made_from import MADE_SHEET, is_constant

Ranges = Mapping[str, tuple[str, Range]]


@dataclass(frozen=True, slots=True)
class Fault:
    """Something that is wrong with the cells of a name.

    Args:
        home: The sheet of the template that the name belongs to.
        name: The defined name.
        what: What is wrong, the same words for all of one kind.
        place: Where it stands now; empty where it stands nowhere.
        cells: Sheet and cells that it left behind, where it was set on others alone.
    """

    home: str
    name: str
    what: str
    place: str = ""
    cells: tuple[str, Range] | None = None


def faults(port: Port, template: Ranges) -> tuple[Fault, ...]:
    """Everything that is wrong with the named cells of a workbook.

    Args:
        port: The workbook.
        template: Sheet and cells of the template's names.
    """
    now = port.ranges()
    if template.items() <= now.items():  # all stand where they stood
        return ()
    titles = titles_now(template, now)
    left = astray(port, template, titles)
    found: list[Fault] = []
    for name, (home, area) in template.items():
        if home == MADE_SHEET:
            continue
        there = now.get(name)
        if there is None:
            what = "are gone" if home not in titles else "lost their name or were deleted"
            found.append(Fault(home, name, what))
            continue
        place = _place(there)
        what = _misshapen(area, there[1])
        if is_constant(name, home) and there[1].rows > area.rows:
            what = ""  # a person's own choices in a list
        if there[0] != titles[home]:
            what = f"stand on the sheet {there[0]}"
        if name in left:
            what = f"stand on {_place(left[name])}, and the name on others"
        if what:
            found.append(Fault(home, name, what, place, left.get(name)))
    bad = {fault.name for fault in found}
    sound = {n: now[n] for n in template if n in now and n not in bad}
    return (*found, *_shifted(sound, template), *_shared(sound, template))


def _place(there: tuple[str, Range]) -> str:
    return place_text(there[0], there[1].row1, there[1].column1)


def _misshapen(area: Range, now: Range) -> str:
    if now.rows != area.rows:
        return f"have {now.rows} lines and must have {area.rows}"
    if now.columns < area.columns or (
        now.columns > area.columns and area.columns < len(OPTION_KEYS)
    ):
        return f"have {now.columns} columns and must have {area.columns}"
    return ""


def _shifted(sound: Ranges, template: Ranges) -> Iterator[Fault]:
    """Columns of a table that no longer stand beside the others."""
    tables: dict[tuple[str, int, int], list[str]] = {}
    for name in sound:
        home, area = template[name]
        if area.row2 > area.row1:
            tables.setdefault((home, area.row1, area.row2), []).append(name)
    for (home, _, _), names in tables.items():
        usual = Counter(sound[name][1].row1 for name in names).most_common(1)[0][0]
        for name in names:
            sheet, area = sound[name]
            if area.row1 != usual:
                what = "stand on other rows than the columns beside them"
                yield Fault(home, name, what, place_text(sheet, area.row1, area.column1))


def _shared(sound: Ranges, template: Ranges) -> Iterator[Fault]:
    """Cells of two names that had each their own."""
    sheets: dict[str, list[tuple[Range, str]]] = {}
    for name, (sheet, area) in sound.items():
        sheets.setdefault(sheet, []).append((area, name))
    for sheet, areas in sheets.items():
        areas.sort()
        for at, (area, name) in enumerate(areas):
            for other, twin in areas[at + 1 :]:
                if other.row1 > area.row2:
                    break
                before, after = template[name], template[twin]
                if area.overlaps(other) and not (
                    before[0] == after[0] and before[1].overlaps(after[1])
                ):
                    for each, whose in ((area, name), (other, twin)):
                        place = place_text(sheet, each.row1, each.column1)
                        yield Fault(template[whose][0], whose, "stand over others", place)
