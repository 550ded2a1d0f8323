"""Sheet Footings: what holds a light building in the wind, and the anchors that it wants."""

from __future__ import annotations

import numpy as np

from estimator.model.adds import OK, Hours, Need, Weight, check
from estimator.model.kinds import (
    FLOORS,
    LOOSE,
    ON_PIERS,
    PADS,
    SUPPORTS,
    MoreCases,
    by_kind,
    is_kind,
    where_kind,
)
from estimator.rows import Chapter
from estimator.solve import wind
from estimator.units import FT3_PER_YD3, IN_PER_FT
from estimator.vocabulary import Q, amount, join, lookup

WIND = Chapter()
HELD = "ASCE 7-16 2.4.1, 0.6 D + 0.6 W; statics"
BRACKETS = "common practice, no source: the maker's own report decides"
BY_HAND = "turned in by hand"
DEAD_SHARE = 0.6
"""Share of the dead load that may resist (ASCE 7-16 2.4.1)."""

WIND.section("What holds it in the wind")


@WIND.row("Skids or beams, dry", "lb", fmt="#,##0", source="Their size; dry wood on Factors")
def bearer_dry_lb(
    option_kind: Q,
    building_length_ft: Q,
    skid_count_used: Q,
    skid_width_in: Q,
    skid_depth_in: Q,
    support_rows_used: Q,
    beam_across_in: Q,
    beam_depth_in: Q,
    wood_dry_lb_ft3: Q,
    more_cases: MoreCases,
) -> Q:
    skids = skid_count_used * skid_width_in * skid_depth_in
    beams = support_rows_used * beam_across_in * beam_depth_in
    an_inch2 = building_length_ft / IN_PER_FT**2 * wood_dry_lb_ft3
    dry = {PADS: skids * an_inch2, SUPPORTS: beams * an_inch2, FLOORS: 0}
    return by_kind(option_kind, dry, more_cases)


WIND.adds(Weight(key="bearers", label="Skids or beams", dry="bearer_dry_lb"))


@WIND.row(
    "Hold of the bases along front, and along back",
    "lbf",
    fmt="#,##0",
    source=f"{HELD}; brackets: {BRACKETS}",
    note="Brackets cast in or bolted, no more than 0.6 of pier and footing. Nothing of stacked blocks.",
)
def base_side_lb(
    option_kind: Q,
    base_tied: Q,
    supports_per_row_used: Q,
    support_count: Q,
    concrete_yd3: Q,
    concrete_lb_ft3: Q,
    base_hold_lb: Q,
    more_cases: MoreCases,
) -> Q:
    pier = concrete_yd3 * FT3_PER_YD3 * concrete_lb_ft3 / np.maximum(support_count, 1)
    tied = np.where(base_tied == "yes", np.minimum(base_hold_lb, DEAD_SHARE * pier), 0)
    return by_kind(option_kind, {LOOSE: 0, ON_PIERS: supports_per_row_used * tied}, more_cases)


@WIND.row(
    "Hold of the bases against sliding",
    "lbf",
    fmt="#,##0",
    source=BRACKETS,
    note="Of all brackets cast in or bolted.",
)
def base_slide_lb(
    option_kind: Q, base_tied: Q, support_count: Q, base_hold_lb: Q, more_cases: MoreCases
) -> Q:
    tied = np.where(base_tied == "yes", support_count * base_hold_lb, 0)
    return by_kind(option_kind, {LOOSE: 0, ON_PIERS: tied}, more_cases)


@WIND.row(
    "Hold of friction",
    "lbf",
    fmt="#,##0",
    source=HELD,
    note="Friction alone. Earth before the edges of a slab or the piers would hold too; it is left out, on the safe side, as frost loosens it and a spade takes it away.",
)
def friction_hold_lb(dry_load_lb: Q, uplift_lb: Q, friction: Q) -> Q:
    return wind.friction_lb(dry_load_lb, uplift_lb, friction)


@WIND.row(
    "Hold-down that anchors must give along front, and along back",
    "lbf",
    fmt="#,##0",
    source=HELD,
    note="Against overturning and uplift, from the worse direction; both ends share it.",
)
def hold_down_lb(lift_lb: Q, dry_load_lb: Q, base_side_lb: Q) -> Q:
    return wind.hold_down_lb(lift_lb, dry_load_lb, base_side_lb)


@WIND.row("Hold against sliding that anchors must give", "lbf", fmt="#,##0", source=HELD)
def sliding_lack_lb(push_lb: Q, friction_hold_lb: Q, base_slide_lb: Q) -> Q:
    return np.maximum(push_lb - friction_hold_lb - base_slide_lb, 0)


@WIND.row("Hold of an anchor", "lbf", fmt="#,##0", source="Factors; Job says how they are set")
def anchor_hold_lb(anchor_way: Q, anchor_lb: Q, anchor_set_lb: Q) -> Q:
    return np.where(anchor_way == BY_HAND, anchor_lb, anchor_set_lb)


@WIND.row(
    "Anchors along front, and along back",
    "pieces",
    fmt="0",
    source="77 Ill. Adm. Code 870.220 for their spacing",
    note="For hold-down and half of the sliding together.",
)
def anchors_side(
    hold_down_lb: Q,
    sliding_lack_lb: Q,
    anchor_hold_lb: Q,
    building_length_ft: Q,
    anchor_apart_ft: Q,
    anchor_end_ft: Q,
) -> Q:
    return wind.anchors_a_side(
        hold_down_lb,
        sliding_lack_lb,
        anchor_hold_lb,
        building_length_ft,
        anchor_apart_ft,
        anchor_end_ft,
    )


@WIND.row(
    "Anchors", "pieces", fmt="0", note="With straps round skids or beams, along front and back."
)
def anchor_count(anchors_side: Q) -> Q:
    return 2 * anchors_side


@WIND.row("Anchors come as", kind="text")
def anchor_item(anchor_way: Q, item_key: Q, item_name: Q) -> Q:
    key = np.where(anchor_way == BY_HAND, "ground_anchor", "ground_anchor_set")
    return lookup(key, item_key, item_name, key)


@WIND.row("Hold of the anchors along front, and along back", "lbf", fmt="#,##0")
def anchored_lb(anchor_count: Q, anchor_hold_lb: Q) -> Q:
    return anchor_count / 2 * anchor_hold_lb


@WIND.row(
    "Sliding: force over what holds",
    "share",
    fmt="0%",
    source=HELD,
    note="With what hold-down leaves of the anchors.",
)
def sliding_use(
    push_lb: Q, friction_hold_lb: Q, base_slide_lb: Q, anchored_lb: Q, hold_down_lb: Q
) -> Q:
    spare = 2 * np.maximum(anchored_lb - hold_down_lb, 0)
    return wind.use(push_lb, friction_hold_lb + base_slide_lb + spare)


@WIND.row(
    "Overturning: lift over what holds",
    "share",
    fmt="0%",
    source=HELD,
    note="About the lee edge of skids or beams, with what sliding leaves of the anchors.",
)
def overturning_use(
    lift_lb: Q, dry_load_lb: Q, base_side_lb: Q, anchored_lb: Q, sliding_lack_lb: Q
) -> Q:
    spare = np.maximum(anchored_lb - sliding_lack_lb / 2, 0)
    return wind.use(lift_lb, DEAD_SHARE * dry_load_lb / 2 + base_side_lb + spare)


@WIND.row("Uplift: suction on the roof over what holds", "share", fmt="0%", source=HELD)
def uplift_use(
    uplift_lb: Q, dry_load_lb: Q, base_side_lb: Q, anchored_lb: Q, sliding_lack_lb: Q
) -> Q:
    spare = np.maximum(anchored_lb - sliding_lack_lb / 2, 0)
    return wind.use(uplift_lb, DEAD_SHARE * dry_load_lb + 2 * (base_side_lb + spare))


@WIND.row(
    "Lift of a joist from its outer skid or beam",
    "lbf",
    fmt="0",
    source=HELD,
    note="The windward side's, less the weight above, over its joists.",
)
def joist_lift_lb(
    option_kind: Q,
    lift_lb: Q,
    dry_load_lb: Q,
    bearer_dry_lb: Q,
    joist_spacing_used_in: Q,
    building_length_ft: Q,
) -> Q:
    lift = wind.hold_down_lb(lift_lb, dry_load_lb - bearer_dry_lb)
    each = lift / building_length_ft * joist_spacing_used_in / IN_PER_FT
    return where_kind(option_kind, PADS + SUPPORTS, each)


@WIND.row("Ties at each end of a joist", "pieces", fmt="0", source=BRACKETS, note="One at least.")
def ties_a_joint(joist_lift_lb: Q, tie_hold_lb: Q) -> Q:
    return np.maximum(np.ceil(joist_lift_lb / tie_hold_lb), 1)


@WIND.row(
    "Set anchors", "h", fmt="0.0", source="Rates on Factors", note="Those set by machine come set."
)
def anchor_hours(anchor_way: Q, anchor_count: Q, anchor_h: Q) -> Q:
    return np.where(anchor_way == BY_HAND, anchor_count * anchor_h, 0)


WIND.adds(
    Need(key="anchor", label="Anchors", item="anchor_item", quantity="anchor_count"),
    Hours(
        key="anchors",
        label="Set anchors",
        quantity="anchor_hours",
        trade="timber",
        after=("skids", "beams"),
    ),
)


def _holds(use: Q, fails: str) -> Q:
    return np.where(use > 1, fails, OK)


@check(WIND, "Sliding in the wind (screening)", mend="base_tied", hazard="sliding", source=HELD)
def check_sliding(sliding_use: Q) -> Q:
    return _holds(sliding_use, "FAIL: wind slides it off its base")


@check(
    WIND,
    "Overturning in the wind (screening)",
    mend="anchor_way",
    hazard="overturning",
    source=HELD,
)
def check_overturning(overturning_use: Q) -> Q:
    return _holds(overturning_use, "FAIL: wind turns it over")


@check(WIND, "Uplift by the wind (screening)", mend="anchor_way", hazard="uplift", source=HELD)
def check_uplift(uplift_use: Q) -> Q:
    return _holds(uplift_use, "FAIL: wind lifts it")


@check(
    WIND,
    "Anchors and brackets",
    mend="anchor_way",
    hazard="uplift",
    source="Least distance on Factors (common practice, no source)",
)
def check_anchors(
    option_kind: Q,
    anchors_side: Q,
    anchor_way: Q,
    anchor_hold_lb: Q,
    anchor_least_apart_ft: Q,
    building_length_ft: Q,
    base_tied: Q,
) -> Q:
    crowded = (anchors_side - 1) * anchor_least_apart_ft > building_length_ft
    brackets = is_kind(option_kind, ON_PIERS) & (base_tied == "yes")
    cast = "brackets must be cast in or bolted, and hold what counts"
    pulled = join(
        "LOOK: have an anchor pulled to ",
        amount(anchor_hold_lb, "lbf", "0"),
        np.where(brackets, f"; {cast}", ""),
    )
    return np.where(
        crowded,
        "FAIL: more anchors than the ground beside it holds; have stronger ones set and tested",
        np.where(
            (anchors_side > 0) & (anchor_way == BY_HAND),
            pulled,
            np.where(brackets, f"LOOK: {cast}", OK),
        ),
    )


@check(WIND, "Hill or ridge", mend="topography", hazard="uplift", source="ASCE 7-16 26.8")
def check_topography(topography: Q) -> Q:
    return np.where(
        topography == "flat",
        OK,
        "LOOK: wind is faster on a hill or ridge; have Kzt worked out for this spot",
    )
