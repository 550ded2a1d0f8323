"""Works out an expression again: from numbers or, as references, once more into an expression."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np

from estimator.errors import RowError
from estimator.expression import SPELLED, Node
from estimator.vocabulary import (
    across,
    as_text,
    count_starting,
    count_up_to,
    first_starting,
    join,
    lookup,
    most_if,
    nth,
    nth_largest,
    one_of,
    option_where,
    pick,
    position,
    rounded,
    sum_if,
    sum_up_to,
    trimmed,
)

_FUNCTIONS: Mapping[str, Callable[..., Any]] = {
    **{"+": np.add, "-": np.subtract, "*": np.multiply, "/": np.divide, "^": np.power},
    **{"=": np.equal, "<>": np.not_equal, "<": np.less, "<=": np.less_equal},
    **{">": np.greater, ">=": np.greater_equal},
    **{"and": np.logical_and, "or": np.logical_or, "not": np.logical_not},
    **{"neg": np.negative, "pos": np.positive, "ABS": np.absolute, "square": np.square},
    **{"SQRT": np.sqrt, "SIN": np.sin, "COS": np.cos, "ceil": np.ceil, "floor": np.floor},
    **{"min2": np.minimum, "max2": np.maximum, "if": np.where},
    **{"sum": np.sum, "MIN": np.min, "MAX": np.max, "any": np.any, "all": np.all},
    **{"&": join, "lookup": lookup, "sum_if": sum_if, "sum_up_to": sum_up_to, "nth": nth},
    **{"nth_largest": nth_largest, "position": position, "pick": pick, "round": rounded},
    **{"option_where": option_where},
    **{"count_starting": count_starting, "first_starting": first_starting},
    **{"trimmed": trimmed, "most_if": most_if, "count_up_to": count_up_to},
}


def retrace(node: Node, values: Mapping[str, Any]) -> Any:
    """The value of an expression.

    Args:
        node: The expression.
        values: A number, text, array or reference for the key of every quantity that it reads.

    Raises:
        RowError: For an operation that no row can have.
    """
    done: dict[int, Any] = {}

    def value_of(at: Node) -> Any:
        if id(at) not in done:
            done[id(at)] = _value(at, values, value_of)
        return done[id(at)]

    return value_of(node)


def _value(node: Node, values: Mapping[str, Any], value_of: Callable[[Node], Any]) -> Any:
    op, args = node.op, node.args
    if op == "ref":
        return values[str(node.value)]
    if op == "num":
        number = float(node.value or 0)
        return bool(number) if node.kind == "flag" else number
    if op == "text":
        return str(node.value)
    if op == "as_text":  # its argument is the number already rounded to the pattern
        pattern: Any = args[1].value
        return as_text(value_of(args[0].args[0]), pattern)
    if op in SPELLED:
        return value_of(args[0])
    if op == "one_of":
        return one_of([str(text.value) for text in args[1:]], value_of(args[0]))
    if op == "across":
        how: Any = node.value
        return across(how, value_of(args[0]))
    if op == "round":
        return rounded(value_of(args[0]), int(float(args[1].value or 0)))
    if op not in _FUNCTIONS:
        raise RowError(f"{op} can't be worked out again.")
    return _FUNCTIONS[op](*(value_of(arg) for arg in args))
