"""What a person did to a sheet of ours, carried into the template's sheet that takes its place.

Works on the XML of both: looks of cells, widths, heights, pictures, charts, comments, merged
cells, links, headers and conditional formats of one's own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from lxml import etree

from estimator.errors import FileError
from estimator.workbook.package.a1 import (
    Range,
    address,
    parse_cell,
    parse_range,
    range_text,
    tokens,
)
from estimator.workbook.package.container import SHEET_ORDER, put_in_order
from estimator.workbook.template.made_from import entry_checksum, rule_checksum

Node = Any
Spot = tuple[int, int]
Move = Callable[[int, int], Spot | None]
"""Where a cell of the old sheet stands on the new one; None if nowhere."""

_KEPT = (
    "sheetPr", "sheetProtection", "hyperlinks", "printOptions", "pageMargins", "pageSetup",
    "headerFooter", "drawing", "legacyDrawing", "legacyDrawingHF", "drawingHF", "picture",
    "oleObjects", "controls", "tableParts", "extLst", "mergeCells",
)  # fmt: skip
_PLACES = ("sheet", "cell", "error")
_REFERRING = ("hyperlinks", "mergeCells")


class SheetCarry:
    """One old sheet and the new one, both as XML; the new one is changed in place.

    Args:
        old, new: Roots of the sheets' parts.
        tag: Full tag of a spreadsheet element.
        move: Where cells of the old sheet stand on the new one.
        still: Whether nothing moved.
        family: Name of the named style of a cell format of the old workbook.
        ours: Names of the styles that the template has.
        follow: A formula of the old sheet as it reads on the new one; None if it can't.
    """

    def __init__(
        self,
        old: Node,
        new: Node,
        tag: Callable[[str], str],
        move: Move,
        still: bool,
        family: Callable[[str], str],
        ours: frozenset[str],
        follow: Callable[[str], str | None],
    ) -> None:
        self._follow = follow
        self.old, self.new, self._tag = old, new, tag
        self._move, self._still = move, still
        self._family, self._ours = family, ours
        self._rows: dict[int, Node] = {int(r.get("r")): r for r in new.iter(tag("row"))}
        self.lost: list[str] = []

    def run(self, rules: frozenset[str] | None, own: Mapping[Spot, Spot]) -> None:
        """SheetCarry everything but contents.

        Args:
            rules: The old template's conditional formats; None where they can't be told.
            own: Where the new sheet will hold a person's own cell, and where that stood.
        """
        self._looks()
        self._own_looks(own)
        self._heights()
        self._widths()
        for name in _KEPT:
            self._keep(name)
        if self._still:
            self._keep("sheetViews")
        if rules is not None:
            self._rules(rules)
            self._entries(rules)

    def _looks(self) -> None:
        cells = {c.get("r"): c for c in self.new.iter(self._tag("c"))}
        blank = self._looks_of_blank()
        for old in self.old.iter(self._tag("c")):
            style, place = old.get("s"), old.get("r")
            there = self._move(*parse_cell(place)) if style is not None and place else None
            if style is None or there is None:
                continue
            cell = cells.get(address(*there))
            given = blank(*there) if cell is None else cell.get("s") or "0"
            if given is None or given == style:
                continue
            family = self._family(style)
            if family == self._family(given) or family not in self._ours:
                (self._new_cell(*there) if cell is None else cell).set("s", style)

    def _looks_of_blank(self) -> Callable[[int, int], str | None]:
        """What gives the look of a cell that the new sheet has by its column alone."""
        columns = {at: own["style"] for at, own in self._columns(self.new) if "style" in own}
        others = {int(r.get("r")) for r in self.new.iter(self._tag("row")) if r.get("s")}
        return lambda row, column: None if row in others else columns.get(column)

    def _own_looks(self, own: Mapping[Spot, Spot]) -> None:
        """Blank cells with the looks of a person's own, to be filled."""
        olds = {c.get("r"): c for c in self.old.iter(self._tag("c"))}
        cells = {c.get("r"): c for c in self.new.iter(self._tag("c"))}
        for place, there in sorted(own.items()):
            style = olds[address(*there)].get("s")
            cell = cells.get(address(*place))
            if cell is None:
                cell = self._new_cell(*place)
            if style is not None:
                cell.set("s", style)

    def _new_cell(self, number: int, column: int) -> Node:
        """A blank cell, where there is none."""
        row = self._rows.get(number)
        if row is None:
            row = self._rows[number] = etree.Element(self._tag("row"), r=str(number))
            self.new.find(self._tag("sheetData")).insert(sum(n < number for n in self._rows), row)
        cell = etree.Element(self._tag("c"), r=address(number, column))
        row.insert(sum(parse_cell(c.get("r"))[1] < column for c in row), cell)
        row.attrib.pop("spans", "")
        return cell

    def _heights(self) -> None:
        """Heights that a person raised, and rows that they hid."""
        for old in self.old.iter(self._tag("row")):
            there = self._move(int(old.get("r") or 0), 1)
            row = self._rows.get(there[0]) if there else None
            if row is None:
                continue
            if float(old.get("ht") or 0) > float(row.get("ht") or 0):
                row.set("ht", old.get("ht"))
                row.set("customHeight", "1")
            if old.get("hidden") in ("1", "true"):
                row.set("hidden", "1")

    def _widths(self) -> None:
        new: dict[int, dict[str, str]] = dict(self._columns(self.new))
        for column, old in self._columns(self.old):
            there = self._move(1, column)
            if there is not None and "width" in old:
                new[there[1]] = {**old, "style": new.get(there[1], {}).get("style", "0")}
        holder = self.new.find(self._tag("cols"))
        if holder is None and new:
            holder = etree.Element(self._tag("cols"))
            self._put(holder)
        if holder is not None:
            for child in list(holder):
                holder.remove(child)
            for column, attributes in sorted(new.items()):
                plain = {k: v for k, v in attributes.items() if (k, v) != ("style", "0")}
                number = str(column)
                etree.SubElement(holder, self._tag("col"), {**plain, "min": number, "max": number})

    def _columns(self, root: Node) -> Iterator[tuple[int, dict[str, str]]]:
        for col in root.iterfind(f"{self._tag('cols')}/{self._tag('col')}"):
            first, last = int(col.get("min")), int(col.get("max"))
            attributes = {k: v for k, v in col.attrib.items() if k not in ("min", "max")}
            for column in range(first, min(last, first + 199) + 1):
                yield column, attributes

    def _keep(self, name: str) -> None:
        """Put a child of the old sheet in the place of the new one's."""
        old = self.old.find(self._tag(name))
        if old is None:
            return
        if name == "hyperlinks":
            _leave_out(old, self.new.find(self._tag(name)))
        if name in _REFERRING and not self._still:
            for child in list(old):
                ref = self.moved(child.get("ref") or "")
                if ref is None:
                    self.lost.append(f"{_WORDS[name]} at {child.get('ref')}")
                    old.remove(child)
                else:
                    child.set("ref", ref)
            if len(old) == 0:
                return
            if "count" in old.attrib:
                old.set("count", str(len(old)))
        present = self.new.find(self._tag(name))
        if present is not None:
            self.new.remove(present)
            if name == "hyperlinks":
                _add_links(old, present)
        self._put(old)

    def _put(self, node: Node) -> None:
        put_in_order(self.new, node, SHEET_ORDER)

    def _rules(self, known: frozenset[str]) -> None:
        """Conditional formats of one's own, after the template's; ``known`` are the template's."""
        texts, standing = self._tag("formula"), self._standing_rules()
        for holder in list(self.old.iterfind(self._tag("conditionalFormatting"))):
            for rule in list(holder.iterfind(self._tag("cfRule"))):
                formulas = [f.text or "" for f in rule.iterfind(texts)]
                ours = rule_checksum(rule.get("type") or "", formulas) in known
                ours = ours or self._stands(holder, standing.get(_shape(rule, formulas), ()))
                if ours or not self._followed(rule, ("formula",)):
                    holder.remove(rule)
            if holder.find(self._tag("cfRule")) is None:
                continue
            refs = (holder.get("sqref") or "").split()
            areas = [self.moved(ref) for ref in refs]
            gone = [ref for ref, area in zip(refs, areas, strict=True) if area is None]
            if gone:
                self.lost.append(f"conditional format at {_first(gone)}")
            if any(areas):
                holder.set("sqref", " ".join(filter(None, areas)))
                self._put(holder)

    def _standing_rules(self) -> Mapping[str, list[Range]]:
        """Where the new sheet has conditional formats, by what they say but for cells."""
        found: dict[str, list[Range]] = {}
        for holder in self.new.iterfind(self._tag("conditionalFormatting")):
            areas = [parse_range(ref) for ref in (holder.get("sqref") or "").split()]
            for rule in holder.iterfind(self._tag("cfRule")):
                formulas = [f.text or "" for f in rule.iterfind(self._tag("formula"))]
                found.setdefault(_shape(rule, formulas), []).extend(areas)
        return found

    def _stands(self, holder: Node, areas: Sequence[Range]) -> bool:
        """Whether a look is the template's own, its cells moved by rows that came or went.

        Cells shifted in one column alone take it a row or so off the table that it belongs to.
        """
        moved = [self.moved(ref) for ref in (holder.get("sqref") or "").split()]
        spots = [parse_range(ref) for ref in moved if ref is not None]
        return bool(areas) and all(any(_along(s, area) for area in areas) for s in spots)

    def _entries(self, known: frozenset[str]) -> None:
        """Rules on entries of one's own where the new sheet has none; the template's are known.

        A workbook that kept no record of the template's shows none of them in ``known``.
        """
        olds = list(self.old.iter(self._tag("dataValidation")))
        own = [rule for rule in olds if self._entry_checksum(rule) not in known]
        recorded = len(own) < len(olds)
        holder = self.new.find(self._tag("dataValidations"))
        taken = [
            (parse_range(ref), self._like(rule))
            for rule in (holder if holder is not None else ())
            for ref in (rule.get("sqref") or "").split()
        ]
        for rule in own:
            free = []
            for ref in (rule.get("sqref") or "").split():
                moved = self.moved(ref)
                over = [
                    like
                    for area, like in taken
                    if moved is None or parse_range(moved).overlaps(area)
                ]
                if moved is not None and not over:
                    free.append(moved)
                elif recorded and self._like(rule) not in over:
                    self.lost.append(f"rule on entries at {ref}")
            if not free or not self._followed(rule, ("formula1", "formula2")):
                continue
            if holder is None:
                holder = etree.Element(self._tag("dataValidations"))
                self._put(holder)
            rule.set("sqref", " ".join(free))
            holder.append(rule)
        if holder is not None:
            holder.set("count", str(len(holder)))

    def _like(self, rule: Node) -> str:
        """A rule on entries but for the cells that it reads, which rows deleted may have moved."""
        texts = (rule.findtext(self._tag(name)) or "" for name in ("formula1", "formula2"))
        return entry_checksum(rule.get("type"), rule.get("operator"), *map(_without_cells, texts))

    def _entry_checksum(self, rule: Node) -> str:
        texts = (rule.findtext(self._tag(name)) for name in ("formula1", "formula2"))
        return entry_checksum(rule.get("type"), rule.get("operator"), *texts)

    def _followed(self, rule: Node, names: tuple[str, ...]) -> bool:
        """Let a rule's formulas read what they read where it stands now; whether they can."""
        for name in names:
            for node in rule.iter(self._tag(name)):
                text = self._follow(node.text or "")
                if text is None:
                    self.lost.append(f"rule that reads cells that are gone: {node.text}")
                    return False
                node.text = text
        return True

    def moved(self, ref: str) -> str | None:
        """A reference on the old sheet as it reads on the new one."""
        return moved_range(ref, self._move)


def _without_cells(text: str) -> str:
    return "".join(piece for kind, piece in tokens(text) if kind not in _PLACES)


def _along(spot: Range, area: Range) -> bool:
    """Whether a range lies in no other columns than another, with rows in common."""
    within = area.column1 <= spot.column1 and spot.column2 <= area.column2
    return within and spot.overlaps(area)


def _shape(rule: Node, formulas: Sequence[str]) -> str:
    """What a conditional format says but for the cells that it reads."""
    return rule_checksum(rule.get("type") or "", [_without_cells(text) for text in formulas])


def _leave_out(old: Node, template: Node | None) -> None:
    """Take the template's own links out of a sheet's, wherever rows that came or went put them."""
    ours = {_leads(link) for link in (() if template is None else template)}
    for link in list(old):
        if _leads(link) in ours:
            old.remove(link)


def _leads(link: Node) -> tuple[str | None, str | None]:
    """Where a link leads within the workbook, and what it says."""
    return link.get("location"), link.get("tooltip")


def _add_links(old: Node, template: Node) -> None:
    """Give the links of a sheet the template's own, where no other link stands."""
    taken = {link.get("ref") for link in old}
    old.extend([link for link in list(template) if link.get("ref") not in taken])


NAMED = 3
"""So many of many ranges are named."""


def _first(refs: Sequence[str]) -> str:
    """The first few of these ranges."""
    more = f" and {len(refs) - NAMED} more" if len(refs) > NAMED else ""
    return " ".join(refs[:NAMED]) + more


_WORDS: Mapping[str, str] = {"hyperlinks": "link", "mergeCells": "merged cells"}


def moved_range(ref: str, move: Move) -> str | None:
    """A range such as ``B3:C9`` where its corners stand now; None if one is gone."""
    try:
        area = parse_range(ref)
    except FileError:
        return None
    first, last = move(area.row1, area.column1), move(area.row2, area.column2)
    if first is None or last is None or first[0] > last[0] or first[1] > last[1]:
        return None
    return range_text(Range(*first, *last))
