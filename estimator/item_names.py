"""Names in the place of keys: what a file may call by its key, a cell holds by its name."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from estimator.engine import Model
from estimator.inputs import Cell, words


def named(model: Model, cells: Mapping[Cell, Any]) -> dict[Cell, Any]:
    """The cells of a job, each choice that is made by a line's key made by its name instead.

    An entry that is a name, or neither, stays as it is.
    """
    return _exchanged(model, cells, to_names=True)


def keyed(model: Model, cells: Mapping[Cell, Any]) -> dict[Cell, Any]:
    """The cells of a job, each choice of a line that has a key made by that.

    So it holds when another table takes the place of the one that it was made from.
    """
    return _exchanged(model, cells, to_names=False)


def _exchanged(model: Model, cells: Mapping[Cell, Any], *, to_names: bool) -> dict[Cell, Any]:
    found = dict(cells)
    tables: dict[str, dict[str, str]] = {}
    for (key, place), typed in cells.items():
        field = model.quantities[key].field
        if field is None or not field.by_key:
            continue
        if field.by_key not in tables:
            tables[field.by_key] = _table(model, cells, field.by_key, to_names=to_names)
        entry = tables[field.by_key].get(words(typed).casefold())
        if entry is not None:
            found[key, place] = entry
    return found


def _table(model: Model, cells: Mapping[Cell, Any], key: str, *, to_names: bool) -> dict[str, str]:
    """Name by key of the lines that have both, or key by name; no key that is also a name."""
    item = model.quantities[key]
    assert item.field is not None
    names, found = set[str](), dict[str, str]()
    for row in range(model.capacity(str(item.axis))):
        name, own = words(cells.get((item.field.unlike, row))), words(cells.get((key, row)))
        names.add(name.casefold())
        if name and own:
            pair = (own, name) if to_names else (name, own)
            found.setdefault(pair[0].casefold(), pair[1])
    return {a: b for a, b in found.items() if not (to_names and a in names)}
