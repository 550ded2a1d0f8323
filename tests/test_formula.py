"""One definition, three readings: what a formula gives is what the engine gives."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from forms import FORMS
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from office import needs_office
from three_readings import (
    Asked,
    Function,
    ask,
    by_formualizer,
    by_formulas_library,
    by_libreoffice,
    disagreements,
    formula_of,
    node_of,
    references,
)

from estimator.engine import Model
from estimator.errors import RowError
from estimator.expression import Node, as_node, keys_of, quantity
from estimator.formula import MAX_FORMULA, MAX_LEVELS, MAX_TEXT, emit, number, quoted
from estimator.model import build_model
from estimator.rows import Quantity
from estimator.vocabulary import (
    across,
    as_text,
    count_starting,
    first_starting,
    join,
    lookup,
    nth,
    nth_largest,
    pick,
    position,
    rounded,
    sum_if,
    sum_up_to,
)


def asked(forms: Mapping[str, Function]) -> list[Asked]:
    return [one for form in forms.values() for one in ask(form)]


# The fixed forms


def test_every_form_gives_in_the_cache_what_the_engine_gives() -> None:
    questions = asked(FORMS)
    assert len(questions) > 200
    assert disagreements(questions, by_formualizer(questions)) == []


@pytest.mark.slow
@needs_office
def test_every_form_gives_in_libreoffice_what_the_engine_gives() -> None:
    questions = asked(FORMS)
    assert disagreements(questions, by_libreoffice(questions)) == []


BEYOND_THE_LIBRARY = {"look-ups: how many begin"}
"""The ``formulas`` library's COUNTIF minds the case of a pattern; spreadsheets don't."""


@pytest.mark.slow
def test_every_form_gives_in_the_formulas_library_what_the_engine_gives(tmp_path: Path) -> None:
    questions = asked({k: v for k, v in FORMS.items() if k not in BEYOND_THE_LIBRARY})
    assert disagreements(questions, by_formulas_library(questions, tmp_path)) == []


# Precedence as spreadsheets have it: the minus sign binds tighter than the power


@pytest.mark.parametrize(
    ("form", "text"),
    [
        (lambda q: -(q.a**2), "-(A^2)"),
        (lambda q: (-q.a) ** 2, "(-A)^2"),
        (lambda q: -(q.a**2) * q.b, "-(A^2)*B"),
        (lambda q: (-2) ** q.a, "(-2)^A"),
        (lambda q: q.a**-2, "A^(-2)"),
        (lambda q: q.a ** (q.b**q.c), "A^(B^C)"),
        (lambda q: (q.a**q.b) ** q.c, "(A^B)^C"),
        (lambda q: np.square(-q.a), "(-A)^2"),
        (lambda q: -np.square(q.a), "-(A^2)"),
        (lambda q: q.a - (q.b - q.c), "A-(B-C)"),
        (lambda q: q.a - (q.b + q.c), "A-(B+C)"),
        (lambda q: q.a - q.b - q.c, "A-B-C"),
        (lambda q: q.a / (q.b * q.c), "A/(B*C)"),
        (lambda q: q.a / (q.b / q.c), "A/(B/C)"),
        (lambda q: q.a * (q.b / q.c), "A*B/C"),
        (lambda q: -(-q.a), "-(-A)"),  # noqa: B002
        (lambda q: -(q.a + q.b), "-(A+B)"),
        (lambda q: q.a - -q.b, "A--B"),
        (lambda q: q.a * -2.5, "A*-2.5"),
        (lambda q: -np.ceil(q.a), "-(-INT(-ROUND(A,9)))"),
        (lambda q: np.ceil(q.a) ** 2, "(-INT(-ROUND(A,9)))^2"),
        (lambda q: 1 + (q.a > q.b), "1+(ROUND(A-B,9)>0)"),
        (lambda q: (q.a > q.b) == (q.b > q.c), "ROUND((ROUND(A-B,9)>0)-(ROUND(B-C,9)>0),9)=0"),
        (lambda q: q.a - q.b > q.b - q.c, "ROUND(A-B-(B-C),9)>0"),
        (lambda q: q.a > 0, "ROUND(A,9)>0"),
        (lambda q: join("x", q.a + q.b) == "x3", '"x"&A+B="x3"'),
        (lambda q: join("x", q.a > q.b), '"x"&((ROUND(A-B,9)>0))*1'),
    ],
)
def test_brackets_stand_where_a_spreadsheet_needs_them(
    form: Callable[[Any], Any], text: str
) -> None:
    refs = {key.lower(): quantity(key, kind="number", axis=None, by_option=False) for key in "ABC"}
    assert emit(as_node(form(SimpleNamespace(**refs))), Named()) == text


class Named:
    """Writes a quantity by its own name, a block in angle brackets."""

    def cell(self, key: str) -> str:
        return key

    def block(self, key: str) -> str:
        return f"{key}_block"

    def options(self, key: str) -> str:
        return f"{key}_options"

    def area(self, key: str) -> str:
        return f"{key}_area"


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (4.0, "4"),
        (-2.0, "-2"),
        (0.1, "0.1"),
        (-0.0, "0"),
        (1e-7, "1E-07"),
        (1e16, "1E+16"),
        (np.pi, "PI()"),
        (1 / 3, "0.3333333333333333"),
    ],
)
def test_a_number_is_written_so_that_it_reads_back_the_same(value: float, text: str) -> None:
    assert number(value) == text
    assert text == "PI()" or float(text) == value


def test_quotes_in_a_text_are_doubled() -> None:
    assert quoted('6" of "wet" stone') == '"6"" of ""wet"" stone"'


def test_a_choice_inside_a_sum_is_a_product_not_an_if() -> None:
    text = formula_of(lambda q: np.sum(np.where(q["part_size"] > 3, q["part_size"], 0)))
    assert text.startswith("SUMPRODUCT(")
    assert "IF(" not in text


def test_the_keys_that_an_expression_reads_are_known() -> None:
    node = node_of(lambda q: np.where(q["wood"] == "oak", q["width"], np.sum(q["part_size"])))
    assert keys_of(node) == {"wood", "width", "part_size"}


# Random expressions

Q = Mapping[str, Any]
SCALARS = ("width", "debt", "count", "share", "none", "third", "cost", "drop")
PLAIN = (0.0, 1.0, 2.0, -1.0, -2.5, 0.1, 0.5, 3.0, 7.25, 12.0, np.pi)
COLUMN = ("part_size", "part_rise", "part_rank", "part_need")
WORDS = ("oak", "Pine", "STONE", "", 'a "b"', "wet", "pad")


def _two(make: Callable[[Any, Any], Any], a: Any, b: Any) -> Function:
    return lambda q: make(a(q), b(q))


def _one(make: Callable[[Any], Any], a: Any) -> Function:
    return lambda q: make(a(q))


def _where(test: Function, yes: Function, no: Function) -> Function:
    return lambda q: np.where(test(q), yes(q), no(q))


def _constant(value: Any) -> Function:
    return lambda _q: value


def _read(key: str) -> Function:
    return lambda q: q[key]


ELEMENTWISE: tuple[Callable[[Any, Any], Any], ...] = (
    lambda a, b: a + b,
    lambda a, b: a - b,
    lambda a, b: a * b,
    lambda a, b: a / (np.square(b) + 1),
    np.minimum,
    np.maximum,
)
LEAST_GREATEST = (np.minimum, np.maximum)


def _nothing_more(a: Any) -> Any:
    """The same number, of an empty cell too."""
    return a + 0


ALONE: tuple[Callable[[Any], Any], ...] = (
    lambda a: -a,
    lambda a: +a,
    lambda a: 1 - a,
    lambda a: a * -2,
    lambda a: a / 8,
)
POWERS: tuple[Callable[[Any], Any], ...] = (
    np.square,
    lambda a: a**2,
    lambda a: -(a**2),
    lambda a: (-a) ** 3,
    lambda a: 2 - a**2,
)
WHOLE: tuple[Callable[[Any], Any], ...] = (
    np.ceil,
    np.floor,
    np.abs,
    np.sin,
    lambda a: np.cos(a) ** 2,
    lambda a: np.sqrt(np.abs(a)),
    lambda a: rounded(a, 2),
    lambda a: rounded(a, 0),
    lambda a: -np.ceil(a),
)
COMPARE: tuple[Callable[[Any, Any], Any], ...] = (
    lambda a, b: a > b,
    lambda a, b: a >= b,
    lambda a, b: a < b,
    lambda a, b: a <= b,
    lambda a, b: a == b,
    lambda a, b: a != b,
)


Draw = Callable[[st.SearchStrategy[Any]], Any]


def _pick(draw: Draw, *choices: Any) -> Any:
    return draw(st.sampled_from(choices))


def _leaf(draw: Draw, axis: bool) -> Function:
    key = _pick(draw, *SCALARS, *(COLUMN if axis else ()), None)
    return _constant(np.float64(_pick(draw, *PLAIN))) if key is None else _read(key)


def _number(draw: Draw, depth: int, *, axis: bool, array: bool) -> Function:
    """A number: over a table's line if ``axis``, inside a sum if ``array``."""

    def below(deeper: int = 1) -> Function:
        return _number(draw, depth - deeper, axis=axis, array=array)

    if depth <= 0:
        return _leaf(draw, axis)
    kind = _pick(draw, "two", "two", "one", "where", "mask", "power", "whole", "sum", "look")
    if kind == "two":
        make, left, right = _pick(draw, *ELEMENTWISE), below(), below()
        if make in LEAST_GREATEST:
            # MIN and MAX pass over an empty cell; the model takes them of none (tested below).
            left, right = _one(_nothing_more, left), _one(_nothing_more, right)
        return _two(make, left, right)
    if kind == "one":
        return _one(_pick(draw, *ALONE), below())
    if kind == "power":
        return _one(_pick(draw, *POWERS), _leaf(draw, axis))
    if kind == "where":
        return _where(_flag(draw, depth - 1, axis=axis, array=array), below(), below())
    if kind == "mask":
        test = _flag(draw, depth - 1, axis=axis, array=array)
        return _two(lambda a, b: a * b, test, below())
    if kind == "whole":
        inside = _number(draw, depth - 1, axis=axis and not array, array=False)
        return _one(_pick(draw, *WHOLE), inside)
    return _sum(draw, depth - 1) if kind == "sum" else _look(draw, depth - 1, axis and not array)


def _flag(draw: Draw, depth: int, *, axis: bool, array: bool) -> Function:
    kind = _pick(draw, "number", "number", "text", "and", "or", "not") if depth > 0 else "number"
    if kind == "text":
        text = _read(_pick(draw, "wood", "style", *(("part_name", "part_note") if axis else ())))
        return _two(_pick(draw, *COMPARE[4:]), text, _constant(_pick(draw, *WORDS)))
    if kind == "number":
        left, right = (_number(draw, depth - 1, axis=axis, array=array) for _ in range(2))
        return _two(_pick(draw, *COMPARE), left, right)
    left, right = (_flag(draw, depth - 1, axis=axis, array=array) for _ in range(2))
    if kind == "not":
        return _one(lambda a: ~a, left)
    return _two((lambda a, b: a & b) if kind == "and" else (lambda a, b: a | b), left, right)


def _sum(draw: Draw, depth: int) -> Function:
    over = _pick(draw, "part_rank", "part_need")
    kind = _pick(draw, "sum", "sum", "count", "any", "all", "plain", "least", "greatest")
    if kind == "sum":
        inside = _number(draw, depth, axis=True, array=True)
        return lambda q: np.sum(inside(q) + 0 * q[over])
    test = _flag(draw, depth, axis=True, array=True)
    if kind == "count":
        return lambda q: np.sum(test(q) & (q[over] != 2))
    if kind == "any":
        return lambda q: np.any(test(q) & (q[over] > 1)) * 3
    if kind == "all":
        return lambda q: 2 - np.all(test(q) | (q[over] > 1))
    if kind == "plain":
        return lambda q: np.sum(q[over])
    return lambda q: np.min(q[over]) if kind == "least" else np.max(q[over])


def _look(draw: Draw, depth: int, axis: bool) -> Function:
    kind = draw(st.integers(0, 8))
    place = np.float64(_pick(draw, 1, 2, 3))
    at = (lambda q: np.minimum(q["part_rank"], 4)) if axis else _constant(place)
    if kind < 3:
        key = _text(draw, depth, axis=axis)
        if kind == 0:
            missing = _number(draw, depth, axis=axis, array=False)
            return lambda q: lookup(key(q), q["bin_name"], q["bin_price"], missing(q))
        if kind == 1:
            return lambda q: sum_if(q["bin_price"], q["bin_name"], key(q))
        if _pick(draw, False, True):
            return lambda q: sum_if(np.maximum(q["part_rank"], 2), q["part_note"], key(q))
        return lambda q: sum_if(q["part_rank"], q["part_note"], key(q))
    how = _pick(draw, "MIN", "MAX", "SUM", "COUNT")
    plain: tuple[Function, ...] = (
        lambda q: nth(q["bin_price"], at(q)),
        lambda q: nth_largest(q["part_need"], at(q)),
        lambda q: position("SAND", q["bin_name"]) + count_starting(q["part_name"], "p"),
        lambda q: pick(q["cost"], q["third"] - 1),
        lambda q: across(how, q["drop"]),
        lambda q: sum_up_to(q["part_rise"], q["part_rank"]) if axis else q["width"],
    )
    return plain[kind - 3]


def _text(draw: Draw, depth: int, *, axis: bool) -> Function:
    names = ("wood", "style") + (("part_name", "part_note") if axis else ())
    if depth <= 0:
        return _read(_pick(draw, *names))
    kind = draw(st.integers(0, 5))
    below = _text(draw, depth - 1, axis=axis)
    if kind == 0:
        test = _flag(draw, depth - 1, axis=axis, array=False)
        return _where(test, below, _constant(_pick(draw, *WORDS)))
    if kind == 1:
        return _two(join, below, _text(draw, depth - 1, axis=axis))
    if kind == 2:
        amount = _number(draw, depth - 1, axis=axis, array=False)
        pattern = _pick(draw, "0", "0.0", "0.00", "#,##0", "#,##0.00")
        return lambda q: join(below(q), as_text(amount(q), pattern))
    if kind == 3:
        return lambda q: lookup(below(q), q["bin_name"], q["bin_word"], "x")
    if kind == 4:
        return lambda q: join(below(q), q["count"], first_starting(q["part_name"], "pine"))
    return _pick(
        draw, lambda q: nth(q["part_note"], 2), lambda q: pick(q["style"], 2), _read(names[-1])
    )


@st.composite
def rows(draw: Draw) -> Function:
    return _number(draw, draw(st.integers(1, 4)), axis=False, array=False)


@st.composite
def columns(draw: Draw) -> Function:
    return _number(draw, draw(st.integers(1, 4)), axis=True, array=False)


@st.composite
def sums(draw: Draw) -> Function:
    return _sum(draw, draw(st.integers(1, 4)))


@st.composite
def texts(draw: Draw) -> Function:
    return _text(draw, draw(st.integers(1, 4)), axis=draw(st.booleans()))


MANY = settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))


@MANY
@given(st.lists(rows(), min_size=1, max_size=20))
def test_a_random_row_gives_in_the_sheet_what_the_engine_gives(rows: list[Function]) -> None:
    assert_alike(rows)


@MANY
@given(st.lists(columns(), min_size=1, max_size=8))
def test_a_random_column_gives_in_the_sheet_what_the_engine_gives(rows: list[Function]) -> None:
    assert_alike(rows)


@MANY
@given(st.lists(sums(), min_size=1, max_size=20))
def test_a_random_sum_gives_in_the_sheet_what_the_engine_gives(rows: list[Function]) -> None:
    assert_alike(rows)


@MANY
@given(st.lists(texts(), min_size=1, max_size=12))
def test_a_random_text_gives_in_the_sheet_what_the_engine_gives(rows: list[Function]) -> None:
    assert_alike(rows)


def assert_alike(functions: list[Function]) -> None:
    questions = [one for function in functions for one in ask(function)]
    assert disagreements(questions, by_formualizer(questions)) == []


# What can't be a formula


def refuse(function: Callable[[Q], Any], match: str) -> None:
    with pytest.raises(RowError, match=match):
        function(references())


@pytest.mark.parametrize(
    ("function", "match"),
    [
        (lambda q: 1 if q["width"] > 3 else 2, "neither true nor false"),
        (lambda q: max(q["width"], q["debt"]), "neither true nor false"),
        (lambda q: 0 < q["width"] < 3, "neither true nor false"),
        (lambda q: q["width"] > 3 and q["debt"], "neither true nor false"),
        (lambda q: float(q["width"]), "float"),
        (lambda q: int(q["width"]), "float"),
        (lambda q: [1, 2, 3][q["count"]], "float"),
        (lambda q: sum(q["part_size"]), "looped over"),
        (lambda q: list(q["part_size"]), "looped over"),
        (lambda q: f"{q['width']:.2f}", "formatted"),
        (lambda q: f"{q['width']}", "formatted"),
        (lambda q: np.exp(q["width"]), "np.exp has no formula"),
        (lambda q: q["width"] % 2, "np.remainder has no formula"),
        (lambda q: np.round(q["width"]), "np.round has no formula"),
        (lambda q: np.mean(q["part_size"]), "np.mean has no formula"),
        (lambda q: np.where(q["width"] > 3), "np.where has no formula"),
        (lambda q: np.sum(q["part_size"], axis=0), "np.sum has no formula"),
        (lambda q: np.add.reduce(q["part_size"]), "np.add.reduce has no formula"),
        (lambda q: np.sum(q["width"]), "not a block"),
        (lambda q: q["part_size"] + q["bin_price"], "different tables.*bin, part"),
        (lambda q: np.where(q["part_size"] > 1, q["bin_price"], 0), "different tables"),
        (lambda q: join(q["part_name"], q["bin_name"]), "different tables"),
        (lambda q: np.where(q["width"] > 1, "x", 0), "a text and a number"),
        (lambda q: q["width"] + np.nan, "nan can't stand in a formula"),
        (lambda q: q["width"] + np.inf, "inf can't stand in a formula"),
        (lambda q: join(q["wood"], None), "NoneType can't stand in a formula"),
    ],
)
def test_what_no_formula_says_is_refused(function: Callable[[Q], Any], match: str) -> None:
    refuse(function, match)


@pytest.mark.parametrize(
    ("function", "match"),
    [
        (lambda q: np.sum(np.ceil(q["part_size"])), "ceil can't stand over a block inside a sum"),
        (lambda q: np.sum(np.abs(q["part_rise"])), "ABS can't stand over a block inside a sum"),
        (
            lambda q: np.sum(lookup(q["part_name"], q["bin_name"], q["bin_price"], 0)),
            "lookup can't stand over a block inside a sum",
        ),
        (lambda q: np.sum(rounded(q["part_size"], 2)), "round can't stand over a block"),
        (lambda q: np.max(q["part_size"] * 2), "np.max over a block needs a plain quantity"),
        (
            lambda q: np.sum(np.where(q["part_size"] > 1, q["part_note"], "") == "wet"),
            "text can't be chosen inside a sum",
        ),
        (lambda q: join(q["wood"], "x" * (MAX_TEXT + 1)), "more than 255 characters"),
    ],
)
def test_what_a_sum_can_t_hold_is_refused(function: Function, match: str) -> None:
    with pytest.raises(RowError, match=match):
        formula_of(function)


def test_a_formula_of_too_many_characters_is_refused() -> None:
    def long(q: Q) -> Any:
        total = q["width"]
        for n in range(200):
            total = total + q["debt"] * (n + 1 / 3) / (n + 1 / 7)
        return total

    with pytest.raises(RowError, match=r"characters and \d+ levels; the limits are 8192 and 64"):
        formula_of(long)


def test_a_formula_of_too_many_levels_is_refused() -> None:
    def deep(levels: int) -> Function:
        def function(q: Q) -> Any:
            value = q["width"]
            for _ in range(levels):
                value = np.where(value > 0, 1, value)
            return value

        return function

    def nested(levels: int) -> Function:
        def function(q: Q) -> Any:
            value = q["width"]
            for _ in range(levels):
                value = np.abs(value)
            return value

        return function

    assert formula_of(nested(MAX_LEVELS)).count("ABS(") == MAX_LEVELS
    with pytest.raises(RowError, match="65 levels"):
        formula_of(nested(MAX_LEVELS + 1))
    with pytest.raises(RowError, match="far too deep"):
        formula_of(nested(5000))
    with pytest.raises(RowError, match="Split the row"):
        formula_of(deep(12))


def test_brackets_inside_a_text_are_no_levels() -> None:
    assert "(((" in formula_of(lambda q: join(q["wood"], "(" * 100))


# The real model


ALLOWED = {
    *("ABS", "AND", "CHOOSE", "COS", "COUNT", "COUNTIF", "IF", "IFERROR", "INDEX", "INT", "LARGE"),
    *("MATCH", "MAX", "MIN", "MOD", "NOT", "OR", "PI", "ROUND", "SIN", "SQRT", "SUM", "SUMIF"),
    *("SUMPRODUCT", "TEXT", "TRIM"),
}
"""Functions that Excel 2016 and LibreOffice 7 both have and calculate alike."""


class Worst:
    """Long addresses, as a far corner of a sheet with a long name would have."""

    def __init__(self, model: Model) -> None:
        self.model = model

    def cell(self, key: str) -> str:
        return f"'Sheet Layout'!$AB${1000 + len(key)}" if self._far(key) else key

    def block(self, key: str) -> str:
        return f"'Sheet Layout'!$AB$1000:$AB${1000 + len(key)}" if self._far(key) else key

    def options(self, key: str) -> str:
        return f"'Sheet Layout'!$AB${1000 + len(key)}:$AG${1000 + len(key)}"

    def area(self, key: str) -> str:
        return f"'Sheet Layout'!$AB$1000:$AG${1000 + len(key)}"

    def _far(self, key: str) -> bool:
        item = self.model.quantities[key]
        return item.by_option or item.axis is not None


def model_formulas() -> list[tuple[Quantity, str]]:
    model = build_model()
    at = Worst(model)
    return [(model.quantities[key], model.formula(key, at)) for key in model.expressions]


def test_every_row_of_the_model_has_a_formula_within_the_limits() -> None:
    formulas = model_formulas()
    assert len(formulas) > 300
    for item, text in formulas:
        assert len(text) < MAX_FORMULA, item.key
        bare = re.sub(r'"[^"]*"', '""', text)
        assert bare.count("(") == bare.count(")"), item.key


def test_the_model_uses_only_functions_that_old_spreadsheets_have() -> None:
    for item, text in model_formulas():
        bare = re.sub(r'"[^"]*"', '""', text)
        used = set(re.findall(r"([A-Z][A-Z0-9.]*)\(", bare))
        assert used <= ALLOWED, (item.key, used - ALLOWED)


def arguments(text: str, function: str) -> list[str]:
    """What stands between the brackets of each call of a function."""
    found = []
    for start in re.finditer(rf"\b{function}\(", text):
        depth, end = 1, start.end()
        while depth:
            depth += (text[end] == "(") - (text[end] == ")")
            end += 1
        found.append(text[start.end() : end - 1])
    return found


def test_no_sum_over_a_block_holds_an_if() -> None:
    """Excel 2016 wants array entry there; LibreOffice can't show the fault."""
    for item, text in model_formulas():
        bare = re.sub(r'"[^"]*"', '""', text)
        for inside in arguments(bare, "SUMPRODUCT"):
            assert not re.search(r"\bIF\(", inside), item.key


def find(model: Model, *ops: str) -> list[tuple[str, Node]]:
    return [
        (key, node)
        for key, top in model.expressions.items()
        for node in top.walk()
        if node.op in ops
    ]


def test_texts_are_looked_up_in_columns_whose_blank_lines_are_empty_cells() -> None:
    """An empty text would meet a computed "" in the sheet, while the engine meets nothing."""
    model = build_model()
    for key, node in find(model, "lookup", "position"):
        column = model.quantities[str(node.args[1].value)]
        if column.kind == "text":
            assert column.role == "input", (key, column.key)


def test_the_least_and_greatest_are_taken_of_columns_without_empty_cells() -> None:
    """MIN and MAX pass over an empty cell, which the engine reads as 0."""
    model = build_model()
    for key, node in find(model, "MIN", "MAX"):
        assert model.quantities[str(node.args[0].value)].role != "input", key
    for key, node in find(model, "min2", "max2"):
        for item in (model.quantities[str(a.value)] for a in node.args if a.op == "ref"):
            # The cell that is read holds a formula, which gives a number for a blank that may be.
            field = item.field
            never_blank = field is not None and (field.default is not None or not field.needed)
            assert item.role != "input" or (item.axis is None and never_blank), (key, item.key)


def test_every_text_that_is_matched_by_its_beginning_is_plain_letters() -> None:
    for _key, node in find(build_model(), "count_starting", "first_starting"):
        assert str(node.args[1].value).isalpha()
