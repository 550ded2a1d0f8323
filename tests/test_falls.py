"""Totals against fall: the lot's own shape, steeper or flatter, every option worked out anew."""

from __future__ import annotations

import dataclasses
import math
from functools import cache
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jobs import at, block, changed, demo, on_flat, on_ground, one_option, with_options

from estimator.engine import Declared
from estimator.errors import SolveError
from estimator.evaluation import evaluate
from estimator.inputs import TypedJob
from estimator.metric import metric
from estimator.model import build_model
from estimator.model.falls import STEPS, TOTALS, TURNS
from estimator.model.kinds import BLOCKS, FRAMED, OPEN, PIERS, SLAB
from estimator.model.solvers.fall_totals import Grounds, _trial, _trial_of, _turns
from estimator.model.solvers.fall_words import (
    FallSteps,
    cheapest_told,
    passes_told,
    turns_told,
)
from estimator.model.solvers.lot import SURVEY_READS
from estimator.model.solvers.own_units import OwnUnits
from estimator.model.solvers.reads import Reads
from estimator.model.solvers.trial import Rows
from estimator.solve.falls import LEAST_SHAPE_FT, Falls
from estimator.solve.surface import Ground, fit_ground
from estimator.solve.volumes import clip
from estimator.typed_job import read_inputs
from estimator.wording import as_said

FOOTPRINT = np.array([(6.0, 5.0), (21.0, 8.0), (19.4, 16.0), (4.4, 13.0)])
"""15.3 ft long and 8.2 ft wide, turned."""
PLACES = np.array([(x, y) for x in (0.0, 12.0, 25.0) for y in (0.0, 9.0, 20.0)])


def surface(heights: Any) -> Ground:
    return fit_ground(PLACES, heights, [f"P{n}" for n in range(len(PLACES))])


def fall_ft(heights: Any) -> float:
    patch = clip(surface(heights), FOOTPRINT)
    return patch.highest_ft - patch.lowest_ft


# --- the ground ---


@settings(max_examples=25, deadline=None)
@given(
    heights=st.lists(st.floats(97, 103), min_size=9, max_size=9),
    fall=st.floats(0, 4),
)
def test_ground_at_another_fall_falls_by_so_much_under_the_building(
    heights: list[float], fall: float
) -> None:
    falls = Falls(surface(heights), FOOTPRINT)
    found = falls.heights_ft(PLACES, heights, [fall])[0]
    if falls.own_ft >= LEAST_SHAPE_FT:
        assert fall_ft(found) == pytest.approx(fall, abs=1e-7 * (1 + np.ptp(found)))
    assert clip(surface(found), FOOTPRINT).highest_ft == pytest.approx(
        falls.high_ft, abs=1e-7 * (1 + np.ptp(found))
    )


def test_a_lot_keeps_its_shape_and_at_its_own_fall_it_is_itself() -> None:
    heights = np.array([100.0, 100.3, 99.8, 99.5, 99.9, 99.2, 98.8, 99.1, 98.5])
    falls = Falls(surface(heights), FOOTPRINT)
    own, twice = falls.heights_ft(PLACES, heights, [falls.own_ft, 2 * falls.own_ft])
    assert own == pytest.approx(heights)
    assert np.diff(twice) == pytest.approx(2 * np.diff(heights))


@pytest.mark.parametrize(("tip", "low"), [(0.0, (21.0, 8.0)), (-0.004, (6.0, 5.0))])
def test_a_lot_that_falls_under_an_inch_is_tilted_along_the_building(
    tip: float, low: tuple[float, float]
) -> None:
    """A plane has its whole fall between the corners of the front; none from front to back."""
    heights = 100 - tip * PLACES[:, 0]
    falls = Falls(surface(heights), FOOTPRINT)
    assert falls.own_ft < LEAST_SHAPE_FT
    tilted = surface(falls.heights_ft(PLACES, heights, [2.0])[0])
    corner, _ = tilted.at(FOOTPRINT)
    assert corner[0] == pytest.approx(corner[3])
    assert corner[1] == pytest.approx(corner[2])
    assert tilted.at([low])[0][0] == pytest.approx(falls.high_ft - 2)
    assert corner.max() == pytest.approx(falls.high_ft)


# --- in words ---

NAMES, LETTERS = {0: "A (framed pad)", 2: "C (piers)"}, {0: "A", 2: "C"}


def steps_of(pads: list[float | None], piers: list[float | None]) -> FallSteps:
    steps = FallSteps([0, 2])
    steps.take(
        {
            n: {0: math.nan if a is None else a, 2: math.nan if c is None else c}
            for n, (a, c) in enumerate(zip(pads, piers, strict=True))
        }
    )
    return steps


@pytest.mark.parametrize(
    ("pads", "piers", "short", "turns"),
    [
        ([5, 5, 5], [9, 9, 9], "A to 2 in", []),
        (
            [5, 7, 9],
            [6, 6, 6],
            "A to 0 in, C to 2 in",
            ["at 1 in C (piers) overtakes A (framed pad)"],
        ),
        (
            [5, 5, None],
            [6, 6, 6],
            "A to 1 in, C to 2 in",
            ["at 2 in A (framed pad) no longer passes, and C (piers) is cheapest"],
        ),
        (
            [5, None, None],
            [None, None, 7],
            "A to 0 in, none to 1 in, C to 2 in",
            ["from 1 in no option passes", "from 2 in C (piers) passes and is cheapest"],
        ),
        ([None] * 3, [None] * 3, "none to 2 in", []),
        ([5, 5, 5], [5, 5, 5], "A to 2 in", []),
    ],
)
def test_the_cheapest_is_told_and_every_fall_at_which_another_is(
    pads: list[float | None], piers: list[float | None], short: str, turns: list[str]
) -> None:
    steps = steps_of(pads, piers)
    assert as_said(cheapest_told(steps, LETTERS), "feet") == short
    assert [as_said(turn, "feet") for turn in turns_told(steps, NAMES)] == turns


def test_a_list_of_turns_too_long_for_its_table_says_how_many_more_there_are() -> None:
    lines = [str(line) for line in _turns([f"turn {n}" for n in range(12)])[0]]
    assert len(lines) == TURNS
    assert lines[-2:] == ["turn 6", "and 5 more"]


def test_where_an_option_passes_is_told() -> None:
    every = passes_told(steps_of([5, 5, 5], [9, 9, 9]), LETTERS)
    assert as_said(every, "metric") == "every option at every fall up to 50 mm"
    some = passes_told(steps_of([5, 5, None, 5], [9, 9, 9, 9]), LETTERS)
    assert as_said(some, "feet") == "A: up to 1 in and from 3 in on; the others at every fall"
    none = passes_told(steps_of([None] * 3, [None, 7, None]), LETTERS)
    assert as_said(none, "metric") == "A: at none; C: from 25 mm to 25 mm"


def test_between_steps_only_those_options_are_tried_that_turn() -> None:
    steps = FallSteps([0, 2])
    nan = math.nan
    steps.take({0: {0: 5, 2: 9}, 3: {0: 5, 2: nan}, 6: {0: 5, 2: nan}, 9: {0: nan, 2: 8}})
    assert steps.between() == [([1, 2], (2,)), ([7, 8], (0, 2))]
    steps.take({1: {2: 9}, 2: {2: nan}})
    assert as_said(passes_told(steps, LETTERS), "feet") == (
        "A: up to 6 in; C: up to 1 in and from 9 in on"
    )


# --- the table ---

THROUGH = (
    *("ground", "ground_beside", "balance", "blank_sizes", "first_suggestions"),
    *("frame", "joists", "cutting", "sheets"),
)
"""Solvers between the ground and what an option costs."""


def solved(job: TypedJob, typed_over: Any = None) -> dict[str, Any]:
    model = build_model()
    return dict(evaluate(model, read_inputs(model, job), typed_over=typed_over))


def grounds_of(values: dict[str, Any], typed_over: Any = None) -> Grounds:
    model = build_model()
    return Grounds(
        _trial_of(model, THROUGH), model, Declared("falls", values, typed_over), Reads(values)
    )


def surveyed_at(job: TypedJob, values: dict[str, Any], fall_in: float) -> TypedJob:
    """The job with readings stretched about the highest ground, until the lot falls by so much."""
    names, x, y, z = (block(values, key) for key in SURVEY_READS[:4])
    count = int(np.sum(names != ""))
    points = np.stack([x, y, z], axis=1)[:count]
    falls = grounds_of(values).falls
    points[:, 2] = falls.high_ft + (points[:, 2] - falls.high_ft) * fall_in / 12 / falls.own_ft
    return on_ground(job, tuple(map(tuple, points)))


PAD: dict[str, Any] = {"joist_stock": "2x8 treated"}
POSTS: dict[str, Any] = {
    "joist_stock": "2x8",
    "support_rows": 3,
    "supports_per_row": 4,
    "footing_diameter_in": 20,
    "beam_plies": 3,
}
"""Sizes that pass on the ground as it is."""
ALL_KINDS: dict[int, dict[str, Any]] = {
    0: {"option_kind": FRAMED, **PAD},
    1: {"option_kind": OPEN, **PAD, "skid_count": None},
    2: {"option_kind": PIERS, **POSTS},
    3: {"option_kind": BLOCKS, **POSTS, "support_rows": None},
    4: {"option_kind": SLAB},
}


@cache
def all_kinds() -> tuple[TypedJob, dict[str, Any]]:
    job = with_options(demo(), ALL_KINDS)
    return job, solved(job)


@pytest.mark.slow
def test_every_column_is_what_a_new_job_on_that_ground_costs() -> None:
    job, values = all_kinds()
    found = grounds_of(values).totals([0, 7, 20], range(5))
    failing = set()
    for fall, totals in found.items():
        other = solved(surveyed_at(job, values, fall))
        for option, total in totals.items():
            if at(other, "checks_failed", option) == 0:
                assert total == at(other, "total_cost", option), (fall, option)
            else:
                assert math.isnan(total), (fall, option)
                failing.add(option)
    assert 0 < len(failing) < 5  # some lines stop, and not all


@pytest.mark.slow
def test_numbers_typed_over_are_kept_at_every_fall() -> None:
    job, _ = all_kinds()
    job = with_options(job, {option: ALL_KINDS[option] for option in (0, 2)})
    over = {"stone_order_yd3": {(0, 0): 9.0}, "cut_hours": {(2, 0): 5.0}}
    values = solved(job, over)
    plain = grounds_of(values).totals([6], [0, 2])[6]
    found = grounds_of(values, over).totals([6], [0, 2])[6]
    other = solved(surveyed_at(job, values, 6), over)
    assert found == {option: at(other, "total_cost", option) for option in (0, 2)}
    assert all(found[option] != plain[option] for option in found)


def test_an_option_that_can_not_be_built_takes_no_other_along() -> None:
    model = build_model()
    job = with_options(demo(), {option: ALL_KINDS[option] for option in (0, 2)})
    frame = model.solvers["frame"]

    def no_timbers(values: Declared) -> Any:
        if FRAMED in np.asarray(values["option_kind"]):
            raise SolveError("more courses than there can be")
        return frame.function(values)

    through = {name: model.solvers[name] for name in THROUGH}
    through["frame"] = dataclasses.replace(frame, function=no_timbers)
    values = solved(job)
    trial = _trial(Rows(model.quantities, model.stacks), through, OwnUnits(model))
    totals = Grounds(trial, model, Declared("falls", values), Reads(values)).totals([6], [0, 2])
    assert math.isnan(totals[6][0])
    assert totals[6][2] == grounds_of(values).totals([6], [2])[6][2] > 0


@cache
def asked(measure: str) -> dict[str, Any]:
    """Piers alone, whose lines pass at every fall: little to work out."""
    model = build_model()
    job = changed(one_option(PIERS, **POSTS), falls_wanted="yes")
    inputs = read_inputs(model, job)
    if measure == "metric":
        from two_measures import metric_inputs

        return dict(evaluate(metric(model), metric_inputs(inputs)))
    return dict(evaluate(model, inputs))


@pytest.mark.parametrize("measure", ["feet", "metric"])
def test_the_lot_as_surveyed_is_a_row_of_its_own_and_costs_what_cost_says(measure: str) -> None:
    values = asked(measure)
    unit, step = ("in", 3) if measure == "feet" else ("mm", 75)
    falls, says = block(values, f"fall_at_{unit}"), block(values, "fall_says")
    (own,) = np.flatnonzero(says == "as surveyed")
    assert falls[own] == pytest.approx(at(values, f"falls_own_{unit}"))
    # A base on piers is as large as the building.
    assert falls[own] == pytest.approx(at(values, f"fall_{unit}"), rel=1e-6)
    assert block(values, TOTALS[0])[own] == at(values, "total_cost")
    assert block(values, "fall_own_total")[own] == at(values, "total_cost")
    assert np.delete(falls, own) == pytest.approx(np.arange(STEPS + 1.0) * step)
    assert np.isnan(np.delete(block(values, "fall_own_total"), own)).all()
    most = f"{STEPS * step} {unit}"
    assert at(values, "falls_say") == f"A to {most}"
    assert at(values, "falls_pass") == f"every option at every fall up to {most}"


def test_who_does_not_ask_gets_blanks_and_a_word_on_it() -> None:
    _, values = all_kinds()
    assert at(values, "falls_say") == "not worked out: say yes to it on Siting and refill"
    assert all((block(values, key) == 0).all() for key in ("fall_at_in", *TOTALS))


def test_a_level_lot_has_totals_against_fall_too() -> None:
    values = solved(on_flat(one_option(PIERS, **POSTS)))
    totals = grounds_of(values).totals([0, 24], [0])
    assert totals[0][0] == at(values, "total_cost")
    assert totals[24][0] > totals[0][0]
