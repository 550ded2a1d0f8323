"""Symbolic references: numpy expressions over named quantities, read as spreadsheet formulas.

A row of the model is a plain numpy function. Called with a :class:`Ref` for each argument it
returns an expression tree; :func:`emit` writes the tree as the text of a formula that Excel 2016
and LibreOffice 7 both calculate. The engine's side of the same bargain is in ``values.py``.

Rules that both sides keep:

* ``np.ceil`` and ``np.floor`` round to nine decimals first, so that 4.0000000000001 packs are 4.
* Numeric comparisons compare the difference rounded to nine decimals with zero.
* Text compares without regard to case.
* A reduction (``np.sum``, ``np.min``, ``np.max``, ``np.any``, ``np.all``) runs over the block's
  own axis, never over options.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any, Literal, Protocol

import numpy as np
from numpy.lib.mixins import NDArrayOperatorsMixin

from estimator.errors import RowError

DUST_DIGITS = 9
NUDGE = "1E-09"
"""Added before rounding to cents: engines differ on exact halves such as 1.005."""

MAX_FORMULA = 8192
MAX_LEVELS = 64
MAX_TEXT = 255
"""Characters of a text written into a formula; Excel refuses more."""

Kind = Literal["number", "text", "flag"]


@dataclass(frozen=True, slots=True)
class Node:
    """One node of an expression: an operation, its arguments and what it yields."""

    op: str
    args: tuple[Node, ...] = ()
    value: float | str | None = None
    kind: Kind = "number"
    axis: str | None = None
    by_option: bool = False

    def walk(self) -> Iterator[Node]:
        """The node and everything below it."""
        waiting = [self]
        while waiting:
            node = waiting.pop()
            yield node
            waiting.extend(reversed(node.args))


class Ref(NDArrayOperatorsMixin):
    """A named quantity (or an expression of some) that is not yet a number.

    Args:
        node: The expression.

    Raises:
        RowError: On anything a formula can't be: truth value, float, iteration, formatting, an
            unsupported numpy function, or blocks of two different axes in one expression.
    """

    __slots__ = ("node",)

    def __init__(self, node: Node) -> None:
        self.node = node

    def __repr__(self) -> str:
        return f"Ref({self.node.op})"

    def __bool__(self) -> bool:
        raise RowError(
            "a quantity is neither true nor false while a formula is written:",
            cure="use np.where(condition, this, that) and & | ~ instead of if, and, or, not.",
        )

    def __float__(self) -> float:
        raise RowError("float() of a quantity can't become a formula.", cure="Leave it symbolic.")

    __int__ = __index__ = __float__

    def __iter__(self) -> Iterator[Any]:
        raise RowError(
            "a quantity can't be looped over in a formula.", cure="Use np.sum over the block."
        )

    def __format__(self, spec: str) -> str:
        raise RowError("a quantity can't be formatted into a text.", cure="Use join(...).")

    def __array_ufunc__(self, ufunc: np.ufunc, method: str, *inputs: Any, **kwargs: Any) -> Ref:
        if method != "__call__" or kwargs:
            raise RowError(f"np.{ufunc.__name__}.{method} has no formula.")
        name = ufunc.__name__
        nodes = tuple(as_node(i) for i in inputs)
        if name in _COMPARISONS:
            return Ref(make_node(_COMPARISONS[name], nodes, kind="flag"))
        if name in _LOGICAL:
            return Ref(make_node(_LOGICAL[name], nodes, kind="flag"))
        if name in _NUMERIC:
            return Ref(make_node(_NUMERIC[name], nodes))
        raise RowError(f"np.{name} has no formula.", cure="See formula.py for what is covered.")

    def __array_function__(
        self, func: Callable[..., Any], types: Any, args: Any, kwargs: Any
    ) -> Ref:
        name = func.__name__
        if name == "where" and len(args) == 3 and not kwargs:
            test, yes, no = (as_node(a) for a in args)
            if (yes.kind == "text") != (no.kind == "text"):
                raise RowError("np.where chooses between a text and a number.")
            kind: Kind = "text" if yes.kind == "text" else "number"
            if yes.kind == no.kind == "flag":
                kind = "flag"
            return Ref(make_node("if", (test, yes, no), kind=kind))
        if name in _REDUCTIONS and len(args) == 1 and not kwargs:
            node = as_node(args[0])
            if node.axis is None:
                raise RowError(f"np.{name} of something that is not a block.")
            reduced: Kind = "flag" if name in ("any", "all") else "number"
            if reduced == "flag" and node.kind != "flag":
                node = make_node("<>", (node, as_node(0)), kind="flag")
            return Ref(Node(_REDUCTIONS[name], (node,), None, reduced, None, node.by_option))
        raise RowError(f"np.{name} has no formula.", cure="See formula.py for what is covered.")


_COMPARISONS = {
    "equal": "=",
    "not_equal": "<>",
    "less": "<",
    "less_equal": "<=",
    "greater": ">",
    "greater_equal": ">=",
}
_LOGICAL = {
    "logical_and": "and",
    "bitwise_and": "and",
    "logical_or": "or",
    "bitwise_or": "or",
    "logical_not": "not",
    "invert": "not",
}
_NUMERIC = {
    "add": "+",
    "subtract": "-",
    "multiply": "*",
    "divide": "/",
    "true_divide": "/",
    "power": "^",
    "float_power": "^",
    "negative": "neg",
    "positive": "pos",
    "absolute": "ABS",
    "sqrt": "SQRT",
    "sin": "SIN",
    "cos": "COS",
    "square": "square",
    "ceil": "ceil",
    "floor": "floor",
    "minimum": "min2",
    "maximum": "max2",
}
_REDUCTIONS = {"sum": "sum", "min": "MIN", "amin": "MIN", "max": "MAX", "amax": "MAX"} | {
    "any": "any",
    "all": "all",
}


def as_node(value: Any) -> Node:
    """The node of a reference, number, truth value or text."""
    if isinstance(value, Ref):
        return value.node
    if isinstance(value, np.ndarray) and value.size == 1:  # a function of constants alone
        value = value.item()
    if isinstance(value, (bool, np.bool_)):
        return Node("num", (), float(value), "flag")
    if isinstance(value, (int, float, np.integer, np.floating)):
        if not math.isfinite(value):
            raise RowError(f"{value} can't stand in a formula.")
        return Node("num", (), float(value))
    if isinstance(value, str):
        return Node("text", (), value, "text")
    raise RowError(f"{type(value).__name__} can't stand in a formula.")


def make_node(op: str, args: tuple[Node, ...], *, kind: Kind = "number") -> Node:
    """A node over others: it runs along their one axis.

    Raises:
        RowError: If blocks of two axes meet.
    """
    axes = {a.axis for a in args if a.axis is not None}
    if len(axes) > 1:
        raise RowError(
            f"blocks of different tables meet in one expression: {', '.join(sorted(axes))}.",
            cure="Sum one of them first, or use lookup or sum_if.",
        )
    return Node(op, args, None, kind, next(iter(axes), None), any(a.by_option for a in args))


def quantity(key: str, *, kind: Kind, axis: str | None, by_option: bool) -> Ref:
    """A reference to the quantity ``key``."""
    return Ref(Node("ref", (), key, kind, axis, by_option))


def bare(value: Any, what: str) -> Node:
    """The node of a plain quantity, for functions that need a whole range."""
    node = as_node(value)
    if node.op != "ref":
        raise RowError(f"{what} needs a plain quantity, not an expression.")
    return node


def keys_of(node: Node) -> frozenset[str]:
    """Keys of the quantities that an expression reads."""
    return frozenset(str(n.value) for n in node.walk() if n.op == "ref")


class Resolver(Protocol):
    """Where quantities stand, as seen from the cell whose formula is being written."""

    def cell(self, key: str) -> str:
        """Address (or name) of the quantity for this option and this block row."""

    def block(self, key: str) -> str:
        """Range of the quantity over its own block, for this option."""

    def options(self, key: str) -> str:
        """Range of the quantity over all option columns, for this block row."""


def emit(node: Node, at: Resolver) -> str:
    """Formula text of an expression, without the leading ``=``.

    Raises:
        RowError: If the text passes 8,192 characters or nests deeper than 64 levels, or for
            something that no formula says.
    """
    try:
        text = _Writer(at).whole(node)
    except RecursionError:
        raise RowError("the formula is far too deep.", cure="Split the row in two.") from None
    depth = most = 0
    for char in _QUOTED.sub("", text):
        depth += (char == "(") - (char == ")")
        most = max(most, depth)
    if len(text) >= MAX_FORMULA or most > MAX_LEVELS:
        raise RowError(
            f"the formula has {len(text)} characters and {most} levels; the limits are"
            f" {MAX_FORMULA} and {MAX_LEVELS}.",
            cure="Split the row in two.",
        )
    return text


def number(value: float) -> str:
    """A number as a formula writes it: shortest text that reads back the same."""
    if value == math.pi:
        return "PI()"
    if value == int(value) and abs(value) < 1e15:
        return str(int(value))
    return repr(float(value)).upper()


def quoted(text: str) -> str:
    """A text as a formula writes it."""
    return '"' + text.replace('"', '""') + '"'


# Inside SUMPRODUCT no function may stand over an array: not every engine spreads it. Half a unit
# of the last digit does what ROUND does outside.
_HALF_DUST = "5E-10"
_ARRAY_LIMITS = {
    ">=": f">-{_HALF_DUST}",
    ">": f">={_HALF_DUST}",
    "<=": f"<{_HALF_DUST}",
    "<": f"<=-{_HALF_DUST}",
}

# A spreadsheet's minus sign binds tighter than its power: -2^2 is 4. Level 4 still wraps a
# negative base, and a power under a minus sign is wrapped as well.
_LEVEL = {"^": 5, "neg": 4, "*": 3, "/": 3, "+": 2, "-": 2, "&": 1}
_CALLS = ("ABS", "SQRT", "SIN", "COS")
_QUOTED = re.compile(r'"[^"]*"')
_REACHES = ("nth", "lookup", "pick")


def _may_be_blank(node: Node) -> bool:
    """Whether a formula may hand on an empty cell, which functions then treat as absent."""
    if node.op == "if":
        return any(_may_be_blank(branch) for branch in node.args[1:])
    if node.op == "ref":
        return node.axis is not None or node.kind == "text"
    return node.op in _REACHES and len(node.args) < 4


def _counted(text: str, node: Node) -> str:
    """A truth as 1 or 0 where a spreadsheet would show or skip it."""
    return f"({text})*1" if node.kind == "flag" and node.op != "num" else text


@dataclass(frozen=True, slots=True)
class _Writer:
    at: Resolver

    def scalar(self, node: Node) -> str:
        return self._write(node, array=False)[0]

    def whole(self, node: Node) -> str:
        """A node as a cell or a branch shows it: an empty cell that is a text stays empty."""
        text = self.scalar(node)
        empty = node.kind == "text" and node.op != "if" and _may_be_blank(node)
        return f'{text}&""' if empty else text

    def _amount(self, node: Node) -> str:
        """A number among the arguments of a function: an empty cell is 0."""
        text = _counted(self.scalar(node), node)
        return f"{text}+0" if _may_be_blank(node) else text

    def _array(self, node: Node) -> str:
        return self._write(node, array=True)[0]

    def _wrap(self, node: Node, level: int, *, array: bool, strict: bool = False) -> str:
        text, own = self._write(node, array=array)
        return f"({text})" if own < level or (strict and own == level) else text

    def _write(self, node: Node, *, array: bool) -> tuple[str, int]:
        """Text and binding level (9 = atom) of a node."""
        op = node.op
        if op == "num":
            text = number(float(node.value))  # type: ignore[arg-type]
            return text, 4 if text.startswith("-") else 9
        if op == "text":
            if len(str(node.value)) > MAX_TEXT:
                raise RowError(
                    f"a text in a formula has more than {MAX_TEXT} characters.",
                    cure="Cut it up and join() the pieces.",
                )
            return quoted(str(node.value)), 9
        if op == "ref":
            key = str(node.value)
            return (self.at.block(key) if array and node.axis else self.at.cell(key)), 9
        if op in _COMPARISONS.values():
            return self._comparison(node, array=array)
        if op in ("and", "or", "not"):
            return self._logic(node, array=array)
        if op in ("sum", "MIN", "MAX", "any", "all"):
            return self._reduction(node), 0 if op in ("any", "all") else 9
        if op in _LEVEL and op != "neg":
            level = _LEVEL[op]
            if op == "&":
                words = (_counted(self._wrap(a, 1, array=array), a) for a in node.args)
                return "&".join(words), level
            left = self._wrap(node.args[0], level, array=array, strict=op == "^")
            right = self._wrap(node.args[1], level, array=array, strict=op in "-/^")
            return f"{left}{op}{right}", level
        if op == "neg":
            return "-" + self._wrap(node.args[0], 6, array=array), 4
        if op == "pos":
            return self._write(node.args[0], array=array)
        if op == "square":
            return self._wrap(node.args[0], 5, array=array, strict=True) + "^2", 5
        return self._function(node, array=array)

    def _function(self, node: Node, *, array: bool) -> tuple[str, int]:
        op, args = node.op, node.args
        if op == "tape":  # a length and how it is spelled: see model/tape.py
            return self._write(args[0], array=array)
        if op in ("min2", "max2"):
            return self._extreme(node, array=array)
        if op == "if":
            return self._choice(node, array=array)
        if array and node.axis is not None:
            raise RowError(
                f"{op} can't stand over a block inside a sum.", cure="Make it a column first."
            )
        if op in _CALLS:
            return f"{op}({self.scalar(args[0])})", 9
        if op == "ceil":
            return f"-INT(-ROUND({self.scalar(args[0])},{DUST_DIGITS}))", 4
        if op == "floor":
            return f"INT(ROUND({self.scalar(args[0])},{DUST_DIGITS}))", 9
        if op == "round":
            return f"ROUND({self._wrap(args[0], 2, array=False)}+{NUDGE},{self.scalar(args[1])})", 9
        if op == "lookup":
            key, keys, values = args[:3]
            found = f"INDEX({self._range(values)},MATCH({self.scalar(key)},{self._range(keys)},0))"
            if len(args) > 3:
                words = '&""' if node.kind == "text" else ""
                return f"IFERROR({found}{words},{self.scalar(args[3])})", 9
            return found, 9
        if op == "sum_if":
            values, keys, key = args
            total = f"SUMIF({self._range(keys)},{self.scalar(key)},{self._range(values)})"
            if key.kind != "text" or key.op == "text":
                return total, 9
            return f'{total}*({self._wrap(key, 1, array=False)}<>"")', 3
        if op == "sum_up_to":
            values, order = args
            limit = f'"<="&{self.scalar(order)}'
            return f"SUMIF({self._range(order)},{limit},{self._range(values)})", 9
        if op == "count_starting":
            return f"COUNTIF({self._range(args[0])},{quoted(f'{args[1].value}*')})", 9
        if op == "first_starting":
            column = self._range(args[0])
            return f'IFERROR(INDEX({column},MATCH({quoted(f"{args[1].value}*")},{column},0)),"")', 9
        if op == "one_of":
            texts = ",".join(self.scalar(text) for text in args[1:])
            return f"CHOOSE({self._wrap(args[0], 2, array=False)}+1,{texts})", 9
        if op == "trimmed":
            return f"TRIM({self.scalar(args[0])})", 9
        if op == "nth":
            return f"INDEX({self._range(args[0])},{self.scalar(args[1])})", 9
        if op == "nth_largest":
            return f"LARGE({self._range(args[0])},{self.scalar(args[1])})", 9
        if op == "position":
            return f"MATCH({self.scalar(args[0])},{self._range(args[1])},0)", 9
        if op == "across":
            return f"{node.value}({self.at.options(str(args[0].value))})", 9
        if op == "pick":
            return f"INDEX({self.at.options(str(args[0].value))},{self.scalar(args[1])})", 9
        if op == "as_text":
            return f"TEXT({self.scalar(args[0])},{self.scalar(args[1])})", 9
        raise RowError(f"{op} has no formula.")

    def _range(self, node: Node) -> str:
        return self.at.block(str(node.value))

    def _comparison(self, node: Node, *, array: bool) -> tuple[str, int]:
        left, right = node.args
        if "text" in (left.kind, right.kind):
            a, b = (self._wrap(side, 1, array=array) for side in (left, right))
            return a + node.op + b, 0
        if right.op == "num" and right.value == 0:
            difference = self._wrap(left, 1, array=array)
        else:
            a = self._wrap(left, 2, array=array)
            difference = f"{a}-{self._wrap(right, 2, array=array, strict=True)}"
        if not array:
            return f"ROUND({difference},{DUST_DIGITS}){node.op}0", 0
        if node.op in _ARRAY_LIMITS:
            return difference + _ARRAY_LIMITS[node.op], 0
        equal = f"({difference}>-{_HALF_DUST})*({difference}<{_HALF_DUST})"
        return (equal, 3) if node.op == "=" else (f"1-{equal}", 2)

    def _logic(self, node: Node, *, array: bool) -> tuple[str, int]:
        if not array:
            inner = ",".join(self.scalar(a) for a in node.args)
            return f"{node.op.upper()}({inner})", 9
        parts = [f"({self._array(a)})" for a in node.args]
        if node.op == "and":
            return "*".join(parts), 3
        if node.op == "or":
            return f"(({parts[0]}+{parts[1]})>0)", 9
        return f"1-{parts[0]}", 2

    def _reduction(self, node: Node) -> str:
        inner = node.args[0]
        if node.op in ("MIN", "MAX"):
            if inner.op != "ref":
                raise RowError(f"np.{node.op.lower()} over a block needs a plain quantity.")
            return f"{node.op}({self._range(inner)})"
        text, level = self._write(inner, array=True)
        masked = inner.kind == "flag" or level == 0
        if node.op == "all":
            return f"SUMPRODUCT(1-({text}))=0"
        if masked:
            text = f"({text})*1"
        if node.op == "any":
            return f"SUMPRODUCT({text})>0"
        return f"SUM({text})" if inner.op == "ref" else f"SUMPRODUCT({text})"

    def _extreme(self, node: Node, *, array: bool) -> tuple[str, int]:
        left, right = node.args
        if not array:
            return f"{node.op[:3].upper()}({self._amount(left)},{self._amount(right)})", 9
        sign = "<" if node.op == "min2" else ">"
        a, b = self._array(left), self._array(right)
        return f"((({a}){sign}({b}))*({a})+(1-(({a}){sign}({b})))*({b}))", 9

    def _choice(self, node: Node, *, array: bool) -> tuple[str, int]:
        test, yes, no = node.args
        if not array:
            branches = [self.whole(yes), self.whole(no)]
            if node.kind == "number":
                branches = [_counted(t, n) for t, n in zip(branches, (yes, no), strict=True)]
            return f"IF({self.scalar(test)},{branches[0]},{branches[1]})", 9
        if node.kind == "text":
            raise RowError("a text can't be chosen inside a sum over a block.")
        mask = self._array(test)
        if no.op == "num" and no.value == 0:
            return f"({mask})*({self._array(yes)})", 3
        return f"(({mask})*({self._array(yes)})+(1-({mask}))*({self._array(no)}))", 9
