"""Every formula of whole jobs by the engine, LibreOffice, formualizer and ``formulas`` alike.

LibreOffice (``soffice``) works on files whose formulas all show a wrong number, so that nothing
of what it gives was there before. The ``formulas`` library works out each formula from what
LibreOffice found for the cells that it reads, so that by induction the whole workbook is agreed.
Random jobs have the formulas of the demo, to the letter, so a few of them try other branches. The
formulas of the metric demo are the same but for factors and keys, so the library, which takes
longest, is given one in twenty of them. With the environment variable THREE_ENGINES set to ``all``
it is given them all, and ten times as many random jobs are tried.
"""

from __future__ import annotations

import os
from itertools import chain
from pathlib import Path

import pytest
from jobs import demo, drawn_jobs, used
from known_job import known_job
from office import needs_office
from three_engines import (
    WRONG,
    Cells,
    Patterns,
    Written,
    alike,
    by_libreoffice,
    disagreements,
    engine_disagreements,
    library_disagreements,
    pattern_of,
    patterns_of,
    places,
    write,
)

from estimator.errors import SolveError
from estimator.metric import metric
from estimator.model import build_model
from estimator.workbook.package.a1 import Range
from estimator.workbook.package.reading import CellError

ALL = os.environ.get("THREE_ENGINES") == "all"
PARTS = 10 if ALL else 1
METRIC_ONE_IN = 1 if ALL else 20
JOBS_A_PART = 2
MOST_OPTIONS = 6


@pytest.fixture(scope="module")
def demo_written(fresh_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Written:
    """The demo workbook."""
    assert fresh_template.exists()
    return write("demo", demo(), tmp_path_factory.mktemp("demo"), build_model())


@pytest.fixture(scope="module")
def demo_patterns(demo_written: Written) -> Patterns:
    """The patterns of all its formulas."""
    return patterns_of(demo_written, demo_written.formulas)


def solvable(number: int, folder: Path) -> list[Written]:
    """The workbooks of random jobs whose solvers don't refuse."""
    books: list[Written] = []
    for job in drawn_jobs(number, 3 * JOBS_A_PART, most_options=MOST_OPTIONS):
        try:
            books.append(write(f"job_{number}_{len(books)}", job, folder, build_model()))
        except SolveError:
            continue
        if len(books) == JOBS_A_PART:
            break
    return books


def faults(book: Written, cells: Cells) -> list[str]:
    """Formulas that LibreOffice left as they were or that end in an error."""
    bad = [cell for cell in book.formulas if cells[cell] in (WRONG, str(WRONG))]
    bad += [cell for cell in book.formulas if isinstance(cells[cell], CellError)]
    return [f"{book.label} {cell}: {cells[cell]}" for cell in bad]


def test_the_demo_as_written_shows_the_engines_numbers(demo_written: Written) -> None:
    assert len(demo_written.formulas) > len(build_model().expressions)
    assert not faults(demo_written, demo_written.cells)
    assert engine_disagreements(demo_written, demo_written.cells) == []


@pytest.mark.slow
@needs_office
def test_every_formula_of_the_demo_is_agreed_on_by_all(
    demo_written: Written, demo_patterns: Patterns
) -> None:
    assert_agreed(demo_written, demo_patterns)


@pytest.mark.slow
@needs_office
def test_every_formula_of_the_metric_demo_is_agreed_on_by_all(tmp_path: Path) -> None:
    model = metric(build_model())
    book = write("metric", known_job(model), tmp_path, model)
    assert_agreed(book, patterns_of(book, list(book.formulas)[::METRIC_ONE_IN]))


def assert_agreed(book: Written, every: Patterns) -> None:
    """Every formula of a workbook is worked out alike by all."""
    [office] = by_libreoffice([book])
    assert not faults(book, office)
    assert engine_disagreements(book, office) == []
    assert disagreements(book, office, book.cells) == []
    assert library_disagreements([(book, office)], every) == []


@pytest.mark.slow
@needs_office
@pytest.mark.parametrize("number", range(PARTS))
def test_every_formula_of_random_jobs_is_agreed_on_by_all(
    number: int, demo_written: Written, demo_patterns: Patterns, tmp_path: Path
) -> None:
    books = solvable(number, tmp_path)
    assert len(books) == JOBS_A_PART
    both = list(zip(books, by_libreoffice(books), strict=True))
    found: list[str] = []
    for book, office in both:
        assert used(book.engine)
        # The job changes what is typed and solved, never a formula.
        assert (book.formulas, book.names) == (demo_written.formulas, demo_written.names)
        found += faults(book, office)
        found += engine_disagreements(book, office)
        found += disagreements(book, office, book.cells)
    found += library_disagreements(both, demo_patterns)
    assert found == []


def test_a_number_that_is_wrong_in_its_ninth_digit_is_noticed(demo_written: Written) -> None:
    model = build_model()
    rows = (model.quantities[key] for key in model.expressions)
    cells = chain.from_iterable(places(demo_written, item) for item in rows if item.by_option)
    cell = next(c for c, value in cells if isinstance(value, float) and value > 100.5)
    right = demo_written.cells[cell]
    assert isinstance(right, float)
    changed = {**demo_written.cells, cell: right * (1 + 3e-9)}
    assert len(engine_disagreements(demo_written, changed)) == 1
    assert len(disagreements(demo_written, demo_written.cells, changed)) == 1
    one = patterns_of(demo_written, [cell])
    assert library_disagreements([(demo_written, demo_written.cells)], one) == []
    assert len(library_disagreements([(demo_written, changed)], one)) == 1


def test_texts_truths_blanks_and_errors_are_never_alike_to_numbers() -> None:
    apart = ["", "0", None, True, CellError("#N/A"), 0.0]
    pairs = [(a, b) for place, a in enumerate(apart) for b in apart[place + 1 :]]
    assert [(a, b) for a, b in pairs if alike(a, b) or alike(b, a)] == []
    assert all(alike(value, value) for value in apart)


def test_formulas_that_differ_in_place_alone_have_one_pattern() -> None:
    names = {"price": ("Job", Range(4, 2, 4, 2)), "sizes": ("Parts", Range(2, 3, 9, 3))}
    one, reads = pattern_of('IF($B7="","A1",price*SUM(sizes)-B$7)', "Parts", names)
    assert one.text == 'IF(A1="","A1",B1*SUM(C1:C8)-A1)'
    assert one.slots == ("A1", "B1", "C1:C8")
    assert reads == (("Parts", Range(7, 2, 7, 2)), names["price"], names["sizes"])
    other, _ = pattern_of("""IF(C3="","A1",'The Job'!D1*SUM(Job!$A$1:A8)-C3)""", "Job", names)
    assert other == one
