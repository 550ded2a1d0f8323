"""Rewrites an expression over the engine's units into one over metric quantities.

Each part of an expression is carried with its scale: how many of what it now gives make one of
what it gave. Parts of one scale meet as they are, others are brought to one scale first, so that
a sum of lengths stays a plain sum and inches by the foot become millimetres by the metre.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal

from estimator.errors import RowError
from estimator.expression import SPELLED, Kind, Node
from estimator.measures import (
    M3_PER_YD3,
    UNITS,
    Unit,
    metric_unit,
)
from estimator.units import M_PER_FT


@dataclass(frozen=True, slots=True)
class Own:
    """The scale of what counts in the own unit of an item of the price book, times a factor.

    The metric price book has the metric base unit where the other has its own: cubic metres for
    yards, metres for feet, kilograms for pounds, and pieces for pieces. Which of them it is shows
    where such a number meets another.
    """

    factor: float = 1.0


Scale = float | Own | Literal["any"]
"""``any``: a bare number, which takes the scale of what it meets."""

CONVERSIONS: Final = frozenset({12.0, 144.0, 1728.0, 27.0, 2000.0})
"""Numbers in rows that turn one unit of the engine into another, and go where both are metric."""
_BASES: Final = tuple(
    scale for unit in (1.0, M_PER_FT, M3_PER_YD3, UNITS["lb"].factor) for scale in (unit, 1 / unit)
)
_SHOWN: Final[tuple[Unit, ...]] = tuple(
    UNITS[unit] for unit in ("in", "ft", "ft2", "yd3", "lb", "psf")
)
_ALIKE: Final = ("+", "-", "min2", "max2")
_COMPARED: Final = ("=", "<>", "<", "<=", ">", ">=")
_OF_TRUTHS: Final = ("and", "or", "not", "any", "all")
_KEPT: Final = ("neg", "pos", "ABS", "sum", "MIN", "MAX", "nth", "nth_largest", "pick")
_PLAIN: Final = ("SIN", "COS", "ceil", "floor")
_PATTERN, _PATTERNS = "0.00", {"mm": "0", "kg": "#,##0"}
"""How a converted number reads inside a text, and those of some units, which are whole."""


class Rewriter:
    """Rewrites expressions.

    Args:
        names: New key of every key.
        scales: Scale of every quantity, by its old key.
        texts: Texts that are called otherwise, such as keys of the price book.
    """

    def __init__(
        self, names: Mapping[str, str], scales: Mapping[str, Scale], texts: Mapping[str, str]
    ) -> None:
        self._names, self._scales, self._texts = names, scales, texts
        self._done: dict[int, tuple[Node, Node, Scale]] = {}

    def row(self, node: Node, scale: Scale) -> Node:
        """The expression of a row whose quantity has this scale."""
        return self._to(*self._write(node), scale)

    def _write(self, node: Node) -> tuple[Node, Scale]:
        if id(node) not in self._done:
            self._done[id(node)] = (node, *self._rewrite(node))  # the node is kept: ids are reused
        return self._done[id(node)][1:]

    def _rewrite(self, node: Node) -> tuple[Node, Scale]:
        op, args = node.op, node.args
        if op == "ref":
            key = str(node.value)
            return node._replace(value=self._names[key]), self._scales[key]
        if op == "num":
            return node, "any"
        if op == "text":
            text = str(node.value)
            return node._replace(value=self._texts.get(text, text)), 1.0
        if op in SPELLED:
            return self._spelled(node), 1.0
        if op == "&":
            return _over(node, tuple(map(self._told, args))), 1.0
        if op == "as_text":
            return _over(node, (self._told(args[0]), args[1])), 1.0
        if op in _OF_TRUTHS:
            return _over(node, tuple(self._write(a)[0] for a in args)), 1.0
        if op in _COMPARED or op in _ALIKE:
            left, right, scale = self._alike(args[0], args[1])
            return _over(node, (left, right)), 1.0 if op in _COMPARED else scale
        if op == "if":
            yes, no, scale = self._alike(args[1], args[2])
            return _over(node, (self._write(args[0])[0], yes, no)), scale
        if op in ("*", "/"):
            return self._product(node)
        if op in ("^", "square", "SQRT"):
            return self._power(node)
        if op in _KEPT:
            inner, scale = self._write(args[0])
            return _over(node, (inner, *(self._plain(a) for a in args[1:]))), scale
        if op == "across":
            inner, scale = self._write(args[0])
            return _over(node, (inner,)), 1.0 if node.value == "COUNT" else scale
        if op in _PLAIN or op == "round":
            return _over(node, (self._plain(args[0]), *args[1:])), 1.0
        return self._search(node)

    def _search(self, node: Node) -> tuple[Node, Scale]:
        """Look-ups by texts and whole numbers, which have no unit."""
        op, args = node.op, node.args
        if op == "lookup":
            values, scale = self._write(args[2])
            missing = tuple(self._to(*self._write(a), scale) for a in args[3:])
            return _over(node, (*map(self._plain, args[:2]), values, *missing)), scale
        if op == "option_where":
            values, scale = self._write(args[0])
            return _over(node, (values, self._to(*self._write(args[1]), scale))), 1.0
        if op in ("sum_if", "sum_up_to", "most_if"):
            values, scale = self._write(args[0])
            return _over(node, (values, *map(self._plain, args[1:]))), scale
        if op in (
            "position",
            "count_starting",
            "count_up_to",
            "first_starting",
            "one_of",
            "trimmed",
        ):
            return _over(node, tuple(map(self._plain, args))), 1.0
        raise RowError(f"{op} has no metric form.")

    def _plain(self, node: Node) -> Node:
        """The part as it was, in the engine's unit."""
        return self._to(*self._write(node), 1.0)

    def _to(self, node: Node, scale: Scale, wanted: Scale) -> Node:
        if node.kind == "text" or scale == wanted or wanted == "any":
            return node
        if scale == "any":
            return node if isinstance(wanted, Own) else _times(node, wanted)
        return _times(node, _ratio(scale, wanted))

    def _alike(self, one: Node, other: Node) -> tuple[Node, Node, Scale]:
        (left, a), (right, b) = self._write(one), self._write(other)
        if "text" in (left.kind, right.kind):
            return left, right, 1.0
        scale = b if a == "any" or (isinstance(a, Own) and isinstance(b, float)) else a
        return self._to(left, a, scale), self._to(right, b, scale), scale

    def _product(self, node: Node) -> tuple[Node, Scale]:
        (left, a), (right, b) = (self._write(arg) for arg in node.args)
        times = node.op == "*"
        if b == "any" and _converts(right, a):
            return left, _product_of(a, float(right.value or 1), times=not times)
        if times and a == "any" and _converts(left, b):
            return right, _product_of(b, float(left.value or 1), times=False)
        return _over(node, (left, right)), _product_of(a, b, times=times)

    def _power(self, node: Node) -> tuple[Node, Scale]:
        base, scale = self._write(node.args[0])
        if node.op == "^":
            power = node.args[1]
            if power.op != "num":
                return _over(node, (self._plain(node.args[0]), self._plain(power))), 1.0
            exponent = float(power.value or 0)
        else:
            exponent = 2.0 if node.op == "square" else 0.5
        rest = node.args[1:]
        if scale == "any":
            return _over(node, (base, *rest)), "any"
        if isinstance(scale, Own):
            raise RowError("an item's own unit has no power.")
        for unit in _SHOWN if exponent < 1 else ():  # a root of a plain scale is a plain scale
            if _tens(unit.factor ** (1 / exponent) / scale):
                whole = unit.factor ** (1 / exponent)
                return _over(node, (self._to(base, scale, whole), *rest)), unit.factor
        return _over(node, (base, *rest)), scale**exponent

    # --- texts ---

    def _told(self, node: Node) -> Node:
        """A part of a text. A number in it has no unit, or a metric text would keep the old one."""
        number = node
        while number.op in ("round", "ceil", "floor"):
            number = number.args[0]
        scale = self._write(number)[1]
        if node.kind != "text" and scale not in ("any", 1.0):
            raise RowError("a text has a number with a unit.", cure="Write it with amount(...).")
        return self._write(node)[0]

    def _spelled(self, node: Node) -> Node:
        """A number as a metric tape or text has it, its unit behind but in a name, and but
        where the heading of a tape's column says it."""
        unit = UNITS["in"] if node.op == "tape" else metric_unit(str(node.value))
        number = self._to(*self._write(node.args[1]), unit.factor)
        pattern = _PATTERNS.get(unit.name, _PATTERN)
        if node.op == "amount" and not node.args[2].value:
            digits = _number(len(pattern.partition(".")[2]))
            text = _made("round", (number, digits), "number")
        else:
            text = _text_of(number, pattern)
        bare = node.op == "size" or (node.op == "tape" and str(node.value).endswith("headed"))
        return text if bare else _join(text, Node("text", (), f" {unit.name}", "text"))


def _over(node: Node, args: tuple[Node, ...]) -> Node:
    return node._replace(args=args)


def _made(op: str, args: tuple[Node, ...], kind: Kind) -> Node:
    axis = next((a.axis for a in args if a.axis is not None), None)
    return Node(op, args, None, kind, axis, any(a.by_option for a in args))


def _join(one: Node, other: Node) -> Node:
    return _made("&", (one, other), "text")


def _text_of(number: Node, pattern: str) -> Node:
    digits = len(pattern.partition(".")[2])
    rounded = _made("round", (number, _number(digits)), "number")
    return _made("as_text", (rounded, Node("text", (), pattern, "text")), "text")


def _number(value: float) -> Node:
    return Node("num", (), float(value))


def _tens(ratio: float) -> bool:
    power = math.log10(ratio)
    return abs(power - round(power)) < 1e-12


def _converts(node: Node, scale: Scale) -> bool:
    """Whether a number turns units of what has this scale; a dozen may be a dozen pieces."""
    return node.value in CONVERSIONS and scale != "any" and (node.value != 12 or scale != 1.0)


def _ratio(scale: float | Own, wanted: float | Own) -> float:
    """How many of the wanted scale make one of the other."""
    over = wanted.factor if isinstance(wanted, Own) else wanted
    ratio = over / (scale.factor if isinstance(scale, Own) else scale)
    if isinstance(scale, Own) == isinstance(wanted, Own):
        return ratio
    for base in _BASES:
        if _tens(ratio / base):
            return _plain_number(ratio / base)
    raise RowError("an item's own unit is no such unit.")


def _product_of(one: Scale, other: Scale, *, times: bool) -> Scale:
    """Scale of a product or quotient."""
    if one == other == "any":
        return "any"
    owns = sum(isinstance(s, Own) for s in (one, other))
    a, b = (s.factor if isinstance(s, Own) else 1.0 if s == "any" else s for s in (one, other))
    scale = a * b if times else a / b
    scale = 1.0 if math.isclose(scale, 1.0) else scale
    if owns == 2 and times:
        raise RowError("two numbers in items' own units can't be multiplied.")
    return Own(scale) if owns == 1 else scale


def _plain_number(value: float) -> float:
    """The value without the dust of multiplying factors."""
    return float(f"{value:.14g}")


def _times(node: Node, ratio: float) -> Node:
    """A part times a number, as a multiplication or a division, whichever reads plainer."""
    ratio = _plain_number(ratio)
    if ratio == 1.0:
        return node
    if node.op == "num":
        return node._replace(value=_plain_number(float(node.value or 0) * ratio))
    if node.op in ("*", "/") and node.args[1].op == "num":
        number = float(node.args[1].value or 1)
        ratio = ratio * number if node.op == "*" else ratio / number
        return _times(node.args[0], ratio)
    under = _plain_number(1 / ratio)
    if under == round(under):
        return _made("/", (node, _number(under)), "number")
    return _made("*", (node, _number(ratio)), "number")
