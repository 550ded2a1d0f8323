"""Skirting, permit, trips, clean-up, tax on hire, stone in place of fill, waived frost."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest
from jobs import (
    at,
    block,
    changed,
    demo,
    needed,
    on_flat,
    on_ground,
    one_option,
    priced,
    slope,
    solved,
)

from estimator.inputs import TypedJob
from estimator.model.kinds import BLOCKS, FRAMED, KIND_NAMES, OPEN, PIERS


def flat(kind: str, job: TypedJob | None = None, /, **cells: Any) -> Mapping[str, Any]:
    return solved(on_flat(one_option(kind, job, **cells)))


# Skirting


@pytest.mark.parametrize("kind", KIND_NAMES)
def test_no_skirting_unless_it_is_wanted(kind: str) -> None:
    values = flat(kind)
    assert needed(values, "sheet_skirt") == needed(values, "skirt_vent") == 0
    assert at(values, "skirt_hours") == at(values, "skirt_upright_count") == 0


def test_skirting_of_piers_on_level_ground_is_that_worked_by_hand() -> None:
    """12 x 10 ft, 44 ft round. Piers 12 in high, beam 7 1/4 and joist 5 1/2: 24 3/4 in, 90.75 ft2;
    a tenth of waste on sheets of 32 ft2: four. Uprights each 2 ft and two at corners: 26. Vents:
    120 / 150 ft2 of openings at 0.4 ft2: two. Rails: two of 12 ft and two of 10 ft."""
    values = flat(PIERS, changed(demo(), skirting="yes"), clear_above_in=12)
    assert at(values, "skirt_mean_in") == at(values, "skirt_tall_in") == 24.75
    assert at(values, "skirt_ft2") == pytest.approx(90.75)
    assert needed(values, "sheet_skirt") == math.ceil(90.75 * 1.1 / 32) == 4
    assert at(values, "skirt_upright_count") == 26
    assert at(values, "skirt_upright_length_in") == 24.75
    assert needed(values, "skirt_vent") == 2
    rails = 2 * at(values, "skirt_front_length_in") + 2 * at(values, "skirt_side_length_in")
    assert rails == 44 * 12
    assert at(values, "skirt_hours") == pytest.approx(90.75 * 0.05)
    bare = flat(PIERS, clear_above_in=12)
    assert at(values, "total_cost") > at(bare, "total_cost")
    assert at(values, "work_hours") - at(bare, "work_hours") == pytest.approx(
        90.75 * 0.05 + at(values, "cleanup_hours") - at(bare, "cleanup_hours")
    )


def test_on_a_slope_sheets_go_by_the_mean_and_uprights_by_the_lowest_ground() -> None:
    job = one_option(PIERS, changed(demo(), skirting="yes"), clear_above_in=12)
    values = solved(on_ground(job, slope(5)))
    assert at(values, "skirt_mean_in") == pytest.approx(24.75 + 10 * 0.05 * 12 / 2)
    assert at(values, "skirt_tall_in") == pytest.approx(24.75 + 10 * 0.05 * 12)


def test_skirting_follows_the_ground_along_the_sides_and_not_a_mound_between_them() -> None:
    """Level at 100 ft along all sides, 101 ft in the middle, 12 in below the beams: the skirting
    is 12 in higher than over the mound, all round."""
    job = one_option(PIERS, changed(demo(), skirting="yes"), clear_above_in=12)
    level = solved(on_flat(job))
    x, y = at(level, "site_x_ft"), at(level, "site_y_ft")
    outline = [(x + 12 * i / 2, y + 10 * j / 2) for i in (0, 1, 2) for j in (0, 1, 2)]
    mound = tuple((a, b, 101.0 if (a, b) == (x + 6, y + 5) else 100.0) for a, b in outline)
    values = solved(on_ground(job, mound))
    assert at(values, "skirt_mean_in") == pytest.approx(24.75 + 12)
    assert at(values, "skirt_tall_in") == pytest.approx(24.75 + 12)
    assert at(values, "skirt_ft2") == pytest.approx(44 * 36.75 / 12)


def test_skirting_of_a_pad_covers_skid_and_joist() -> None:
    """A 4x6 skid 5 1/2 in deep under a joist of 5 1/2 in."""
    values = flat(FRAMED, changed(demo(), skirting="yes"))
    assert at(values, "skirt_mean_in") == at(values, "skirt_tall_in") == 11


@pytest.mark.parametrize("kind", [PIERS, BLOCKS])
def test_a_higher_floor_never_has_less_skirting(kind: str) -> None:
    job = changed(demo(), skirting="yes")
    areas = [at(flat(kind, job, clear_above_in=h), "skirt_ft2") for h in (6, 10, 14, 18, 22)]
    assert areas == sorted(areas)


# Permit and inspections


@pytest.mark.parametrize(
    ("wanted", "limit_ft2", "permits"),
    [("by area", 120, 0), ("by area", 119, 1), ("no", 119, 0), ("yes", 120, 1)],
)
def test_a_permit_is_paid_where_the_area_asks_for_it(
    wanted: str, limit_ft2: float, permits: int
) -> None:
    job = changed(demo(), permit_wanted=wanted, permit_area_ft2=limit_ft2)
    values = flat(FRAMED, job)
    assert needed(values, "permit") == permits
    free = flat(FRAMED, changed(demo(), permit_wanted="no", permit_area_ft2=limit_ft2))
    paid = at(values, "delivery_cost") - at(free, "delivery_cost")
    assert paid == pytest.approx(120 * permits)


def test_inspections_are_paid_by_the_visit_and_not_taxed() -> None:
    none, three = flat(FRAMED), flat(FRAMED, changed(demo(), inspection_visits=3))
    assert at(three, "delivery_cost") - at(none, "delivery_cost") == pytest.approx(180)
    assert at(three, "tax_cost") == at(none, "tax_cost")


# Tool hire, trips, clean-up


def test_tool_hire_is_taxed_as_job_says() -> None:
    """A plate compactor for a day, $68, at 6 %."""
    taxed, free = flat(FRAMED), flat(FRAMED, changed(demo(), hire_taxed="no"))
    assert at(taxed, "rental_cost") == at(taxed, "taxed_hire") == 68
    assert at(free, "taxed_hire") == 0
    assert at(taxed, "tax_cost") - at(free, "tax_cost") == pytest.approx(68 * 0.06, abs=0.006)


def test_trips_are_those_typed_one_for_a_hired_plate_and_one_with_waste() -> None:
    values = flat(OPEN)
    assert at(values, "trips_in_all") == needed(values, "yard_trip") == 2 + 1 + 1
    assert at(values, "trip_hours") == 4
    by_hand = flat(OPEN, changed(demo(), compact_method="by hand", yard_trips=5, yard_trip_h=1.5))
    assert at(by_hand, "trips_in_all") == 5 + 1
    assert at(by_hand, "trip_hours") == 9


def test_waste_is_what_saw_and_sheets_leave_thrown_in_loosely() -> None:
    values = flat(PIERS)
    sheets = at(values, "sheet_offcut_ft2") * 0.71875 / 12
    wood = 0.0
    for row, name in enumerate(block(values, "board_item")):
        if str(name):
            size = str(name).split()[0]
            deep = {"2x4": 3.5, "2x6": 5.5, "2x8": 7.25, "2x12": 11.25}.get(size)
            section = 3.5 * 3.5 if size == "4x4" else 1.5 * float(deep or math.nan)
            count = int(block(values, "board_count")[row])
            wood += count * float(block(values, "board_offcut_in")[row]) * section / 1728
    assert at(values, "cut_waste_ft3") == pytest.approx(wood, abs=1e-3)
    waste = (wood + sheets) * 2 / 27 + 0.25
    assert at(values, "waste_yd3") == pytest.approx(waste, abs=1e-3)
    assert needed(values, "tip_fee") == at(values, "waste_yd3")
    assert at(values, "cleanup_hours") == pytest.approx(1 + waste, abs=1e-3)


@pytest.mark.parametrize("kind", KIND_NAMES)
def test_nothing_of_trips_and_waste_is_in_the_price_where_job_says_so(kind: str) -> None:
    values = flat(kind, changed(demo(), site_priced="no"))
    assert at(values, "trips_in_all") == at(values, "waste_yd3") == 0
    assert at(values, "trip_hours") == at(values, "cleanup_hours") == 0
    assert needed(values, "yard_trip") == needed(values, "tip_fee") == 0


def test_a_dearer_tip_never_makes_a_job_cheaper() -> None:
    totals = [at(solved(priced(demo(), tip_fee=p)), "total_cost") for p in (1.0, 12.0, 90.0)]
    assert totals == sorted(totals)
    assert totals[0] < totals[-1]


def test_groups_add_up_to_all_that_is_paid() -> None:
    job = changed(demo(), permit_wanted="yes", skirting="yes", inspection_visits=2)
    values = solved(job)
    paid = ("material_cost", "delivery_cost", "rental_cost", "labour_cost")
    for option in range(4):
        total = sum(at(values, key, option) for key in paid)
        assert float(np.sum(block(values, "group_cost", option))) == pytest.approx(total, abs=0.05)


# Stone where fill is not accepted


def test_stone_in_place_of_fill_costs_what_stone_costs_less_what_fill_does() -> None:
    job = on_ground(one_option(FRAMED, fill_with="soil"), slope(5))
    values = solved(job)
    fill, cut = at(values, "fill_soil_yd3"), at(values, "cut_yd3")
    assert fill > 0
    assert at(values, "stone_instead_yd3") == fill
    assert at(values, "stone_instead_loose_yd3") == pytest.approx(
        fill * (1 + at(values, "compaction_share")) * (1 + at(values, "stone_waste_share"))
    )
    shrink = at(values, "compacted_per_bank")
    over = min(cut, fill / shrink)
    assert at(values, "soil_instead_yd3") == pytest.approx(over)
    soil = fill * at(values, "fill_cost_yd3")
    soil += max(fill - shrink * cut, 0) * at(values, "bring_cost_yd3")
    stone = fill * at(values, "stone_cost_yd3") + over * at(values, "away_cost_yd3")
    assert at(values, "stone_instead_cost") == pytest.approx(stone - soil)
    assert at(values, "compare_fill") == at(values, "stone_instead_cost")


def test_nothing_is_shown_where_there_is_no_fill_of_soil() -> None:
    ground = slope(5)
    assert at(solved(on_ground(one_option(FRAMED, fill_with="stone"), ground)), "compare_fill") == 0
    assert at(solved(on_ground(one_option(PIERS), ground)), "compare_fill") == 0


# Frost


REMAINDER = "LOOK: frost is waived"


@pytest.mark.parametrize("kind", KIND_NAMES)
def test_waived_frost_leaves_twelve_inches_to_ask_about(kind: str) -> None:
    waived = changed(demo(), frost_free_area_ft2=600)
    values = flat(kind, waived, **({"footing_diameter_in": 10} if kind == PIERS else {}))
    assert at(values, "frost_waived") == 1
    stands = {FRAMED: 1, OPEN: 1, BLOCKS: 6}.get(kind, 0)
    assert at(values, "shallow_places") == stands
    assert at(values, "check_frost").startswith(REMAINDER if stands else "ok")


def test_stacks_dug_in_deep_enough_are_not_asked_about() -> None:
    """On level ground a stack 10 in high stands on a bed of 12 in, 14 in below it."""
    waived = changed(demo(), frost_free_area_ft2=600)
    values = flat(BLOCKS, waived, clear_above_in=10, block_bed_in=12)
    assert at(values, "check_frost") == "ok"
    assert at(flat(BLOCKS, waived, clear_above_in=10, block_bed_in=9), "shallow_places") == 6


def test_a_pier_of_less_than_twelve_inches_is_asked_about_too() -> None:
    waived = changed(demo(), frost_free_area_ft2=600)
    for least, says in ((8, REMAINDER), (12, "ok")):
        values = flat(PIERS, waived, least_depth_in=least, footing_diameter_in=10)
        assert at(values, "check_frost").startswith(says)


def test_high_eaves_waive_nothing() -> None:
    job = changed(demo(), frost_free_area_ft2=600, wall_height_ft=11)
    values = flat(PIERS, job, footing_diameter_in=10)
    assert at(values, "frost_waived") == 0
    assert at(values, "pier_depth_in") == at(values, "frost_depth_in")


@pytest.mark.parametrize(("limit_ft2", "begins"), [(120, "ok"), (119, "LOOK: larger than")])
def test_more_than_needs_no_permit_is_a_point_to_look_at(limit_ft2: float, begins: str) -> None:
    values = flat(FRAMED, changed(demo(), permit_area_ft2=limit_ft2))
    assert at(values, "check_permit").startswith(begins)


@pytest.mark.parametrize(("clear_in", "begins"), [(6, "ok"), (5.9, "LOOK: beams closer than")])
def test_beams_low_above_the_ground_are_a_point_to_look_at(clear_in: float, begins: str) -> None:
    assert at(flat(PIERS, clear_above_in=clear_in), "check_clear").startswith(begins)


@pytest.mark.parametrize(("stock", "begins"), [("2x6 treated", "ok"), ("2x6", "LOOK: untreated")])
def test_untreated_joists_near_the_ground_are_a_point_to_look_at(stock: str, begins: str) -> None:
    assert at(flat(FRAMED, joist_stock=stock), "check_wood").startswith(begins)


def test_an_open_pad_on_more_fall_than_factors_allow_fails() -> None:
    job = one_option(OPEN, changed(demo(), open_fall_in=12))
    for percent, begins in ((0, "ok"), (25, "FAIL: too much fall for stone without timbers")):
        assert at(solved(on_ground(job, slope(percent))), "check_fall").startswith(begins)
