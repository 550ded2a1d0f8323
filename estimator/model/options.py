"""Sheet Options: one column an option, its kind and what it is made of."""

from __future__ import annotations

from dataclasses import replace

from estimator.appearance import SheetAppearance
from estimator.inputs import Field
from estimator.model.kinds import (
    CAST,
    GRADED,
    JOISTED,
    KIND_NAMES,
    KINDS,
    ON_BLOCKS,
    ON_PIERS,
    ON_STONE,
    PADS,
    SLOPED,
    SUPPORTS,
    TIMBERED,
)
from estimator.model.prices import KEY, item_choice
from estimator.rows import Sheet

OPTIONS = Sheet(
    "Options",
    "Options: ways to carry the building",
    "One column an option, up to six. Leave a column's kind blank and it stays quiet.",
    shows=SheetAppearance(characters={"species": 24, "default_joist": 12, "suggestion_first": 48}),
)
YES_NO = ("no", "yes")
BLANK = "Blank: as suggested, see below."


def _typed(*fields: Field, kinds: tuple[str, ...] = ()) -> None:
    """Inputs that all of these kinds use, unless a field says otherwise."""
    for field in fields:
        used = field.kinds or kinds
        every = set(used) == set(KIND_NAMES)
        OPTIONS.typed(replace(field, kinds=() if every else used), scope="option")


OPTIONS.section("What it is")
_typed(
    Field(
        "option_kind",
        "Kind",
        kind="choice",
        choices=KIND_NAMES,
        needed=False,
        note="; ".join(f"{kind.name}: {kind.note}" for kind in KINDS) + ".",
    ),
    Field("option_name", "Name", kind="text", needed=False),
)

OPTIONS.section("Height")
_typed(
    Field(
        "height_mode",
        "Height set by",
        kind="choice",
        default="high ground",
        choices=("high ground", "balanced", "by hand"),
        kinds=GRADED,
        note="high ground: flush with the highest ground anywhere under the base; balanced: cut fills the low side; by hand: the height below.",
    ),
    Field(
        "reckoned_from",
        "Reckoned from",
        kind="choice",
        default="original",
        choices=("original", "stripped"),
        kinds=GRADED,
        note="original: the ground that stays beside the pad; topsoil is put back up to it. stripped: it stays off beside the pad, whose top lies as much below the ground around.",
    ),
    Field("raise_in", "Raised above that", "in", "length", 0, -24, 48, kinds=GRADED),
    Field(
        "hand_height_ft",
        "Height by hand",
        "ft",
        "length",
        100,
        -10000,
        10000,
        kinds=GRADED,
        note="Top of the pad in the survey's datum. Used when set by hand.",
        fmt="0.000",
    ),
    Field(
        "clear_above_in",
        "Least height of support above ground",
        "in",
        "length",
        8,
        1,
        60,
        zero=True,
        kinds=SUPPORTS,
        note="Above the highest ground anywhere under the base.",
    ),
)

OPTIONS.section("Stone pad")
_typed(
    Field(
        "margin_in",
        "Margin around the building",
        "in",
        "length",
        12,
        1.5,
        60,
        zero=True,
        kinds=GRADED,
    ),
    Field("stone_depth_in", "Depth of stone", "in", "length", 4, 1, 36, kinds=GRADED),
    Field(
        "fill_with",
        "Low side filled with",
        kind="choice",
        default="soil",
        choices=("soil", "stone"),
        kinds=GRADED,
    ),
    item_choice("stone_item", "Stone", "stone", "stone_57", kinds=ON_STONE),
)

OPTIONS.section(
    "Stone and fabric in detail",
    folded={
        "compaction_share": "stone # more loose than compacted",
        "stone_waste_share": "waste #",
        "fabric_used": "fabric: #",
        "overlap_in": "overlap #",
        "turn_up_in": "turned up #",
    },
)
_typed(
    Field(
        "compaction_share",
        "Loose over compacted stone",
        "share",
        "share",
        0.10,
        0,
        0.5,
        kinds=ON_STONE,
        note="Loose {yards|m3} for {a yard|one m3} in place, less one.",
        fmt="0.0%",
    ),
    Field(
        "stone_waste_share",
        "Waste of stone",
        "share",
        "share",
        0.05,
        0,
        0.5,
        kinds=ON_STONE,
        fmt="0.0%",
    ),
    Field(
        "fabric_used",
        "Fabric under the stone",
        kind="choice",
        default="yes",
        choices=YES_NO,
        kinds=GRADED,
    ),
    Field(
        "overlap_in",
        "Overlap of fabric strips",
        "in",
        "length",
        12,
        1.5,
        60,
        zero=True,
        kinds=GRADED,
    ),
    Field(
        "turn_up_in",
        "Fabric turned up at the edge",
        "in",
        "length",
        4,
        0.5,
        36,
        zero=True,
        kinds=GRADED,
    ),
)

OPTIONS.section(
    "Shoulder in detail",
    folded={"shoulder_in": "level for #", "shoulder_run": "then # of run to rise"},
)
_typed(
    Field(
        "shoulder_in",
        "Level shoulder beyond the margin",
        "in",
        "length",
        0,
        1,
        60,
        zero=True,
        kinds=SLOPED,
    ),
    Field(
        "shoulder_run",
        "Slope of the shoulder, run to one of rise",
        "ft/ft",
        default=1.5,
        low=0,
        high=5,
        kinds=SLOPED,
    ),
)

OPTIONS.section("Water")
_typed(
    Field(
        "uphill_water",
        "Where ground comes down toward the pad",
        kind="choice",
        default="swale",
        choices=("swale", "stone drain", "none"),
        kinds=GRADED,
        note="swale: a shallow ditch; stone drain: trench with pipe and stone in fabric.",
    ),
)

OPTIONS.section("Timber frame")
_typed(
    Field(
        "timber_stock",
        "Timber",
        kind="key",
        default="4x6 treated",
        refers="stock_name",
        kinds=TIMBERED,
        note="Set on edge: the larger side upright.",
    ),
    Field("courses_most", "Most courses", "courses", "whole", 4, 1, 6, kinds=TIMBERED),
)

OPTIONS.section(
    "Timber frame in detail",
    folded={
        "embed_in": "bottom course at least # in the ground",
        "bedding_in": "bedding #",
        "trench_width_in": "trench # wide",
        "pin_spacing_in": "pins every # at most",
    },
)
_typed(
    Field(
        "embed_in",
        "Least depth of the bottom course in the ground",
        "in",
        "length",
        0,
        0.5,
        24,
        zero=True,
        kinds=TIMBERED,
    ),
    Field(
        "bedding_in",
        "Stone bedding in the trench",
        "in",
        "length",
        2,
        0.25,
        12,
        zero=True,
        kinds=TIMBERED,
    ),
    Field("trench_width_in", "Width of the trench", "in", "length", 10, 4, 36, kinds=TIMBERED),
    Field("pin_spacing_in", "Pins, most spacing", "in", "length", 48, 12, 96, kinds=TIMBERED),
)

OPTIONS.section("Skids")
_typed(
    Field("skid_stock", "Skid", kind="key", default="4x6 treated", refers="stock_name", kinds=PADS),
    Field(
        "skid_count",
        "Skids",
        "pieces",
        "whole",
        None,
        2,
        12,
        needed=False,
        kinds=PADS,
        when_blank=BLANK,
    ),
    Field(
        "skid_place",
        "Outer skids stand",
        kind="choice",
        default="flush",
        choices=("flush", "edge centred"),
        kinds=PADS,
        note="flush: outer faces in line with the floor; edge centred: centre lines on the edges.",
    ),
)

OPTIONS.section("Supports and beams")
_typed(
    Field(
        "support_rows",
        "Rows of supports (beams)",
        "rows",
        "whole",
        None,
        2,
        6,
        needed=False,
        kinds=SUPPORTS,
        when_blank=BLANK,
    ),
    Field(
        "supports_per_row",
        "Supports in a row",
        "pieces",
        "whole",
        None,
        2,
        10,
        needed=False,
        kinds=SUPPORTS,
        when_blank=BLANK,
    ),
    Field(
        "support_inset_in",
        "Outer rows set in from the edge",
        "in",
        "length",
        0,
        0.5,
        36,
        zero=True,
        kinds=SUPPORTS,
    ),
    Field(
        "beam_stock",
        "Beam boards",
        kind="key",
        default="2x8 treated",
        refers="stock_name",
        kinds=SUPPORTS,
    ),
    Field(
        "beam_plies",
        "Boards a beam",
        "boards",
        "whole",
        None,
        1,
        4,
        needed=False,
        kinds=SUPPORTS,
        when_blank=BLANK,
    ),
    Field(
        "pier_diameter_in",
        "Diameter of pier",
        "in",
        "length",
        10,
        6,
        36,
        kinds=ON_PIERS,
    ),
    Field(
        "footing_diameter_in",
        "Diameter of the spread footing",
        "in",
        "length",
        None,
        4,
        60,
        needed=False,
        kinds=ON_PIERS,
        note="For a straight pier, the diameter of the pier.",
        when_blank=BLANK,
    ),
    Field(
        "footing_thick_in",
        "Thickness of the spread footing",
        "in",
        "length",
        8,
        1,
        24,
        zero=True,
        kinds=ON_PIERS,
    ),
    Field(
        "least_depth_in",
        "Least depth below ground",
        "in",
        "length",
        12,
        6,
        100,
        kinds=ON_PIERS,
        note="Frost depth governs where it is not waived.",
    ),
    Field(
        "base_tied",
        "Brackets hold the beams to the piers",
        kind="choice",
        default="yes",
        choices=YES_NO,
        kinds=ON_PIERS,
        note="yes: cast in or bolted, and strong enough by the maker's own report.",
    ),
    Field(
        "concrete_by",
        "Concrete from",
        kind="choice",
        default="cheapest",
        choices=("cheapest", "bags", "ready-mix"),
        kinds=CAST,
    ),
    item_choice("block_item", "Block", "block", "block_solid_4", kinds=ON_BLOCKS),
    Field("block_side_in", "Side of a stack", "in", "length", 16, 4, 36, kinds=ON_BLOCKS),
)

OPTIONS.section(
    "Piers and blocks in detail",
    folded={
        "bars_per_pier": "# a pier",
        "block_height_in": "block # high",
        "blocks_a_course": "# a course",
        "block_pad_in": "stone bed # a side",
        "block_bed_in": "# deep",
    },
)
_typed(
    Field("bars_per_pier", "Steel bars a pier", "bars", "whole", 2, 0, 12, kinds=ON_PIERS),
    Field("block_height_in", "Height of a block", "in", "length", 4, 2, 24, kinds=ON_BLOCKS),
    Field(
        "blocks_a_course",
        "Blocks side by side in a course",
        "blocks",
        "whole",
        2,
        1,
        6,
        kinds=ON_BLOCKS,
        note="Two of {4 x 8 x 16 in|100 x 200 x 400 mm} make a square, turned from course to course.",
    ),
    Field(
        "block_pad_in",
        "Side of the stone bed under a stack",
        "in",
        "length",
        24,
        8,
        60,
        kinds=ON_BLOCKS,
    ),
    Field("block_bed_in", "Depth of the stone bed", "in", "length", 6, 2, 36, kinds=ON_BLOCKS),
)

OPTIONS.section("Floor")
_typed(
    Field("joist_stock", "Joist", kind="key", refers="stock_name", needed=False, when_blank=BLANK),
    Field(
        "joist_spacing_in",
        "Joists on centre",
        "in",
        "length",
        None,
        8,
        24,
        needed=False,
        when_blank=BLANK,
    ),
    Field(
        "species",
        "Species and grade",
        kind="key",
        default="Spruce-pine-fir No.1/No.2",
        refers="species_name",
    ),
    Field(
        "end_joists",
        "Joists in each end line",
        "pieces",
        "whole",
        None,
        1,
        2,
        needed=False,
        note="Under the end walls.",
        when_blank="Blank: one, or two where wall and roof ask for it.",
    ),
    Field(
        "sheet_item",
        "Floor sheet",
        kind="key",
        default="sheet_23_32_tg",
        refers="panel_item",
        by_key=KEY,
    ),
    kinds=JOISTED,
)

OPTIONS.section(
    "Floor in detail",
    folded={
        "blocking_rows": "# of blocking",
        "seam_blocks": "blocks under seams: #",
        "nominal_rips": "rips at nominal size: #",
    },
)
_typed(
    Field("blocking_rows", "Rows of blocking", "rows", "whole", 1, 0, 6),
    Field(
        "seam_blocks",
        "Blocks under the seams of square-edged sheets",
        kind="choice",
        default="yes",
        choices=YES_NO,
        note="Tongue and groove needs none (IRC R503.2.1, from memory).",
    ),
    Field(
        "nominal_rips",
        "Rips at nominal size",
        kind="choice",
        default="no",
        choices=YES_NO,
        note="yes leaves saw kerf and gaps out of the sheet count.",
    ),
    kinds=JOISTED,
)
