"""Looks that a copy for printing has beside those of its workbook."""

from __future__ import annotations

from copy import deepcopy

from lxml import etree

from estimator.workbook.package.container import to_bytes
from estimator.workbook.package.parts import Package
from estimator.workbook.package.style_merge import styles_part

_BEFORE = "protection", "extLst"
"""What stands behind the alignment in a format of cells."""


class PrintLooks:
    """Formats of cells as those of a package with another alignment, added as needed.

    Attributes:
        changes: The styles, once something was added.

    Raises:
        FileError: If the workbook has no styles.
    """

    def __init__(self, package: Package) -> None:
        self._package = package
        self._part = styles_part(package)
        self._root = package.xml_to_change(self._part)
        self._made: dict[tuple[str, tuple[tuple[str, str], ...]], str] = {}
        self.changes: dict[str, bytes | None] = {}

    def aligned(self, index: str, **alignment: str) -> str:
        """The format that is like one but for attributes of its alignment.

        Args:
            index: Of the format.
            alignment: Attributes as the file format names them, such as ``horizontal="right"``.
        """
        asked = index, tuple(sorted(alignment.items()))
        if asked not in self._made:
            self._made[asked] = self._add(index, alignment)
            self.changes[self._part] = to_bytes(self._root)
        return self._made[asked]

    def _add(self, index: str, alignment: dict[str, str]) -> str:
        formats = self._root.find(self._package.tag("cellXfs"))
        if formats is None or not int(index) < len(formats):
            return index
        made = deepcopy(formats[int(index)])
        there = made.find(self._package.tag("alignment"))
        if there is None:
            there = etree.Element(self._package.tag("alignment"))
            behind = [n for n, child in enumerate(made) if etree.QName(child).localname in _BEFORE]
            made.insert(min(behind, default=len(made)), there)
        for name, value in alignment.items():
            there.set(name, value)
        made.set("applyAlignment", "1")
        formats.append(made)
        formats.set("count", str(len(formats)))
        return str(len(formats) - 1)
