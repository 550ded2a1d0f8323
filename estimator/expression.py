"""Symbolic references: numpy expressions over named quantities.

A row of the model is a plain numpy function. Called with a :class:`Ref` for each argument it
returns an expression tree, which :mod:`estimator.formula` writes as the text of a formula. The
engine's side of the same bargain is in ``values.py``.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from typing import Any, Literal, NamedTuple

import numpy as np
from numpy.lib.mixins import NDArrayOperatorsMixin

from estimator.errors import RowError

Kind = Literal["number", "text", "flag"]


class Node(NamedTuple):
    """One node of an expression: an operation, its arguments and what it yields.

    A named tuple, as a model has tens of thousands, which are all made whenever it is built.
    """

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
        if name in COMPARISONS:
            return Ref(make_node(COMPARISONS[name], nodes, kind="flag"))
        if name in _LOGICAL:
            return Ref(make_node(_LOGICAL[name], nodes, kind="flag"))
        if name in _NUMERIC:
            return Ref(make_node(_NUMERIC[name], nodes))
        raise RowError(f"np.{name} has no formula.", cure="See expression.py for what is covered.")

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
        raise RowError(f"np.{name} has no formula.", cure="See expression.py for what is covered.")


COMPARISONS = {
    "equal": "=",
    "not_equal": "<>",
    "less": "<",
    "less_equal": "<=",
    "greater": ">",
    "greater_equal": ">=",
}
"""Sign of a comparison in formulas, by the name of numpy's function."""
_LOGICAL = {
    "logical_and": "and",
    "bitwise_and": "and",
    "logical_or": "or",
    "bitwise_or": "or",
    "logical_not": "not",
    "invert": "not",
}
SPELLED = ("tape", "amount", "size")
"""Operations that write a number as text: over the text, the number itself, and how it is written.

A formula says the text; a model of another measure writes the number in its own unit."""
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
    axis, by_option = None, False
    for arg in args:
        if arg.axis is not None and arg.axis != axis:
            if axis is not None:
                raise RowError(
                    "blocks of different tables meet in one expression:"
                    f" {', '.join(sorted((axis, arg.axis)))}.",
                    cure="Sum one of them first, or use lookup or sum_if.",
                )
            axis = arg.axis
        by_option = by_option or arg.by_option
    return Node(op, args, None, kind, axis, by_option)


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
    found = set()
    waiting = [node]
    while waiting:
        at = waiting.pop()
        if at.op == "ref":
            found.add(str(at.value))
        waiting += at.args
    return frozenset(found)
