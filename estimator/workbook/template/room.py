"""How wide the columns of rows and tables must be for what stands in them."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from estimator.engine import Model
from estimator.expression import SPELLED, Node
from estimator.rows import Table
from estimator.workbook.template.text_size import text_width

UNKNOWN_TEXT = 60
"""Characters that a text is taken to have which a solver writes beside a label."""
NAME = 18
"""Characters of a name that a person types, or that a solver writes into a table."""
_NUMBER = 6
_KEPT = 6
_PLAIN = {"index": 6.0, "typed": 11.0, "read": 10.5, "check": 10.0, "value": 10.5}
_TEXT, _DATE, _DAY = 20.0, 12.5, 11.5
_HEADING_AIR = 2.2
"""Characters of a column that a heading's indent and padding take."""


@lru_cache(maxsize=8)
def _declared(model: Model) -> Mapping[str, float]:
    """Characters that texts have, by key, as sheets and tables declare them."""
    found: dict[str, float] = {}
    for sheet in model.sheets:
        found.update(sheet.shows.characters)
        for part in sheet.parts:
            if isinstance(part, Table):
                found.update(part.shows.characters)
    return found


def text_length(model: Model, key: str) -> int:
    """About how many characters the text of a quantity can have."""
    return max(map(len, sample_texts(model, key)), default=0)


def declared_text(model: Model, key: str) -> str:
    """A text as long as is declared for a quantity; empty where nothing is."""
    return _words(int(_declared(model).get(key, 0)))


@lru_cache(maxsize=4096)
def sample_texts(model: Model, key: str) -> tuple[str, ...]:
    """Texts that a quantity may show: those of its formula, or as long as what it reads."""
    item = model.quantities[key]
    if item.kind != "text":
        return ("0" * _NUMBER,)
    if item.field is not None:
        return item.field.choices or (_words(NAME),)
    if key in model.stacks:
        parts = (sample_texts(model, part) for part in model.stacks[key])
        return _longest({text for part in parts for text in part})
    if key not in model.expressions:
        return (_words(NAME if item.axis else int(_declared(model).get(key, UNKNOWN_TEXT))),)
    return _longest(_node_texts(model, model.expressions[key]))


def _node_texts(model: Model, node: Node) -> set[str]:
    if node.op == "text":
        return {str(node.value)}
    if node.op == "ref":
        return set(sample_texts(model, str(node.value)))
    args = node.args[:1] if node.op in SPELLED else node.args
    if node.op in ("if", "one_of"):
        args = node.args[1:]
    found = [_node_texts(model, arg) for arg in args]
    if node.op == "&":
        return {"".join(max(texts, key=len, default="") for texts in found)}
    return set().union(*found) or {"0" * _NUMBER}


def _longest(texts: set[str]) -> tuple[str, ...]:
    """The few longest, of which one takes the most lines."""
    return tuple(sorted(texts, key=lambda text: (-len(text), text))[:_KEPT])


def _words(length: int) -> str:
    """A text of a length, in words as long as they are on average."""
    return ("stone " * length)[:length]


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
        if key in _declared(model):
            wide = _declared(model)[key]
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
        if role == "value" and "mmm" in item.fmt:
            wide = max(wide, _DAY)
    words = heading_of(model, key, role).split()
    bold = role != "read"
    longest = max((text_width(word, size, bold=bold) for word in words), default=0.0)
    return max(wide * size / 10, longest + _HEADING_AIR)
