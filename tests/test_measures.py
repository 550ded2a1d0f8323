"""Metric units, keys, formats and sentences, and formulas brought to them."""

from __future__ import annotations

import math

import numpy as np
import pytest

from estimator.errors import RowError
from estimator.expression import quantity
from estimator.formula import emit
from estimator.measures import (
    habit,
    limit,
    metric_format,
    metric_key,
    metric_unit,
    says_otherwise,
)
from estimator.model.tape import tape
from estimator.rewrite import Own, Rewriter, Scale
from estimator.units import M_PER_FT
from estimator.vocabulary import Q, amount, as_text, join, rounded, size

MM, M, M3 = 25.4, M_PER_FT, 0.764554857984


@pytest.mark.parametrize(
    ("key", "unit", "name", "factor"),
    [
        ("building_length_ft", "ft", "building_length_m", 0.3048),
        ("kerf_in", "in", "kerf_mm", 25.4),
        ("stone_order_yd3", "yd3", "stone_order_m3", 0.764554857984),
        ("support_ft2", "ft2", "support_m2", 0.09290304),
        ("item_lb", "lb", "item_kg", 0.45359237),
        ("wind_lb", "lbf", "wind_kn", 0.0044482216152605),
        ("floor_psf", "psf", "floor_kpa", 0.04788025898033584),
        ("joist_fb_psi", "psi", "joist_fb_mpa", 0.006894757293168361),
        ("wall_plf", "plf", "wall_kn_m", 0.014593902937206365),
        ("stone_tons", "tons", "stone_t", 0.90718474),
        ("strip_h_ft2", "h/ft2", "strip_h_m2", 1 / 0.09290304),
        ("stone_lb_ft3", "lb/ft3", "stone_kg_m3", 16.018463373960142),
        ("walk_ft_min", "ft/min", "walk_m_min", 0.3048),
        ("dig_cost_yd3", "$/yd3", "dig_cost_m3", 1 / 0.764554857984),
        ("joists_in_all", "pieces", "joists_in_all", 1.0),
        ("turn_deg", "deg", "turn_deg", 1.0),
    ],
)
def test_units_are_converted_by_the_definitions_of_foot_pound_and_gravity(
    key: str, unit: str, name: str, factor: float
) -> None:
    """Factors: NIST SP 811 (2008) Appendix B.8, from memory; each follows from the definitions."""
    assert metric_key(key, unit) == name
    assert metric_unit(unit).factor == pytest.approx(factor, rel=1e-12)


@pytest.mark.parametrize(
    ("pattern", "unit", "shown"),
    [
        ("0.0", "in", "0"),
        ("0.00", "in", "0"),
        ("+0.0;-0.0;0.0", "in", "+0;-0;0"),
        ("0.00", "ft", "0.000"),
        ("0.000", "ft", "0.000"),
        ("0.0", "yd3", "0.0"),
        ("0", "psf", "0.0"),
        ("#,##0", "psi", "#,##0.00"),
        ("0.##", "ft", "0.##"),
        ("0%", "share", "0%"),
    ],
)
def test_number_formats_show_about_as_much(pattern: str, unit: str, shown: str) -> None:
    assert metric_format(pattern, metric_unit(unit)) == shown


@pytest.mark.parametrize(("exact", "round_size"), [(406.4, 400), (101.6, 100), (3.175, 3)])
def test_customary_sizes_become_round_millimetres(exact: float, round_size: float) -> None:
    assert habit(exact, "mm") == round_size


@pytest.mark.parametrize("value", [203.2, 609.6, -310.3, 0.381, 1219.2])
def test_limits_are_made_rounder_and_never_narrower(value: float) -> None:
    assert limit(value, up=False) <= value <= limit(value, up=True)
    assert abs(limit(value, up=True) - limit(value, up=False)) <= abs(value) / 9


class _Names:
    """Cells are called by their keys."""

    def cell(self, key: str) -> str:
        return key

    block = options = cell


def _rewritten(expression: Q, out: Scale, **scales: Scale) -> str:
    names = {key: key for key in scales}
    return emit(Rewriter(names, scales, {}).row(expression.node, out), _Names())


def _q(key: str) -> Q:
    return quantity(key, kind="number", axis=None, by_option=False)


def test_factors_that_cancel_leave_a_plain_formula() -> None:
    a, b = _q("a"), _q("b")
    assert _rewritten(a + b, MM, a=MM, b=MM) == "a+b"
    assert _rewritten(a / 12, M, a=MM) == "a/1000"
    assert _rewritten((a - b) * 12, MM, a=M, b=M) == "(a-b)*1000"
    assert _rewritten(a * a * b / 12 / 27, M3, a=M, b=MM) == "a*a*b/1000"
    assert _rewritten(a / b, 1.0, a=M, b=M) == "a/b"


def test_numbers_that_are_sizes_are_converted_and_counts_are_not() -> None:
    a, n = _q("a"), _q("n")
    assert _rewritten(a + 6, MM, a=MM) == "a+152.4"
    assert _rewritten(2 * a, MM, a=MM) == "2*a"
    assert _rewritten(n * 12, 1.0, n=1.0) == "n*12"
    assert _rewritten(np_where(a > 6, a, 0), MM, a=MM) == "IF(ROUND(a-152.4,9)>0,a,0)"


def np_where(test: Q, yes: Q, no: Q) -> Q:
    return np.where(test, yes, no)


def test_what_counts_in_an_items_own_unit_takes_the_unit_that_it_meets() -> None:
    need, pack, each = _q("need"), _q("pack"), _q("each")
    assert _rewritten(need / pack, 1.0, need=M3, pack=Own()) == "need/pack"
    assert _rewritten(need / 12 / pack, 1.0, need=MM, pack=Own()) == "need/pack/1000"
    assert _rewritten(pack * each, 0.45359237, pack=Own(), each=0.45359237) == "pack*each"
    with pytest.raises(RowError):
        _rewritten(pack + need, 0.5, pack=Own(), need=0.5)


def test_lengths_in_texts_are_written_in_millimetres() -> None:
    a = _q("a")
    text = _rewritten(join("at ", amount(a, "in", "0.0")), 1.0, a=MM)
    assert text == '"at "&TEXT(ROUND(a+1E-09,0),"0")&" mm"'
    assert _rewritten(amount(a, "in"), 1.0, a=MM) == 'ROUND(a+1E-09,0)&" mm"'
    assert _rewritten(amount(a, "ft", "0"), 1.0, a=M) == 'TEXT(ROUND(a+1E-09,2),"0.00")&" m"'
    assert _rewritten(join("tube_", size(a, "in", "0")), 1.0, a=MM) == (
        '"tube_"&TEXT(ROUND(a+1E-09,0),"0")'
    )
    assert _rewritten(tape(a), 1.0, a=MM) == 'TEXT(ROUND(a+1E-09,0),"0")&" mm"'


def test_a_number_with_a_unit_is_refused_in_a_text_that_does_not_say_which() -> None:
    a, n = _q("a"), _q("n")
    for number in (a, np.ceil(a), rounded(a, 1), as_text(a, "0.0")):
        with pytest.raises(RowError, match="amount"):
            _rewritten(join("at ", number, " in"), 1.0, a=MM)
    assert _rewritten(join(n, " pieces"), 1.0, n=1.0) == 'n&" pieces"'
    with pytest.raises(RowError, match="no metric one"):
        amount(n, "pieces")


@pytest.mark.parametrize(
    ("key", "unit", "word"),
    [
        ("stone_yd3", "yd3", ""),
        ("haul_h_yd3", "h/yd3", ""),
        ("skid_lb", "lbf", ""),
        ("stone_loads", "loads", ""),
        ("stone_yd3", "cubic yards", "yd3"),
        ("strap_in", "", "in"),
        ("strap_in", "ft", "in"),
    ],
)
def test_a_key_ends_in_the_unit_of_its_quantity(key: str, unit: str, word: str) -> None:
    assert says_otherwise(key, unit) == word


def test_a_root_of_an_area_is_a_length() -> None:
    assert _rewritten(np.sqrt(_q("a")), M, a=M**2) == "SQRT(a)"
    assert math.isclose(M**2, metric_unit("ft2").factor)
