"""How wide the columns of rows and tables must be for what stands in them."""

from __future__ import annotations

from estimator.formula import Node
from estimator.rows import Model
from estimator.workbook.metrics import text_width
from estimator.workbook.preferences import LONG_TEXTS, TEXT_WIDTHS

UNKNOWN_TEXT = 60
"""Characters that a text is taken to have which a solver writes beside a label."""
NAME = 18
"""Characters of a name that a person types, or that a solver writes into a table."""
_NUMBER = 6
_PLAIN = {"index": 6.0, "typed": 11.0, "read": 10.5, "check": 20.0, "value": 10.5}
_TEXT, _DATE = 20.0, 12.5
_HEADING_AIR = 2.2
"""Characters of a column that a heading's indent and padding take."""


def text_length(model: Model, key: str) -> int:
    """About how many characters the text of a quantity can have, from its formula's own texts."""
    item = model.quantities[key]
    if item.kind != "text":
        return _NUMBER
    if item.field is not None:
        return max((len(choice) for choice in item.field.choices), default=NAME)
    if key in model.stacks:
        return max(text_length(model, part) for part in model.stacks[key])
    if key not in model.expressions:
        return NAME if item.axis else LONG_TEXTS.get(key, UNKNOWN_TEXT)
    return _node_length(model, model.expressions[key])


def _node_length(model: Model, node: Node) -> int:
    if node.op == "text":
        return len(str(node.value))
    if node.op == "ref":
        return text_length(model, str(node.value))
    lengths = [_node_length(model, arg) for arg in node.args]
    if node.op == "&":
        return sum(lengths)
    return max(lengths[1:] if node.op == "if" else lengths, default=_NUMBER)


def heading_of(model: Model, key: str, role: str) -> str:
    """Heading of a table column."""
    if role == "check":
        return "Check"
    label = model.quantities[key].label
    return f"{label}, read as" if role == "read" else label


def column_width(model: Model, key: str, role: str, size: float, *, narrow: bool) -> float:
    """Characters that a table column needs for its heading's words and for its content."""
    wide = _PLAIN[role]
    if key:
        item = model.quantities[key]
        if key in TEXT_WIDTHS:
            wide = TEXT_WIDTHS[key]
        elif role == "typed" and item.field is not None:
            if item.field.kind in ("text", "key"):
                wide = _TEXT
            elif item.field.kind == "choice":
                wide = max(wide, max(len(choice) for choice in item.field.choices) + 4.0)
        elif item.field is not None and item.field.kind == "date":
            wide = _DATE
        elif item.kind == "text":
            wide = min(_TEXT, max(wide, text_length(model, key) * 1.1))
        if narrow and item.kind != "text":
            wide = 9.5
    words = heading_of(model, key, role).split()
    bold = role != "read"
    longest = max((text_width(word, size, bold=bold) for word in words), default=0.0)
    return max(wide * size / 10, longest + _HEADING_AIR)
