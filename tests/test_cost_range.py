"""The range of cost, hours, stone and soil, the chance to be cheapest, and what drives the cost."""

from __future__ import annotations

import math
import os
from collections.abc import Callable, Mapping
from functools import cache
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from jobs import at, block, changed, demo, drawn_jobs, on_flat, solved, used, with_options

from estimator.engine import Declared
from estimator.errors import SolveError, SurveyError
from estimator.evaluation import evaluate
from estimator.gather import contributed
from estimator.inputs import TypedJob
from estimator.model import build_model
from estimator.model.adds import TRADES, Hours, Need
from estimator.model.cost.outlook import DRIVERS
from estimator.model.kinds import FRAMED, OPEN, PIERS, SLAB
from estimator.model.prices import CATEGORIES
from estimator.model.solvers.cost_range import Spreads, drawn, spreads_of
from estimator.model.solvers.lot import SURVEY_READS
from estimator.model.solvers.own_units import OwnUnits
from estimator.model.solvers.range_rows import DECIDED, Lines, RangeRows
from estimator.model.solvers.reads import Reads
from estimator.model.solvers.scenarios import Cases, Scenarios
from estimator.model.solvers.survey_grounds import ERROR_READS, ERRORS, reading_errors
from estimator.model.solvers.trial import Rows
from estimator.model.spreads import (
    COMPACTION,
    CONCRETE,
    CREW,
    GROUND,
    HOURS_OF,
    PRICES_TOGETHER,
    SHRINK,
    STRIPPING,
    SURVEY,
    SWELL,
    THINGS,
    WASTE,
)
from estimator.solve.shoulders import slope_stone, slopes_stone
from estimator.solve.surface import fit_ground, fit_grounds
from estimator.solve.volumes import balanced_height, clip, cut_ft3
from estimator.typed_job import read_inputs

Known = Mapping[str, Any]
ONE = np.ones((1, len(THINGS)))
SURVEYED = {"rod_error_in": 0.0, "setup_error_in": 0.0}
"""Readings and set-ups that are certain."""
LEVELS = ("low", "middle", "high")
CERTAIN = {
    **{"spread_low": ONE, "spread_high": ONE, "item_low": 0.0, "item_high": 0.0},
    **SURVEYED,
}
NOT_ON_TOP = {"tax_share": 0.0, "overhead_share": 0.0, "profit_share": 0.0}


@cache
def known() -> Known:
    return solved(demo())


def ranged(before: Known, typed_over: Any = None, /, **values: Any) -> Known:
    """What the solver of the range answers, with other values of what it reads."""
    solver = build_model().solvers["range"]
    read = {key: np.asarray(before[key]) for key in solver.reads}
    for key, value in values.items():
        read[key] = np.broadcast_to(value, read[key].shape)
    return solver.function(Declared("range", read, typed_over))


def changed_known(values: Known, **others: float) -> Known:
    """What is known, with other numbers of the job."""
    return {
        **values,
        **{key: np.full_like(np.asarray(values[key]), v) for key, v in others.items()},
    }


def spread(**factors: tuple[float, float]) -> dict[str, Any]:
    """All certain but these things, by their place among all."""
    low, high = ONE.copy(), ONE.copy()
    for thing, (least, most) in factors.items():
        low[0, THINGS.index(thing)], high[0, THINGS.index(thing)] = least, most
    return CERTAIN | {"spread_low": low, "spread_high": high}


@cache
def _rows() -> RangeRows:
    model = build_model()
    tasks = contributed(model.sheets, Hours)
    lines = Lines(
        tuple((task.line("task"), task.quantity, task.trade) for task in tasks),
        tuple((n.line("need"), n.line("need_item")) for n in contributed(model.sheets, Need)),
    )
    return RangeRows(Rows(model.quantities, model.stacks), lines, OwnUnits())


def scenarios(values: Known, surveys: int = 0) -> Scenarios:
    model = build_model()
    read = {key: values[key] for key in model.solvers["range"].reads}
    declared = Declared("range", read)
    return Scenarios(_rows(), model, declared, used(values), surveys=surveys, seed=1)


def case(items: int, **other: Any) -> Cases:
    """One case in which nothing is off but what is given."""
    plain = {
        "ground": np.ones((1, len(GROUND))),
        "survey": np.zeros(1, dtype=np.intp),
        "at": np.zeros(1, dtype=np.intp),
        "together": np.ones((1, len(PRICES_TOGETHER))),
        "own": np.ones((1, items)),
        "hours": np.ones((1, len(TRADES))),
    }
    return Cases(**(plain | other))


def test_every_category_of_the_price_book_moves_with_one_group() -> None:
    named = [category for group in PRICES_TOGETHER.values() for category in group]
    assert sorted(named) == sorted(CATEGORIES)


# --- nothing uncertain ---


def test_without_any_spread_every_quantile_is_the_estimate_to_the_cent() -> None:
    found = ranged(known(), **CERTAIN)
    for option in used(known()):
        for key in ("total_low", "total_middle", "total_high"):
            assert found[key][option, 0] == at(known(), "before_contingency", option)
        assert found["level_hours"][option] == pytest.approx(at(known(), "work_hours", option))
        for key in ("stone_order_yd3", "soil_moved_yd3"):
            level = found[f"level_{key.split('_')[0]}_yd3"][option]
            assert level == pytest.approx(at(known(), key, option), abs=1e-6)
        assert found["total_covers"][option, 0] == 1
        assert found["contingency_needed"][option, 0] == 0
        cheapest = at(known(), "is_cheapest", option)
        assert found["chance_cheapest"][option, 0] == cheapest
    assert (found["drive_thing"] == "").all()
    assert (found["gap_thing"] == "").all()
    tried = scenarios(known())
    certain = Spreads(ONE[0], ONE[0], np.ones(len(tried.names)), np.ones(len(tried.names)))
    every = tried.outcome(drawn(certain, tried.costs, 0, 500, 50, 1)).expected
    assert (every == [at(known(), "before_contingency", option) for option in used(known())]).all()


def test_the_same_job_has_the_same_range_each_time() -> None:
    one, other = scenarios(known(), 16), scenarios(known(), 16)
    cases = drawn(spreads_of(Reads(known())), one.costs, 16, 2000, 64, 1)
    again = drawn(spreads_of(Reads(known())), other.costs, 16, 2000, 64, 1)
    assert np.array_equal(one.outcome(cases).expected, other.outcome(again).expected)


# --- closed forms ---


def test_the_pace_of_the_crew_alone_ranges_as_reckoned_by_hand() -> None:
    """Hours 0.8 to 1.4 about the estimate: one draw in ten below 0.8 + sqrt(0.1 x 0.6 x 0.2) =
    0.9095 of the labour, one in ten above 1.4 - sqrt(0.1 x 0.6 x 0.4) = 1.2451, half above
    1.4 - sqrt(0.5 x 0.6 x 0.4) = 1.0536."""
    values = _without_on_top()
    found = ranged(values, **spread(**{CREW: (0.8, 1.4)}))
    option = next(o for o in used(values) if at(values, "digger_days", o) == 0)
    labour = at(values, "labour_cost", option)
    rest = at(values, "before_contingency", option) - labour
    for key, factor in (("total_low", 0.9095), ("total_middle", 1.0536), ("total_high", 1.2451)):
        assert found[key][option, 0] == pytest.approx(rest + labour * factor, rel=2e-3)
    hours = at(values, "work_hours", option)
    assert found["level_hours"][option] == pytest.approx(
        np.array([0.9095, 1.0536, 1.2451]) * hours, rel=1e-3
    )


@cache
def _without_on_top() -> Known:
    """The known job with neither tax nor overhead nor profit, so that its cost is a plain sum."""
    model = build_model()
    held = {key: known()[key] for key, q in model.quantities.items() if q.role == "solved"}
    return evaluate(model, read_inputs(model, changed(demo(), **NOT_ON_TOP)), solved=held)


def _prices(values: Known, together: tuple[float, float]) -> tuple[Scenarios, Spreads]:
    """Prices of items off by themselves, and those of all groups together; nothing else."""
    tried = scenarios(values)
    chance = np.random.default_rng(5)
    low, high = 1 - chance.random(len(tried.names)) / 3, 1 + chance.random(len(tried.names)) / 2
    off = spread(**dict.fromkeys(PRICES_TOGETHER, together))
    return tried, Spreads(off["spread_low"][0], off["spread_high"][0], low, high)


def _weights(values: Known, option: int) -> np.ndarray[Any, Any]:
    """What an option pays for each item, deliveries among them."""
    paid = np.array(values["item_cost"][option], dtype=float)
    names = list(np.asarray(values["item_name"])[0])
    for name, fee in zip(
        np.asarray(values["supplier_delivery"])[0], values["supplier_fee"][option], strict=True
    ):
        if name:
            paid[names.index(name)] += fee
    return paid


def _moments(low: Any, high: Any) -> tuple[Any, Any]:
    return (low + high + 1) / 3, (low**2 + high**2 + 1 - low * high - low - high) / 18


def test_independent_prices_add_up_to_the_mean_and_variance_of_their_sum() -> None:
    """Sum of c f: mean the sum of c E(f), variance the sum of c^2 Var(f): closed form."""
    values = _without_on_top()
    tried, spreads = _prices(values, (1.0, 1.0))
    expected = tried.outcome(drawn(spreads, _all_drawn(tried), 0, 20_000, 8, 3)).expected
    mean, variance = _moments(spreads.item_low, spreads.item_high)
    for column, option in enumerate(used(values)):
        weights = _weights(values, option)
        more = np.sum(weights * (mean - 1))
        found = expected[:, column] - at(values, "before_contingency", option)
        deviation = np.sqrt(np.sum(weights**2 * variance))
        assert np.mean(found) == pytest.approx(more, abs=4 * deviation / np.sqrt(20_000))
        assert np.std(found) == pytest.approx(deviation, rel=0.02)


def test_a_factor_in_common_makes_prices_rise_together() -> None:
    """Of f = c o with c in common: Cov(f, g) = Var(c) E(o) E(p); closed form."""
    values = _without_on_top()
    tried, spreads = _prices(values, (0.8, 1.3))
    cases = drawn(spreads, _all_drawn(tried), 0, 20_000, 8, 3)
    category = list(np.asarray(values["item_category"])[0])
    one, other = [n for n, each in enumerate(category) if each == "lumber"][:2]
    group = next(n for n, g in enumerate(PRICES_TOGETHER.values()) if "lumber" in g)
    f, g = (cases.own[:, n] * cases.together[:, group] for n in (one, other))
    own, own_variance = _moments(spreads.item_low, spreads.item_high)
    common, variance = _moments(0.8, 1.3)

    def deviation(n: int) -> float:
        whole = (variance + common**2) * (own_variance[n] + own[n] ** 2) - (common * own[n]) ** 2
        return float(np.sqrt(whole))

    correlation = variance * own[one] * own[other] / deviation(one) / deviation(other)
    assert 0.1 < correlation < 0.95
    assert np.corrcoef(f, g)[0, 1] == pytest.approx(correlation, abs=0.02)


def _all_drawn(tried: Scenarios) -> np.ndarray[Any, Any]:
    """Costs that leave no item undrawn."""
    return np.ones_like(tried.costs)


# --- against the whole model ---


def _whole(off: Callable[[TypedJob], TypedJob], **rows: float) -> Known:
    """The known job worked out whole with other inputs, rows scaled, and what was decided kept."""
    model, before = build_model(), known()
    held = {key: before[key] for key, q in model.quantities.items() if q.role == "solved"}
    over: dict[str, dict[tuple[int, int], Any]] = {}
    for key in (*DECIDED, *rows):
        value = np.asarray(before[key])
        over[key] = {
            (option, row): value[option, row] * rows.get(key, 1.0)
            if value.dtype.kind == "f"
            else str(value[option, row])
            for option in used(before)
            for row in range(value.shape[1])
        }
    return evaluate(model, read_inputs(model, off(demo())), solved=held, typed_over=over)


def _of(**factors: float) -> np.ndarray[Any, Any]:
    return np.array([[factors.get(thing, 1.0) for thing in GROUND]])


def _dearer(job: TypedJob) -> TypedJob:
    prices = {
        p: value * 1.1 for (key, p), value in job.cells.items() if key == "item_price" and value
    }
    return changed(job, item_price=prices)


def _deeper(job: TypedJob) -> TypedJob:
    return changed(job, strip_depth_in=job.cells["strip_depth_in", 0] * 1.3)


def _spilled(job: TypedJob) -> TypedJob:
    return changed(job, concrete_waste=(1 + job.cells["concrete_waste", 0]) * 1.2 - 1)


def _looser(job: TypedJob) -> TypedJob:
    shares = {
        key: {p: (1 + v) * 1.06 - 1 for (k, p), v in job.cells.items() if k == key}
        for key in ("compaction_share", "stone_waste_share")
    }
    return changed(job, **shares)


@pytest.mark.parametrize(
    ("off", "rows", "other"),
    [
        (lambda job: job, {"loose_per_bank": 1.1}, {"ground": _of(**{SWELL: 1.1})}),
        (lambda job: job, {"compacted_per_bank": 0.9}, {"ground": _of(**{SHRINK: 0.9})}),
        (_looser, {}, {"ground": _of(**{COMPACTION: 1.06, WASTE: 1.06})}),
        (_deeper, {}, {"ground": _of(**{STRIPPING: 1.3})}),
        (_spilled, {}, {"ground": _of(**{CONCRETE: 1.2})}),
        (_dearer, {}, {"together": np.full((1, len(PRICES_TOGETHER)), 1.1)}),
    ],
    ids=["swell", "shrink", "compaction and waste", "stripping", "concrete", "prices"],
)
def test_a_case_costs_what_the_whole_model_says(
    off: Callable[[TypedJob], TypedJob], rows: dict[str, float], other: dict[str, Any]
) -> None:
    values = _whole(off, **rows)
    tried = scenarios(known())
    found = tried.outcome(case(len(tried.names), **other))
    for column, option in enumerate(used(known())):
        cost = at(values, "before_contingency", option)
        # Items that a case leaves in their packs are not rounded one by one.
        assert found.expected[0, column] == pytest.approx(cost, abs=0.25)
        assert found.hours[0, column] == pytest.approx(at(values, "work_hours", option))
        assert found.stone[0, column] == pytest.approx(at(values, "stone_order_yd3", option))
        assert found.soil[0, column] == pytest.approx(at(values, "soil_moved_yd3", option))


def test_slower_stone_keeps_a_hired_plate_longer() -> None:
    """Hours of stone at 40 times the estimate: its wage, and the hire of whole days of a plate."""
    values = _without_on_top()
    tried = scenarios(values)
    hours = np.ones((1, len(TRADES)))
    hours[0, TRADES.index("stone")] = 40.0
    found = tried.outcome(case(len(tried.names), hours=hours))
    plate = list(values["item_key"][0]).index("compactor_day")
    hired = 0
    for column, option in enumerate(used(values)):
        assert at(values, "digger_days", option) == 0, "else its hire would change too"
        worked = at(values, "compact_hours", option) + at(values, "stone_fill_hours", option)
        days = at(values, "plate_days", option)
        longer = np.ceil(40 * worked / at(values, "day_hours")) - days if days else 0
        wage = 39 * values["trade_hours_of"][option][TRADES.index("stone")]
        more = wage * at(values, "wage_per_h") + longer * values["item_paid"][0][plate]
        estimate = at(values, "before_contingency", option)
        assert found.expected[0, column] - estimate == pytest.approx(more, abs=0.02)
        hired += longer
    assert hired > 0


# --- the survey ---

SIZED: dict[int, dict[str, Any]] = {
    0: {"option_kind": FRAMED, "joist_stock": "2x8 treated"},
    1: {"option_kind": OPEN, "joist_stock": "2x8 treated", "height_mode": "balanced"},
    2: {"option_kind": PIERS},
    3: {"option_kind": SLAB},
}


@cache
def _sized() -> tuple[TypedJob, Known]:
    job = with_options(demo(), SIZED)
    return job, solved(job)


def _read_again(job: TypedJob, off: Mapping[str, np.ndarray[Any, Any]]) -> TypedJob:
    """The job with the readings of a survey, and the heights of its set-ups, off by so much."""
    moved = {
        "point_reading_ft": "point_reading_ft",
        "setup_instrument_ft": "setup_rise_ft",
        "setup_backsight_ft": "setup_rise_ft",
    }
    return changed(
        job,
        **{
            key: {
                place: value + off[by][place]
                for (of, place), value in job.cells.items()
                if of == key and isinstance(value, (int, float))
            }
            for key, by in moved.items()
        },
    )


@pytest.mark.slow
def test_a_drawn_survey_costs_what_a_job_with_those_readings_does() -> None:
    """To the cent but for rounding of single items, and for boards, which the saw plans anew for a
    job: of timbers a few dollars, and those of a step more or fewer at the door."""
    boards = {FRAMED: 8, PIERS: 25}
    job, values = _sized()
    read = {key: values[key] for key in ERROR_READS}
    off = reading_errors(dict.fromkeys(ERRORS, 0.6), read, 4, 1)
    tried = scenarios(changed_known(values, rod_error_in=0.6, setup_error_in=0.6), 4)
    moved = dict.fromkeys(used(values), 0.0)
    for survey in (2, 4):  # in the first of them piers take a step more
        of_it = {key: each[survey - 1, 0] for key, each in off.items()}
        other = solved(_read_again(job, of_it))
        found = tried.outcome(case(len(tried.names), survey=np.full(1, survey)))
        for column, option in enumerate(used(values)):
            cost = at(other, "before_contingency", option)
            most = boards.get(str(at(values, "option_kind", option)), 0.1)
            assert found.expected[0, column] == pytest.approx(cost, abs=most)
            by = abs(cost - at(values, "before_contingency", option))
            moved[option] = max(moved[option], by)
            hours = at(other, "work_hours", option)
            assert found.hours[0, column] == pytest.approx(hours, abs=0.05)
            assert found.stone[0, column] == at(other, "stone_order_yd3", option)
            soil = at(other, "soil_moved_yd3", option)
            assert found.soil[0, column] == pytest.approx(soil, rel=1e-4)
    assert min(moved.values()) > 0.5


@pytest.mark.slow
@pytest.mark.parametrize("lot", [lambda job: job, on_flat], ids=["known", "flat"])
def test_readings_off_by_a_hair_leave_the_estimate(lot: Callable[[TypedJob], TypedJob]) -> None:
    """Of readings in one plane, too, where the surface of the estimate leaves most of them out."""
    values = solved(with_options(lot(demo()), {o: SIZED[o] for o in (0, 1, 3)}))
    found = ranged(values, **(CERTAIN | dict.fromkeys(ERRORS, 1e-5)))
    for option in used(values):
        for level in LEVELS:
            total = found[f"total_{level}"][option, 0]
            assert total == pytest.approx(at(values, "before_contingency", option), abs=0.02)


@pytest.mark.slow
def test_what_is_typed_over_the_ground_or_a_frame_stays_on_every_drawn_survey() -> None:
    job, model = _sized()[0], build_model()
    over: dict[str, Any] = {
        **{"triangle_low_ft": {(0, 3): 99.0}, "support_ground_ft": {(2, 1): 98.0}},
        **{"trench_ft3": {(0, 0): 50.0}, "timber_run_ft": {(0, 0): 90.0}},
        **{"top_ft": {(1, 0): 100.2}, "ground_high_ft": {(2, 0): 101.0}},
    }
    values = evaluate(model, read_inputs(model, job), typed_over=over)
    for errors in (SURVEYED, dict.fromkeys(ERRORS, 1e-5)):
        found = ranged(values, over, **(CERTAIN | errors))
        for option in used(values):
            cost = at(values, "before_contingency", option)
            assert found["total_low"][option, 0] == pytest.approx(cost, abs=0.02)
            assert found["total_high"][option, 0] == pytest.approx(cost, abs=0.02)


def test_readings_all_off_alike_move_no_base_that_is_set_out_from_the_ground() -> None:
    job = with_options(demo(), {0: {"option_kind": PIERS}, 1: {"option_kind": OPEN}})
    job = changed(job, setup_backsight_ft={1: None}, setup_foresight_ft={1: None})
    job = changed(job, point_setup=dict.fromkeys(range(60)), setup_name={1: None})
    values = solved(changed(job, rod_error_in=0.0, setup_error_in=2.0))
    assert SURVEY not in list(block(values, "drive_thing"))
    height = {"height_mode": {1: "by hand"}, "hand_height_ft": {1: at(values, "top_ft", 1)}}
    held = solved(changed(job, **height, rod_error_in=0.0, setup_error_in=2.0))
    assert held["level_soil_yd3"][1, 0] < values["level_soil_yd3"][1, 0]
    assert held["level_soil_yd3"][1, 2] > values["level_soil_yd3"][1, 2]


@given(st.integers(0, 2**31), st.integers(4, 12))
@settings(max_examples=20, deadline=None)
def test_many_surfaces_over_the_same_places_are_those_fitted_one_by_one(
    seed: int, count: int
) -> None:
    chance = np.random.default_rng(seed)
    places = chance.uniform(0, 40, (count, 2)) if seed % 2 else chance.integers(0, 4, (30, 2)) * 8.0
    places = np.unique(places, axis=0)
    assume(len(places) > 3 and np.linalg.matrix_rank(places - places.mean(axis=0)) == 2)
    heights = chance.normal(100, 1, (3, len(places)))
    grounds = fit_grounds(places, heights)
    corners = np.array([(-4.0, 5.0), (20.0, 1.0), (22.0, 13.0), (-2.0, 17.0)])
    spots = chance.uniform(-5, 45, (40, 2))
    patch = clip(grounds, corners)
    level = heights.mean(axis=1)
    for n in range(3):
        try:
            alone = fit_ground(places, heights[n], [str(k) for k in range(len(places))])
        except SurveyError:
            assume(False)
        assert grounds.at(spots)[0][n] == pytest.approx(alone.at(spots)[0], abs=1e-6)
        one = clip(alone, corners)
        assert cut_ft3(patch, level)[n] == pytest.approx(cut_ft3(one, level[n]), rel=1e-7, abs=1e-6)
        assert patch.high_ft[n].max() == pytest.approx(one.highest_ft)
        assert balanced_height(patch, 0.9)[n] == pytest.approx(balanced_height(one, 0.9), abs=1e-7)
        slopes = slopes_stone(grounds, corners, level, 0.2, 1.5)
        exact = slope_stone(alone, corners, level[n], 0.2, 1.5)
        if n == 0:  # by whose rays all are followed
            assert slopes.stone_ft3[n] == pytest.approx(exact.stone_ft3, rel=1e-6, abs=1e-6)


def test_a_slab_balances_on_many_grounds_as_on_each() -> None:
    one = {"height_mode": "balanced", "fill_with": "soil"}
    values = solved(with_options(demo(), {0: {"option_kind": SLAB, **one}, 1: {**one}}))
    solver = build_model().solvers["balance"]
    read = {key: np.asarray(values[key]) for key in solver.reads}
    chance = np.random.default_rng(3)
    heights = {
        key: read[key] + chance.normal(0, 0.1, (6, *read[key].shape)) for key in SURVEY_READS[3::4]
    }
    many = solver.function(Declared("balance", read | heights))["balanced_ft"]
    assert np.ptp(many[:, 0, 0]) > 0.01
    for n, level in enumerate(many):
        here = {key: height[n] for key, height in heights.items()}
        alone = solver.function(Declared("balance", read | here))["balanced_ft"]
        assert level == pytest.approx(alone, abs=1e-9)


# --- decisions, contingency, chances ---


def test_what_is_typed_over_stays_in_every_draw() -> None:
    option = used(known())[0]
    estimate = at(known(), "before_contingency", option)
    labour = {"labour_cost": {(option, 0): at(known(), "labour_cost", option)}}
    assert at(known(), "digger_days", option) == 0, "else its hire would range with the hours"
    alone = spread(**{HOURS_OF[TRADES.index("carpentry")]: (0.5, 1.5)})
    free, held = ranged(known(), **alone), ranged(known(), labour, **alone)
    assert free["total_low"][option, 0] < estimate < free["total_high"][option, 0]
    assert held["total_low"][option, 0] == held["total_high"][option, 0] == estimate
    assert held["level_hours"][option, 2] > at(known(), "work_hours", option)


def test_a_wider_range_of_prices_never_gives_a_lower_high() -> None:
    price = np.asarray(known()["item_price"])
    near = ranged(known(), item_high=price * 1.1)
    far = ranged(known(), item_high=price * 1.8)
    assert (far["total_high"] >= near["total_high"]).all()
    assert (far["total_covers"] <= near["total_covers"]).all()
    assert (far["contingency_needed"] >= near["contingency_needed"]).all()


@pytest.mark.parametrize("times", [0.2, 3.0])
def test_prices_typed_without_their_low_and_high_leave_the_estimate_inside_its_range(
    times: float,
) -> None:
    """What the book said of another price, above or below the new one, says nothing of this."""
    prices = {
        place: float(price) * times
        for (key, place), price in demo().cells.items()
        if key == "item_price" and price
    }
    values = solved(changed(demo(), item_price=prices))
    for option in used(values):
        assert at(values, "range_says", option) == "inside"


@pytest.mark.slow
def test_in_random_jobs_the_estimate_lies_in_its_range_or_the_sheet_says_why_not() -> None:
    """With the environment variable RANGE_JOBS, in as many jobs."""
    seen = 0
    for job in drawn_jobs(5, int(os.environ.get("RANGE_JOBS", "3")), most_options=3):
        values = solved(job)
        try:
            options = used(values)
            said = [str(at(values, "range_says", option)) for option in options]
        except SolveError:
            continue
        for option, says in zip(options, said, strict=True):
            low, middle, high = (at(values, f"total_{key}", option) for key in LEVELS)
            assert 0 < low <= middle <= high < math.inf
            estimate = at(values, "before_contingency", option)
            word = "below low" if estimate < low else "above high" if estimate > high else "inside"
            assert says.startswith(word)
            assert says == "inside" or ": most that is uncertain can cost " in says
            seen += 1
    assert seen > 0


def test_a_total_with_more_set_aside_is_enough_for_no_fewer_draws() -> None:
    before = np.nan_to_num(known()["before_contingency"])
    shares = [
        ranged(known(), total_cost=before * (1 + share))["total_covers"][0, 0]
        for share in (0, 0.05, 0.5)
    ]
    assert shares == sorted(shares)
    assert shares[-1] == 1


def test_the_contingency_that_8_draws_in_10_need_covers_them() -> None:
    found = ranged(known())
    before = np.nan_to_num(known()["before_contingency"])
    again = ranged(known(), total_cost=before * (1 + found["contingency_needed"]) + 0.01)
    for option in used(known()):
        assert again["total_covers"][option, 0] == pytest.approx(0.8, abs=0.001)


def test_chances_to_be_cheapest_add_up_over_the_options_that_pass() -> None:
    assert np.sum(ranged(known())["chance_cheapest"]) == pytest.approx(1)
    cheapest = int(at(known(), "cheapest_no")) - 1
    passes = np.array(known()["option_passes"])
    passes[cheapest] = 0
    found = ranged(known(), option_passes=passes)["chance_cheapest"]
    assert found[cheapest, 0] == 0
    assert np.sum(found) == pytest.approx(1)


# --- what drives it ---


def test_drivers_are_those_that_move_the_chosen_option_most_the_largest_first() -> None:
    found = ranged(known())
    assert found["drive_thing"].shape == (1, DRIVERS)
    swing = np.abs(found["drive_high"] - found["drive_low"])[0]
    assert list(swing) == sorted(swing, reverse=True)
    assert len(set(found["drive_thing"][0])) == DRIVERS


def test_the_crew_moves_the_chosen_option_by_its_labour() -> None:
    values = _without_on_top()
    found = ranged(values, **spread(**{CREW: (0.9, 1.2)}))
    chosen = int(at(values, "chosen_no")) - 1
    assert list(found["drive_thing"][0][:2]) == [CREW, ""]
    labour = at(values, "labour_cost", chosen)
    assert found["drive_low"][0, 0] == pytest.approx(-0.1 * labour, abs=0.02)
    assert found["drive_high"][0, 0] == pytest.approx(0.2 * labour, abs=0.02)


def test_a_price_moves_the_difference_by_what_each_of_two_options_buys() -> None:
    values = _without_on_top()
    first, following = (int(at(values, key)) - 1 for key in ("cheapest_no", "next_no"))
    cost = np.asarray(values["item_cost"])
    material = np.asarray(values["item_brought_no"])[0] > 0
    item = int(np.argmax(np.abs(cost[following] - cost[first]) * material))
    high = np.zeros_like(np.asarray(values["item_price"]))
    high[0, item] = values["item_price"][0][item] * 1.5
    found = ranged(values, **(CERTAIN | {"item_high": high}))
    assert found["gap_thing"][0][0] == f"price: {values['item_name'][0][item]}"
    more = 0.5 * (cost[following, item] - cost[first, item])
    assert found["gap_high"][0, 0] == pytest.approx(more, abs=0.011)
    assert found["gap_low"][0, 0] == 0


def test_where_no_other_option_passes_there_is_no_difference_to_drive() -> None:
    found = ranged(known(), next_no=0.0)
    assert (found["gap_thing"] == "").all()
    assert np.isnan(found["gap_low"]).all()
