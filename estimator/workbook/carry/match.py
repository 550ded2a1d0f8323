"""Which sheets and cells of a workbook and of a template are the same ones, told by names."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace

from estimator.workbook.carry.lines import lines_kept
from estimator.workbook.package.a1 import Range
from estimator.workbook.package.moves import Block, Moves, moves_between, titles_now
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.template.made_from import MadeFrom

Ranges = Mapping[str, tuple[str, Range]]
PREFIXES = ("", "in_", "least_", "most_", "choices_")


@dataclass(frozen=True, slots=True)
class Match:
    """How a workbook fits a template.

    Args:
        present: By sheet of the template, the sheet of the workbook that is the same, if any.
        titles: By sheet of the template, its title in the result.
        left: Sheets of the workbook that were ours and are in the template no more.
        aliases: By name in the workbook, its name in the template, where that differs.
    """

    present: Mapping[str, str | None]
    titles: Mapping[str, str]
    left: tuple[str, ...]
    aliases: Mapping[str, str]

    def new_name(self, name: str) -> str:
        """Name in the template of a name of the workbook."""
        return self.aliases.get(name, name)


def match(port: FilePort, template: FilePort, made: MadeFrom, renamed: Mapping[str, str]) -> Match:
    """Find the sheets of a template in a workbook.

    Args:
        port: The workbook.
        template: The template.
        made: What the workbook was made with.
        renamed: By old key of a quantity, its present one.
    """
    aliases = {f"{p}{old}": f"{p}{new}" for old, new in renamed.items() for p in PREFIXES}
    now, new = port.ranges(), template.ranges()
    sheets = [sheet.name for sheet in port.package.sheets if sheet.kind == "worksheet"]
    votes: dict[str, Counter[str]] = {}
    for name, (sheet, _) in now.items():
        home = new.get(aliases.get(name, name))
        if home is not None:
            votes.setdefault(home[0], Counter())[sheet] += 1
    homes = titles_now(made.ranges, now)
    ours = {homes.get(home, home) for home in made.texts} & set(sheets)
    present: dict[str, str | None] = {}
    for info in template.package.sheets:
        free = [s for s in sheets if s not in present.values()]
        ranked = [title for title, _ in votes.get(info.name, Counter()).most_common()]
        ranked.sort(key=lambda title: title != info.name)
        found = next((title for title in ranked if title in free), None)
        if found is None and info.name in free and (info.name in ours or not made.texts):
            found = info.name
        present[info.name] = found
    taken = {s.casefold() for s in sheets}
    titles = {}
    for name, found in present.items():
        title, number = name, 2
        while found is None and title.casefold() in taken:
            title, number = f"{name} {number}", number + 1
        titles[name] = found or title
    left = tuple(sorted(ours - set(present.values())))
    return Match(present, titles, left, aliases)


def forward(port: FilePort, template: FilePort, found: Match, sheets: frozenset[str]) -> Moves:
    """Where cells of the workbook stand once these sheets of the template are put in."""
    before: dict[str, tuple[str, Range]] = {}
    after: dict[str, tuple[str, Range]] = {}
    blocks: dict[str, list[Block]] = {}
    new = template.ranges()
    lines = lines_kept(port, template, found.new_name, sheets)
    for old_name, (sheet, area) in port.ranges().items():
        name = found.new_name(old_name)
        home = new.get(name)
        if home is None or home[0] not in sheets:
            continue
        title = found.titles[home[0]]
        if found.present[home[0]] == sheet:
            before[name], after[name] = _clipped(area, home[1], sheet, title)
        kept = lines.get(old_name)
        if area.columns == home[1].columns and (kept is not None or area.rows == home[1].rows):
            blocks.setdefault(sheet, []).append(Block(area, title, home[1], kept))
    moved = moves_between(before, after)
    still = all(
        (block.title, block.now) == (sheet, block.area)
        for sheet, found_there in blocks.items()
        for block in found_there
    )
    none = moved.none and not lines and still
    return replace(moved, none=none, blocks=_tuples(blocks))


def placed(port: FilePort, template: FilePort, found: Match, sheets: frozenset[str]) -> Moves:
    """Where cells of the template stand in the workbook once these sheets of it are put in."""
    before: dict[str, tuple[str, Range]] = {}
    after: dict[str, tuple[str, Range]] = {}
    blocks: dict[str, list[Block]] = {}
    now = port.ranges()
    for name, (home, area) in template.ranges().items():
        there = now.get(name)
        if home in sheets or there is None or found.present[home] != there[0]:
            continue
        before[name], after[name] = _clipped(area, there[1], home, there[0])
        if (area.rows, area.columns) == (there[1].rows, there[1].columns):
            blocks.setdefault(home, []).append(Block(area, there[0], there[1]))
    moved = moves_between(before, after)
    same = all(home == title for home, title in found.titles.items())
    return Moves(found.titles, moved.rows, moved.columns, moved.none and same, _tuples(blocks))


def _tuples(blocks: Mapping[str, list[Block]]) -> dict[str, tuple[Block, ...]]:
    return {sheet: tuple(found) for sheet, found in blocks.items()}


def _clipped(
    one: Range, other: Range, sheet: str, title: str
) -> tuple[tuple[str, Range], tuple[str, Range]]:
    """Both ranges with as many rows and columns as both have."""
    rows = min(one.row2 - one.row1, other.row2 - other.row1)
    columns = min(one.column2 - one.column1, other.column2 - other.column1)
    return tuple(
        (name, Range(a.row1, a.column1, a.row1 + rows, a.column1 + columns))
        for name, a in ((sheet, one), (title, other))
    )  # type: ignore[return-value]
