"""Brings the looks of cells from one workbook's styles into another's, which only grow.

A named style that both have is the receiving workbook's: who restyled it sees what is brought in
restyled too, but for what a cell has of its own, such as its number format.
"""

from __future__ import annotations

from typing import Any

from lxml import etree

from estimator.errors import FileError
from estimator.workbook.package.container import put_in_order, to_bytes
from estimator.workbook.package.parts import Package

_ASPECTS = (("fontId", "fonts"), ("fillId", "fills"), ("borderId", "borders"))
_APPLY = {
    "numFmtId": "applyNumberFormat",
    "fontId": "applyFont",
    "fillId": "applyFill",
    "borderId": "applyBorder",
}
_ORDER = (
    "numFmts", "fonts", "fills", "borders", "cellStyleXfs", "cellXfs", "cellStyles", "dxfs",
    "tableStyles", "colors", "extLst",
)  # fmt: skip
_FIRST_OWN_FORMAT = 164

Node = Any


class StyleMerge:
    """Formats of cells of ``source`` as indices into the styles of ``target``, added as needed.

    Attributes:
        changed: Whether something was added.
        ours: Names of the styles of the source.

    Raises:
        FileError: If one of the workbooks has no styles, or they differ in the kind of format.
    """

    def __init__(self, target: Package, source: Package) -> None:
        if target.namespace != source.namespace:
            raise FileError(
                "is saved in the strict kind of .xlsx, into which nothing can be brought.",
                where=target.label,
                cure="Save it as a plain .xlsx workbook in your spreadsheet program.",
            )
        self.part, theirs = styles_part(target), styles_part(source)
        self._tag = target.tag
        self._root: Node = target.xml_to_change(self.part)
        self._from: Node = source.xml_to_change(theirs)
        self._cells: dict[str, str] = {}
        self._looks: dict[str, str] = {}
        self._families: dict[str, str] = {}
        self._known: dict[tuple[str, bytes], int] = {}
        self.changed = False
        self.ours = frozenset(str(s.get("name")) for s in self._items(self._from, "cellStyles"))

    def to_bytes(self) -> bytes:
        """The grown styles part."""
        return to_bytes(self._root)

    def cell(self, index: str) -> str:
        """Index of a cell format in the target."""
        found = self._cells.get(index)
        if found is None:
            found = self._cells[index] = self._cell(int(index))
        return found

    def look(self, index: str) -> str:
        """Index of the look of a conditional format in the target."""
        found = self._looks.get(index)
        if found is None:
            node = self._items(self._from, "dxfs")[int(index)]
            found = self._looks[index] = str(self._add("dxfs", node))
        return found

    def family(self, index: str) -> str:
        """Name of the named style of a cell format of the target."""
        found = self._families.get(index)
        if found is None:
            formats = self._items(self._root, "cellXfs")
            base = formats[int(index)].get("xfId") or "0" if int(index) < len(formats) else "0"
            styles = self._items(self._root, "cellStyles")
            found = next((str(s.get("name")) for s in styles if s.get("xfId") == base), "")
            self._families[index] = found
        return found

    def _cell(self, index: int) -> str:
        node: Node = self._items(self._from, "cellXfs")[index]
        base = self._items(self._from, "cellStyleXfs")[int(node.get("xfId") or 0)]
        style, present = self._style(int(node.get("xfId") or 0))
        made = etree.Element(self._tag("xf"))
        for name, value in node.attrib.items():
            made.set(name, value)
        made.set("xfId", str(style))
        for attribute, holder in _ASPECTS:
            own = node.get(attribute, "0")
            if present is not None and own == base.get(attribute, "0"):
                made.set(attribute, present.get(attribute, "0"))
            else:
                made.set(attribute, str(self._copied(holder, own)))
            made.set(_APPLY[attribute], "1")
        own = node.get("numFmtId", "0")
        if present is not None and own == base.get("numFmtId", "0"):
            made.set("numFmtId", present.get("numFmtId", "0"))
        else:
            made.set("numFmtId", self._format(own))
        made.set(_APPLY["numFmtId"], "1")
        for child in ("alignment", "protection"):
            found = node.find(self._tag(child))
            usual = base.find(self._tag(child))
            if present is not None and _text(found) == _text(usual):
                found = present.find(self._tag(child))
            if found is not None:
                made.append(_copy(found))
                made.set(f"apply{child.title()}", "1")
        return str(self._add("cellXfs", made))

    def _style(self, index: int) -> tuple[int, Node | None]:
        """Format of the same named style in the target, and that format if it was there before."""
        name = next(
            (s for s in self._items(self._from, "cellStyles") if s.get("xfId") == str(index)), None
        )
        if name is None:
            return 0, None
        for there in self._items(self._root, "cellStyles"):
            if there.get("name") == name.get("name"):
                at = int(there.get("xfId") or 0)
                return at, self._items(self._root, "cellStyleXfs")[at]
        made = _copy(self._items(self._from, "cellStyleXfs")[index])
        for attribute, holder in _ASPECTS:
            made.set(attribute, str(self._copied(holder, made.get(attribute, "0"))))
        made.set("numFmtId", self._format(made.get("numFmtId", "0")))
        at = self._append("cellStyleXfs", made)
        style = _copy(name)
        style.set("xfId", str(at))
        self._append("cellStyles", style)
        return at, made

    def _copied(self, holder: str, index: str) -> int:
        return self._add(holder, self._items(self._from, holder)[int(index)])

    def _format(self, number: str) -> str:
        """Number of a number format; formats of one's own are found by their code."""
        if int(number) < _FIRST_OWN_FORMAT:
            return number
        code = next(
            (f.get("formatCode") for f in self._items(self._from, "numFmts")
             if f.get("numFmtId") == number), None,
        )  # fmt: skip
        if code is None:
            return "0"
        present = self._items(self._root, "numFmts")
        for there in present:
            if there.get("formatCode") == code:
                return str(there.get("numFmtId"))
        free = max((int(f.get("numFmtId") or 0) for f in present), default=_FIRST_OWN_FORMAT) + 1
        made = etree.Element(self._tag("numFmt"), numFmtId=str(free), formatCode=code)
        self._append("numFmts", made)
        return str(free)

    def _add(self, holder: str, node: Node) -> int:
        """Index of an equal item of the target, which is added where there is none."""
        if not any(key[0] == holder for key in self._known):
            for at, item in enumerate(self._items(self._root, holder)):
                self._known.setdefault((holder, _text(item)), at)
        key = holder, _text(node)
        if key not in self._known:
            self._known[key] = self._append(holder, _copy(node))
        return self._known[key]

    def _append(self, holder: str, node: Node) -> int:
        parent: Node = self._root.find(self._tag(holder))
        if parent is None:
            parent = etree.Element(self._tag(holder))
            put_in_order(self._root, parent, _ORDER)
        parent.append(node)
        parent.set("count", str(len(parent)))
        self.changed = True
        return len(parent) - 1

    def _items(self, root: Node, holder: str) -> list[Node]:
        found = root.find(self._tag(holder))
        return [] if found is None else [n for n in found if isinstance(n.tag, str)]


def styles_part(package: Package) -> str:
    """The part with the styles of a workbook.

    Raises:
        FileError: If it has none.
    """
    part = package.related(package.main_part, "styles")
    if part is None:
        raise FileError("has no styles.", where=package.label, cure="Save it again in a"
                        " spreadsheet program.")  # fmt: skip
    return part


def _copy(node: Node) -> Node:
    return etree.fromstring(etree.tostring(node))


def _text(node: Node | None) -> bytes:
    """An item in one spelling, however its writer declares namespaces."""
    if node is None:
        return b""
    text: bytes = etree.tostring(_copy(node), method="c14n", exclusive=True)
    return text
