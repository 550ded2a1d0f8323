"""Parts added to a package: free names, content types, links, copies of another package's parts."""

from __future__ import annotations

import posixpath
from collections.abc import Callable
from typing import Any

from lxml import etree

from estimator.workbook.package.container import part_key, to_bytes
from estimator.workbook.package.parts import CONTENT_TYPES, Package

Node = Any
RELATION = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
"""Namespace of the links that parts name by their ids."""
_RELS = "http://schemas.openxmlformats.org/package/2006/relationships"
_PLAIN: Any = {None: _RELS}


class NewParts:
    """What is added to one package.

    Args:
        package: The package, which stays as it is.

    Attributes:
        changes: Content of parts that are new or changed; others may put theirs there.
    """

    def __init__(self, package: Package) -> None:
        self.package = package
        self.changes: dict[str, bytes | None] = {}
        self._links: dict[str, Node] = {}
        self._types: Node = package.xml_to_change(CONTENT_TYPES)
        self._taken = {part_key(part) for part in package.parts}

    def free(self, pattern: str) -> str:
        """A name that no part has, with a number in the place of the pattern's ``{}``."""
        number = 1
        while part_key(pattern.format(number)) in self._taken:
            number += 1
        part = pattern.format(number)
        self._taken.add(part_key(part))
        return part

    def copy(
        self, source: Package, owner: str, identifier: str | None, placed: Callable[[str], str]
    ) -> str:
        """Copy a part that a part of another package links to, with all that it links to.

        Args:
            source: The other package.
            owner: The part that links to it.
            identifier: The link.
            placed: A formula of the other package as it reads in this one.

        Returns:
            The name of the copy.
        """
        link = next(x for x in source.relationships(owner) if x.id == identifier)
        stem, ending = posixpath.splitext(link.target)
        copied = self.free(stem.rstrip("0123456789") + "{}" + ending)
        content = source.read(link.target)
        if ending == ".xml":
            root = source.xml_to_change(link.target)
            for node in root.iter("{*}f"):
                node.text = placed(node.text or "")
            content = to_bytes(root)
        self.changes[copied] = content
        kind = next(
            (
                str(e.get("ContentType"))
                for e in source.xml(CONTENT_TYPES)
                if part_key(e.get("PartName") or "") == part_key(link.target)
            ),
            "",
        )
        if kind:
            self.set_type(copied, kind)
        links = _no_links()
        for inner in source.relationships(link.target):
            target = self.copy(source, link.target, inner.id, placed)
            _add_link(links, inner.id, inner.kind, target)
        if len(links):
            self.changes[self.package.relationships_part(copied)] = to_bytes(links)
        return copied

    def set_type(self, part: str, kind: str) -> None:
        """Tell the content type of a part."""
        parent = etree.QName(self._types).namespace
        etree.SubElement(
            self._types, f"{{{parent}}}Override", PartName=f"/{part}", ContentType=kind
        )
        self.changes[CONTENT_TYPES] = to_bytes(self._types)

    def link(self, part: str, kind: str, target: str) -> str:
        """Link a part of the result to another; the link's id."""
        rels = self.package.relationships_part(part)
        if rels not in self._links:
            there = self.package.has(rels)
            self._links[rels] = self.package.xml_to_change(rels) if there else _no_links()
        links = self._links[rels]
        used = {link.get("Id") for link in links}
        identifier = next(f"rId{n}" for n in range(1, 100_000) if f"rId{n}" not in used)
        _add_link(links, identifier, kind, target)
        self.changes[rels] = to_bytes(links)
        return identifier


def _no_links() -> Node:
    return etree.Element(f"{{{_RELS}}}Relationships", nsmap=_PLAIN)


def _add_link(links: Node, identifier: str, kind: str, target: str) -> None:
    etree.SubElement(
        links,
        f"{{{_RELS}}}Relationship",
        Id=identifier,
        Type=f"{RELATION}/{kind}",
        Target=f"/{target}",
    )
