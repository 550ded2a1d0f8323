"""Amounts marked in texts: what a mark reads as, and what no text of the product may say."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.amounts import as_said, either, in_measure
from estimator.engine import Model, Solver
from estimator.errors import RowError, SolveError
from estimator.evaluation import evaluate
from estimator.metric import metric
from estimator.metric import metric as made_metric
from estimator.model import build_model
from estimator.rows import Notes, Section, Sheet, Table
from estimator.vocabulary import Q, amount, join


@pytest.mark.parametrize(
    ("text", "feet", "metres"),
    [
        ("Least {6 in} of cover", "Least 6 in of cover", "Least 152 mm of cover"),
        ("{6 in|150 mm} apart", "6 in apart", "150 mm apart"),
        ("{5 1/2 in} wide", "5 1/2 in wide", "140 mm wide"),
        ("{1/16 in}", "1/16 in", "1.6 mm"),
        ("over {4 ft}", "over 4 ft", "over 1.22 m"),
        ("{2,000 lb}", "2,000 lb", "907 kg"),
        ("{1500 lbf}", "1500 lbf", "6.67 kN"),
        ("{110 lb/ft3}", "110 lb/ft3", "1760 kg/m3"),
        ("Stone, {yd3}", "Stone, yd3", "Stone, m3"),
        ("{feet|metres}, then", "feet, then", "metres, then"),
        ("x{ (IRC)|}", "x (IRC)", "x"),
        ("8 in 2 rows", "8 in 2 rows", "8 in 2 rows"),
    ],
)
def test_a_mark_reads_in_each_measure(text: str, feet: str, metres: str) -> None:
    assert in_measure(text, "feet") == feet
    assert in_measure(text, "metric") == metres


@pytest.mark.parametrize(
    "text", ["{6 inn}", "{six in}", "{}", "{|}", "{6 in", "6 in}", "{a|b|c}", "{{6 in}}", "{4 h}"]
)
def test_a_mark_that_says_nothing_is_refused(text: str) -> None:
    for measure in ("feet", "metric"):
        with pytest.raises(RowError):
            in_measure(text, measure)


def test_what_a_person_typed_is_no_mark() -> None:
    assert as_said("{Smith} at {6 in}", "metric") == "{Smith} at 152 mm"


@given(st.text(), st.text(alphabet=st.characters(exclude_characters="{}|"), min_size=1))
def test_texts_without_marks_read_alike_in_both(text: str, words: str) -> None:
    plain = re.sub("[{}]", "", text)
    assert in_measure(plain, "feet") == in_measure(plain, "metric") == plain
    assert in_measure(either(words, "m"), "feet") == words
    assert in_measure(either("ft", words), "metric") == words


def _sheet(label: str, note: str = "", said: str = "fine") -> Sheet:
    sheet = Sheet("Trench", "Trench", "")
    sheet.section("Depth")

    @sheet.row(label, "in", note=note, scope="job")
    def depth_in() -> Q:
        return np.float64(6.0)

    @sheet.row("What to do", kind="text", scope="job")
    def what(depth_in: Q) -> Q:
        return np.where(depth_in > 4, join(said, " ", amount(depth_in, "in", "0.0")), "")

    return sheet


def test_a_bad_mark_is_refused_when_the_model_is_built_naming_the_row() -> None:
    for sheet in (_sheet("{6 inn} deep"), _sheet("Depth", note="{6")):
        with pytest.raises(RowError, match=r"Trench\.depth_in"):
            Model([sheet], [])
    with pytest.raises(RowError, match=r"Trench\.what"):
        Model([_sheet("Depth", said="dig {4 inn}")], [])


def test_what_a_row_says_is_worked_out_in_the_measure_of_the_model() -> None:
    feet = Model([_sheet("Depth", said="more than {4 in}:")], [])
    metres = metric(feet)
    assert evaluate(feet, {})["what"].item() == "more than 4 in: 6.0 in"
    assert evaluate(metres, {})["what"].item() == "more than 102 mm: 152 mm"


def test_a_solver_says_and_refuses_in_the_measure_of_the_model() -> None:
    def sheet() -> Sheet:
        new = _sheet("Depth")
        new.solved("advice", "Advice", solver="advise", kind="text", scope="job")
        return new

    def advise(_: object) -> dict[str, np.ndarray]:
        return {"advice": np.array([["dig {12 in}"]])}

    def refuse(_: object) -> dict[str, np.ndarray]:
        raise SolveError("no spade digs {12 in}.", cure="Dig {3 in}.")

    solver = Solver("advise", "advice", ("depth_in",), advise)
    feet = Model([sheet()], [solver])
    assert evaluate(feet, {})["advice"].item() == "dig 12 in"
    assert evaluate(metric(feet), {})["advice"].item() == "dig 305 mm"
    refusing = Model([sheet()], [replace(solver, function=refuse)])
    with pytest.raises(SolveError, match=r"^no spade digs 12 in\. Dig 3 in\.$"):
        evaluate(refusing, {})
    with pytest.raises(SolveError, match=r"^no spade digs 305 mm\. Dig 76 mm\.$"):
        evaluate(metric(refusing), {})


# --- what the product says ---

_NUMBER = r"(?<![\w.])[\d.,/]*\d"
_CUSTOMARY = re.compile(
    rf"(?:{_NUMBER}[ -](?:in|ft|lbs?|lbf|yd3?|oz|plf|psf|psi|mph|tons?)\b(?! \d)"
    r"|\b(?:ft2|ft3|yd3|board f[e]?[ot]t?|inch(?:es)?|feet|foot|pounds?)\b"
    r"|\b(?:a|one|per|by the|bank|loose|compacted|cubic) yards?\b)"
)
_METRIC = re.compile(rf"{_NUMBER} (?:mm|cm|m|m2|m3|kg|kN|kPa|MPa|t)\b|\b(?:metres?|millimetres?)\b")
_ALLOWED_IN_METRES = (
    "next deeper inch size",  # of the yard that a metric size is reckoned by
    "reproduces them to the inch",  # of a published table in feet
    "keep feet clear",
    "a foot of a safe",
    "from its foot",
    "feet of their own",
    "feet of its own",
    "a concrete foot",
    "set the feet",
)
_ALLOWED_IN_FEET = ("150 in or 3.81 m", '12-6, 150" or 3.8 m')
"""Forms in which a length may be typed in any workbook."""


def _texts(model: Model) -> Iterator[tuple[str, str]]:
    """Every text that a model says of itself, and where."""
    for sheet in model.sheets:
        yield from ((sheet.name, text) for text in (sheet.title, sheet.purpose))
        for part in sheet.parts:
            yield sheet.name, part.title
            if isinstance(part, Notes):
                yield from ((sheet.name, line) for line in part.lines)
            elif isinstance(part, Table):
                yield sheet.name, part.note
            else:
                assert isinstance(part, Section)
    for key, item in model.quantities.items():
        yield from ((key, text) for text in (item.label, item.note, item.source))
        if item.field is not None:
            own = (item.field.label, item.field.note, *item.field.choices)
            yield from ((key, text) for text in own)
    for key, node in model.expressions.items():
        for at in node.walk():
            if at.op == "text":
                yield key, str(at.value)


def _speaking(model: Model, units: re.Pattern[str], allowed: tuple[str, ...]) -> list[str]:
    found = []
    for where, text in _texts(model):
        rest = text
        for words in allowed:
            rest = rest.replace(words, "")
        if units.search(rest):
            found.append(f"{where}: {text}")
    return found


def test_no_text_of_the_metric_model_speaks_of_feet_inches_or_pounds() -> None:
    assert _speaking(metric(build_model()), _CUSTOMARY, _ALLOWED_IN_METRES) == []


def test_no_text_of_the_model_in_feet_speaks_of_metres() -> None:
    assert _speaking(build_model(), _METRIC, _ALLOWED_IN_FEET) == []


def test_no_text_keeps_a_brace() -> None:
    for model in (build_model(), metric(build_model())):
        assert [text for _, text in _texts(model) if "{" in text or "}" in text] == []


def test_amounts_that_are_written_without_a_mark_are_found() -> None:
    said = ("a 12 ft board", "6 in apart", "a bank yard", "1-1/2 in", "per ft2", "a 28 oz tube")
    assert all(_CUSTOMARY.search(text) for text in said)
    assert not any(_CUSTOMARY.search(text) for text in ("8 in 2 rows of 4", "1 in 10 below"))
    assert all(_METRIC.search(text) for text in ("150 mm", "in metres"))


@pytest.mark.parametrize(
    ("text", "metric"),
    [
        ("IRC R403.1.4, limit on Factors", "US code IRC R403.1.4, limit on Factors"),
        ("IRC R311.7 and IRC R312.1", "US code IRC R311.7 and IRC R312.1"),
        ("NDS 4.3.9 at {12 in}", "US standard NDS 4.3.9 at 305 mm"),
        ("US code IBC 1604.3", "US code IBC 1604.3"),
        ("a circle, the band", "a circle, the band"),
    ],
)
def test_a_metric_text_says_of_an_american_code_that_it_is_one(text: str, metric: str) -> None:
    assert in_measure(text, "metric") == metric
    assert "US standard" not in in_measure(text, "feet")


def test_no_text_of_the_metric_model_cites_a_code_without_its_country() -> None:
    model = made_metric(build_model())
    cited = 0
    for item in model.quantities.values():
        field = (item.field.note, item.field.when_blank) if item.field else ()
        for text in (item.label, item.note, item.source, *field):
            first = re.search(r"(.{0,12})\b(?:IRC|IBC|ASCE|NDS|AWPA)\b", text)
            if first:
                cited += 1
                assert first[1].endswith(("US code ", "US standard ")), text
    assert cited > 100
