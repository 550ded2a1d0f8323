"""The sheet Siting: best places on the lot, set against where the building is staked now."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jobs import at, block, changed, demo, on_ground, one_option, priced, solved, with_options

from estimator.inputs import TypedJob
from estimator.model.kinds import FRAMED, OPEN, PIERS
from estimator.model.siting_sheet import PLACES
from estimator.typed_job import DEMO_JOB, default_job, load_job

HALVES = tuple(
    (float(x), float(y), 100.0 if x <= 40 else 100 - (x - 40) * 0.1)
    for x in range(0, 81, 10)
    for y in range(0, 41, 10)
)
"""A lot that is level up to x = 40 ft and falls by a tenth beyond."""
HUMP = tuple((x, y, 101.2 if np.hypot(x - 15, y - 15) < 11 else 100.0) for x, y, _ in HALVES)
"""A level lot but for a hump in a corner."""
LOT = [(0, 0), (80, 0), (80, 40), (0, 40)]


def lot(job: TypedJob, *areas: tuple[str, list[tuple[float, float]]], **cells: Any) -> TypedJob:
    """The job with these areas, ("property" or "keep out", corners), and nothing else."""
    columns: dict[str, dict[int, Any]] = {
        f"corner_{key}": dict.fromkeys(range(24))
        for key in ("name", "area", "kind", "x_ft", "y_ft", "more_ft")
    }
    row = 0
    for number, (kind, corners) in enumerate(areas):
        for x, y in corners:
            entry = (f"C{row}", f"area {number}", kind, x, y)
            for key, value in zip(("name", "area", "kind", "x_ft", "y_ft"), entry, strict=True):
                columns[f"corner_{key}"][row] = value
            row += 1
    search = {"siting_wanted": "yes", "siting_step_ft": 2, "siting_turn_deg": 30}
    return changed(job, **columns, **(search | {"setback_ft": 0, "keep_out_ft": 0} | cells))


def places(values: dict[str, Any]) -> list[dict[str, float]]:
    keys = ("x_ft", "y_ft", "turn_deg", "cost", "saving", "courses")
    rows = zip(*(block(values, f"place_{key}") for key in keys), strict=True)
    found = [dict(zip(keys, map(float, row), strict=True)) for row in rows]
    return [place for place in found if place["cost"] > 0]


def outline(values: dict[str, Any], number: int) -> np.ndarray[Any, np.dtype[np.float64]]:
    """Corners of a best place's base, as the plan draws them."""
    x, y = (block(values, f"best_{number}_{axis}_ft")[:4] for axis in ("x", "y"))
    return np.stack([x, y], axis=1)


def test_that_heights_are_taken_flush_and_not_by_hand_is_told() -> None:
    job = on_ground(one_option(FRAMED, height_mode="by hand"), HALVES)
    coarse = {"siting_step_ft": 10, "siting_orientation": "fixed"}
    says = at(solved(lot(job, ("property", LOT), **coarse)), "siting_says")
    assert "Heights are taken flush, not by hand." in says


def test_each_place_is_dug_the_cheaper_way_there_its_machine_hired() -> None:
    job = on_ground(one_option(FRAMED), HUMP)
    today = {"site_x_ft": 8, "site_y_ft": 8, "turn_deg": 0, "wage_per_h": 80}
    ways = {"dig_method": "cheapest", "access_width_in": 200}
    coarse = {"siting_step_ft": 10, "siting_orientation": "fixed"}
    job = lot(changed(job, **today), ("property", LOT), **ways, **coarse)
    values = solved(job)
    assert at(values, "dig_way") == "machine"
    assert at(values, "site_cost") == at(values, "siting_now_cost")
    best = places(values)[0]
    moved = solved(changed(job, site_x_ft=best["x_ft"], site_y_ft=best["y_ft"]))
    assert at(moved, "dig_way") == "by hand"
    assert at(moved, "site_cost") == pytest.approx(best["cost"], abs=1e-6)
    free = solved(priced(job, excavator_day=0.01))
    hired = at(values, "site_cost") - at(free, "site_cost")
    of_ways = at(values, "machine_way_cost") - at(free, "machine_way_cost")
    assert hired == pytest.approx(of_ways, abs=0.01)


def test_nothing_is_looked_for_unless_asked() -> None:
    # A new workbook does not ask; the demo job does.
    assert default_job().cells["siting_wanted", 0] == "no"
    assert load_job(DEMO_JOB).cells["siting_wanted", 0] == "yes"
    values = solved(changed(demo(), siting_wanted="no"))
    assert at(values, "siting_says").startswith("not looked for")
    assert places(values) == []


def test_the_demo_gets_five_places_the_cheapest_first_and_none_dearer_than_its_stakes() -> None:
    values = solved(demo())
    found = places(values)
    assert len(found) == PLACES
    costs = [place["cost"] for place in found]
    assert costs == sorted(costs)
    now = at(values, "siting_now_cost")
    assert at(values, "siting_now_why") == ""
    assert costs[0] <= now
    for place in found:
        assert place["saving"] == pytest.approx(now - place["cost"], abs=1e-9)


def test_every_place_keeps_its_distance_from_line_and_tree() -> None:
    values = solved(demo())
    for number in range(1, PLACES + 1):
        corners = outline(values, number)
        # Property -2..34 by -2..32 ft, setback 3 ft and 2 more in front; the tree 3..6 by 22..25,
        # 2 ft to keep. The readings' own outline is tighter still.
        assert (corners >= [1 - 1e-6, 3 - 1e-6]).all()
        assert (corners <= [31 + 1e-6, 29 + 1e-6]).all()
        sides = np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1)
        assert sides == pytest.approx([14, 12, 14, 12], abs=1e-9)


def test_a_place_typed_on_job_costs_what_the_sheet_said() -> None:
    values = solved(demo())
    for place in places(values)[:2]:
        moved = changed(
            demo(),
            site_x_ft=place["x_ft"],
            site_y_ft=place["y_ft"],
            turn_deg=place["turn_deg"],
        )
        after = solved(moved)
        assert at(after, "siting_now_cost") == pytest.approx(place["cost"], abs=1e-6)
        assert at(after, "site_cost") == pytest.approx(place["cost"], abs=1e-6)
        assert at(after, "siting_now_why") == ""
        assert at(after, "frame_courses") == place["courses"]


def test_a_fixed_orientation_is_kept() -> None:
    values = solved(changed(demo(), siting_orientation="fixed", turn_deg=20))
    assert {place["turn_deg"] for place in places(values)} == {20}


def test_the_level_half_of_the_lot_is_best() -> None:
    job = lot(on_ground(one_option(FRAMED), HALVES), ("property", LOT), site_x_ft=60, site_y_ft=15)
    values = solved(job)
    best = outline(values, 1)
    # It may lean over the brow, where there is less to dig, but not down the slope.
    assert best[:, 0].mean() <= 40
    assert places(values)[0]["courses"] == 1
    assert places(values)[0]["saving"] > 0


def test_a_keep_out_over_the_level_half_sends_it_to_the_slope() -> None:
    level = [(0.0, 0.0), (42.0, 0.0), (42.0, 40.0), (0.0, 40.0)]
    job = on_ground(one_option(FRAMED), HALVES)
    free = solved(lot(job, ("property", LOT), site_x_ft=60, site_y_ft=15))
    kept = solved(lot(job, ("property", LOT), ("keep out", level), site_x_ft=60, site_y_ft=15))
    for number in range(1, len(places(kept)) + 1):
        assert outline(kept, number)[:, 0].min() >= 42 - 1e-6
    assert places(kept)[0]["cost"] > places(free)[0]["cost"]


def test_where_nothing_fits_the_sheet_says_so_and_the_rest_is_still_solved() -> None:
    small = [(0.0, 0.0), (12.0, 0.0), (12.0, 12.0), (0.0, 12.0)]
    values = solved(lot(demo(), ("property", small)))
    assert "no allowed place" in at(values, "siting_says")
    assert places(values) == []
    assert at(values, "total_cost") == at(solved(demo()), "total_cost")


def test_two_property_lines_are_told_in_words() -> None:
    values = solved(lot(demo(), ("property", LOT), ("property", LOT)))
    assert at(values, "siting_says").startswith("there are two property lines")


def test_more_setback_on_one_side_counts_on_that_side_alone() -> None:
    job = lot(on_ground(one_option(OPEN), HALVES), ("property", LOT), setback_ft=2)
    job = changed(job, corner_more_ft={3: 10}, siting_orientation="fixed")
    values = solved(job)
    lowest = [outline(values, n) for n in range(1, len(places(values)) + 1)]
    # Side 4 runs from the far corner down the y axis: 12 ft there, 2 ft elsewhere.
    assert min(c[:, 0].min() for c in lowest) >= 12 - 1e-6
    assert min(c[:, 1].min() for c in lowest) >= 2 - 1e-6


def test_without_a_property_line_the_readings_bound_the_search() -> None:
    values = solved(lot(on_ground(one_option(OPEN), HALVES)))
    for number in range(1, PLACES + 1):
        corners = outline(values, number)
        assert (corners >= -1e-6).all()
        assert (corners <= [80 + 1e-6, 40 + 1e-6]).all()


def test_piers_chosen_the_first_pad_is_placed() -> None:
    job = with_options(demo(), {0: {"option_kind": PIERS}, 2: {"option_kind": OPEN}})
    assert at(solved(changed(job, siting_wanted="yes")), "siting_option") == "C"
    alone = solved(changed(one_option(PIERS), siting_wanted="yes"))
    assert at(alone, "siting_says") == "no option in use is a pad"


@settings(max_examples=6, deadline=None)
@given(st.floats(4, 20), st.floats(4, 16), st.sampled_from([0.0, 7.0, 33.0, 90.0]), st.booleans())
def test_no_place_is_cheaper_than_the_best_beyond_the_tolerance_stated(
    x: float, y: float, turn: float, balanced: bool
) -> None:
    mode = "balanced" if balanced else "high ground"
    job = changed(one_option(FRAMED, height_mode=mode), siting_wanted="yes")
    there = solved(changed(job, site_x_ft=x, site_y_ft=y, turn_deg=turn))
    best, tolerance = places(there)[0]["cost"], at(there, "siting_tolerance")
    if at(there, "siting_now_why") == "":
        assert best <= at(there, "siting_now_cost") + 1e-9
    staked = solved(job)
    if at(there, "siting_now_why") == "":
        # The search that did not know of this place may miss it by no more than it says.
        found = places(staked)[0]["cost"] - at(staked, "siting_tolerance")
        assert found <= at(there, "siting_now_cost") + 1e-9
        # At full price too, which Siting estimates.
        at_full_price = places(staked)[0]["cost"] - at(staked, "siting_full_gap")
        assert at_full_price <= at(there, "siting_now_cost") + 1e-9
    assert tolerance >= 0


def test_the_datum_of_the_survey_changes_no_place() -> None:
    raised = tuple((x, y, z + 900) for x, y, z in HALVES)
    cells = {"site_x_ft": 60, "site_y_ft": 15}
    here = solved(lot(on_ground(one_option(OPEN), HALVES), ("property", LOT), **cells))
    there = solved(lot(on_ground(one_option(OPEN), raised), ("property", LOT), **cells))
    # Heights near 1,000 ft keep about ten digits of an inch; costs follow.
    assert at(there, "siting_now_cost") == pytest.approx(at(here, "siting_now_cost"), abs=1e-6)
    assert places(there)[0]["cost"] == pytest.approx(places(here)[0]["cost"], abs=1e-6)


def humps(seed: int) -> tuple[tuple[float, float, float], ...]:
    """Invented readings every 20 ft or so, with humps and hollows between them."""
    rng = np.random.default_rng(seed)
    places = np.stack(np.meshgrid(np.arange(0, 61, 20), np.arange(0, 61, 20)), axis=-1)
    at = np.round(places.reshape(-1, 2) + rng.uniform(-2, 2, (16, 2)), 2)
    heights = 100 + at @ rng.uniform(-0.06, 0.06, 2) + rng.normal(0, 0.05, 16)
    for _ in range(3):
        middle, high, reach = rng.uniform(10, 50, 2), rng.uniform(-2, 2.2), rng.uniform(6, 20)
        heights += high * np.maximum(1 - np.hypot(*(at - middle).T) / reach, 0)
    return tuple((float(x), float(y), float(z)) for (x, y), z in zip(at, heights, strict=True))


@pytest.mark.parametrize("seed", [None, 9, 21, 28])
def test_no_finer_step_shows_a_dearer_best_place_and_little_is_left_to_find(
    seed: int | None,
) -> None:
    """By the price of the rows themselves, which is not what the search goes by."""
    job = demo() if seed is None else on_ground(one_option(FRAMED), humps(seed))
    job = changed(job, siting_wanted="yes")
    found = []
    for step, turn in ((4, 30), (2, 15), (1, 7.5), (0.25, 7.5)):
        values = solved(changed(job, siting_step_ft=step, siting_turn_deg=turn))
        found.append(places(values)[0]["cost"])
        assert at(values, "siting_tolerance") <= max(0.01 * found[-1], 10)
    assert found == sorted(found, reverse=True)
