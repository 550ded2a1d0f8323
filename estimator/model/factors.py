"""Sheet Factors: soils, stock sizes, wood values, rates and limits, each with its source.

Defaults come from the tables of ``shared/reference``; a person may type over any of them.
"""

from __future__ import annotations

from estimator import reference
from estimator.appearance import Appearance
from estimator.errors import InputError
from estimator.inputs import Field
from estimator.model.footings.wind_factors import WIND_FACTORS
from estimator.model.practical import PRACTICAL
from estimator.model.spreads import SPREADS, spread_rows
from estimator.model.steps import LIMITS
from estimator.model.usual import near_usual
from estimator.rows import Chapter, Sheet
from estimator.solve.continuous import SPANS_MOST, continuity

RATES = Chapter()


def _rate(key: str, label: str, unit: str, default: float, note: str, high: float = 1e5) -> None:
    RATES.typed(near_usual(_field(key, label, unit, default, note, high)), scope="job")


def _field(key: str, label: str, unit: str, default: float, note: str, high: float) -> Field:
    return Field(key, label, unit, "number", default, 0, high, note=note, fmt="0.####")


def _task(task: str, material: str, condition: str = "") -> tuple[float, str]:
    row = reference.find("productivity", task=task, material=material, condition=condition)
    return row.number("value"), f"{row.source}; {row.text('how_obtained')}"


def _hours(key: str, label: str, unit: str, task: str, material: str, condition: str = "") -> None:
    value, note = _task(task, material, condition)
    _rate(key, label, unit, value, note)


RATES.section("Hours of work")
_hours("strip_h_ft2", "Strip sod by hand", "h/ft2", "strip sod", "sod", "by hand, 4 in")
_hours(
    "machine_yd3_h",
    "Dig by small excavator",
    "yd3/h",
    "dig with small excavator",
    "any",
    "rented, to stockpile beside",
)
_hours(
    "fill_yd3_h",
    "Fill and tamp by hand",
    "yd3/h",
    "fill and compact by hand",
    "loose",
    "layers 4 to 8 in",
)
_hours("spread_yd3_h", "Spread stone", "yd3/h", "spread stone", "stone", "6 in layers")
_hours(
    "plate_h_ft2",
    "Compact with a plate, a lift",
    "h/ft2",
    "compact with plate",
    "any",
    "each lift, two passes",
)
_hours(
    "stone_hand_yd3_h",
    "Place and tamp stone by hand",
    "yd3/h",
    "fill and compact by hand",
    "stone",
    "layers 4 to 8 in",
)
_hours("grade_h_ft2", "Level and trim", "h/ft2", "level and grade surface", "any", "by hand")
_hours("fabric_h_ft2", "Lay fabric", "h/ft2", "lay fabric", "any", "by hand")
_hours(
    "timber_h_ft",
    "Set timbers, bedded and pinned",
    "h/ft",
    "lay timber course",
    "4x6",
    "bedded, levelled, pinned",
)
_hours("skid_h_ft", "Set skids", "h/ft", "set skid", "4x6", "levelled on stone")
_hours(
    "anchor_h",
    "Set a ground anchor",
    "h each",
    "set ground anchor",
    "steel",
    "turned in by hand with a bar, strapped",
)
_hours(
    "block_h",
    "Set the first block of a stack",
    "h each",
    "set block",
    "precast",
    "bedded and levelled",
)
_hours(
    "block_upper_h",
    "Set a block beside or on the first",
    "h each",
    "set block",
    "precast",
    "beside or on the first, levelled",
)
_hours("form_h", "Set a tube form", "h each", "set tube form", "pier", "cut, set, braced, lined up")
_hours(
    "bag_h",
    "Mix and place a bag of concrete",
    "h/bag",
    "mix and place concrete",
    "80 lb bag",
    "barrow or small mixer",
)
_hours(
    "readymix_h_yd3",
    "Place ready-mix",
    "h/yd3",
    "place ready-mix",
    "concrete",
    "from the chute or by barrow",
)
_hours("steel_h_lb", "Tie steel bars", "h/lb", "tie steel", "rebar")
_hours("beam_h_ft", "Build beams", "h/ft", "build beam", "lumber", "built-up, on bases")
_hours("joist_h_bf", "Frame joists", "h/board ft", "frame joists", "lumber")
_hours("panel_h_ft2", "Lay floor sheets", "h/ft2", "lay floor panels", "panels")
_hours(
    "setout_h",
    "Stake and string",
    "h",
    "stake and string",
    "site",
    "batter boards, corners, diagonals",
)
_rate(
    "machine_width_in", "Width of a small excavator", "in", 39.0, "common practice, no source", 200
)
_rate(
    "truck_way_in",
    "Way that a truck needs to tip at the pad",
    "in",
    120.0,
    "common practice, no source: a truck is {8 1/2 ft|2.55 m} wide with its mirrors folded",
    400,
)
_rate("hire_least_days", "Least hire of a machine", "days", 1.0, "common practice, no source", 30)
_rate(
    "mixer_bags",
    "Bags from which a mixer is hired",
    "bags",
    10.0,
    "common practice, no source: fewer are mixed in a barrow",
    1000,
)
_rate("load_min", "Fill and tip a barrow", "min", 3.0, "common practice, no source")
_rate("walk_ft_min", "Walk with a barrow", "ft/min", 150.0, "common practice, no source", 1000)
_hours("barrow_ft3", "Barrow load", "ft3", "barrow load", "any", "heaped")
_rate("machine_trip_min", "Machine trip, fill and tip", "min", 4.0, "common practice, no source")
_rate(
    "machine_bucket_ft3", "Load of the machine's bucket", "ft3", 12.0, "common practice, no source"
)

_rate(
    "skirt_h_ft2",
    "Frame and fix skirting",
    "h/ft2",
    0.05,
    "common practice, no source",
    2,
)
_rate("cleanup_h", "Clean up the site", "h", 1.0, "common practice, no source", 100)
_rate("waste_h_yd3", "Load and tip waste", "h/yd3", 1.0, "common practice, no source", 20)

RATES.section("Waste and skirting")
_rate(
    "waste_loose",
    "Loose volume of off-cuts over their own",
    "-",
    2.0,
    "common practice, no source: thrown in, not stacked",
    10,
)
_rate(
    "packaging_yd3",
    "Packaging of a job, loose",
    "yd3",
    0.25,
    "common practice, no source: wraps, straps, bags, boxes",
    20,
)
_rate("skirt_sheet_ft2", "A sheet of skirting", "ft2", 32.0, "{4 x 8 ft|1200 x 2400 mm}", 100)
_rate("skirt_waste", "Waste of skirting sheets", "share", 0.1, "common practice, no source", 1)
_rate("skirt_step_ft", "Uprights of skirting on centre", "ft", 2.0, "common practice, no source", 8)
_rate(
    "vent_area",
    "Floor for each of the openings' own area",
    "-",
    150.0,
    "IRC R408.1, from memory: ventilation under floors",
    1500,
)
_rate(
    "vent_ft2",
    "Free area of a vent",
    "ft2",
    0.4,
    "from memory: {8 x 16 in|200 x 400 mm} with a grille",
    10,
)

RATES.section("Weights")
_rate(
    "stone_lb_ft3",
    "Crushed stone, loose",
    "lb/ft3",
    reference.soil("limestone, crushed", "unit_weight_lb_ft3"),
    "US Army TM 9-2320-366-10-1 Table 2-15; read",
)
_rate(
    "wood_dry_lb_ft3",
    "Wood of skids and beams, dry",
    "lb/ft3",
    reference.value("species", species="Spruce-pine-fir", property="unit_weight_lb_ft3"),
    "AF&PA Wood Structural Design Data, 1992 revision; the lightest of the species, as it holds down",
    80,
)
_rate(
    "concrete_lb_ft3",
    "Concrete",
    "lb/ft3",
    reference.value(
        "concrete", item="concrete", size="normal weight", property="unit_weight_lb_ft3"
    ),
    "from memory",
)
_rate(
    "soil_lb_ft3",
    "Soil over footings, tamped",
    "lb/ft3",
    reference.soil("gravel and sand, wet", "unit_weight_lb_ft3"),
    "US Army TM 9-2320-366-10-1 Table 2-15, gravel and sand, wet: the heaviest of it; read",
    200,
)
_rate(
    "bar_lb_ft",
    "Steel bar {No. 4|of 12 mm}",
    "lb/ft",
    reference.value("concrete", item="rebar", size="#4", property="weight_lb_ft"),
    "{ASTM A615|from its section, steel at 7850 kg/m3}",
    10,
)

_NAIL = reference.find("fasteners", connection="common nail", size="16d", property="count_per_lb")
_rate(
    "nails_per_lb",
    "Framing nails {16d|of 4 x 90 mm}",
    "nails/lb",
    _NAIL.number("value"),
    f"{_NAIL.source}; {_NAIL.text('how_obtained')}",
    1000,
)

RATES.section("Weight of the building above")
for _weight in ("light", "medium", "heavy"):
    _rate(
        f"wall_{_weight}_psf",
        f"Walls, {_weight}",
        "psf",
        reference.rule(f"wall_weight_{_weight}_psf"),
        "common practice, no source: area of wall",
        60,
    )
    _rate(
        f"roof_{_weight}_psf",
        f"Roof, {_weight}",
        "psf",
        reference.rule(f"roof_weight_{_weight}_psf"),
        "common practice, no source: in plan",
        60,
    )

RATES.section("Concrete")
_rate(
    "bag_yield_ft3",
    "Concrete from {an 80 lb bag|a bag}",
    "ft3",
    reference.value("concrete", item="bag", size="80 lb", property="yield_ft3"),
    "makers' data{, 0.15 ft3 for each 20 lb| for other bags, by weight}",
    2,
)
_rate("concrete_waste", "Waste of concrete", "share", 0.05, "Dagostino and Peterson ch. 10", 1)
_rate(
    "short_load_yd3",
    "Least load of ready-mix without a fee",
    "yd3",
    4.0,
    "common practice, no source; ask the plant",
    12,
)

RATES.section("Limits and habits")
_rate(
    "stone_lift_plate_in",
    "Loose stone compacted at a time, plate",
    "in",
    reference.soil("vibratory plate under 220 lb", "max_loose_lift_in"),
    "UFC 3-220-04, vibratory plate under {220 lb|100 kg}, read in a transcription",
    24,
)
_rate(
    "stone_lift_hand_in",
    "Loose stone compacted at a time, by hand",
    "in",
    reference.soil("hand tamper", "max_loose_lift_in"),
    "UFC 3-220-04, hand tamper, read in a transcription",
    24,
)
_rate(
    "lift_in",
    "Loose soil tamped at a time",
    "in",
    4.0,
    "UFC 3-220-04 gives {3.9 in} for a hand tamper; {1 to 2 in|25 to 50 mm} is common practice",
    24,
)
_rate(
    "frost_least_in",
    "Depth that a waiver of frost depth leaves",
    "in",
    reference.rule("footing_depth_min_in"),
    "IRC R403.1.4, read in copies of the code: below undisturbed ground",
    48,
)
_rate(
    "frost_eave_ft",
    "Most height of the eaves for a waiver of frost depth",
    "ft",
    reference.rule("frost_exempt_eave_ft"),
    "IRC R403.1.4.1, from memory",
    30,
)
_rate(
    "wall_tieback_in",
    "Exposed timber that asks for tie-backs",
    "in",
    12.0,
    "common practice, no source: beside a loaded pad",
    48,
)
_rate(
    "wall_most_in",
    "Exposed timber that asks for an engineer",
    "in",
    24.0,
    "common practice, no source: half the {4 ft} of IRC R105.2 item 3, which is for walls without surcharge",
    48,
)
_rate("open_fall_in", "Most fall for an open pad", "in", 12.0, "common practice, no source", 60)
_rate("block_stack_in", "Tallest stack of blocks", "in", 24.0, "common practice, no source", 60)
_rate(
    "slender_most",
    "Pier height over diameter, most",
    "-",
    reference.rule("pier_height_ratio_solid"),
    "IRC R606.7 (2018) for masonry piers",
    20,
)
_rate(
    "stack_ratio_most",
    "Height of a stack over its side, most",
    "-",
    reference.rule("pier_height_ratio_hollow"),
    "IRC R606.7 (2018) for unfilled piers, from memory; dry stacks are weaker",
    10,
)
_rate(
    "exposed_pier_in",
    "Tallest exposed pier without bracing",
    "in",
    36.0,
    "common practice, no source",
    120,
)
_rate(
    "joist_clear_in",
    "Untreated joists above ground, least",
    "in",
    reference.rule("clearance_joists_in"),
    "IRC R317.1 item 1",
    48,
)
_rate(
    "beam_clear_least_in",
    "Untreated beams above ground, least",
    "in",
    reference.rule("clearance_girders_in"),
    "IRC R317.1 item 1",
    48,
)
_rate(
    "ground_contact_in",
    "Wood lower than this counts as in contact with the ground",
    "in",
    reference.rule("ground_contact_height_in"),
    "AWPA U1, read in summaries of yards",
    48,
)
_rate("air_least_in", "Air under the joists, least", "in", 4.0, "common practice, no source", 48)
_rate(
    "stone_bearing_psf",
    "Presumptive bearing of compacted stone",
    "psf",
    reference.soil("gravel", "presumptive_bearing_psf"),
    "IRC Table R401.4.1, gravel",
    20000,
)
_rate(
    "skid_soft_ft",
    "Soft spot that a skid bridges",
    "ft",
    reference.rule("skid_soft_spot_ft"),
    "common practice, no source",
    20,
)
_rate(
    "bearing_length_in",
    "Bearing of joists",
    "in",
    reference.rule("joist_bearing_wood_in"),
    "IRC R502.6",
    12,
)
_rate(
    "live_ratio",
    "Span over sag, live load",
    "-",
    reference.rule("deflection_live_ratio"),
    "IRC R301.7",
    1000,
)
_rate(
    "total_ratio",
    "Span over sag, total load",
    "-",
    reference.rule("deflection_total_ratio"),
    "IBC Table 1604.3, from memory",
    1000,
)
_rate("repetitive", "Repetitive member factor", "-", 1.15, "NDS 4.3.9", 2)
_rate(
    "incised_f",
    "Incising, strength",
    "-",
    0.8,
    "NDS 2018 Table 4.3.8, read in a program that follows NDS 2015",
    1,
)
_rate(
    "incised_e",
    "Incising, stiffness",
    "-",
    0.95,
    "NDS 2018 Table 4.3.8, read in a program that follows NDS 2015",
    1,
)
_rate(
    "friction",
    "Friction of wood on stone",
    "-",
    0.35,
    "shared/reference/soils.csv, sliding of clean stone",
    1,
)
_rate(
    "cure_days",
    "Days before framing on concrete",
    "days",
    reference.value("concrete", item="concrete", size="framing load", property="cure_days"),
    "common practice, no source",
    60,
)
_rate(
    "early_cure_days",
    "The same, of high early strength",
    "days",
    reference.value(
        "concrete",
        item="concrete",
        size="framing load, high early strength",
        property="cure_days",
    ),
    "ACI 318-11, 5.11.2, days kept moist, from memory",
    60,
)
_rate(
    "screw_edge_in",
    "Floor screws at sheet edges",
    "in",
    6.0,
    "IRC Table R602.3(1), from memory",
    24,
)
_rate(
    "screw_field_in",
    "Floor screws in the field",
    "in",
    12.0,
    "IRC Table R602.3(1), from memory",
    24,
)

RATES.section("Water and stakes")
_rate(
    "grade_fall_in",
    "Fall of the ground away from a building",
    "in",
    reference.rule("grade_fall_in_per_10ft"),
    "IRC R401.3, read in a copy of the 2015 code",
    60,
)
_rate("grade_run_ft", "Over the first", "ft", 10.0, "IRC R401.3", 100)
_rate("rise_least_in", "Rise that asks for a swale", "in", 1.0, "common practice, no source", 24)
_rate("swale_width_in", "Swale, width", "in", 36.0, "common practice, no source", 240)
_rate("swale_depth_in", "Swale, depth", "in", 6.0, "common practice, no source", 60)
_rate(
    "swale_past_ft", "Swale or drain, past each end", "ft", 4.0, "common practice, no source", 100
)
_rate("drain_width_in", "Stone drain, width", "in", 12.0, "common practice, no source", 60)
_rate("drain_depth_in", "Stone drain, depth", "in", 18.0, "common practice, no source", 60)
RATES.typed(  # as long as the lot asks for
    _field(
        "outlet_ft", "Pipe from a drain to where it runs out", "ft", 6.0, "yours to measure", 500
    ),
    scope="job",
)
_rate("stake_off_ft", "Stakes beyond the corners", "ft", 3.0, "common practice, no source", 50)
_rate(
    "string_step_in",
    "Strings above the top, where ground is in their way, by",
    "in",
    12.0,
    "common practice, no source",
    120,
)

FACTORS = Sheet(
    "Factors",
    "Factors: soils, sizes, wood, rates and limits",
    "Published or customary values that the other sheets look up. Where they come from stands below them.",
    RATES,
    WIND_FACTORS,
    LIMITS,
    PRACTICAL,
    SPREADS,
)

SOILS = FACTORS.table("soil", "Soils", 10)
SOILS.typed(Field("soil_name", "Soil", kind="text", needed=False))
SOILS.typed(
    Field(
        "soil_bearing_psf",
        "Presumptive bearing",
        "psf",
        default=None,
        low=300,
        high=20000,
        zero=True,
        note="IRC Table R401.4.1",
    )
)
SOILS.typed(
    Field("soil_loose", "Loose per bank", "yd3/yd3", default=None, low=1, high=2, fmt="0.00")
)
SOILS.typed(
    Field(
        "soil_compacted",
        "Compacted per bank",
        "yd3/yd3",
        default=None,
        low=0.5,
        high=1.6,
        fmt="0.00",
    )
)
SOILS.typed(
    Field(
        "soil_trench_yd3_h", "Trench by hand", "yd3/h", default=None, low=0.01, high=50, fmt="0.00"
    )
)
SOILS.typed(
    Field("soil_pit_yd3_h", "Pit by hand", "yd3/h", default=None, low=0.01, high=50, fmt="0.00")
)
SOILS.typed(
    Field("soil_holds_water", "Holds water", kind="choice", choices=("no", "yes"), default=None)
)

STOCKS = FACTORS.table(
    "stock",
    "Lumber and timber sizes",
    24,
    "{|Sizes of an invented metric yard, as planed.}",
    shows=Appearance(characters={"stock_nominal": 12}),
)
STOCKS.typed(Field("stock_name", "Stock", kind="text", needed=False))
STOCKS.typed(Field("stock_nominal", "Nominal size", kind="text"))
STOCKS.typed(
    Field(
        "stock_width_in",
        "Width",
        "in",
        "number",
        None,
        0.5,
        16,
        note="{PS 20 dressed sizes|As planed.}",
    )
)
STOCKS.typed(Field("stock_depth_in", "Depth", "in", "number", None, 0.5, 24))
STOCKS.typed(Field("stock_treated", "Treated", kind="choice", choices=("no", "yes"), default=None))
STOCKS.typed(Field("stock_lb_ft3", "Weight", "lb/ft3", default=None, low=10, high=100, fmt="0"))

SPECIES = FACTORS.table("species", "Species and grades", 12)
SPECIES.typed(Field("species_name", "Species and grade", kind="text", needed=False))
SPECIES.typed(
    Field(
        "species_incised",
        "Incised when treated",
        kind="choice",
        choices=("no", "yes"),
        default=None,
    )
)

WOOD = FACTORS.table(
    "wood",
    "Wood: reference design values, size factor included",
    60,
    "{|C classes: characteristic values of EN 338 x kmod 0.7 / gamma_M 1.3 / 1.5 for the method of"
    " allowable stress (shared/reference, strength_classes): no design to EN 1995-1-1. Others:"
    " of the next deeper inch size, converted. A licensed engineer or the local rule decides.}",
)
WOOD.typed(Field("wood_name", "Species, grade and size", kind="text", needed=False))
WOOD.typed(Field("wood_fb_psi", "Bending", "psi", default=None, low=50, high=5000, fmt="0"))
WOOD.typed(Field("wood_fv_psi", "Shear", "psi", default=None, low=10, high=1000, fmt="0"))
WOOD.typed(
    Field(
        "wood_fc_psi", "Bearing across the grain", "psi", default=None, low=50, high=2000, fmt="0"
    )
)
WOOD.typed(
    Field(
        "wood_e_psi", "Modulus of elasticity", "psi", default=None, low=1e5, high=4e6, fmt="#,##0"
    )
)

for _key, _label, _note in (
    ("wood_wet_fb", "Bending when wet", "Share of the dry value; 1 where it is not reduced."),
    ("wood_wet_fv", "Shear when wet", ""),
    ("wood_wet_fc", "Bearing when wet", ""),
    ("wood_wet_e", "Stiffness when wet", ""),
):
    WOOD.typed(Field(_key, _label, "-", default=None, low=0.1, high=1, note=_note, fmt="0.00"))

SPANS = FACTORS.table(
    "spans",
    "Beams and joists in one piece over equal spans",
    SPANS_MOST,
    "Derived by the equation of three moments. Shares of what simple spans give; live load on the spans that make it most.",
    index=True,
)
for _key, _label in (
    ("spans_dead", "On a middle support, dead"),
    ("spans_live", "On a middle support, live"),
    ("spans_shear_dead", "Shear, dead"),
    ("spans_shear_live", "Shear, live"),
    ("spans_lever", "Overhang, on the outer support"),
    ("spans_lift", "Overhang, off the next support"),
):
    SPANS.typed(Field(_key, _label, "-", default=None, low=0.5, high=4, fmt="0.000"))

_SOIL_ROWS = (
    # name, bearing class, loose/compacted class, digging class, holds water
    ("gravel", "gravel", "gravel", "loose", "gravel", "no"),
    ("sand", "sand", "sand", "loose", "loose", "no"),
    ("loam", "clay", "common earth", "firm", "firm", "no"),
    ("clay", "clay", "clay", "clay", "clay", "yes"),
    ("stony clay", "clay", "clay", "boulder clay", "boulder clay", "yes"),
)
_STOCK_SIZES = ("2x4", "2x6", "2x8", "2x10", "2x12", "4x4", "4x6", "6x6")
GRADES = (
    ("Spruce-pine-fir", "No.1/No.2"),
    ("Douglas fir-larch", "No.1"),
    ("Douglas fir-larch", "No.2"),
    ("Hem-fir", "No.1"),
    ("Hem-fir", "No.2"),
    ("Southern pine", "No.1"),
    ("Southern pine", "No.2"),
)
_FRAMING = ("2x4", "2x6", "2x8", "2x10", "2x12", "4x4", "4x6", "6x6")


def design_values_of(species: str, grade: str, size: str) -> reference.DesignValues:
    """Reference values; those of No.2, which are lower, where the table lacks a timber's grade."""
    try:
        return reference.design_values(species, grade, size)
    except InputError:
        return reference.design_values(species, "No.2", size)


def factor_rows() -> dict[str, list[dict[str, float | str]]]:
    """Default rows of the tables of Factors, from ``shared/reference``."""
    soils: list[dict[str, float | str]] = []
    for name, bearing, volume, trench, pit, wet in _SOIL_ROWS:
        soils.append(
            {
                "soil_name": name,
                "soil_bearing_psf": reference.soil(bearing, "presumptive_bearing_psf"),
                "soil_loose": reference.soil(volume, "loose_per_bank"),
                "soil_compacted": reference.soil(volume, "compacted_per_bank"),
                "soil_trench_yd3_h": _task("dig trench by hand", trench, "to 5 ft deep")[0],
                "soil_pit_yd3_h": _task("dig pit by hand", pit, "to 5 ft deep, to 20 ft2")[0],
                "soil_holds_water": wet,
            }
        )
    stocks: list[dict[str, float | str]] = []
    wet_lb = reference.value(
        "species", species="any, pressure-treated, as delivered", property="unit_weight_lb_ft3"
    )
    dry_lb = reference.value("species", species="Southern pine", property="unit_weight_lb_ft3")
    for size in _STOCK_SIZES:
        width, depth = reference.dressed_size(size)
        for treated in ("no", "yes"):
            if treated == "no" and not size.startswith("2"):
                continue
            stocks.append(
                {
                    "stock_name": f"{size} treated" if treated == "yes" else size,
                    "stock_nominal": size,
                    "stock_width_in": width,
                    "stock_depth_in": depth,
                    "stock_treated": treated,
                    "stock_lb_ft3": wet_lb if treated == "yes" else dry_lb,
                }
            )
    species: list[dict[str, float | str]] = []
    wood: list[dict[str, float | str]] = []
    for kind, grade in GRADES:
        name = f"{kind} {grade}"
        species.append(species_row(kind, grade))
        for size in _FRAMING:
            values = design_values_of(kind, grade, size)
            wood.append(
                {
                    "wood_name": f"{name} {size}",
                    "wood_fb_psi": round(values.bending_psi * values.size_factor, 6),
                    "wood_fv_psi": values.shear_psi,
                    "wood_fc_psi": values.bearing_psi,
                    "wood_e_psi": values.modulus_psi,
                    **wet_shares(kind, size, values),
                }
            )
    return {
        "soil": soils,
        "stock": stocks,
        "species": species,
        "wood": wood,
        "spans": span_rows(),
        "spread": spread_rows(),
    }


def species_row(kind: str, grade: str) -> dict[str, float | str]:
    """Row of the table of species and grades."""
    incised = reference.value("species", species=kind, property="treated_by_incising")
    return {"species_name": f"{kind} {grade}", "species_incised": "yes" if incised else "no"}


def wet_shares(kind: str, size: str, values: reference.DesignValues) -> dict[str, float | str]:
    """Columns of Wood on wet service, from ``shared/reference/adjustment_factors.csv``."""
    wet = reference.wet_service(kind, size, values)
    return {
        "wood_wet_fb": wet.bending,
        "wood_wet_fv": wet.shear,
        "wood_wet_fc": wet.bearing,
        "wood_wet_e": wet.modulus,
    }


def span_rows() -> list[dict[str, float | str]]:
    """Factors of members in one piece over 1, 2, ... equal spans."""
    found: list[dict[str, float | str]] = []
    for spans in range(1, SPANS_MOST + 1):
        one = continuity(spans)
        found.append(
            {
                "spans_dead": round(one.reaction_dead, 9),
                "spans_live": round(one.reaction_live, 9),
                "spans_shear_dead": round(one.shear_dead, 9),
                "spans_shear_live": round(one.shear_live, 9),
                "spans_lever": round(one.lever, 9),
                "spans_lift": round(one.lift, 9),
            }
        )
    return found
