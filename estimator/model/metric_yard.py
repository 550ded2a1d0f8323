"""What a metric yard stocks and is asked for: keys of items, sizes, defaults, rows of Factors."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from estimator import reference
from estimator.measures import UNITS, metric_key, metric_unit, rounded_to
from estimator.model.factors import (
    FACTORS,
    design_values_of,
    factor_rows,
    species_row,
    wet_shares,
)
from estimator.model.strength_classes import CLASSES, class_values

SIZES: Final[Mapping[str, str]] = {
    **{"2x4": "45x95", "2x6": "45x145", "2x8": "45x195", "2x10": "45x220", "2x12": "45x245"},
    **{"4x4": "95x95", "4x6": "95x145", "6x6": "145x145"},
}
"""A yard's size in millimetres for each of the sizes that an input may have by default."""
RECKONED_AS: Final[Mapping[str, str]] = {
    **{"45x95": "2x6", "45x145": "2x8", "45x195": "2x10", "45x220": "2x10", "45x245": "2x12"},
    **{"95x95": "4x6", "95x145": "4x8", "145x145": "6x6"},
}
"""Nominal size whose reference values a metric size is given: the next one at least as deep, since
bending values fall with depth; so the value is never too high."""
TEXTS: Final[Mapping[str, str]] = {
    "concrete_80": "concrete_25kg",
    "bar_4_20ft": "bar_12_6m",
    "bar_4_2ft": "pin_12_600",
    "nail_16d_galv": "nail_90_galv",
    "stone_57": "stone_25",
    "block_solid_8": "block_solid_200",
    "block_solid_4": "block_solid_100",
    "sheet_23_32_tg": "sheet_18_tg",
    **SIZES,
    **{f"{old} treated": f"{new} treated" for old, new in SIZES.items()},
}
"""Keys and sizes that rows and defaults name, and what the metric price book calls them."""
BAG_SHARE: Final = 25 / (80 * UNITS["lb"].factor)
"""A bag of 25 kg to one of 80 lb."""
SAWN: Final[Mapping[str, str]] = {
    **{"47x100": "45x95", "47x150": "45x145", "47x175": "45x145"},
    **{"47x200": "45x195", "47x225": "45x220"},
}
"""Sizes of yards that plane less off, and the size above whose wood values hold for them too: with
it they are reckoned as the same nominal size."""
GRADES: Final = (
    ("Spruce-pine-fir", "No.1/No.2"),
    ("Douglas fir-larch", "No.2"),
    ("Southern pine", "No.2"),
)
"""Graded lumber from overseas that metric yards have beside the strength classes."""
STRINGERS: Final = "45x295"
"""A size for notched stringers alone: the deepest of a frame leaves too little wood under a notch."""
DEFAULTS: Final[Mapping[str, float | str]] = {
    "currency": "EUR",
    "tax_word": "VAT",
    "permit_area_m2": 10.0,
    "species": "C16",
    "stake_out_m": 0.9,
    "bag_yield_m3": 0.0117,
    "bag_h": rounded_to(
        BAG_SHARE
        * reference.value(
            "productivity",
            task="mix and place concrete",
            material="80 lb bag",
            condition="barrow or small mixer",
        ),
        3,
    ),
    "bar_kg_m": 0.888,
    "skirt_sheet_m2": 2.88,
    "long_level_m": 2.0,
    "stringer_stock": f"{STRINGERS} treated",
    "steps_width_mm": 920.0,
    "landing_depth_mm": 920.0,
}
"""Defaults that are not those of the other yard converted: words of money and tax, a permit
limit and a strength class on the safe side, for a bag of 25 kg, a bar of 12 mm, sizes that a limit
of the code in inches must not be rounded below."""
_DIGITS = 4


def metric_factor_rows() -> dict[str, list[dict[str, float | str]]]:
    """Default rows of the tables of Factors in metric units, with a metric yard's sizes."""
    old = factor_rows()
    soils = [_converted(row) for row in old["soil"]]
    return {
        "soil": soils,
        "stock": _stocks(),
        "species": _species(),
        "wood": _wood(),
        **{axis: [dict(row) for row in old[axis]] for axis in ("spans", "spread")},
    }


def _converted(row: Mapping[str, float | str]) -> dict[str, float | str]:
    found: dict[str, float | str] = {}
    for key, value in row.items():
        unit = FACTORS.quantities[key].unit
        factor = metric_unit(unit).factor
        same = isinstance(value, str) or factor == 1.0
        found[metric_key(key, unit)] = value if same else rounded_to(float(value) * factor, _DIGITS)
    return found


def _stocks() -> list[dict[str, float | str]]:
    per_ft3 = metric_unit("lb/ft3").factor
    any_treated = "any, pressure-treated, as delivered"
    wet = reference.value("species", species=any_treated, property="unit_weight_lb_ft3")
    dry = reference.value("species", species="Southern pine", property="unit_weight_lb_ft3")
    rows: list[dict[str, float | str]] = []
    for size in (*SIZES.values(), *SAWN, STRINGERS):
        width, depth = (float(side) for side in size.split("x"))
        for treated in ("no", "yes"):
            if treated == "no" and (size == STRINGERS or not size.startswith("45")):
                continue
            rows.append(
                {
                    "stock_name": f"{size} treated" if treated == "yes" else size,
                    "stock_nominal": SAWN.get(size, size),
                    "stock_width_mm": width,
                    "stock_depth_mm": depth,
                    "stock_treated": treated,
                    "stock_kg_m3": round((wet if treated == "yes" else dry) * per_ft3),
                }
            )
    return rows


def _species() -> list[dict[str, float | str]]:
    rows: list[dict[str, float | str]] = []
    for name in CLASSES:
        rows.append({"species_name": name, "species_incised": "no"})
    return [*rows, *(species_row(kind, grade) for kind, grade in GRADES)]


def _wood() -> list[dict[str, float | str]]:
    mpa = UNITS["psi"].factor
    rows: list[dict[str, float | str]] = []
    for name in CLASSES:
        of = class_values(name)
        for size in RECKONED_AS:
            rows.append(
                {
                    "wood_name": f"{name} {size}",
                    "wood_fb_mpa": rounded_to(of.bending_mpa, _DIGITS),
                    "wood_fv_mpa": rounded_to(of.shear_mpa, _DIGITS),
                    "wood_fc_mpa": rounded_to(of.bearing_mpa, _DIGITS),
                    "wood_e_mpa": of.modulus_mpa,
                    "wood_wet_fb": rounded_to(of.wet_strength, _DIGITS),
                    "wood_wet_fv": rounded_to(of.wet_strength, _DIGITS),
                    "wood_wet_fc": rounded_to(of.wet_strength, _DIGITS),
                    "wood_wet_e": of.wet_modulus,
                }
            )
    for kind, grade in GRADES:
        for size, inch_size in RECKONED_AS.items():
            values = design_values_of(kind, grade, inch_size)
            rows.append(
                {
                    "wood_name": f"{kind} {grade} {size}",
                    "wood_fb_mpa": rounded_to(
                        values.bending_psi * values.size_factor * mpa, _DIGITS
                    ),
                    "wood_fv_mpa": rounded_to(values.shear_psi * mpa, _DIGITS),
                    "wood_fc_mpa": rounded_to(values.bearing_psi * mpa, _DIGITS),
                    "wood_e_mpa": rounded_to(values.modulus_psi * mpa, _DIGITS),
                    **wet_shares(kind, inch_size, values),
                }
            )
    return rows
