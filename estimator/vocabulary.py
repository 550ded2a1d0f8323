"""What rows may say beyond numpy: look-ups, sums by key, choices across options, texts.

Each function is read three ways like the rows that use it: with references it is part of a
formula, with arrays it is the engine. ``Q`` is the type of every quantity in a row.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any, Literal, TypeAlias

import numpy as np

from estimator.errors import RowError
from estimator.expression import Node, Ref, as_node, bare, make_node
from estimator.formula import NUDGE
from estimator.measures import metric_unit
from estimator.values import Values, as_values, same

Q: TypeAlias = Any
"""A quantity: a number, an array of scenarios, or a symbolic reference."""


def _symbolic(*values: Q) -> bool:
    return any(isinstance(v, Ref) for v in values)


def _by_option(*nodes: Node) -> bool:
    return any(n.by_option for n in nodes)


def _axis(*nodes: Node) -> str | None:
    return make_node("", nodes).axis


def _blank(array: Any) -> Any:
    return "" if array.dtype.kind == "U" else np.nan


def lookup(key: Q, keys: Q, values: Q, missing: Q = None) -> Q:
    """The entry of the column ``values`` in the first row whose ``keys`` equals ``key``.

    Args:
        key: What to look for (text or whole number).
        keys: Column of a table.
        values: Column of the same table.
        missing: What to give where nothing matches; None leaves the cell in error (NaN or "").
    """
    if _symbolic(key, keys, values):
        nodes = [as_node(key), bare(keys, "lookup"), bare(values, "lookup")]
        if missing is not None:
            nodes.append(as_node(missing))
        if nodes[1].axis != nodes[2].axis:
            raise RowError("lookup needs two columns of the same table.")
        if missing is not None and (nodes[3].kind == "text") != (nodes[2].kind == "text"):
            raise RowError("lookup mixes a text and a number.")
        axis = _axis(nodes[0], *nodes[3:])
        return Ref(Node("lookup", tuple(nodes), None, nodes[2].kind, axis, _by_option(*nodes)))
    hits = _hits(keys, key)
    where = np.argmax(hits, axis=-1)
    column = np.asarray(values)
    shape = np.broadcast_shapes(column.shape[:-1], where.shape[:-1])
    column = np.broadcast_to(column, (*shape, column.shape[-1]))
    where = np.broadcast_to(where, (*shape, where.shape[-1]))
    found = np.take_along_axis(column, where, axis=-1)
    blank = _blank(column) if missing is None else missing
    return as_values(np.where(np.any(hits, axis=-1), found, blank))


def _hits(keys: Any, key: Any) -> Any:
    """Where a key meets the entries of a column. A blank meets nothing, as in the workbook."""
    wanted = np.asarray(as_values(key))[..., :, np.newaxis]
    hits = same(np.asarray(keys)[..., np.newaxis, :], wanted)
    return hits & (wanted != "") if wanted.dtype.kind == "U" else hits


def sum_if(values: Q, keys: Q, key: Q) -> Q:
    """Sum of ``values`` over the rows whose ``keys`` equals ``key``.

    Args:
        values: A column, or an expression of columns of one table.
        keys: A column of the same table.
        key: A text or a whole number; a blank text meets nothing.

    Raises:
        RowError: For columns of two tables.
    """
    if _symbolic(values, keys, key):
        nodes = (as_node(values), bare(keys, "sum_if"), as_node(key))
        if nodes[0].axis != nodes[1].axis:
            raise RowError("sum_if needs two columns of the same table.")
        return Ref(Node("sum_if", nodes, None, "number", _axis(nodes[2]), _by_option(*nodes)))
    hits = _hits(keys, key)
    column = np.asarray(values)
    if column.ndim > 2 and hits.size == math.prod(hits.shape[-2:]) and np.all(np.isfinite(column)):
        # The same rows for thousands of scenarios: one product of matrices.
        return as_values(column @ hits.reshape(hits.shape[-2:]).T.astype(float))
    if column.ndim > 2 and hits.size < column.size * hits.shape[-2] and np.all(np.isfinite(column)):
        # The same rows for many of them: a product for each set of rows.
        each = column[..., np.newaxis, :] @ np.swapaxes(hits, -1, -2).astype(float)
        return as_values(each[..., 0, :])
    return as_values(np.sum(np.where(hits, column[..., np.newaxis, :], 0.0), axis=-1))


def most_if(values: Q, keys: Q, key: Q) -> Q:
    """Greatest of ``values`` over the rows whose ``keys`` equals ``key``; 0 where there is none.

    Args:
        values: A column, or an expression of columns of one table; nowhere less than 0.
        keys: A column of the same table.
        key: A text or a whole number; a blank text meets nothing.

    Raises:
        RowError: For columns of two tables.
    """
    if _symbolic(values, keys, key):
        nodes = (as_node(values), bare(keys, "most_if"), as_node(key))
        if nodes[0].axis != nodes[1].axis:
            raise RowError("most_if needs two columns of the same table.")
        return Ref(Node("most_if", nodes, None, "number", _axis(nodes[2]), _by_option(*nodes)))
    met = np.where(_hits(keys, key), np.asarray(values)[..., np.newaxis, :], 0.0)
    return as_values(np.max(met, axis=-1))


def sum_up_to(values: Q, order: Q) -> Q:
    """Running sum of ``values`` over the rows whose whole number ``order`` is at most its own."""
    if _symbolic(values, order):
        nodes = (bare(values, "sum_up_to"), bare(order, "sum_up_to"))
        if nodes[0].axis != nodes[1].axis:
            raise RowError("sum_up_to needs two columns of the same table.")
        return Ref(Node("sum_up_to", nodes, None, "number", nodes[1].axis, _by_option(*nodes)))
    column, place = np.asarray(values, dtype=float), np.asarray(order)
    below = place[..., np.newaxis, :] <= place[..., :, np.newaxis]
    return as_values(np.sum(np.where(below, column[..., np.newaxis, :], 0.0), axis=-1))


def count_up_to(values: Q, limit: Q) -> Q:
    """How many numbers of a column are at most ``limit``; both are whole."""
    if _symbolic(values, limit):
        nodes = (bare(values, "count_up_to"), as_node(limit))
        return Ref(Node("count_up_to", nodes, None, "number", _axis(nodes[1]), _by_option(*nodes)))
    column, most = np.asarray(values, dtype=float), np.asarray(as_values(limit), dtype=float)
    below = column[..., np.newaxis, :] <= most[..., :, np.newaxis]
    return as_values(np.sum(below, axis=-1).astype(float))


def nth(values: Q, n: Q) -> Q:
    """Entry number ``n`` (1 is the first) of a column of a table.

    Where the column has no such entry the cell is in error (NaN or "").
    """
    if _symbolic(values, n):
        column, place = bare(values, "nth"), as_node(n)
        return Ref(
            Node("nth", (column, place), None, column.kind, _axis(place), _by_option(column, place))
        )
    entries = np.asarray(values)
    number = np.asarray(as_values(n), dtype=float)
    inside = (number >= 1) & (number < entries.shape[-1] + 1)
    index = np.where(inside, number, 1).astype(int) - 1
    shape = np.broadcast_shapes(entries.shape[:-1], index.shape[:-1])
    entries = np.broadcast_to(entries, (*shape, entries.shape[-1]))
    index = np.broadcast_to(index, (*shape, index.shape[-1]))
    found = np.take_along_axis(entries, index, axis=-1)
    return as_values(np.where(inside, found, _blank(entries)))


def nth_largest(values: Q, n: Q) -> Q:
    """The ``n``-th largest number of a column (1 is the largest)."""
    if _symbolic(values, n):
        column, place = bare(values, "nth_largest"), as_node(n)
        return Ref(
            Node(
                "nth_largest",
                (column, place),
                None,
                "number",
                _axis(place),
                _by_option(column, place),
            )
        )
    ordered = -np.sort(-np.asarray(values, dtype=float), axis=-1)
    return nth(ordered, n)


def count_starting(column: Q, prefix: str) -> Q:
    """How many texts of a column begin with ``prefix`` (plain letters)."""
    if _symbolic(column):
        node = bare(column, "count_starting")
        nodes = (node, as_node(prefix))
        return Ref(Node("count_starting", nodes, None, "number", None, node.by_option))
    return as_values(np.sum(_starts(column, prefix), axis=-1, keepdims=True).astype(float))


def first_starting(column: Q, prefix: str) -> Q:
    """The first text of a column that begins with ``prefix``, or an empty text."""
    if _symbolic(column):
        node = bare(column, "first_starting")
        nodes = (node, as_node(prefix))
        return Ref(Node("first_starting", nodes, None, "text", None, node.by_option))
    hits = _starts(column, prefix)
    place = np.argmax(hits, axis=-1)[..., np.newaxis]
    found = np.take_along_axis(np.asarray(column), place, axis=-1)
    return as_values(np.where(np.any(hits, axis=-1, keepdims=True), found, ""))


def _starts(column: Any, prefix: str) -> Any:
    return np.char.startswith(np.char.lower(np.asarray(column).astype(str)), prefix.lower())


def position(key: Q, keys: Q) -> Q:
    """Place (1 is the first) of ``key`` in a column; NaN (an error in the cell) if it is not."""
    if _symbolic(key, keys):
        nodes = (as_node(key), bare(keys, "position"))
        return Ref(Node("position", nodes, None, "number", _axis(nodes[0]), _by_option(*nodes)))
    hits = _hits(keys, key)
    return as_values(np.where(np.any(hits, axis=-1), np.argmax(hits, axis=-1) + 1.0, np.nan))


_ACROSS: dict[str, Any] = {"MIN": np.nanmin, "MAX": np.nanmax, "SUM": np.nansum}


def across(how: Literal["MIN", "MAX", "SUM", "COUNT"], values: Q) -> Q:
    """Least, greatest, sum or count of a row over the options in use."""
    if _symbolic(values):
        node = bare(values, "across")
        return Ref(Node("across", (node,), how, "number", node.axis, False))
    array = np.asarray(values, dtype=float)
    if how == "COUNT":
        return as_values(np.sum(~np.isnan(array), axis=-2, keepdims=True).astype(float))
    empty = np.all(np.isnan(array), axis=-2, keepdims=True)
    filled = np.where(empty, 0.0, array)
    return as_values(_ACROSS[how](filled, axis=-2, keepdims=True))


def pick(values: Q, option: Q, n: Q = None) -> Q:
    """The value of a row for option number ``option`` (1 is the first column).

    With ``n`` it is entry number ``n`` (1 is the first) of the option's column of a table. Where
    there is no such option or entry the cell is in error (NaN or "").
    """
    if n is not None:
        return _pick_nth(values, option, n)
    if _symbolic(values, option):
        node, place = bare(values, "pick"), as_node(option)
        if place.by_option:
            raise RowError("pick needs one option for the whole job.")
        return Ref(Node("pick", (node, place), None, node.kind, _axis(node, place), False))
    array = np.asarray(values)
    chosen = np.asarray(as_values(option), dtype=float)
    alike = array.shape[-2] == 1  # a row that is the same in every option
    inside = (chosen >= 1) & ((chosen < array.shape[-2] + 1) | alike)
    index = np.where(inside & (not alike), chosen, 1).astype(int) - 1
    lead = np.broadcast_shapes(array.shape[:-2], index.shape[:-2])
    width = max(array.shape[-1], index.shape[-1])
    array = np.broadcast_to(array, (*lead, array.shape[-2], width))
    index = np.broadcast_to(index, (*lead, 1, width))
    found = np.take_along_axis(array, index, axis=-2)
    return as_values(np.where(inside, found, _blank(array)))


def _pick_nth(values: Q, option: Q, n: Q) -> Q:
    if _symbolic(values, option, n):
        node, place, number = bare(values, "pick"), as_node(option), as_node(n)
        if place.by_option or number.by_option or not node.by_option:
            raise RowError("pick needs one option and one entry for the whole job.")
        return Ref(Node("pick", (node, place, number), None, node.kind, _axis(number), False))
    return nth(pick(values, option), n)


def option_where(values: Q, value: Q) -> Q:
    """Number of the first option (1 is the first column) whose row equals ``value``, else 0."""
    if _symbolic(values, value):
        node, wanted = bare(values, "option_where"), as_node(value)
        if wanted.by_option or node.axis or wanted.axis:
            raise RowError("option_where asks a row for one value of the whole job.")
        return Ref(Node("option_where", (node, wanted), None, "number", None, False))
    hits = same(np.asarray(values), np.asarray(as_values(value)))
    first = np.argmax(hits, axis=-2)[..., np.newaxis, :] + 1.0
    return as_values(np.where(np.any(hits, axis=-2, keepdims=True), first, 0.0))


def rounded(value: Q, digits: int) -> Q:
    """Rounded to ``digits``, halves up (-1.5 gives -1); money is ``rounded(x, 2)``."""
    if _symbolic(value):
        node = as_node(value)
        return Ref(
            Node("round", (node, as_node(digits)), None, "number", node.axis, node.by_option)
        )
    array = np.asarray(value, dtype=float) + float(NUDGE)
    scaled = np.abs(array) * 10.0**digits
    return as_values(np.sign(array) * np.floor(scaled + 0.5) / 10.0**digits + 0.0)


def join(*parts: Q) -> Q:
    """Texts (and whole numbers) one after the other."""
    if _symbolic(*parts):
        node = as_node(parts[0])
        for part in parts[1:]:
            node = make_node("&", (node, as_node(part)), kind="text")
        return Ref(node)
    text: Any = ""
    for part in parts:
        text = np.char.add(text, _as_words(part))
    return as_values(text)


def _as_words(part: Any) -> Any:
    array = np.asarray(part)
    if array.dtype.kind in "UT":
        return array
    write = np.vectorize(lambda x: "" if np.isnan(x) else f"{x + 0.0:.15g}", otypes=[str])
    return write(array)


def choose(text: Q, cases: Mapping[str, Q]) -> Q:
    """The value of the case that ``text`` names, without regard to case.

    Cases with one value share a test. A text that no case names gives 0 or an empty text if a
    case has that for its value, else what the most cases have.

    Args:
        text: What to tell the cases apart by.
        cases: Number, text or quantity of every text that it may be.
    """
    groups: list[tuple[Q, list[str]]] = []
    for name, value in cases.items():
        for known, names in groups:
            if _alike(known, value):
                names.append(name)
                break
        else:
            groups.append((value, [name]))
    rest = max(groups, key=lambda group: (_nothing(group[0]), len(group[1])))
    chosen = rest[0]
    for value, names in reversed(groups):
        if value is not rest[0]:
            test = text == names[0]
            for name in names[1:]:
                test = test | (text == name)
            chosen = np.where(test, value, chosen)
    return chosen


def _nothing(value: Q) -> bool:
    return isinstance(value, (int, float, str)) and value in (0, "")


def _alike(one: Q, other: Q) -> bool:
    """Whether two values of cases are the same: one object, equal constants, equal expressions."""
    if isinstance(one, Ref) and isinstance(other, Ref):
        return one.node == other.node
    if isinstance(one, (int, float, str)) and isinstance(other, (int, float, str)):
        return one == other
    return one is other


def one_of(texts: Sequence[str], number: Q) -> Q:
    """The text of this number, counted from 0.

    Where there is no such text the cell is in error ("").
    """
    if _symbolic(number):
        return Ref(make_node("one_of", (as_node(number), *map(as_node, texts)), kind="text"))
    array = np.asarray(number, dtype=float)
    known = (array >= 0) & (array < len(texts))
    return as_values(np.where(known, np.asarray(texts)[np.where(known, array, 0).astype(int)], ""))


def trimmed(text: Q) -> Q:
    """A text without spaces at its ends, and with one wherever there are several."""
    if _symbolic(text):
        return Ref(make_node("trimmed", (as_node(text),), kind="text"))
    trim = np.vectorize(lambda x: " ".join(word for word in x.split(" ") if word), otypes=[str])
    return as_values(trim(np.asarray(text)))


Pattern: TypeAlias = Literal["0", "0.0", "0.00", "#,##0", "#,##0.00"]


def as_text(value: Q, pattern: Pattern) -> Q:
    """A number as text in one of the few patterns that every spreadsheet writes alike."""
    digits = len(pattern.partition(".")[2])
    if _symbolic(value):
        nodes = (as_node(rounded(value, digits)), as_node(pattern))
        return Ref(make_node("as_text", nodes, kind="text"))
    comma = "," if "," in pattern else ""
    array = np.asarray(rounded(value, digits), dtype=float)
    write = np.vectorize(lambda x: "" if np.isnan(x) else f"{x:{comma}.{digits}f}", otypes=[str])
    return as_values(write(array))


def amount(value: Q, unit: str, pattern: Pattern | None = None) -> Q:
    """A number with its unit as text, such as ``16 in``; a metric workbook gives it in its own.

    Args:
        value: The number.
        unit: Its unit, one that has a metric one.
        pattern: As in :func:`as_text`; None shows what there is of it, to two decimals.
    """
    spelled = join(rounded(value, 2) if pattern is None else as_text(value, pattern), f" {unit}")
    return _spelled("amount", spelled, value, unit, pattern or "")


def size(value: Q, unit: str, pattern: Pattern) -> Q:
    """A number as part of a name, such as the 8 of ``tube_8``: in metres, of its metric unit."""
    return _spelled("size", as_text(value, pattern), value, unit, pattern)


def _spelled(op: str, spelled: Q, value: Q, unit: str, pattern: str) -> Q:
    if metric_unit(unit).name == unit:
        raise RowError(f'a number in a text has the unit "{unit}", which has no metric one.')
    if not _symbolic(value):
        return spelled
    number = as_node(value)
    args = (spelled.node, number, as_node(pattern))
    return Ref(Node(op, args, unit, "text", number.axis, number.by_option))


__all__ = [
    "Pattern",
    "Q",
    "Values",
    "across",
    "amount",
    "as_text",
    "choose",
    "count_starting",
    "count_up_to",
    "first_starting",
    "join",
    "lookup",
    "most_if",
    "nth",
    "nth_largest",
    "one_of",
    "option_where",
    "pick",
    "position",
    "rounded",
    "size",
    "sum_if",
    "sum_up_to",
    "trimmed",
]
