"""Names of a workbook before anything is put into it: none that stands for something else.

A copy of a sheet has names of its own, by which it takes the place of the sheet where that is gone.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

from estimator.workbook.package.container import to_bytes
from estimator.workbook.package.parts import Package
from estimator.workbook.refill.damage import faults
from estimator.workbook.refill.file_port import FilePort


def named_again(package: Package, template: FilePort) -> tuple[Package, tuple[str, ...]]:
    """The workbook without the template's names where they stand for other cells or for a value.

    Those of a sheet that is gone stand on a copy of it, if there is one.

    Returns:
        The workbook, the same one where nothing is wrong, and a sentence for each copy.
    """
    ours = template.ranges()
    stray = _stray(package, template)
    copies = _copies(package, template)
    if not stray and not copies:
        return package, ()
    book: Any = package.xml_to_change(package.main_part)
    order = [info.name for info in package.sheets]
    taken = {name for name, (home, _) in ours.items() if home in copies}
    for node in list(book.iter(package.tag("definedName"))):
        name, local = node.get("name"), node.get("localSheetId")
        if local is None and (name in stray or name in taken):
            node.getparent().remove(node)
        elif name in taken and order[int(local)] == copies[ours[name][0]]:
            del node.attrib["localSheetId"]
    said = (
        f"The sheet {copy} takes the place of {home}, which was deleted."
        for home, copy in copies.items()
    )
    return package.changed({package.main_part: to_bytes(book)}), tuple(said)


def _stray(package: Package, template: FilePort) -> Collection[str]:
    """Names that were set on other cells than their own, or stand for no cells."""
    ours = template.ranges()
    set_elsewhere = (f.name for f in faults(FilePort(package), ours) if f.cells is not None)
    values = (
        name
        for name, target in package.names.items()
        if name in ours and not target.ref and not target.broken
    )
    return {*set_elsewhere, *values}


def _copies(package: Package, template: FilePort) -> Mapping[str, str]:
    """By sheet of the template that is gone, a sheet that has all of its names as its own."""
    now, homes = FilePort(package).ranges(), dict[str, set[str]]()
    for name, (home, _) in template.ranges().items():
        homes.setdefault(home, set()).add(name)
    found: dict[str, str] = {}
    for home, names in homes.items():
        if names & now.keys():
            continue
        own = (
            info.name
            for info in package.sheets
            if all((info.name, name) in package.local_names for name in names)
        )
        titles = sorted(own, key=lambda title: title != home)
        if titles:
            found[home] = titles[0]
    return found
