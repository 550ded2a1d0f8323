"""Of the sheet Factors: limits of the code on steps and ramps, and hours to build them."""

from __future__ import annotations

from estimator import reference
from estimator.inputs import Field
from estimator.model.usual import near_usual
from estimator.rows import Chapter

LIMITS = Chapter()
HABIT = "common practice, no source"


def _typed(
    key: str, label: str, unit: str, default: float, note: str, high: float, low: float = 0
) -> None:
    field = Field(key, label, unit, "number", default, low, high, note=note, fmt="0.####")
    LIMITS.typed(near_usual(field), scope="job")


def _limit(key: str, name: str, label: str, unit: str, high: float = 300, low: float = 0) -> None:
    row = reference.find("steps", key=name)
    _typed(key, label, unit, row.number("value"), f"{row.source}; {row.how_obtained}", high, low)


def _hours(key: str, label: str, unit: str, task: str, material: str, condition: str) -> None:
    row = reference.find("productivity", task=task, material=material, condition=condition)
    _typed(key, label, unit, row.number("value"), f"{row.source}; {row.how_obtained}", 100)


LIMITS.section("Steps and ramps: limits and habits")
_limit("step_rise_in", "rise_most_in", "Most rise of a step", "in", 12, 3)
_limit("run_least_in", "run_least_in", "Least run of a tread", "in", 24)
_limit("open_riser_rise_in", "open_riser_rise_in", "Height that asks for closed risers", "in")
_limit("steps_width_least_in", "stair_width_least_in", "Least width of steps", "in")
_limit("landing_least_in", "landing_depth_least_in", "Least depth of a landing", "in")
_limit("landing_free_rises", "landing_free_rises", "Most rises without a landing", "rises", 20)
_limit("handrail_rises", "handrail_rises", "Rises that ask for a handrail", "rises", 20)
_limit("guard_rise_in", "guard_rise_in", "Height that asks for a guard", "in")
_limit("guard_height_in", "guard_height_in", "Height of a guard or handrail", "in", 60)
_limit("guard_opening_in", "guard_opening_in", "Most opening in a guard", "in", 12)
_limit("ramp_run", "ramp_run", "Ramp, least run to one of rise", "ft/ft", 30)
_limit("ramp_exit_run", "ramp_exit_run", "The same at the required exit", "ft/ft", 30)
_limit("ramp_handrail_run", "ramp_handrail_run", "Ramp without a handrail, least", "ft/ft", 30)
_limit("throat_least_in", "throat_least_in", "Least wood under a stringer's notch", "in", 24)
_limit("stringer_span_in", "cut_stringer_span_in", "Most level span of a stringer", "in")
_limit("stringer_spacing_in", "stringer_spacing_in", "Stringers on centre, most", "in", 48, 6)
_typed("stringer_ends_in", "Sawn off a stringer's ends, both", "in", 6.0, HABIT, 48)
_typed("board_gap_in", "Gap between boards outdoors", "in", 0.25, HABIT, 2)
_typed("ramp_bay_in", "Ramp, most between supports", "in", 72.0, HABIT, 240, 12)
_typed("rail_post_spacing_in", "Rail posts on centre, most", "in", 72.0, HABIT, 240, 12)

LIMITS.section("Steps and ramps: hours of work")
_hours(
    "stringer_h", "Lay out, cut and hang a stringer", "h each", "set stringer", "lumber", "notched"
)
_hours("board_h", "Fix a tread or board", "h each", "fix board", "lumber", "cut and screwed")
_hours("post_h", "Set a post", "h each", "set post", "lumber", "cut, plumbed, bolted")
_hours("rail_h_ft", "Fix rails", "h/ft", "fix rail", "lumber", "cut and screwed")
