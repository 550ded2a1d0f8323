"""Of the sheet Floor: what leads up to the door, and what it is made of."""

from __future__ import annotations

from estimator.inputs import Field
from estimator.model.prices import item_choice
from estimator.rows import Chapter

INPUTS = Chapter()
STEPS, RAMP, NONE = "steps", "ramp", "none"
BY_CODE = "as the code asks"
BLOCKS, CONCRETE = "blocks", "concrete"


def _typed(*fields: Field) -> None:
    for field in fields:
        INPUTS.typed(field, scope="job")


INPUTS.section("Steps or a ramp at the door")
_typed(
    Field(
        "door_way",
        "At the door",
        kind="choice",
        default=STEPS,
        choices=(STEPS, RAMP, NONE),
        note="none: nothing is priced. Limits stand on Factors; local codes govern.",
    ),
    Field(
        "door_exit",
        "It is the required exit",
        kind="choice",
        default="no",
        choices=("no", "yes"),
        note="A ramp at the required exit is less steep (IRC R311.8.1).",
    ),
    Field("steps_width_in", "Width of steps or ramp", "in", "length", 36, 24, 120),
    Field(
        "tread_run_in",
        "Run of a tread",
        "in",
        "length",
        10.5,
        8,
        24,
        note="From nosing to nosing.",
    ),
    Field(
        "ramp_run_wanted",
        "Ramp, run to one of rise",
        "ft/ft",
        default=None,
        low=4,
        high=30,
        needed=False,
        when_blank="Blank: the least that Factors allows.",
    ),
    Field(
        "landing_wanted",
        "Landing at the door",
        kind="choice",
        default=BY_CODE,
        choices=(BY_CODE, "yes", "no"),
        note="The code asks for none at two rises or fewer where the door does not swing out over them.",
    ),
    Field("landing_depth_in", "Landing, out from the door", "in", "length", 36, 24, 120),
    Field(
        "rails_wanted",
        "Rails",
        kind="choice",
        default=BY_CODE,
        choices=(BY_CODE, "both sides", "none"),
    ),
)

INPUTS.section("What steps and ramp are made of")
_typed(
    Field("stringer_stock", "Stringers", kind="key", default="2x12 treated", refers="stock_name"),
    Field(
        "tread_stock",
        "Treads and boards",
        kind="key",
        default="2x6 treated",
        refers="stock_name",
        note="Laid flat, side by side.",
    ),
    Field(
        "landing_stock",
        "Frame of landing and ramp",
        kind="key",
        default="2x6 treated",
        refers="stock_name",
    ),
    Field("post_stock", "Posts", kind="key", default="4x4 treated", refers="stock_name"),
    Field(
        "rail_stock",
        "Boards of a guard",
        kind="key",
        default="2x4 treated",
        refers="stock_name",
        note="Also the strips that close risers.",
    ),
    Field(
        "foot_kind",
        "Under each stringer and post",
        kind="choice",
        default=BLOCKS,
        choices=(BLOCKS, CONCRETE),
        note="Some inspectors ask for a footing below frost; ask before you dig.",
    ),
    item_choice("foot_block_item", "Block", "block", "block_solid_4"),
    Field("foot_diameter_in", "Diameter of a concrete foot", "in", "length", 10, 6, 36),
    Field("foot_depth_in", "Depth of a concrete foot", "in", "length", 12, 6, 100),
)
