"""Sizes and material values of the product's tables against each other."""

from __future__ import annotations

import math

import pytest
from validated.concrete import BARS

from estimator.reference import dressed_size, find, value


@pytest.mark.parametrize(
    ("nominal", "condition"), [("2x8", "dry"), ("4x12", "dry"), ("6x6", "green"), ("8x8", "green")]
)
def test_boards_are_sold_dry_and_timbers_green(nominal: str, condition: str) -> None:
    assert dressed_size(nominal) == dressed_size(nominal, condition)


@pytest.mark.parametrize("bar", BARS)
def test_a_bar_weighs_what_its_steel_does(bar: str) -> None:
    """Steel weighs 490 lb/ft3: a slip of the keyboard in the table would show here."""
    diameter, weight = (
        value("concrete", item="rebar", size=bar, property=name)
        for name in ("diameter_in", "weight_lb_ft")
    )
    assert math.pi * diameter**2 / 4 * 490 / 144 == pytest.approx(weight, rel=0.003)


@pytest.mark.parametrize("soil", ["bedrock", "layered rock", "gravel", "sand"])
def test_what_soils_are_presumed_to_bear_was_read(soil: str) -> None:
    assert find("soils", material=soil, property="presumptive_bearing_psf").published
