"""What the product reproduces of printed values and worked examples, a module for each part."""

from validated import (
    bearing,
    concrete,
    costs,
    cutting,
    days,
    ground,
    sheets,
    wind,
    wood,
    wood_spans,
)

GROUPS = (
    *ground.GROUPS, *wood_spans.GROUPS, *wood.GROUPS, *bearing.GROUPS, *wind.GROUPS,
    *concrete.GROUPS, *cutting.GROUPS, *sheets.GROUPS, *costs.GROUPS, *days.GROUPS,
)  # fmt: skip
