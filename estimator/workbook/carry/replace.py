"""Sheets of the template put into a workbook, with what a person did on those that they replace.

Typed entries, numbers and formulas over computed cells and texts of one's own are carried over;
what has no place any more is said by name.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from estimator.rows import MARKS_SHEET, OPTION_KEYS
from estimator.workbook.carry.insert import Insertion, Plan
from estimator.workbook.carry.lines import lines_kept, lost_lines
from estimator.workbook.carry.losses import OVER, Losses, summed
from estimator.workbook.carry.match import Match, forward, match, placed
from estimator.workbook.carry.new_columns import fill_new_columns
from estimator.workbook.carry.own_cells import (
    NOWHERE,
    Own,
    blocks_of_lines,
    others,
    over_formulas,
    own_in_blocks,
    typed,
)
from estimator.workbook.carry.own_prints import moved_print_area, own_print_areas
from estimator.workbook.carry.solved_record import (
    GivenCell,
    decisions,
    listed_decisions,
    solved_record,
)
from estimator.workbook.package.a1 import address
from estimator.workbook.package.cells import Edit, Formula, patched
from estimator.workbook.package.parts import Package
from estimator.workbook.package.reading import formula_cells, grid
from estimator.workbook.refill.displaced import Displaced
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.live_blocks import refuse_live
from estimator.workbook.refill.port import Content
from estimator.workbook.template.made_from import (
    FORMULA,
    MadeFrom,
    Spot,
    checksum,
    is_constant,
)
from estimator.workbook.template.snapshot import EVERY, SNAPSHOT_VALUE, TYPED_OVER_MARK


@dataclass(frozen=True, slots=True)
class Replaced:
    """A workbook with sheets of the template put in, and sentences on what could not be kept."""

    package: Package
    notes: tuple[str, ...]

    @property
    def data(self) -> bytes:
        """The file."""
        return self.package.to_bytes()


class Replacement:
    """One workbook into which sheets of the template are put.

    Args:
        port: The workbook.
        template: The template.
        made: What the workbook was made with.
        renamed: By old key of a quantity, its present one.
        displaced: Tells formulas that an accident made from a person's own; None where the
            workbook is of another template, whose formulas are not at hand.
    """

    def __init__(
        self,
        port: FilePort,
        template: FilePort,
        made: MadeFrom,
        renamed: Mapping[str, str],
        displaced: Displaced | None = None,
    ) -> None:
        self.port, self.template, self.made = port, template, made
        self.found: Match = match(port, template, made, renamed)
        self.renamed = renamed
        self.notes: list[str] = []
        self._displaced = displaced
        self._moved_cells: list[tuple[str, Spot]] = []
        self._record = solved_record(port, made)
        self._given = solved_record(template) or {}
        self._losses = Losses()

    def run(self, sheets: frozenset[str]) -> Replaced:
        """Put these sheets of the template in.

        Raises:
            FileError: If the workbook has live functions, which the template's sheets have not.
        """
        if sheets:
            refuse_live(self.port)
        found, port, template = self.found, self.port, self.template
        self.forward = forward(port, template, found, sheets)
        self._lines = lines_kept(port, template, found.new_name, sheets)
        mapping = {name: found.present[name] for name in found.present if name in sheets}
        replaced = {title for title in mapping.values() if title}
        own, spots = self._others(replaced)

        def concerns(sheet: str, name: str) -> bool:
            return sheet in replaced or self._moves_home(name, sheets)

        inputs = [each for each in typed(port) if concerns(each.sheet, each.name)]
        over = [*self._kept_over(concerns)]
        kept = [*inputs, *over, *self._decided(concerns, sheets), *own]
        whole = sheets == frozenset(found.present)
        plan = Plan(
            mapping,
            found.titles,
            self.forward,
            placed(port, template, found, sheets),
            self._prints(replaced),
            self._dropped() if whole else frozenset(),
            {old.casefold(): new for old, new in found.aliases.items()},
        )
        insertion = Insertion(port.package, template.package, plan, self.made, spots)
        result = insertion.run()
        edits = {
            **self._left_elsewhere(sheets, replaced),
            **self._edits(insertion, kept, sheets),
            **self._record_edits(sheets, kept),
        }
        if whole:
            edits.update(self._frozen(result))
        notes = summed(f"Not carried over: {what}." for what in insertion.lost)
        return Replaced(patched(result, edits), (*self.notes, *self._losses.sentences(), *notes))

    def _moves_home(self, name: str, sheets: frozenset[str]) -> bool:
        home = self.template.ranges().get(self.found.new_name(name))
        return home is not None and home[0] in sheets

    def _kept_over(self, concerns: Callable[[str, str], bool]) -> Iterable[Own]:
        if self.made.ranges:
            there = blocks_of_lines(self.template.ranges())
            own = own_in_blocks(self.port, self.made, concerns, there)
            return (each for each in own if not self._is_displaced(each))
        self.notes.append(
            "The workbook does not tell what it was made with: numbers typed over are kept,"
            " formulas that you changed are the estimator's again, and what you wrote beside ours"
            " stands in the version before alone."
        )
        own = over_formulas(self.port, self.template, self.found.new_name)
        return (each for each in own if concerns(each.sheet, each.name))

    def _is_displaced(self, own: Own) -> bool:
        """Whether an accident put a formula there; its cell is remembered."""
        found = self._by_accident(own)
        if found:
            self._moved_cells.append((own.sheet, own.spot))
        return found

    def _by_accident(self, own: Own) -> bool:
        text = own.content.formula
        if self._displaced is None or text is None:
            return False
        home, area = self.template.ranges()[own.name]
        spot = area.row1 + own.offset[0], area.column1 + own.offset[1]
        return self._displaced.by_accident(home, spot, text, own.spot)

    # --- decided over what was solved ---

    def _decided(
        self, concerns: Callable[[str, str], bool], sheets: frozenset[str]
    ) -> Iterator[Own]:
        """Decisions over solved single values, a formula as the number that it shows.

        Where an accident moved cells of the same row or column, what stands there may be another
        cell's: it is said by name and not kept.
        """
        if self._record is None:
            if sheets:
                self.notes += [
                    f"Not carried over: {place}: {MARKS_SHEET}, which told what was solved, is not"
                    " whole; it is solved again."
                    for place in listed_decisions(self.port, self.made)
                ]
            return
        for own, _ in decisions(self.port, self._record):
            if not concerns(own.sheet, own.name) or self._by_accident(own):
                continue
            if any(
                sheet == own.sheet and (spot[0] == own.spot[0] or spot[1] == own.spot[1])
                for sheet, spot in self._moved_cells
            ):
                self._losses.add(own, "cells beside it were moved, so that it may be another one's")
            else:
                yield replace(own, content=Content(own.content.value, date=own.content.date))

    def _record_edits(
        self, sheets: frozenset[str], kept: Iterable[Own]
    ) -> dict[tuple[str, str], Edit]:
        """What the solvers gave, on the sheet that tells it, where that is put in.

        What was typed over a row that is solved now, and was computed, is marked as a decision.
        """
        edits: dict[tuple[str, str], Edit] = {}
        if self._record is None or MARKS_SHEET not in sheets:
            return edits
        sheet, area = self.template.ranges()[SNAPSHOT_VALUE]
        title, new_name = self.found.titles[sheet], self.found.new_name

        def cell(given: GivenCell) -> tuple[str, str]:
            row, column = given.place
            return title, address(area.row1 + row, area.column1 + column)

        for (key, option, part), given in self._record.items():
            there = self._given.get((new_name(key), option, part))
            if there is not None and there.rows == given.rows:
                edits[cell(there)] = given.value
        for own in kept:
            for option in (EVERY, OPTION_KEYS[min(own.offset[1], len(OPTION_KEYS) - 1)]):
                there = self._given.get((new_name(own.name), option, 0))
                if there is not None and there.single and (own.name, option, 0) not in self._record:
                    edits[cell(there)] = TYPED_OVER_MARK
        return edits

    def _left_elsewhere(
        self, sheets: frozenset[str], replaced: set[str]
    ) -> dict[tuple[str, str], Edit]:
        """Blanks for cells of ours that were moved to a sheet that stays, as they are back."""
        found: dict[tuple[str, str], Edit] = {}
        for name, (sheet, area) in self.port.ranges().items():
            home = self.template.ranges().get(self.found.new_name(name))
            if home is not None and home[0] in sheets and sheet not in replaced:
                found.update({(sheet, address(*cell)): None for cell in area.cells()})
        return found

    def _others(self, replaced: set[str]) -> tuple[list[Own], dict[str, dict[Spot, Spot]]]:
        """Own texts that have a place in the result, and those places by sheet."""
        found: list[Own] = []
        spots: dict[str, dict[Spot, Spot]] = {}
        homes = {title: home for home, title in self.found.present.items() if title}
        record, values = self.template.ranges()[SNAPSHOT_VALUE]
        for own in others(self.port, self.made, replaced, self._displaced):
            there = self.forward.spot(own.sheet, *own.spot)
            if there is not None and record == homes[own.sheet] and values.holds(*there):
                continue  # left of a record that is not whole, and nobody's own
            if there is None or not self._free(homes[own.sheet], there, own):
                self._losses.add(own, "its place on the sheet is taken or gone")
                continue
            if own.made == FORMULA and self._displaced is not None:
                self._losses.add(own, OVER)
                continue
            if own.made == FORMULA:
                self.notes.append(f"Kept over the template's formula: {own.place}, {own.shown}.")
            found.append(own)
            spots.setdefault(own.sheet, {})[there] = own.spot
        return found, spots

    def _free(self, home: str, there: Spot, own: Own) -> bool:
        """Whether the template has nothing there, or just what the person wrote over.

        A blank cell with a name is no free one: it is left for an entry.
        """
        named = self.template.ranges().items()
        if any(
            sheet == home and area.holds(*there) and not is_constant(name, home)
            for name, (sheet, area) in named
        ):
            return False
        content = grid(self.template.package, home).value(*there)
        if content.formula is not None:
            return own.made == FORMULA
        return content.value in (None, "") or checksum(content.value) == own.made

    def _prints(self, replaced: set[str]) -> dict[str, str]:
        """Print areas of a person's own as they read in the result, by title."""
        found = {}
        for title, areas in own_print_areas(self.port, self.made):
            if title not in replaced:
                continue
            text = moved_print_area(areas, self.forward, title)
            if text is None:
                self.notes.append(f"Not carried over: the print area of {title}.")
            else:
                found[self.forward.sheets.get(title, title)] = text
        return found

    def _dropped(self) -> frozenset[str]:
        """Names that the template has no more, in small letters."""
        new = {name.casefold() for name in self.template.package.names}
        return frozenset(n.casefold() for n in (*self.made.ranges, *self.found.aliases)) - new

    # --- contents ---

    def _edits(
        self, insertion: Insertion, kept: Iterable[Own], sheets: frozenset[str]
    ) -> dict[tuple[str, str], Edit]:
        edits: dict[tuple[str, str], Edit] = {}
        for own in kept:
            if self._fell_out(own):
                if not own.content.blank:
                    self._losses.add_of_line(own)
                continue
            where = self._target(own)
            if where is None:
                if not own.content.blank:
                    label = own.name.removeprefix("in_")
                    self._losses.add(own, f"this version has no place for {label}")
                continue
            sheet, spot = where
            value = own.content.value
            if own.content.formula is not None:
                text = insertion.followed(own.content.formula, own.sheet)
                if text is None:
                    self._losses.add(own, "it reads cells that are gone")
                    continue
                edits[sheet, address(*spot)] = Formula(text)
            else:
                edits[sheet, address(*spot)] = None if own.content.blank else value
        old = {self.found.new_name(name) for name in self.port.ranges()}
        self.notes += fill_new_columns(edits, self.template, old, self.found.titles, sheets)
        lost = lost_lines(
            self._lines, self.made.ranges, self.template.ranges(), self.found.new_name
        )
        blanks = ((self.found.titles[home], address(row, column)) for home, row, column in lost)
        return {**dict.fromkeys(blanks), **edits}

    def _fell_out(self, own: Own) -> bool:
        """Whether a cell stands on a line that the template's table has no place for."""
        lines = self._lines.get(own.name)
        return lines is not None and own.offset[0] not in lines and own.offset != NOWHERE

    def _target(self, own: Own) -> tuple[str, Spot] | None:
        """Where a cell of a person's own stands in the result."""
        if not own.name:
            there = self.forward.spot(own.sheet, *own.spot)
            assert there is not None
            return self.forward.sheets.get(own.sheet, own.sheet), there
        found = self.template.ranges().get(self.found.new_name(own.name))
        if found is None:
            return None
        home, area = found
        line = self._lines.get(own.name, {}).get(own.offset[0], own.offset[0])
        spot = area.row1 + line, area.column1 + own.offset[1]
        if not area.holds(*spot):
            return None
        if not own.name.startswith("in_"):
            content = grid(self.template.package, home).value(*spot)
            if content.formula is None and not self._is_solved_single(own.name):
                return None
        return self.found.titles[home], spot

    def _is_solved_single(self, name: str) -> bool:
        return any(
            key == self.found.new_name(name) and given.single
            for (key, _, _), given in self._given.items()
        )

    def _frozen(self, result: Package) -> dict[tuple[str, str], Edit]:
        """Last values in the place of the formulas of sheets that the template has no more."""
        if not self.found.left:
            return {}
        names = ", ".join(self.found.left)
        self.notes.append(
            f"No longer part of the workbook, kept with its last numbers as plain values: {names}."
        )
        return {
            (sheet, address(row, column)): content.value
            for sheet, row, column, content in formula_cells(result)
            if sheet in self.found.left
        }
