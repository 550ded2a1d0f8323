"""Sizes and material values of the product's tables against values typed in from their sources.

Each test names its source and how it was read; ids with ``memory`` are remembered values.
"""

from __future__ import annotations

import math

import pytest

from estimator.reference import dressed_size, find, soil, value


@pytest.mark.parametrize(
    ("nominal", "dry", "green"),
    [
        ("2x4", (1.5, 3.5), (1.5625, 3.5625)),
        ("2x6", (1.5, 5.5), (1.5625, 5.625)),
        ("2x8", (1.5, 7.25), (1.5625, 7.5)),
        ("2x10", (1.5, 9.25), (1.5625, 9.5)),
        ("2x12", (1.5, 11.25), (1.5625, 11.5)),
        ("4x4", (3.5, 3.5), (3.5625, 3.5625)),
        ("4x6", (3.5, 5.5), (3.5625, 5.625)),
        ("4x12", (3.5, 11.25), (3.5625, 11.5)),
    ],
)
def test_dimension_lumber_is_dressed_as_the_lumber_standard_prints(
    nominal: str, dry: tuple[float, float], green: tuple[float, float]
) -> None:
    """DOC PS 20, minimum dressed sizes, read in a transcription of its table."""
    assert dressed_size(nominal, "dry") == dry
    assert dressed_size(nominal, "green") == green
    assert dressed_size(nominal) == dry


@pytest.mark.parametrize(
    ("nominal", "green"),
    [
        pytest.param("6x6", (5.5, 5.5), id="6x6"),
        pytest.param("6x8", (5.5, 7.5), id="memory: 6x8"),
        pytest.param("8x8", (7.5, 7.5), id="memory: 8x8"),
    ],
)
def test_timbers_are_half_an_inch_under_their_name(
    nominal: str, green: tuple[float, float]
) -> None:
    """PS 20's rule for timbers surfaced green, read in a transcription; that NDS Table 1B lists
    6x8 and 8x8 so is from memory."""
    assert dressed_size(nominal) == green


def test_a_dry_eight_inch_timber_is_three_quarters_under() -> None:
    """PS 20's rule, read in a transcription: 7 to 15 in, dry, 3/4 in off."""
    assert dressed_size("6x8", "dry") == (5.5, 7.25)


@pytest.mark.parametrize(
    ("size_in", "length_ft", "printed", "per_printed", "places"),
    [
        # Hand values of pi d2 / 4 by eight feet, in cubic inches, and by one foot, in cubic feet.
        pytest.param(8, 8, 4825.5, 1728, 1, id="computed: 8 in by 8 ft"),
        pytest.param(12, 1, 0.7854, 1, 4, id="computed: 12 in by 1 ft"),
        pytest.param(10, 1, 0.5454, 1, 4, id="computed: 10 in by 1 ft"),
        pytest.param(24, 1, 3.1416, 1, 4, id="computed: 24 in by 1 ft"),
    ],
)
def test_a_tube_form_holds_its_cylinder(
    size_in: int, length_ft: float, printed: float, per_printed: float, places: int
) -> None:
    per_ft = value("concrete", item="tube form", size=f"{size_in} in", property="volume_ft3_ft")
    # The table keeps six decimals of a cubic foot a foot: half a unit of the last, in the
    # printed unit, on top of half a unit of the printed last place.
    allowed = 0.5 * 10**-places + 0.5e-6 * length_ft * per_printed
    assert per_ft * length_ft * per_printed == pytest.approx(printed, abs=allowed)
    assert per_ft == pytest.approx(math.pi * (size_in / 24) ** 2, abs=5e-7)


@pytest.mark.parametrize(
    ("bag", "yield_ft3", "bags_a_yard"),
    [
        pytest.param("40 lb", 0.30, 90, id="read: 40 lb"),
        pytest.param("50 lb", 0.375, 72, id="memory: 50 lb"),
        pytest.param("60 lb", 0.45, 60, id="read: 60 lb"),
        pytest.param("80 lb", 0.60, 45, id="read: 80 lb"),
    ],
)
def test_bags_of_concrete_mix_yield_what_their_makers_print(
    bag: str, yield_ft3: float, bags_a_yard: int
) -> None:
    """Makers' data sheets, 0.15 ft3 for each 20 lb, read second-hand; 50 lb from memory."""
    found = value("concrete", item="bag", size=bag, property="yield_ft3")
    assert found == yield_ft3
    assert 27 / found == pytest.approx(bags_a_yard)


@pytest.mark.parametrize(
    ("soil_class", "bearing_psf", "lateral_psf_ft", "sliding"),
    [
        ("bedrock", 12000, 1200, 0.70),
        ("layered rock", 4000, 400, 0.35),
        ("gravel", 3000, 200, 0.35),
        ("sand", 2000, 150, 0.25),
    ],
)
def test_soil_bears_what_the_code_presumes(
    soil_class: str, bearing_psf: float, lateral_psf_ft: float, sliding: float
) -> None:
    """IRC Table R401.4.1 (bearing) and IBC 2012 Table 1806.2, read in transcriptions."""
    assert soil(soil_class, "presumptive_bearing_psf") == bearing_psf
    assert soil(soil_class, "lateral_bearing_psf_ft") == lateral_psf_ft
    assert soil(soil_class, "sliding_coefficient") == sliding
    assert find("soils", material=soil_class, property="presumptive_bearing_psf").published


def test_clay_bears_1500_psf_and_slides_by_cohesion() -> None:
    """IRC Table R401.4.1 and IBC 2012 Table 1806.2, read in transcriptions."""
    assert soil("clay", "presumptive_bearing_psf") == 1500
    assert soil("clay", "lateral_bearing_psf_ft") == 100
    assert soil("clay", "cohesion_psf") == 130


def test_unprepared_fill_bears_nothing() -> None:
    """IBC 2012 Table 1806.2, read in a transcription: no value is assumed."""
    assert soil("unprepared fill", "presumptive_bearing_psf") == 0


@pytest.mark.parametrize(
    ("bar", "diameter_in", "area_in2", "weight_lb_ft"),
    [
        ("#3", 0.375, 0.11, 0.376),
        ("#4", 0.500, 0.20, 0.668),
        ("#5", 0.625, 0.31, 1.043),
        ("#6", 0.750, 0.44, 1.502),
        ("#7", 0.875, 0.60, 2.044),
        ("#8", 1.000, 0.79, 2.670),
    ],
)
def test_steel_bars_measure_and_weigh_what_the_standard_prints(
    bar: str, diameter_in: float, area_in2: float, weight_lb_ft: float
) -> None:
    """ASTM A615 Table 1, read in three transcriptions that agree."""
    for name, printed in (
        ("diameter_in", diameter_in),
        ("area_in2", area_in2),
        ("weight_lb_ft", weight_lb_ft),
    ):
        assert value("concrete", item="rebar", size=bar, property=name) == printed
    # Steel weighs 490 lb/ft3: a slip of the keyboard in the table would show here.
    assert math.pi * diameter_in**2 / 4 * 490 / 144 == pytest.approx(weight_lb_ft, rel=0.003)


@pytest.mark.parametrize(
    ("size", "length_in", "diameter_in"),
    [("6d", 2.0, 0.113), ("8d", 2.5, 0.131), ("10d", 3.0, 0.148), ("16d", 3.5, 0.162)],
)
def test_common_nails_are_as_long_as_the_wood_handbook_prints(
    size: str, length_in: float, diameter_in: float
) -> None:
    """USDA Wood Handbook FPL-GTR-282 Table 8-1, read in a transcription in millimetres."""
    assert (
        value("fasteners", connection="common nail", size=size, property="length_in") == length_in
    )
    found = value("fasteners", connection="common nail", size=size, property="diameter_in")
    assert found == diameter_in
