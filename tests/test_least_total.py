"""Sizes left blank: of all designs on the grid that pass, the one of least total cost.

Every design of the grid is typed and worked out whole, in four random jobs; with the environment
variable LEAST_TOTAL set to ``all``, in thirty.
"""

from __future__ import annotations

import os
import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jobs import (
    CHOSEN,
    RandomJob,
    at,
    changed,
    demo,
    drawn_jobs,
    on_flat,
    one_option,
    pooled_jobs,
    priced,
    solved,
    solved_or_skipped,
    solved_whole,
    used,
    with_options,
)

from estimator.engine import Model
from estimator.errors import SolveError
from estimator.evaluation import evaluate
from estimator.gather import contributed
from estimator.inputs import TypedJob
from estimator.metric import metric
from estimator.model import build_model
from estimator.model.adds import Check
from estimator.model.kinds import (
    BLOCKS,
    FLOORS,
    FRAMED,
    KIND_NAMES,
    ON_PIERS,
    OPEN,
    PADS,
    PIERS,
    SUPPORTS,
)
from estimator.model.solvers.own_units import OwnUnits
from estimator.model.solvers.reads import Reads
from estimator.model.solvers.size_grid import GRID_READS, Design, grid_of
from estimator.model.solvers.verdict import verdict
from estimator.retrace import retrace
from estimator.rows import OPTION_KEYS
from estimator.solve.cutting import Piece, Saw, Stock, cut
from estimator.solve.cutting_bound import least_cost
from estimator.typed_job import METRIC_DEMO_JOB, load_job, read_inputs

TYPED = {
    "joist": "joist_stock",
    "spacing_in": "joist_spacing_in",
    "skids": "skid_count",
    "rows": "support_rows",
    "each": "supports_per_row",
    "footing_in": "footing_diameter_in",
    "plies": "beam_plies",
}
"""Input of each size of a design."""
PINE = {"species": "Southern pine No.2"}
FLOOR = ("joist_stock", "joist_spacing_in")
CHECKS = tuple(
    item.key
    for item in contributed(build_model().written.sheets, Check)
    if item.key != "check_suggestion"
)
JOBS = 30 if os.environ.get("LEAST_TOTAL") == "all" else 4
PASSES, NONE_PASSES, IMPRACTICAL = 0, 1, 2


@dataclass(frozen=True, slots=True)
class Typed:
    """A design typed on Options and worked out whole: what it costs, and which checks it fails."""

    total: float
    fails: frozenset[str]
    stack_in: float


def typed_whole(
    kind: str, job: TypedJob, cells: Mapping[str, Any], designs: Sequence[Mapping[str, Any]]
) -> list[Typed | None]:
    """Each design worked out by the whole model; None for one that can't be built."""
    found: list[Typed | None] = []
    for start in range(0, len(designs), len(OPTION_KEYS)):
        some = designs[start : start + len(OPTION_KEYS)]
        columns = {o: {"option_kind": kind, **cells, **d} for o, d in enumerate(some)}
        try:
            values = solved_whole(with_options(job, columns))
            found += [_typed(values, o) for o in columns]
        except SolveError:  # none of them
            found += [None] * len(some)
    return found


def _typed(values: Mapping[str, Any], option: int) -> Typed | None:
    if at(values, "not_priced", option):
        return None
    fails = frozenset(k for k in CHECKS if at(values, k, option).startswith("FAIL"))
    return Typed(at(values, "total_cost", option), fails, at(values, "stack_in", option))


def cells_of(design: Design, blank: Sequence[str], straight_in: float) -> dict[str, Any]:
    """What to type for a design, where it is left blank."""
    cells = {key: getattr(design, name) for name, key in TYPED.items() if key in blank}
    if cells.get("footing_diameter_in") == 0:
        cells["footing_diameter_in"] = straight_in
    return cells


def nothing_cheaper_passes(
    kind: str, job: TypedJob, cells: Mapping[str, Any], blank: Sequence[str]
) -> None:
    """What is suggested is what trying every design of the grid, typed, comes to."""
    left = solved(one_option(kind, job, **{**cells, **dict.fromkeys(blank)}))
    says = at(left, "default_fails")
    q = Reads({key: left[key] for key in (*GRID_READS, "sizes_blank")})
    grid = grid_of(q, 0, "feet", practical=says == PASSES)
    designs = [grid.design(place) for place in np.ndindex(*grid.shape)]
    assert len(designs) == at(left, "default_designs")
    straight = max(at(left, "pier_diameter_in"), 4)
    typed = typed_whole(kind, job, cells, [cells_of(d, blank, straight) for d in designs])
    built = [each for each in typed if each is not None]
    most = at(left, "practical_stack_in") if says == PASSES else np.inf
    if says == NONE_PASSES:
        assert all(each.fails for each in built)
        assert at(left, "suggested_how").startswith("none of ")
        return
    # What every design fails alike, such as fill that is not accepted, no size decides.
    alike = frozenset[str].intersection(*(each.fails for each in built))
    totals = [e.total for e in built if e.fails == alike and e.stack_in <= most + 1e-9]
    assert at(left, "default_proven") == 1
    assert at(left, "total_cost") == pytest.approx(min(totals), abs=0.005)
    assert frozenset(k for k in CHECKS if at(left, k).startswith("FAIL")) == alike


@pytest.mark.parametrize(
    ("kind", "blank"),
    [
        (FRAMED, FLOOR),
        (OPEN, ("joist_spacing_in", "skid_count")),
        (BLOCKS, ("support_rows", "supports_per_row")),
        (PIERS, ("support_rows", "footing_diameter_in")),
    ],
)
def test_nothing_cheaper_on_the_grid_passes(kind: str, blank: tuple[str, ...]) -> None:
    nothing_cheaper_passes(kind, on_flat(demo()), CHOSEN | PINE, blank)


SETS = {
    FRAMED: [FLOOR, ("skid_count", "joist_stock"), ("skid_count", "joist_spacing_in")],
    PIERS: [FLOOR, ("footing_diameter_in", "beam_plies"), ("support_rows", "supports_per_row")],
    BLOCKS: [FLOOR, ("support_rows", "beam_plies"), ("supports_per_row", "joist_stock")],
}
SETS[OPEN] = SETS[FRAMED]


@pytest.mark.slow
def test_nothing_cheaper_on_the_grid_passes_in_random_jobs() -> None:
    chance = random.Random(11)
    for job in drawn_jobs(5, JOBS, most_options=1):
        option = next(at for (key, at), v in job.cells.items() if key == "option_kind" and v)
        kind = str(job.cells["option_kind", option])
        if kind in FLOORS:  # no size of it is suggested
            continue
        quantities = build_model().quantities
        cells = {
            key: value
            for (key, column), value in job.cells.items()
            if column == option and quantities[key].by_option and key != "option_kind"
        }
        nothing_cheaper_passes(kind, job, cells, chance.choice(SETS[kind]))


def metric_solved(job: TypedJob) -> dict[str, Any]:
    model = metric(build_model())
    return dict(evaluate(model, read_inputs(model, job)))


@pytest.mark.slow
def test_in_metres_nothing_cheaper_on_the_grid_passes() -> None:
    model = metric(build_model())
    job = load_job(METRIC_DEMO_JOB, model=model)
    piers = next(at for (key, at), v in job.cells.items() if v == PIERS and key == "option_kind")
    keys = ("footing_diameter_mm", "beam_plies")
    left = metric_solved(changed_in(model, job, piers, dict.fromkeys(keys)))
    units = OwnUnits(model)
    reads = (*GRID_READS, "sizes_blank")
    grid = grid_of(Reads(units.in_feet(left, reads)), piers, "metric", practical=True)
    designs = []
    for place in np.ndindex(*grid.shape):
        design = grid.design(place)
        wide = design.footing_in or at(left, "pier_diameter_mm", piers) / 25.4
        cells = {"footing_diameter_mm": round(wide * 25.4, 6), "beam_plies": design.plies}
        designs.append(cells)
    totals: list[tuple[float, bool]] = []
    for start in range(0, len(designs), len(OPTION_KEYS)):
        some = designs[start : start + len(OPTION_KEYS)]
        values = metric_solved(in_columns(model, job, piers, some))
        totals += [_metric_total(values, option) for option in range(len(some))]
    passing = [total for total, fails in totals if not fails]
    if at(left, "default_fails", piers) == PASSES:
        assert at(left, "total_cost", piers) == pytest.approx(min(passing), abs=0.005)
        assert at(left, "default_proven", piers) == 1
    else:
        assert not passing
    assert at(left, "default_designs", piers) == len(totals)


def _metric_total(values: Mapping[str, Any], option: int) -> tuple[float, bool]:
    fails = any(at(values, k, option).startswith("FAIL") for k in CHECKS)
    return at(values, "total_cost", option), fails


def in_columns(
    model: Model, job: TypedJob, option: int, changes: Sequence[Mapping[str, Any]]
) -> TypedJob:
    """The job with that option alone, in as many columns as there are changes of its cells."""
    new = {cell: v for cell, v in job.cells.items() if not model.quantities[cell[0]].by_option}
    for column, cells in enumerate(changes):
        alone = changed_in(model, job, option, cells).cells
        new |= {
            (key, column): v for (key, _), v in alone.items() if model.quantities[key].by_option
        }
    new["siting_wanted", 0] = "no"  # no total rests on the search for a place
    return TypedJob(new, job.where)


def changed_in(model: Model, job: TypedJob, option: int, cells: Mapping[str, Any]) -> TypedJob:
    """The job with that option alone, some of its cells changed."""
    new = {
        (key, place): value
        for (key, place), value in job.cells.items()
        if not (model.quantities[key].by_option and place != option)
    }
    for key, value in cells.items():
        new[key, option] = value
    return TypedJob({k: v for k, v in new.items() if v is not None}, job.where)


def test_options_searched_together_take_what_each_takes_alone() -> None:
    kinds = (FRAMED, OPEN, PIERS, BLOCKS, PIERS)
    blank = dict.fromkeys(TYPED.values())
    more = ({}, {}, {}, {}, {"pier_diameter_in": 12})
    together = solved(
        with_options(
            on_flat(demo()),
            {o: {"option_kind": k, **PINE, **blank, **more[o]} for o, k in enumerate(kinds)},
        )
    )
    for option, kind in enumerate(kinds):
        alone = solved(one_option(kind, on_flat(demo()), **PINE, **blank, **more[option]))
        for key in ("suggested_text", "suggested_how", "total_cost"):
            assert at(together, key, option) == at(alone, key)


def test_footings_are_suggested_with_the_piers_that_stand_on_them() -> None:
    # As they stood at 16 in, piers had to be many where larger footings make do with fewer.
    blank = dict.fromkeys(("support_rows", "supports_per_row"))
    soft = changed(on_flat(demo()), soil="clay")
    fixed = solved(one_option(PIERS, soft, **PINE, **blank, footing_diameter_in=16))
    free = solved(one_option(PIERS, soft, **PINE, **blank, footing_diameter_in=None))
    assert at(free, "default_fails") == PASSES
    assert at(free, "footing_diameter_used_in") > 16
    assert at(free, "support_count") < at(fixed, "support_count")
    assert at(free, "suggested_text").endswith(
        f"footings of {at(free, 'footing_diameter_used_in'):g} in"
    )


def test_a_straight_pier_is_typed_as_wide_as_the_pier() -> None:
    values = solved(one_option(PIERS, pier_diameter_in=12, footing_diameter_in=12))
    assert at(values, "footing_used_in") == 0
    assert at(values, "footing_diameter_used_in") == 0


@pytest.mark.parametrize(
    ("kind", "blank", "limit"),
    [
        (FRAMED, ("joist_stock",), {"practical_joist_in": 7.25}),
        (OPEN, ("skid_count",), {"practical_skids_ft": 5}),
        (BLOCKS, ("support_rows", "supports_per_row"), {"practical_bay_ft": 6}),
    ],
)
def test_what_is_impractical_is_suggested_only_where_nothing_else_passes(
    kind: str, blank: tuple[str, ...], limit: dict[str, float]
) -> None:
    cells = CHOSEN | PINE | dict.fromkeys(blank)
    values = solved(one_option(kind, changed(on_flat(demo()), **limit), **cells))
    key, least = next(iter(limit.items()))
    is_now = {
        "practical_joist_in": at(values, "joist_depth_in"),
        "practical_skids_ft": at(values, "building_width_ft")
        / max(at(values, "skid_count_used") - 1, 1),
        "practical_bay_ft": min(at(values, "bay_along_ft"), at(values, "bay_across_ft")),
    }[key]
    assert (is_now >= least) == (at(values, "default_fails") == PASSES)
    assert ("none that is practical" in at(values, "suggested_how")) == (
        at(values, "default_fails") == IMPRACTICAL
    )


def test_labour_counts() -> None:
    blank = dict.fromkeys(("joist_stock", "joist_spacing_in", "skid_count"))
    job = changed(on_flat(demo()), wage_per_h=0)
    dear = changed(on_flat(demo()), wage_per_h=500)
    free_hours = at(solved(one_option(FRAMED, job, **PINE, **blank)), "work_hours")
    dear_hours = at(solved(one_option(FRAMED, dear, **PINE, **blank)), "work_hours")
    assert dear_hours <= free_hours


def test_a_size_without_a_price_is_not_suggested() -> None:
    keys = {str(v): p for (k, p), v in demo().cells.items() if k == "item_key"}
    stock = {p: v for (k, p), v in demo().cells.items() if k == "item_stock"}
    before = solved(one_option(FRAMED, on_flat(demo()), **PINE, joist_stock=None))
    joist = at(before, "joist_stock_used")
    lines = {key: 0.0 for key, place in keys.items() if stock.get(place) == joist}
    unpriced = priced(on_flat(demo()), **lines)
    after = solved(one_option(FRAMED, unpriced, **PINE, joist_stock=None))
    assert at(after, "joist_stock_used") != joist
    assert at(after, "default_proven") == 1


@pytest.mark.slow
def test_what_is_suggested_passes_or_the_sheet_says_that_nothing_does() -> None:
    """All that can be left blank, in random jobs over all kinds; SUGGESTED_JOBS sets how many."""
    asked = int(os.environ.get("SUGGESTED_JOBS", "16"))
    kinds, done = set(), 0
    for number, job in enumerate(drawn_jobs(23, asked, most_options=1)):
        option = next(at for (key, at), v in job.cells.items() if key == "option_kind" and v)
        cells = {c: v for c, v in job.cells.items() if c[1] != option or c[0] not in TYPED.values()}
        if cells["option_kind", option] in PADS:  # every other one of each kind of pad
            cells["option_kind", option] = (FRAMED, OPEN)[number % 2]
        try:
            values = solved_whole(RandomJob(cells, job.where))
        except SolveError:
            continue
        done += 1
        kinds.add(at(values, "option_kind", option))
        if at(values, "sizes_blank", option) == 0:  # a kind without sizes to suggest
            assert at(values, "option_kind", option) in FLOORS
            continue
        fails = {k for k in CHECKS if at(values, k, option).startswith("FAIL")}
        if at(values, "default_fails", option) == NONE_PASSES:
            assert fails
            assert at(values, "check_suggestion", option).startswith("LOOK: nothing on offer")
        else:
            assert at(values, "default_passing", option) >= 1
            assert not fails & DECIDED
    assert done > asked / 2
    assert len(kinds) == len(KIND_NAMES)


DECIDED = {
    "check_bearing",
    "check_joists",
    "check_end_line",
    "check_overhang",
    "check_skids",
    "check_beams",
}
"""Checks that the sizes decide."""


@settings(max_examples=6, deadline=None)
@given(pooled_jobs())
def test_a_verdict_is_whether_the_text_says_fail(job: TypedJob) -> None:
    model, values = build_model(), solved_or_skipped(job)
    for key in CHECKS:
        item = model.quantities[key]
        told = retrace(verdict(model.expressions[key]), {k: values[k] for k in item.reads})
        told = np.broadcast_to(np.asarray(told, dtype=float), (len(OPTION_KEYS), 1))
        for option in used(values):
            assert (told[option, 0] > 0) == at(values, key, option).startswith("FAIL"), key


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(60, 1500), st.integers(1, 9)),
        min_size=1,
        max_size=5,
        unique_by=lambda p: p[0],
    ),
    st.lists(st.integers(400, 1700), min_size=3, max_size=3),
    st.sampled_from([0.0, 0.125]),
)
def test_boards_never_cost_less_than_their_bound(
    pieces: list[tuple[int, int]], prices: list[int], kerf: float
) -> None:
    lengths = (96.0, 144.0, 192.0)
    wanted = [(eighths / 8, count) for eighths, count in pieces]
    stocks = [Stock(f"{x:g}", x, p / 100) for x, p in zip(lengths, prices, strict=True)]
    plan = cut([Piece("p", size, n) for size, n in wanted], stocks, Saw(kerf))
    bound = least_cost(wanted, [(s.length_in, s.price) for s in stocks], kerf)
    assert 0 < bound <= plan.cost + 1e-9


def test_the_bound_of_one_size_is_the_board_that_gives_it_cheapest() -> None:
    # 47 in: two from 96 in at $6, four from 192 in at $11: 2.75 each.
    assert least_cost([(47.0, 8)], [(96.0, 6.0), (192.0, 11.0)], 0.125) == pytest.approx(22.0)
    assert least_cost([(193.0, 1)], [(96.0, 6.0)], 0.0) == np.inf
    assert least_cost([], [(96.0, 6.0)], 0.0) == 0.0


def test_kinds_on_supports_and_piers_have_more_to_suggest() -> None:
    for kind in KIND_NAMES:
        cells = dict.fromkeys(TYPED.values())
        values = solved(one_option(kind, on_flat(demo()), **cells))
        blank = int(at(values, "sizes_blank"))
        assert bool(blank & 64) == (kind in SUPPORTS)
        assert bool(blank & 32) == (kind in ON_PIERS)
