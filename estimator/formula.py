"""Formulas: expression trees written as texts that Excel 2016 and LibreOffice 7 both calculate.

Rules that formulas and the engine (``values.py``) keep alike:

* ``np.ceil`` and ``np.floor`` round to nine decimals first, so that 4.0000000000001 packs are 4.
* Numeric comparisons compare the difference rounded to nine decimals with zero.
* Text compares without regard to case.
* A reduction (``np.sum``, ``np.min``, ``np.max``, ``np.any``, ``np.all``) runs over the block's
  own axis, never over options.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Protocol

from estimator.errors import RowError
from estimator.expression import COMPARISONS, SPELLED, Node
from estimator.tape_formula import tape_formula

DUST_DIGITS = 9
NUDGE = "1E-09"
"""Added before rounding to cents: engines differ on exact halves such as 1.005."""

MAX_FORMULA = 8192
MAX_LEVELS = 64
MAX_TEXT = 255
"""Characters of a text written into a formula; Excel refuses more."""


class Resolver(Protocol):
    """Where quantities stand, as seen from the cell whose formula is being written."""

    def cell(self, key: str) -> str:
        """Address (or name) of the quantity for this option and this block row."""

    def block(self, key: str) -> str:
        """Range of the quantity over its own block, for this option."""

    def options(self, key: str) -> str:
        """Range of the quantity over all option columns, for this block row."""

    def area(self, key: str) -> str:
        """Range of the quantity over all option columns and its whole block."""


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
        if op in COMPARISONS.values():
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
        if op == "tape":  # how a length is spelled, and the length: see model/tape.py
            parts, most, headed = str(node.value).split()
            length, feet = self._wrap(args[1], 2, array=False), most == "feet"
            unit = feet or headed != "headed"
            return tape_formula(length, int(parts), feet=feet, unit=unit), _LEVEL["&"]
        if op in SPELLED:
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
            if values.op == "ref":
                total = f"SUMIF({self._range(keys)},{self.scalar(key)},{self._range(values)})"
            else:
                met = f"({self._range(keys)}={self._wrap(key, 1, array=False)})"
                total = f"SUMPRODUCT({met}*{self._wrap(values, 3, array=True)})"
            if key.kind != "text" or key.op == "text":
                return total, 9
            return f'{total}*({self._wrap(key, 1, array=False)}<>"")', 3
        if op == "most_if":
            values, keys, key = args
            met = f"({self._range(keys)}={self._wrap(key, 1, array=False)})"
            if key.kind == "text" and key.op != "text":
                met += f'*({self._wrap(key, 1, array=False)}<>"")'
            return f"SUMPRODUCT(MAX({met}*{self._wrap(values, 4, array=True)}))", 9
        if op == "sum_up_to":
            values, order = args
            limit = f'"<="&{self.scalar(order)}'
            return f"SUMIF({self._range(order)},{limit},{self._range(values)})", 9
        if op == "count_up_to":
            limit = f'"<="&{self._wrap(args[1], 2, array=False)}'
            return f"COUNTIF({self._range(args[0])},{limit})", 9
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
        if op == "option_where":
            found = f"MATCH({self.scalar(args[1])},{self.at.options(str(args[0].value))},0)"
            return f"IFERROR({found},0)", 9
        if op == "pick" and len(args) > 2:
            entry = f"{self.scalar(args[2])},{self.scalar(args[1])}"
            return f"INDEX({self.at.area(str(args[0].value))},{entry})", 9
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
        if not array:
            amounts = ",".join(map(self._amount, _side_by_side(node, node.op)))
            return f"{node.op[:3].upper()}({amounts})", 9
        left, right = node.args
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


def _side_by_side(node: Node, op: str) -> Iterator[Node]:
    """What the least or the greatest is taken of, those inside of one another together."""
    for each in node.args:
        if each.op == op:
            yield from _side_by_side(each, op)
        else:
            yield each
