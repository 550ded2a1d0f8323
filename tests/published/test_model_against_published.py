"""The whole model against printed values: sizes, concrete, bearing, steel, earth, spans.

Each check names its source and how it was obtained; none was read in an official code book. The
same values are checked on the tables and functions in the other files of this folder: here they
come out of the rows that a builder sees.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from jobs import at, block, changed, demo, on_flat, one_option, solved
from validated.wood_spans import FLOOR_SIZES, LIVING_READ, inches

from estimator.model.kinds import FRAMED, PIERS


@pytest.mark.parametrize(
    ("stock", "width_in", "depth_in"),
    [
        ("2x6", 1.5, 5.5),
        ("2x8", 1.5, 7.25),
        ("2x10", 1.5, 9.25),
        ("2x12", 1.5, 11.25),
        ("4x6 treated", 3.5, 5.5),
        ("4x4 treated", 3.5, 3.5),
    ],
)
def test_the_model_builds_with_the_sizes_that_the_lumber_standard_prints(
    stock: str, width_in: float, depth_in: float
) -> None:
    """DOC PS 20, minimum dressed sizes, dry; read in a transcription of its table."""
    values = solved(on_flat(one_option(FRAMED, joist_stock=stock)))
    assert at(values, "joist_width_in") == width_in
    assert at(values, "joist_depth_in") == depth_in


def test_a_yard_of_concrete_takes_forty_five_bags_of_80_lb() -> None:
    """Makers' data sheets, 0.60 ft3 a bag, 45 bags to the yard; read second-hand."""
    values = solved(on_flat(one_option(PIERS, changed(demo(), concrete_waste=0))))
    yards = at(values, "concrete_yd3")
    # Bags are whole: the printed 45 holds between one bag less and the count.
    assert at(values, "bags_alone") - 1 < 45 * yards <= at(values, "bags_alone") + 1e-9


@pytest.mark.parametrize(
    ("soil", "bearing_psf"), [("gravel", 3000), ("sand", 2000), ("loam", 1500), ("clay", 1500)]
)
def test_the_ground_may_be_pressed_as_hard_as_the_code_presumes(
    soil: str, bearing_psf: float
) -> None:
    """IRC Table R401.4.1, read in transcriptions; loam is taken as its last class, with clay."""
    values = solved(on_flat(one_option(FRAMED, changed(demo(), soil=soil))))
    assert at(values, "bearing_psf") == bearing_psf


def test_a_number_four_bar_weighs_0_668_lb_a_foot() -> None:
    """ASTM A615 Table 1, read in three transcriptions that agree."""
    values = solved(on_flat(one_option(PIERS)))
    assert at(values, "bar_lb_ft") == 0.668
    row = list(block(values, "item_key")).index("bar_4_20ft")
    assert block(values, "item_lb")[row] == 0.668


@pytest.mark.parametrize("spacing_in", [12, 16, 19.2, 24])
@pytest.mark.parametrize("place", range(4))
def test_joists_may_span_what_the_code_table_prints(spacing_in: float, place: int) -> None:
    """IRC Table R502.3.1(2), spruce-pine-fir No.1/No.2; read in transcriptions."""
    size = FLOOR_SIZES[place]
    printed_in = inches(LIVING_READ["Spruce-pine-fir", "No.1/No.2", spacing_in].split()[place])
    # The table is for dry joists; none count as being in contact with the ground here.
    job = changed(demo(), floor_live_psf=40, floor_dead_psf=10, ground_contact_in=0)
    values = solved(
        on_flat(
            one_option(
                FRAMED,
                job,
                joist_stock=size,
                joist_spacing_in=spacing_in,
                species="Spruce-pine-fir No.1/No.2",
            )
        )
    )
    # The print rounds to the nearest inch.
    assert at(values, "joist_allowed_ft") * 12 == pytest.approx(printed_in, abs=0.5)


def test_a_floor_frame_squares_by_three_four_five() -> None:
    """Pythagoras: 12 by 16 ft has diagonals of 20 ft."""
    job = changed(demo(), building_length_ft=16, building_width_ft=12)
    values = solved(on_flat(one_option(FRAMED, job)))
    assert at(values, "floor_diagonal_in") == pytest.approx(240, abs=1e-9)
    assert at(values, "frame_diagonal_ft") == pytest.approx(math.hypot(18, 14), abs=1e-12)
    assert np.isfinite(at(values, "total_cost"))
