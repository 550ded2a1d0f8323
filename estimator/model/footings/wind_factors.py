"""Of the sheet Factors: coefficients of wind, and what anchors, bases and ties hold."""

from __future__ import annotations

from estimator import reference
from estimator.inputs import Field
from estimator.model.usual import near_usual
from estimator.rows import Chapter

WIND_FACTORS = Chapter()


def _rule(key: str, rule: str, label: str, unit: str, high: float, low: float = 0) -> None:
    row = reference.find("rules", key=rule)
    note = f"{row.source}; {row.how_obtained}"
    value = row.number("value")
    field = Field(key, label, unit, "number", value, low, high, note=note, fmt="0.####")
    WIND_FACTORS.typed(near_usual(field), scope="job")


WIND_FACTORS.section("Wind (screening)")
for _letter, _words in (("b", "wooded or built-up"), ("c", "open country"), ("d", "open water")):
    _name = f"exposure {_letter.upper()}, {_words}"
    _rule(f"kz_{_letter}", f"wind_exposure_{_letter}", f"Kz to {{15 ft}}, {_name}", "-", 3)
    _rule(f"kz_power_{_letter}", f"wind_power_{_letter}", f"Alpha, {_name}", "-", 20, 1)
WIND_FACTORS.typed(
    near_usual(
        Field(
            "wind_least_mph",
            "Less than this is no design wind",
            "mph",
            default=30,
            low=0,
            high=100,
            note="common practice, no source: codes map three times as much",
        )
    ),
    scope="job",
)
_rule("gust", "wind_gust", "Gust factor", "-", 2)
_rule(
    "wind_coefficient",
    "wind_force_coefficient",
    "Wind force coefficient of the building",
    "-",
    3,
)
_rule(
    "uplift_coefficient", "wind_uplift_coefficient", "Wind uplift coefficient of the roof", "-", 3
)
_rule("inner_coefficient", "wind_inner", "Inner pressure of an enclosed building", "-", 1)
_rule("wall_least_psf", "wind_wall_least_psf", "Least pressure on walls, strength", "psf", 100)
_rule(
    "rise_least_psf",
    "wind_roof_least_psf",
    "Least pressure on the roof's rise, strength",
    "psf",
    100,
)

WIND_FACTORS.section("What holds a building down")
_rule("anchor_lb", "anchor_by_hand_lb", "Hold of a ground anchor turned in by hand", "lbf", 20000)
_rule(
    "anchor_set_lb",
    "anchor_tested_lb",
    "Hold of a ground anchor set by machine and tested",
    "lbf",
    20000,
)
_rule("anchor_apart_ft", "anchor_apart_ft", "Most distance between anchors", "ft", 50, 1)
_rule("anchor_end_ft", "anchor_end_ft", "Outer anchors from the ends, most", "ft", 20)
_rule("anchor_least_apart_ft", "anchor_least_apart_ft", "Anchors apart, least", "ft", 20)
_rule("base_hold_lb", "base_hold_lb", "Hold of a bracket cast in or bolted", "lbf", 20000)
_rule("tie_hold_lb", "tie_hold_lb", "Hold of a joist tie", "lbf", 20000, 1)
