"""Puts sheets and names of the template into a workbook, in the place of those that it has or lost.

All that a person made stays: sheets of their own as they are but for references that moved, and
on sheets of ours what :mod:`one_sheet` and :mod:`own_cells` carry. Parts that have no part in
this keep their bytes.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from lxml import etree

from estimator.workbook.carry.following import Following
from estimator.workbook.carry.one_sheet import Move, SheetCarry, Spot
from estimator.workbook.carry.own_prints import PRINT_AREA
from estimator.workbook.package.a1 import (
    LOST_REFERENCE,
    address,
    named_sheet,
    parse_cell,
    tokens,
)
from estimator.workbook.package.container import to_bytes
from estimator.workbook.package.moves import Moves
from estimator.workbook.package.new_parts import RELATION, NewParts
from estimator.workbook.package.parts import Package, SheetInfo
from estimator.workbook.package.reading import grid
from estimator.workbook.package.references import sheet_prefix
from estimator.workbook.package.style_merge import StyleMerge
from estimator.workbook.template.made_from import MadeFrom

Node = Any
_SPACE = "{http://www.w3.org/XML/1998/namespace}space"
_BUILT_IN = "_xlnm."


@dataclass(frozen=True, slots=True)
class Plan:
    """What is put in, and how cells stand to each other.

    Args:
        sheets: By sheet of the template that is put in, the sheet whose place it takes, or None.
        titles: Title of every sheet of the template in the result.
        forward: Where cells of the workbook stand in the result.
        placed: Where cells of the template stand in the result.
        prints: By title, print areas of a person's own as they read in the result.
        drop: Names that go, besides those that are replaced, in small letters.
        renamed: Names that formulas of a person's own write anew.
    """

    sheets: Mapping[str, str | None]
    titles: Mapping[str, str]
    forward: Moves
    placed: Moves
    prints: Mapping[str, str] = field(default_factory=dict)
    drop: frozenset[str] = frozenset()
    renamed: Mapping[str, str] = field(default_factory=dict)


class Insertion:
    """Sheets put into one workbook.

    Args:
        package: The workbook.
        template: The template.
        plan: What to put where.
        made: What the workbook was made with.
        own: By sheet of the workbook, where the result holds a person's own cells, and where
            they stood.
    """

    def __init__(
        self,
        package: Package,
        template: Package,
        plan: Plan,
        made: MadeFrom,
        own: Mapping[str, Mapping[Spot, Spot]],
    ) -> None:
        self.package, self.template, self.plan, self.made = package, template, plan, made
        self._own = own
        self.lost: list[str] = []
        self._styles = StyleMerge(package, template)
        self._following = Following(plan.forward, plan.renamed, plan.drop)
        self._book: Node = package.xml_to_change(package.main_part)
        self._parts = NewParts(package)
        self._changes = self._parts.changes

    def run(self) -> Package:
        """The workbook with everything put in; formulas have no values yet."""
        for name, present in self.plan.sheets.items():
            self._put_sheet(self.template.sheet(name), present)
        self._follow()
        self._names()
        changes = dict(self._changes)
        if self._styles.changed:
            changes[self._styles.part] = self._styles.to_bytes()
        changes[self.package.main_part] = to_bytes(self._book)
        grown = self.package.changed(changes)
        if not self.plan.sheets:
            return grown
        return grown.changed(
            {**grown.without_calculation_chain(), **grown.with_calculation_on_load()}
        )

    # --- sheets ---

    def _put_sheet(self, info: SheetInfo, present: str | None) -> None:
        new = self.template.xml_to_change(info.part)
        tag = self.package.tag
        self._restyle(new)
        self._inline(new, info)
        for name in ("f", "formula", "formula1", "formula2"):
            for node in new.iter(tag(name)):
                node.text = self._placed(node.text or "", info.name)
        drawing = new.find(tag("drawing"))
        if present is None:
            part = self._parts.free("xl/worksheets/sheet{}.xml")
            self._register(info, part)
        else:
            old_info = self.package.sheet(present)
            part = old_info.part
            old = self.package.xml_to_change(part)
            self._carry(info, old_info, old, new)
        if drawing is not None and drawing.getparent() is new:
            copied = self._parts.copy(
                self.template,
                info.part,
                drawing.get(f"{{{RELATION}}}id"),
                lambda text: self._placed(text, ""),
            )
            drawing.set(f"{{{RELATION}}}id", self._parts.link(part, "drawing", copied))
        self._changes[part] = to_bytes(new)

    def _restyle(self, root: Node) -> None:
        tag = self.package.tag
        for local, attribute in (("c", "s"), ("row", "s"), ("col", "style")):
            for node in root.iter(tag(local)):
                if node.get(attribute) is not None:
                    node.set(attribute, self._styles.cell(node.get(attribute)))
        for rule in root.iter(tag("cfRule")):
            if rule.get("dxfId") is not None:
                rule.set("dxfId", self._styles.look(rule.get("dxfId")))

    def _inline(self, root: Node, info: SheetInfo) -> None:
        """Bring shared strings of the template into the cells."""
        cells, tag = grid(self.template, info.name), self.package.tag
        for cell in root.iter(tag("c")):
            if cell.get("t") != "s":
                continue
            value = cells.value(*parse_cell(cell.get("r"))).value
            for child in list(cell):
                cell.remove(child)
            cell.set("t", "inlineStr")
            text = etree.SubElement(etree.SubElement(cell, tag("is")), tag("t"))
            text.text = str(value)
            if text.text != text.text.strip() or "\n" in text.text:
                text.set(_SPACE, "preserve")

    def _placed(self, text: str, sheet: str) -> str:
        """A formula of the template as it reads in the result."""
        if self.plan.placed.none:
            return text
        return "".join(piece for _, piece in self.plan.placed.pieces(text, sheet))

    def _carry(self, info: SheetInfo, old_info: SheetInfo, old: Node, new: Node) -> None:
        forward, sheet = self.plan.forward, old_info.name

        def move(row: int, column: int) -> Spot | None:
            return forward.spot(sheet, row, column)

        still = all(
            number == there
            for known in (forward.rows.get(sheet, {}), forward.columns.get(sheet, {}))
            for number, there in known.items()
        )
        carry = SheetCarry(
            old,
            new,
            self.package.tag,
            move,
            still,
            self._styles.family,
            self._styles.ours,
            lambda text: self.followed(text, sheet),
        )
        known = self.made.rules.get(info.name, frozenset()) if self.made.rules else None
        carry.run(known, self._own.get(sheet, {}))
        self.lost += [f"{sheet}: {what}" for what in carry.lost]
        if not still:
            self._anchors(old_info, move)

    def _anchors(self, info: SheetInfo, move: Move) -> None:
        """Let pictures, charts and comments stand by the cells that they stood by."""
        for link in self.package.relationships(info.part):
            if link.kind not in ("drawing", "comments", "vmlDrawing"):
                continue
            root: Node = self.package.xml_to_change(link.target)
            if link.kind == "drawing":
                for corner in root.iter("{*}from", "{*}to"):
                    _shift(corner.find("{*}row"), corner.find("{*}col"), move)
            elif link.kind == "vmlDrawing":
                for data in root.iter("{urn:schemas-microsoft-com:office:excel}ClientData"):
                    _shift(data.find("{*}Row"), data.find("{*}Column"), move)
            else:
                for comment in root.iter("{*}comment"):
                    there = move(*parse_cell(comment.get("ref")))
                    if there is None:
                        self.lost.append(f"{info.name}: comment at {comment.get('ref')}")
                    else:
                        comment.set("ref", address(*there))
            self._changes[link.target] = to_bytes(root)

    # --- what refers to cells that moved ---

    def _follow(self) -> None:
        """References of sheets that stay, and of charts, to cells of sheets that were replaced."""
        if self.plan.forward.none and not self.plan.renamed and not self.plan.drop:
            return
        replaced = {present for present in self.plan.sheets.values() if present}
        for info in self.package.sheets:
            if info.name not in replaced and info.kind == "worksheet":
                self._follow_part(info.part, info.name, ("f", "formula", "formula1", "formula2"))
        for part in self.package.parts:
            if "/charts/chart" in part and part.endswith(".xml"):
                self._follow_part(part, "", ("f",))

    @property
    def _moving(self) -> set[str]:
        """Sheets with cells that may stand elsewhere in the result."""
        return {*self.plan.forward.sheets, *self.plan.forward.blocks}

    def _follow_part(self, part: str, sheet: str, names: tuple[str, ...]) -> None:
        root = self.package.xml_to_change(part)
        changed = False
        words = {sheet_prefix(title) for title in self._moving}
        every = sheet in self._moving or self.plan.renamed or self.plan.drop
        if sheet:
            self._following.write_out_shared(root, grid(self.package, sheet))
        for node in root.iter(*(f"{{*}}{name}" for name in names)):
            text = node.text or ""
            if not every and not any(word in text for word in words):
                continue
            moved = self._following.of(text, sheet)
            if not moved.whole and sheet not in self.plan.titles.values():
                self.lost.append(f"{_place(sheet, node)}: {moved.told(text, chart=not sheet)}")
            if not moved.whole and (not sheet or sheet in self.plan.titles.values()):
                continue
            if moved.text != text:
                node.text, changed = moved.text, True
        if changed:
            self._changes[part] = to_bytes(root)

    def followed(self, text: str, sheet: str) -> str | None:
        """A formula of a person's own as it reads in the result; None if what it read is gone."""
        moved = self._following.of(text, sheet)
        return moved.text if moved.whole else None

    # --- names ---

    def _names(self) -> None:
        tag = self.package.tag
        holder: Node = self._book.find(tag("definedNames"))
        if holder is None:
            holder = etree.Element(tag("definedNames"))
            self._book.find(tag("sheets")).addnext(holder)
        order = [s.get("name") for s in self._book.find(tag("sheets"))]
        replaced = {self.plan.titles[name] for name in self.plan.sheets}
        present = {n.casefold() for n, target in self.package.names.items() if not target.broken}
        own = {name for name in self.template.names if not name.startswith(_BUILT_IN)}
        wanted = {
            name: target
            for name, target in self.template.names.items()
            if name in own and (target.sheet in self.plan.sheets or name.casefold() not in present)
        }
        gone = {n.casefold() for n in wanted} | self.plan.drop
        for node in list(holder):
            name, local = str(node.get("name")), node.get("localSheetId")
            if local is None and name.casefold() in gone:
                holder.remove(node)
            elif local is None:
                node.text = self._name_followed(name, node.text or "")
            elif name.startswith(_BUILT_IN + "Print") and order[int(local)] in replaced:
                holder.remove(node)
        for name, target in wanted.items():
            etree.SubElement(holder, tag("definedName"), name=name).text = self._placed(
                target.text, ""
            )
        for (sheet, name), target in self.template.local_names.items():
            if sheet in self.plan.sheets:
                title = self.plan.titles[sheet]
                at = str(order.index(title))
                node = etree.SubElement(holder, tag("definedName"), name=name, localSheetId=at)
                printed = self.plan.prints.get(title) if name == PRINT_AREA else None
                node.text = printed or self._retitled(target.text)

    def _name_followed(self, name: str, text: str) -> str:
        """What a name stands for in the result: no cells in the place of those that are gone."""
        moved = self.followed(text, "")
        if moved is None and self.made.ranges:  # else it may be ours, of another time
            self.lost.append(f"the name {name}: {text[:60]} is gone")
        return moved or LOST_REFERENCE

    def _retitled(self, text: str) -> str:
        """A print area, whose rows stand as the template has them, with the sheet's title."""
        return "".join(
            sheet_prefix(self.plan.titles.get(named_sheet(piece), named_sheet(piece)))
            if kind == "sheet"
            else piece
            for kind, piece in tokens(text)
        )

    # --- parts ---

    def _register(self, info: SheetInfo, part: str) -> None:
        """Add a new sheet after the one that it follows in the template."""
        tag = self.package.tag
        sheets: Node = self._book.find(tag("sheets"))
        title = self.plan.titles[info.name]
        identifier = self._parts.link(self.package.main_part, "worksheet", part)
        numbers = [int(s.get("sheetId")) for s in sheets]
        made = etree.Element(tag("sheet"), name=title, sheetId=str(max(numbers) + 1))
        if info.state != "visible":
            made.set("state", info.state)
        made.set(f"{{{RELATION}}}id", identifier)
        at = self._position(info, [str(s.get("name")) for s in sheets])
        sheets.insert(at, made)
        self._parts.set_type(
            part, "application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"
        )
        for node in self._book.iter(tag("definedName")):
            local = node.get("localSheetId")
            if local is not None and int(local) >= at:
                node.set("localSheetId", str(int(local) + 1))
        for view in self._book.iter(tag("workbookView")):
            for attribute in ("activeTab", "firstSheet"):
                if int(view.get(attribute) or 0) >= at:
                    view.set(attribute, str(int(view.get(attribute) or 0) + 1))

    def _position(self, info: SheetInfo, order: list[str]) -> int:
        at = self.template.sheets.index(info)
        for before in reversed(self.template.sheets[:at]):
            title = self.plan.titles[before.name]
            if title in order:
                return order.index(title) + 1
        return 0


def _shift(row: Node, column: Node, move: Move) -> None:
    """Move a place that is counted from 0."""
    if row is None or column is None:
        return
    there = move(int(row.text) + 1, int(column.text) + 1)
    if there is not None:
        row.text, column.text = str(there[0] - 1), str(there[1] - 1)


def _place(sheet: str, node: Node) -> str:
    """Where a formula stands: its cell, the sheet of a rule, or a chart."""
    cell = node.getparent().get("r")
    return f"{sheet}!{cell}" if cell else sheet or "a chart"
