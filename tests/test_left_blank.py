"""Sizes left blank take what is suggested; typed ones win; a change of a suggestion is said."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from books import retyped
from jobs import at, changed, demo, on_flat, on_ground, one_option, slope, solved

from estimator.engine import Declared
from estimator.errors import SolveError
from estimator.evaluation import evaluate
from estimator.inputs import TypedJob
from estimator.model import build_model
from estimator.model.kinds import BLOCKS, FRAMED, OPEN, PIERS
from estimator.model.solvers.blank_sizes import _trial_of
from estimator.typed_job import default_cells, read_inputs
from estimator.workbook.package.parts import read_file
from estimator.workbook.refill.file import create_workbook

PINE = {"species": "Southern pine No.2"}
FLOOR = {"joist_stock": None, "joist_spacing_in": None}
GRID = {"support_rows": None, "supports_per_row": None}
USED = {
    "joist_stock": "joist_stock_used",
    "joist_spacing_in": "joist_spacing_used_in",
    "skid_count": "skid_count_used",
    "support_rows": "support_rows_used",
    "supports_per_row": "supports_per_row_used",
}
FAILING = ("check_joists", "check_skids", "check_beams", "check_bearing")


def flat(kind: str, job: TypedJob | None = None, /, **cells: Any) -> Mapping[str, Any]:
    return solved(on_flat(one_option(kind, job, **(PINE | cells))))


def works(values: dict[str, Any]) -> bool:
    return not any(at(values, key).startswith("FAIL") for key in FAILING)


def test_a_new_option_column_leaves_joist_skids_and_supports_to_be_suggested() -> None:
    offered = default_cells(build_model(), options=True)
    assert not {key for key, _ in offered} & set(USED)


@pytest.mark.parametrize(
    ("kind", "blank"),
    [
        (FRAMED, {"joist_stock": None}),
        (FRAMED, {"skid_count": None}),
        (OPEN, FLOOR | {"skid_count": None}),
        (PIERS, FLOOR | {"footing_diameter_in": 24, "supports_per_row": 4}),
        (PIERS, GRID | {"footing_diameter_in": 24}),
        (BLOCKS, FLOOR | GRID | {"support_inset_in": 12}),
    ],
)
def test_a_blank_is_what_typing_the_suggestion_gives_and_it_works(
    kind: str, blank: dict[str, Any]
) -> None:
    left = flat(kind, **blank)
    assert works(left)
    assert at(left, "default_fails") == 0
    chosen = {key: at(left, USED[key]) for key, value in blank.items() if value is None}
    typed = flat(kind, **(blank | chosen))
    assert at(typed, "sizes_blank") == 0
    assert at(typed, "suggested_text") == ""
    for key in ("total_cost", "joist_use", "joists_in_all", "bearer_count", "cut_cost"):
        assert at(left, key) == pytest.approx(at(typed, key), rel=1e-12)


def test_the_words_name_joist_spacing_and_number() -> None:
    values = flat(FRAMED, **FLOOR, skid_count=None)
    joist, spacing = at(values, "joist_stock_used"), at(values, "joist_spacing_used_in")
    count = at(values, "skid_count_used")
    assert at(values, "suggested_text") == f"{joist} at {spacing:g} in, {count:g} skids"
    grid = flat(PIERS, **GRID, footing_diameter_in=24, joist_stock="2x8")
    rows, each = at(grid, "support_rows_used"), at(grid, "supports_per_row_used")
    assert at(grid, "suggested_text") == f"{rows:g} rows of {each:g} supports"
    assert at(grid, "suggest_supports") == f"{rows * each:g} in {rows:g} rows of {each:g}"


def test_what_a_search_keeps_of_the_one_before_changes_no_answer() -> None:
    """Another lot, load and price after the first; then the same with nothing kept."""
    model = build_model()
    solver = model.solvers["blank_sizes"]

    def asked(job: TypedJob) -> dict[str, Any]:
        values = solved(job)
        reads = Declared(solver.name, {k: values[k] for k in (*solver.reads, *solver.prices)})
        return dict(solver.function(reads))

    piers = one_option(PIERS, **(PINE | FLOOR | GRID))
    steep = on_ground(piers, slope(6))
    loaded = changed(steep, floor_live_psf=80, wage_per_h=55)
    found = [asked(job) for job in (piers, steep, loaded, piers)]
    for before, job in zip(found, (piers, steep, loaded, piers), strict=True):
        _trial_of.cache_clear()
        alone = asked(job)
        assert all(np.array_equal(alone[key], before[key]) for key in alone)
    assert any(not np.array_equal(found[0][key], found[2][key]) for key in found[0])


def test_a_typed_size_always_wins() -> None:
    values = flat(FRAMED, joist_stock="2x12 treated", joist_spacing_in=12, skid_count=None)
    assert at(values, "joist_stock_used") == "2x12 treated"
    assert at(values, "joist_depth_in") == 11.25
    assert at(values, "joist_spacing_used_in") == 12
    weak = flat(FRAMED, joist_stock="2x4 treated", joist_spacing_in=24, skid_count=2)
    assert at(weak, "skid_count_used") == 2
    assert not works(weak)


def test_blank_skids_are_the_fewest_that_work() -> None:
    job = changed(demo(), floor_live_psf=100)
    cells = {"joist_stock": "2x4 treated", "joist_spacing_in": 24}
    fewest = int(at(flat(FRAMED, job, **cells, skid_count=None), "skid_count_used"))
    assert fewest > 2
    assert works(flat(FRAMED, job, **cells, skid_count=fewest))
    assert not works(flat(FRAMED, job, **cells, skid_count=fewest - 1))


def test_a_blank_joist_is_the_cheapest_of_the_smallest_that_work() -> None:
    any_joist = changed(demo(), practical_joist_in=0)
    values = flat(FRAMED, any_joist, joist_stock="2x6 treated", skid_count=4)
    left = flat(FRAMED, any_joist, **FLOOR, skid_count=4)
    joist, spacing = at(left, "joist_stock_used"), at(left, "joist_spacing_used_in")
    assert f"{joist} at {spacing:g} in" == at(values, "suggest_cheapest")


def test_where_nothing_works_the_strongest_stands_in_and_the_checks_say_so() -> None:
    job = changed(demo(), floor_live_psf=250, point_load_lb=5000)
    values = flat(PIERS, job, **FLOOR)
    assert at(values, "default_fails") == 1
    assert at(values, "joist_stock_used") == "2x12 treated"
    assert at(values, "joist_spacing_used_in") == 12
    assert at(values, "check_joists").startswith("FAIL")
    assert at(values, "check_suggestion").startswith("LOOK: nothing on offer works")


def test_without_joist_lumber_in_the_price_book_a_blank_joist_is_refused() -> None:
    lumber = [p for (k, p), v in demo().cells.items() if k == "item_category" and v == "lumber"]
    keep = {"4x6 treated", "6x6 treated"}
    rows = [p for p in lumber if demo().cells.get(("item_stock", p)) not in keep]
    job = changed(demo(), item_category=dict.fromkeys(rows, "hardware"))
    with pytest.raises(SolveError, match="leaves the joist blank"):
        dict(flat(FRAMED, job, **FLOOR))


def test_a_typed_joist_that_no_yard_sells_is_still_named_when_the_rest_is_blank() -> None:
    rows = [p for (k, p), v in demo().cells.items() if k == "item_stock" and v == "2x6"]
    job = changed(demo(), item_category=dict.fromkeys(rows, "hardware"))
    with pytest.raises(SolveError, match="wants 2x6 and the price book has none"):
        dict(flat(FRAMED, job, joist_stock="2x6", joist_spacing_in=None, skid_count=None))


# What the workbook says


@pytest.fixture(scope="module")
def book(fresh_template: Path, tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """A workbook whose only option leaves everything to be suggested."""
    assert fresh_template.exists()
    path = tmp_path_factory.mktemp("blank") / "job.xlsx"
    job = on_flat(one_option(FRAMED, **PINE, **FLOOR, skid_count=None))
    create_workbook(path, build_model(), job)
    return read_file(path)


@pytest.mark.slow
def test_a_changed_suggestion_is_said_from_refill_to_refill_until_it_is_accepted(
    book: bytes,
) -> None:
    data, refill = retyped(book)
    first = at(refill.values, "suggested_text")
    assert at(refill.values, "check_suggestion") == "ok"
    for _ in range(2):
        data, refill = retyped(data, floor_live_psf=125)
        now = at(refill.values, "suggested_text")
        assert now != first
        said = f"LOOK: changed from {first} to {now}"
        assert at(refill.values, "check_suggestion") == said
    assert at(refill.values, "joist_stock_used") in now  # the new one is in use, and it works
    assert works(dict(refill.values))
    data, refill = retyped(data, suggestion_accepted=now)
    assert at(refill.values, "check_suggestion") == "ok"
    data, refill = retyped(data, floor_live_psf=50)
    assert at(refill.values, "check_suggestion") == f"LOOK: changed from {now} to {first}"


@pytest.mark.slow
def test_typing_the_old_size_keeps_it_and_ends_the_note(book: bytes) -> None:
    data, refill = retyped(book)
    old = {key: at(refill.values, USED[key]) for key in (*FLOOR, "skid_count")}
    data, refill = retyped(data, floor_live_psf=125, **old)
    assert at(refill.values, "check_suggestion") == "ok"
    assert at(refill.values, "suggested_text") == ""
    assert at(refill.values, "joist_stock_used") == old["joist_stock"]


def test_until_the_refill_the_size_in_use_stays_and_is_marked() -> None:
    model = build_model()
    job = on_flat(one_option(FRAMED, **PINE, **FLOOR, skid_count=None))
    before = solved(job)
    held = {k: before[k] for k, i in model.quantities.items() if i.role == "solved"}
    heavy = read_inputs(model, changed(job, floor_live_psf=125))
    live = evaluate(model, heavy | {"stale_blank_sizes": np.array([[1.0]] * 6)}, solved=held)
    assert at(live, "joist_stock_used") == at(before, "joist_stock_used")
    assert at(live, "joist_use") > at(before, "joist_use")
    flag = at(live, "overall_flag")
    assert flag.startswith("CHECK") or "; but prices or loads changed" in flag
