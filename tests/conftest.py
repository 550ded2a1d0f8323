"""Puts the helpers of this folder in reach of the folders below it; fixtures of the whole suite."""

from __future__ import annotations

import gc
import os
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from filelock import FileLock

SLOW = frozenset(
    {
        *("test_bad_input", "test_cells", "test_cli", "test_courses", "test_field_sheet"),
        *("test_footings_and_end_lines",),
        *("test_framing_sheets", "test_live_link", "test_live_open_book", "test_looks"),
        *("test_model_against_published", "test_model_cost", "test_model_facts"),
        *("test_model_footings", "test_model_grading", "test_next_job", "test_typed_over"),
        *("test_pad_heights", "test_refill", "test_siting", "test_siting_sheet", "test_surface"),
        *("test_survey_checks", "test_volumes", "test_water", "test_cutting_stock"),
        *("test_formula", "test_solved_typed_over", "test_template_committed", "test_template"),
        *("test_least_total", "test_one_at_a_time", "test_slab", "test_wind", "test_steps"),
        *("test_extras", "test_contributions", "test_kinds", "test_left_blank"),
        *("test_price_lists", "test_suppliers", "test_item_names", "test_made_from", "test_links"),
        *("test_steep_lots", "test_size", "test_ways", "test_sheets", "test_counts"),
        *("test_place_prices",),
    }
)
"""Files that the quick selection leaves out: each takes more than ten seconds."""


LONGEST = (
    *("test_three_engines", "test_stale_rule", "test_upgrade", "test_least_total", "test_metric"),
    *("test_live_copy", "test_live_calc", "test_refill", "test_plain_workbook"),
    *("test_accidents", "test_decisions_carried", "test_same_verdict", "test_bad_input"),
    *("test_first_answer", "test_solvers", "test_left_blank", "test_cli", "test_one_at_a_time"),
    *("test_print", "test_wheel", "test_field_sheet", "test_solved_typed_over", "test_api"),
    *("test_cutting_stock", "test_actuals", "test_contributions", "test_length_formula"),
    *("test_siting", "test_first_job", "test_live_open_book", "test_failing_disk", "test_folder"),
    *("test_next_job", "test_since", "test_own_template", "test_joists_in_parts", "test_restore"),
    *("test_price_lists", "test_quiet_choice", "test_opened_once", "test_typed_over"),
)
"""Files that take longest, in order: begun first, so that none is left alone at the end."""

TempFolders = pytest.TempPathFactory
ANEW = pytest.StashKey[bool]()

# Workbooks are many small objects that live long: collecting them again and again costs a fifth.
gc.set_threshold(100_000, 20, 50)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark every test of a slow file as slow, and begin with the longest."""
    for item in items:
        if item.path.stem in SLOW:
            item.add_marker(pytest.mark.slow)
    places = {stem: place for place, stem in enumerate(LONGEST)}
    items.sort(key=lambda item: places.get(item.path.stem, len(places)))


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_setup(item: pytest.Item) -> None:
    """Tell whether a test leaves solvers as they are, before its fixtures ask them."""
    patches = "monkeypatch" in getattr(item, "fixturenames", ())
    item.config.stash[ANEW] = patches or item.get_closest_marker("anew") is not None


@pytest.fixture(scope="session", autouse=True)
def _solvers_remember(request: pytest.FixtureRequest, tmp_path_factory: TempFolders) -> None:
    """Solvers of the models that all tests share answer the same reads once a run."""
    from solver_memory import lend_memory

    from estimator.metric import metric
    from estimator.model import build_model

    stash, folder = request.config.stash, folder_of_the_run(tmp_path_factory) / "solved"
    for model in (build_model(), metric(build_model())):
        lend_memory(model, folder, lambda: not stash[ANEW])
    gc.collect()
    gc.freeze()  # the models stay: no later collection looks through them


def folder_of_the_run(factory: TempFolders) -> Path:
    """The folder that this run of the tests has for all of its workers."""
    base = factory.getbasetemp()
    return base.parent if "PYTEST_XDIST_WORKER" in os.environ else base


def once_a_run(factory: TempFolders, name: str, make: Callable[[], bytes]) -> bytes:
    """What ``make`` gives, made by the first of the run's workers that asks, for all of them.

    It stands in the folder of this run of the tests, so that no run sees what another made.
    """
    folder = folder_of_the_run(factory)
    path = folder / name
    with FileLock(folder / f"{name}.lock"):
        if not path.exists():
            beside = folder / f"{name}.part"
            beside.write_bytes(make())
            beside.replace(path)
        return path.read_bytes()


@pytest.fixture(scope="module", autouse=True)
def _room() -> Iterator[None]:
    """Give back what the workbooks of a file took: it is collected so seldom that it adds up."""
    from books import opened

    yield
    opened.cache_clear()
    gc.collect()


@pytest.fixture(scope="session")
def fresh_template(tmp_path_factory: TempFolders) -> Iterator[Path]:
    """The template built from the model as it is now, in use in place of the committed file."""
    from estimator.model import build_model
    from estimator.typed_job import default_cells
    from estimator.workbook.template import shipped
    from estimator.workbook.template.build import template_bytes

    def make() -> bytes:
        model = build_model()
        return template_bytes(model, default_cells(model))

    path = tmp_path_factory.mktemp("template") / shipped.TEMPLATE.name
    path.write_bytes(once_a_run(tmp_path_factory, "fresh_template.xlsx", make))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(shipped, "TEMPLATE", path)
        yield path


@pytest.fixture(scope="session")
def demo_book(fresh_template: Path, tmp_path_factory: TempFolders) -> bytes:
    """The workbook of the job that tests know, as the command makes it."""
    from known_job import known_job

    from estimator.model import build_model
    from estimator.workbook.refill.file import create_workbook

    def make() -> bytes:
        assert fresh_template.exists()
        path = tmp_path_factory.mktemp("demo") / "demo.xlsx"
        create_workbook(path, build_model(), known_job())
        return path.read_bytes()

    return once_a_run(tmp_path_factory, "demo_book.xlsx", make)


@pytest.fixture(scope="session")
def metric_book(tmp_path_factory: TempFolders) -> bytes:
    """The workbook of that job in metres."""
    from known_job import known_job

    from estimator.metric import metric
    from estimator.model import build_model
    from estimator.workbook.refill.file import create_workbook

    def make() -> bytes:
        path, model = tmp_path_factory.mktemp("metric") / "known.xlsx", metric(build_model())
        create_workbook(path, model, known_job(model))
        return path.read_bytes()

    return once_a_run(tmp_path_factory, "metric_book.xlsx", make)


@pytest.fixture(scope="session")
def metric_demo_book(tmp_path_factory: TempFolders) -> bytes:
    """The metric demo, as the command makes it."""
    from estimator.cli import main

    def make() -> bytes:
        path = tmp_path_factory.mktemp("metric") / "demo.xlsx"
        assert main(["new", "--demo", "--metric", str(path)]) == 0
        return path.read_bytes()

    return once_a_run(tmp_path_factory, "metric_demo_book.xlsx", make)
