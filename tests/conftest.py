"""Puts the helpers of this folder in reach of the folders below it; fixtures of the whole suite."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from pathlib import Path

import pytest

SLOW = frozenset(
    {
        *("test_bad_input", "test_cells", "test_cli", "test_courses", "test_field_sheet"),
        *("test_footings_and_end_lines",),
        *("test_framing_sheets", "test_live_link", "test_live_open_book", "test_looks"),
        *("test_model_against_published", "test_model_cost", "test_model_facts"),
        *("test_model_footings", "test_model_grading", "test_next_job", "test_typed_over"),
        *("test_pad_heights", "test_refill", "test_siting", "test_siting_sheet", "test_surface"),
        *("test_survey_checks", "test_volumes", "test_water", "test_cutting_stock"),
    }
)
"""Files that the quick selection leaves out: each takes more than ten seconds."""


LONGEST = (
    *("test_three_engines", "test_stale_rule", "test_live_copy", "test_upgrade", "test_live_calc"),
    *("test_refill", "test_field_sheet", "test_bad_input", "test_metric", "test_typed_over"),
    *("test_restore", "test_left_blank", "test_siting", "test_length_formula", "test_model_cost"),
)
"""Files that take longest, in order: begun first, so that none is left alone at the end."""

# Workbooks are many small objects that live long: collecting them again and again costs a fifth.
gc.set_threshold(100_000, 20, 50)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark every test of a slow file as slow, and begin with the longest."""
    for item in items:
        if item.path.stem in SLOW:
            item.add_marker(pytest.mark.slow)
    places = {stem: place for place, stem in enumerate(LONGEST)}
    items.sort(key=lambda item: places.get(item.path.stem, len(places)))


@pytest.fixture(scope="session")
def fresh_template(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """The template built from the model as it is now, in use in place of the committed file."""
    from estimator.job import default_cells
    from estimator.model import build_model
    from estimator.workbook.template import shipped
    from estimator.workbook.template.build import template_bytes

    path = tmp_path_factory.mktemp("template") / shipped.TEMPLATE.name
    model = build_model()
    path.write_bytes(template_bytes(model, default_cells(model)))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(shipped, "TEMPLATE", path)
        yield path


@pytest.fixture(scope="session")
def demo_book(fresh_template: Path, tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """The workbook of the job that tests know, as the command makes it."""
    from known_job import known_job

    from estimator.model import build_model
    from estimator.workbook.refill.file import create_workbook

    assert fresh_template.exists()
    path = tmp_path_factory.mktemp("demo") / "demo.xlsx"
    create_workbook(path, build_model(), known_job())
    return path.read_bytes()
