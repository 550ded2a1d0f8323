"""Water round the base: fall of the ground, swale, stone drain, outlet.

Facts are common practice, no source, but for the fall: 6 in in the first 10 ft, IRC R401.3
(shared/reference/rules.csv, read in a copy of the 2015 code).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest
from jobs import at, block, changed, demo, on_flat, on_ground, one_option, slope, solved

from estimator.model.kinds import BLOCKS, FRAMED, OPEN, PIERS


def sloped(kind: str, percent: float = 5, **cells: Any) -> Mapping[str, Any]:
    """The 12 x 10 ft building, 12 x 14 ft base, on a lot that falls from front to back."""
    return solved(on_ground(one_option(kind, **cells), slope(percent)))


def test_the_front_is_uphill_when_the_lot_falls_to_the_back() -> None:
    values = sloped(FRAMED)
    # 5 percent over 10 ft: 6 in up in front, 6 in down at the back, level at both ends.
    assert block(values, "side_fall_in") == pytest.approx([-6, 0, 6, 0], abs=1e-9)
    assert at(values, "uphill_sides") == "front"
    assert block(values, "side_lacks_in") == pytest.approx([12, 6, 0, 6], abs=1e-9)
    assert at(values, "least_fall_in") == pytest.approx(-6, abs=1e-9)


def test_a_swale_runs_along_the_uphill_side_and_past_both_ends() -> None:
    values = sloped(FRAMED)
    assert at(values, "uphill_run_ft") == pytest.approx(14 + 2 * 4, abs=1e-9)
    # 3 ft wide and 6 in deep, a triangle.
    assert at(values, "swale_yd3") == pytest.approx(22 * 3 * 0.5 / 2 / 27, abs=1e-9)
    assert at(values, "drain_yd3") == at(values, "pipe_ft") == 0


def test_the_swale_is_in_the_hours() -> None:
    with_swale, without = sloped(OPEN), sloped(OPEN, uphill_water="none")
    hours = at(with_swale, "water_hours")
    assert hours > 0
    assert at(with_swale, "work_hours") - at(without, "work_hours") == pytest.approx(hours)
    assert at(without, "check_uphill").startswith("LOOK")
    assert at(with_swale, "check_uphill") == "ok"


def test_a_stone_drain_takes_stone_fabric_and_pipe_that_are_bought() -> None:
    values = sloped(OPEN, uphill_water="stone drain")
    plain = sloped(OPEN, uphill_water="none")
    stone = 22 * 1.0 * 1.5 / 27
    assert at(values, "drain_yd3") == pytest.approx(stone, abs=1e-9)
    more = at(values, "stone_net_yd3") - at(plain, "stone_net_yd3")
    assert more == pytest.approx(stone, abs=1e-9)
    # In the drain and 6 ft to where it runs out; sold in lengths of 10 ft.
    assert at(values, "pipe_ft") == pytest.approx(28, abs=1e-9)
    packs = dict(zip(block(values, "item_key"), block(values, "item_packs"), strict=True))
    assert packs["drain_pipe"] == 3
    # The strip goes round 12 x 18 in and laps: 5 + 1 ft wide.
    assert at(values, "drain_wrap_in") == 2 * (12 + 18) + 12
    rolls = dict(zip(block(values, "roll_item"), block(values, "roll_width_ft"), strict=True))
    area = rolls[at(values, "fabric_item")] * 50
    assert at(values, "drain_rolls") == math.ceil(22 * 6 / area)
    assert at(values, "total_cost") > at(plain, "total_cost")


def test_level_ground_needs_shaping_but_no_swale() -> None:
    values = solved(on_flat(one_option(FRAMED)))
    assert at(values, "uphill_run_ft") == 0
    assert at(values, "uphill_sides") == ""
    # Six inches over ten feet all round: a wedge along 52 ft of sides.
    assert at(values, "shape_yd3") == pytest.approx(52 * 10 * 0.5 / 2 / 27, abs=1e-9)


def test_a_pad_set_into_the_hill_needs_the_swale_a_raised_one_does_not() -> None:
    low = solved(on_flat(one_option(FRAMED, raise_in=-6)))
    assert at(low, "uphill_sides") == "front, right, back, left"
    assert at(solved(on_flat(one_option(FRAMED, raise_in=6))), "uphill_sides") == ""


@pytest.mark.parametrize(
    ("kind", "soil", "outlet"),
    [(FRAMED, "clay", 1), (FRAMED, "loam", 0), (OPEN, "clay", 0), (PIERS, "clay", 0)],
)
def test_a_framed_pad_in_clay_gets_an_outlet(kind: str, soil: str, outlet: int) -> None:
    values = solved(on_flat(changed(one_option(kind), soil=soil)))
    assert at(values, "outlet_used") == outlet
    assert at(values, "pipe_ft") == pytest.approx(6 * outlet, abs=1e-9)
    assert at(values, "drain_yd3") == pytest.approx(6 / 27 * outlet, abs=1e-9)


@pytest.mark.parametrize("kind", [PIERS, BLOCKS])
def test_supports_get_no_swale_of_their_own(kind: str) -> None:
    values = sloped(kind)
    assert at(values, "uphill_run_ft") == at(values, "water_hours") == 0
    assert at(values, "check_uphill") == "ok"


def test_turning_lot_and_building_together_turns_no_side_into_another() -> None:
    turn = math.radians(33)
    spin = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
    ground = tuple((*(spin @ (x, y)), z) for x, y, z in slope(5))
    x, y = spin @ (10, 9)
    job = changed(one_option(FRAMED), turn_deg=33, site_x_ft=float(x), site_y_ft=float(y))
    values, plain = solved(on_ground(job, ground)), sloped(FRAMED)
    # Survey places are typed to full precision here, so only rounding is left.
    assert block(values, "side_fall_in") == pytest.approx(block(plain, "side_fall_in"), abs=1e-8)
    assert at(values, "swale_yd3") == pytest.approx(at(plain, "swale_yd3"), abs=1e-9)


def test_the_demo_leads_water_round_its_front_and_left() -> None:
    assert at(solved(demo()), "uphill_sides") == "front, left"
