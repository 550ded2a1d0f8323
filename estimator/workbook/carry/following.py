"""Formulas of a person's own as they read once cells and names stand elsewhere, or are gone."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from estimator.workbook.package.a1 import LOST_REFERENCE, parse_cell
from estimator.workbook.package.moves import Moves
from estimator.workbook.package.reading import Grid
from estimator.workbook.package.same_formula import UNKNOWN, Pieces

Node = Any
_SHOWN = 60
"""Characters of a formula that a sentence shows."""


@dataclass(frozen=True, slots=True)
class Followed:
    """A formula as it reads now.

    Args:
        text: The formula, lost references in the place of cells that are gone. Left as they were
            they would be other cells, and give a number that nothing tells from a right one.
        gone: Whether it read cells that are gone.
        unnamed: Whether it reads a name that is gone.
    """

    text: str
    gone: bool
    unnamed: bool

    @property
    def whole(self) -> bool:
        """Whether it reads all that it read."""
        return not self.gone and not self.unnamed

    def told(self, before: str, *, chart: bool = False) -> str:
        """What to say of it, if it is not whole; a chart stays as it was."""
        shown = before[:_SHOWN]
        if chart:
            return f"{shown} reads cells that are gone; it is as it was"
        if self.gone:
            return f"{shown} read cells that are gone; {LOST_REFERENCE} stands there, type it anew"
        return f"{shown} reads a name that is gone"


@dataclass(frozen=True, slots=True)
class Following:
    """How formulas follow.

    Args:
        forward: Where cells stand now.
        renamed: Names written anew, by those before in small letters.
        drop: Names that are gone, in small letters.
    """

    forward: Moves
    renamed: Mapping[str, str] = field(default_factory=dict)
    drop: frozenset[str] = frozenset()

    def of(self, text: str, sheet: str) -> Followed:
        """A formula on a sheet as it reads now."""
        listed = self.forward.pieces(text, sheet)
        found: list[str] = []
        gone = unnamed = False
        at = 0
        while at < len(listed):
            kind, piece = listed[at]
            length = _corners(listed, at) if kind == "cell" else 1
            texts = [text for _, text in listed[at : at + length]]
            if kind == "cell" and UNKNOWN in "".join(texts):
                if at and listed[at - 1][0] == "sheet":
                    found.pop()
                texts, gone = [LOST_REFERENCE], True
            elif kind == "word" and piece.casefold() in self.renamed:
                texts = [self.renamed[piece.casefold()]]
            elif kind == "word" and piece.casefold() in self.drop:
                unnamed = True
            found += texts
            at += length
        return Followed("".join(found), gone, unnamed)

    def write_out_shared(self, root: Node, cells: Grid) -> None:
        """Write out formulas of a sheet that share one, where they would not all follow alike."""
        sheet = cells.sheet.name
        groups: dict[str, dict[Node, str]] = {}
        for node in root.iter("{*}f"):
            at = node.getparent().get("r")
            if node.get("t") == "shared" and at is not None:
                text = cells.value(*parse_cell(at)).formula
                groups.setdefault(node.get("si", ""), {})[node] = text or ""
        for group in groups.values():
            if all(self.of(text, sheet).text == text for text in group.values()):
                continue
            for node, text in group.items():
                node.text = text
                for name in ("t", "si", "ref"):
                    node.attrib.pop(name, None)


def _corners(listed: Pieces, at: int) -> int:
    """How many pieces a reference has: one, or three of a range."""
    rest = listed[at + 1 : at + 3]
    return 3 if len(rest) == 2 and rest[0] == ("other", ":") and rest[1][0] == "cell" else 1
