"""Facts of the trade that a builder checks with a pencil, read off the whole model.

All of them are common practice, no source, unless a test says otherwise.
"""

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
    name_of,
    on_flat,
    on_ground,
    one_option,
    slope,
    solved,
)

from estimator.model import aggregate, build_model
from estimator.model.cost import money
from estimator.model.kinds import FRAMED, OPEN, PIERS
from estimator.model.lumber import joists
from estimator.model.set_out import STATIONS
from estimator.solve.joist_layout import joist_layout
from estimator.units import format_feet_inches
from estimator.values import as_values


def flat(kind: str, **cells: Any) -> Mapping[str, Any]:
    """The 10 x 12 ft demo building on a level lot, with one option."""
    return solved(on_flat(one_option(kind, **cells)))


def test_ten_by_twelve_with_a_foot_of_margin_has_a_twelve_by_fourteen_frame() -> None:
    values = flat(FRAMED, margin_in=12)
    assert (at(values, "frame_width_ft"), at(values, "frame_length_ft")) == (12, 14)


def test_four_inches_of_stone_inside_4x6_timbers_is_1_89_yards_net() -> None:
    values = flat(FRAMED, stone_depth_in=4, timber_stock="4x6 treated")
    assert at(values, "timber_width_in") == 3.5
    assert round(at(values, "stone_pad_yd3"), 2) == 1.89


def test_the_order_adds_bedding_compaction_and_waste_before_the_yards_increment() -> None:
    values = flat(
        FRAMED, bedding_in=2, trench_width_in=10, compaction_share=0.10, stone_waste_share=0.05
    )
    pad = (14 - 7 / 12) * (12 - 7 / 12) * (4 / 12) / 27
    # A ring about the middle of timbers 3.5 in wide.
    bedding = (2 * (14 + 12) - 4 * 3.5 / 12) * (2 / 12) * (10 / 12) / 27
    assert at(values, "stone_net_yd3") == pytest.approx(pad + bedding, rel=1e-12)
    loose = (pad + bedding) * 1.10 * 1.05
    assert at(values, "stone_loose_yd3") == pytest.approx(loose, rel=1e-12)
    assert at(values, "stone_pack_yd3") == 0.5
    assert at(values, "stone_order_yd3") == math.ceil(loose / 0.5) * 0.5 == 2.5


def stations(values: dict[str, Any], key: str) -> Any:
    """A column of the lines of the Field Sheet at the stations in use, of the chosen option."""
    on = block(values, "line_number")[:STATIONS] > 0
    return block(values, key)[:STATIONS][on]


def test_one_course_on_two_inches_of_stone_is_seven_and_a_half_below_the_string_all_along() -> None:
    values = flat(FRAMED, reckoned_from="original", bedding_in=2)
    assert at(values, "frame_courses") == 1
    assert at(values, "trench_one_in") == at(values, "trench_low_in") == 7.5
    assert set(stations(values, "line_number")) == {1, 2, 3, 4}
    assert stations(values, "line_below_in") == pytest.approx(7.5, abs=1e-9)


def test_where_the_ground_touches_the_string_the_trench_is_as_deep_below_the_ground() -> None:
    values = flat(FRAMED, reckoned_from="original", bedding_in=2)
    assert stations(values, "line_above_in") == pytest.approx(0, abs=1e-9)
    assert stations(values, "line_dig_in") == pytest.approx(7.5, abs=1e-9)


def test_reckoned_from_the_stripped_ground_the_trench_starts_a_strip_lower() -> None:
    # The top lies 4 in under the ground beside it, so that the strings run 12 in above the top.
    values = flat(FRAMED, reckoned_from="stripped", bedding_in=2)
    assert at(values, "string_over_in") == pytest.approx(4, abs=1e-9)
    assert at(values, "string_offset_in") == 12
    assert stations(values, "line_above_in") == pytest.approx(12 - 4, abs=1e-9)
    assert stations(values, "line_below_in") == pytest.approx(7.5 + 12, abs=1e-9)
    assert stations(values, "line_dig_in") == pytest.approx(7.5 + 4, abs=1e-9)


def test_a_second_course_makes_the_trench_thirteen_inches() -> None:
    # 12 ft of base down a 5 percent slope fall 7.2 in: more than one course, less than two.
    job = on_ground(one_option(FRAMED, bedding_in=2, reckoned_from="original"), slope(5))
    values = solved(job)
    assert at(values, "fall_in") == pytest.approx(7.2, abs=1e-9)
    assert at(values, "frame_courses") == 2
    assert at(values, "trench_low_in") == 13
    # The stakes uphill stand 3 ft out, where the ground is 1.8 in above the top: strings 12 in up.
    offset = at(values, "string_offset_in")
    assert offset == 12
    courses = stations(values, "line_count")
    depth = stations(values, "line_below_in") - offset
    assert depth[courses == 2] == pytest.approx(13, abs=1e-9)
    assert depth[courses == 1] == pytest.approx(7.5, abs=1e-9)
    # No timber hangs in the air: its bottom lies at or below the ground everywhere.
    ground = stations(values, "line_above_in") - offset
    assert (courses * 5.5 >= ground - 1e-9).all()


def test_a_floor_frame_is_square_when_both_diagonals_read_187_4_inches() -> None:
    values = flat(FRAMED)
    diagonal = at(values, "floor_diagonal_in")
    assert round(diagonal, 1) == 187.4
    assert diagonal == pytest.approx(math.hypot(120, 144), rel=1e-12)
    assert format_feet_inches(diagonal / 12, 16) == "15 ft 7 7/16 in"
    assert at(values, "field_building").endswith("; diagonals 15 ft 7 7/16 in")
    assert at(values, "floor_diagonal") == "15 ft 7 7/16 in"


def test_four_square_edged_sheets_at_nominal_rips_leave_a_two_by_four_foot_offcut() -> None:
    values = flat(FRAMED, sheet_item="sheet_3_4_square", nominal_rips="yes")
    assert at(values, "sheet_count") == 4
    assert at(values, "sheet_offcut_ft2") == pytest.approx(2 * 4, abs=1e-9)
    long, wide = block(values, "piece_long_in"), block(values, "piece_wide_in")
    assert float(np.sum(long * wide)) / 144 == pytest.approx(120, abs=1e-9)


def test_tongue_and_groove_may_ask_for_a_fifth_sheet() -> None:
    # Net cover 47.5 in: two and a half widths reach 118.75 in, short of 120.
    values = flat(FRAMED, sheet_item="sheet_23_32_tg", nominal_rips="no")
    assert at(values, "sheet_count") == 5


@pytest.mark.parametrize(("opening_ft", "strips"), [(12, 4), (11, 3)])
def test_four_foot_fabric_lapped_six_inches_covers_eleven_feet_with_three_strips(
    opening_ft: int, strips: int
) -> None:
    job = on_flat(one_option(OPEN, margin_in=12, turn_up_in=0, overlap_in=6))
    values = solved(changed(job, building_width_ft=opening_ft - 2))
    assert at(values, "stone_width_ft") == opening_ft
    row = list(block(values, "roll_item")).index(name_of(values, "fabric_4x50"))
    assert block(values, "roll_strips_along")[row] == strips


def test_fabric_is_the_roll_and_direction_of_least_cost() -> None:
    values = flat(OPEN, turn_up_in=0, overlap_in=6)
    # 12 x 14 ft from 50 ft rolls, in whole strips of 14 ft along (three a roll) or of 12 ft across
    # (four a roll): strips along, strips across, rolls, price of a roll.
    pencil = {
        name_of(values, "fabric_3x50"): (5, 6, 2, 24),
        name_of(values, "fabric_4x50"): (4, 4, 1, 31),
        name_of(values, "fabric_6x50"): (3, 3, 1, 46),
    }
    counted = {
        item: (
            block(values, "roll_strips_along")[row],
            block(values, "roll_strips_across")[row],
            block(values, "roll_count")[row],
            block(values, "roll_cost")[row] / block(values, "roll_count")[row],
        )
        for row, item in enumerate(block(values, "roll_item"))
        if item in pencil
    }
    assert counted == pencil
    assert at(values, "fabric_item") == name_of(values, "fabric_4x50")
    assert at(values, "fabric_laid") == "across"
    assert at(values, "fabric_rolls") == 1
    assert at(values, "fabric_cost") == 31


def test_four_skids_over_ten_feet_stand_38_8_or_40_inches_on_centre() -> None:
    flush = flat(FRAMED, skid_count=4, skid_place="flush")
    assert at(flush, "skid_width_in") == 3.5
    assert round(at(flush, "skid_spacing_in"), 1) == 38.8
    centred = flat(FRAMED, skid_count=4, skid_place="edge centred")
    assert at(centred, "skid_spacing_in") == pytest.approx(40, abs=1e-12)


def test_bags_of_80_lb_yield_six_tenths_of_a_cubic_foot() -> None:
    values = flat(PIERS, concrete_by="bags")
    wanted = at(values, "concrete_yd3") * 27 * (1 + at(values, "concrete_waste"))
    assert at(values, "bag_yield_ft3") == 0.60
    assert at(values, "bag_count") == math.ceil(wanted / 0.60)


def test_concrete_is_the_cylinders_of_pier_and_footing() -> None:
    values = flat(
        PIERS,
        clear_above_in=8,
        least_depth_in=12,
        pier_diameter_in=10,
        footing_diameter_in=20,
        footing_thick_in=8,
        support_rows=2,
        supports_per_row=3,
    )
    assert at(values, "pier_depth_in") == 30  # the demo's frost depth
    pier = math.pi / 4 * 10**2 * (8 + 30 - 8)
    footing = math.pi / 4 * 20**2 * 8
    assert at(values, "concrete_yd3") * 27 * 1728 == pytest.approx(6 * (pier + footing), rel=1e-12)


@pytest.mark.parametrize("spacing_in", [8, 12, 13.5, 16, 19.2, 24])
@pytest.mark.parametrize("joist_width_in", [1.5, 2.5])
def test_joists_are_as_many_as_the_layout_marks_on_the_rim(
    spacing_in: float, joist_width_in: float
) -> None:
    lengths_ft = np.arange(64, 641) / 16
    long, framed = as_values(lengths_ft[:, np.newaxis]), as_values(1.0)
    counted = joists.joist_count(framed, long, as_values(spacing_in))
    marked = [joist_layout(x * 12, spacing_in, joist_width_in).count for x in lengths_ft]
    assert np.asarray(counted)[:, 0].tolist() == marked


def test_twelve_feet_at_sixteen_inches_take_ten_joists() -> None:
    values = flat(FRAMED, joist_spacing_in=16)
    assert at(values, "joist_count") == 10
    assert at(values, "joist_length_in") == 120 - 3


@pytest.mark.parametrize(("kind", "extra"), [(FRAMED, {}), (OPEN, {}), (FRAMED, {"raise_in": 3})])
def test_more_stone_never_costs_less(kind: str, extra: dict[str, Any]) -> None:
    totals = [
        at(flat(kind, stone_depth_in=depth, **extra), "total_cost")
        for depth in (2, 3, 4, 5, 6, 8, 10)
    ]
    assert totals == sorted(totals)


@pytest.mark.parametrize("method", ["by hand", "machine"])
def test_hauling_takes_longer_the_farther_the_truck_tips(method: str) -> None:
    hours = [
        at(
            solved(changed(demo(), tip_distance_ft=distance, dig_method=method)),
            "haul_hours",
        )
        for distance in (0, 50, 150, 400)
    ]
    assert hours == sorted(set(hours))
    assert hours[0] > 0  # filling and tipping alone


def test_nothing_is_hauled_when_all_stone_is_tipped_into_place() -> None:
    values = solved(changed(demo(), stone_inside_share=1))
    for option in range(4):
        assert at(values, "haul_hours", option) == 0
        assert at(values, "spread_hours", option) > 0 or option == 2


def test_a_barrow_of_stone_walks_there_and_back() -> None:
    values = solved(changed(demo(), tip_distance_ft=150, stone_inside_share=0))
    # 3 min to fill and tip, 300 ft at 150 ft/min; 2.5 yd3 in barrows of 3.53 ft3.
    assert at(values, "stone_trip_min") == 5
    assert at(values, "stone_trips") == math.ceil(2.5 * 27 / 3.53) == 20
    assert at(values, "haul_hours") == pytest.approx(20 * 5 / 60)


def test_four_packs_and_binary_dust_are_four_packs() -> None:
    # 0.7 * 3 is 2.1 and a bit in binary, 0.1 * 3 is 0.3 and a bit.
    assert 0.7 * 3 / 0.7 > 3 or 0.1 * 3 / 0.1 > 3
    for pack in (0.7, 0.1, 0.3):
        order = aggregate.stone_order_yd3(as_values(3 * pack), as_values(pack))
        assert float(order[0, 0]) == pytest.approx(3 * pack, rel=1e-12)
        packs = money.item_packs(as_values("x"), as_values(3 * pack), as_values(0), as_values(pack))
        assert float(packs[0, 0]) == 3


def test_dust_in_the_model_buys_no_extra_pack_of_stone() -> None:
    # 13.5 x 12 ft of stone 2 in deep is one yard to the last bit; in packs of a tenth, ten.
    job = on_flat(
        one_option(OPEN, margin_in=0, stone_depth_in=2, compaction_share=0, stone_waste_share=0)
    )
    job = changed(job, building_length_ft=13.5, building_width_ft=12, strip_depth_in=0)
    place = next(at for (key, at), v in job.cells.items() if (key, v) == ("item_key", "stone_57"))
    for pack in (0.1, 0.2, 1 / 3, 0.05):
        values = solved(changed(job, item_pack={place: pack}, shoulder_run=0))
        assert at(values, "stone_net_yd3") == pytest.approx(1, rel=1e-12)
        assert block(values, "item_packs")[place] == round(1 / pack)


def test_every_row_says_its_unit_and_label() -> None:
    for item in build_model().rows():
        assert item.label, item.key


@pytest.mark.parametrize("trim_in", [0, 0.4, 0.5, 2])
def test_timbers_of_a_frame_are_no_longer_than_a_squared_board(trim_in: float) -> None:
    """A side of 16 ft from boards of at most 16 ft; squared, no board gives 16 ft."""
    job = one_option(FRAMED, margin_in=0, timber_stock="4x6 treated")
    sized = changed(job, building_length_ft=16, building_width_ft=10, end_trim_in=trim_in)
    values = solved(on_flat(sized))
    longest = block(values, "timber_length_in").max()
    assert longest == 192 if trim_in == 0 else 96 < longest <= 192 - trim_in
    assert at(values, "cut_cost") > 0


@pytest.mark.parametrize("kind", [FRAMED, OPEN, PIERS])
def test_the_heaviest_thing_to_lift_is_no_lighter_than_what_is_carried(kind: str) -> None:
    """Boards, sheets, blocks and bags, each as Prices has its weight."""
    values = flat(kind, concrete_by="bags")
    lines = zip(*(block(values, f"item_{key}") for key in ("key", "lb", "need")), strict=True)
    carried = ("lumber_", "sheet_", "block_", "concrete_80")
    pounds = [lb for key, lb, need in lines if need > 0 and str(key).startswith(carried)]
    assert at(values, "heaviest_lb") >= max(pounds) >= 70
