"""Sheet Job: the building, the place, the loads, the crew and the money."""

from __future__ import annotations

import numpy as np

from estimator import reference
from estimator.appearance import Appearance
from estimator.inputs import Field
from estimator.model.money import CURRENCY, MONEY, MOST_WAGE, TAX
from estimator.model.prices import item_choice
from estimator.model.working_days import BUSINESS_DAYS, MONDAY, NEVER, weekdays_before
from estimator.rows import Sheet
from estimator.vocabulary import Q, amount, join, nth_largest, position

JOB = Sheet(
    "Job",
    "Job: the building, the place, the loads, the crew",
    "Type over the boxed cells. Lengths may be typed as"
    ' {12.5, 12\' 6", 12-6, 150" or 3.8 m|3.6, 360 cm, 3600 mm or 11\' 10"}.',
)
WEEKENDS = "Saturday and Sunday"
WORK_DAYS = {"Monday to Friday": 5, "Monday to Saturday": 6, "every day": 7, WEEKENDS: 2}
"""How many days of a week are worked on, by what is chosen."""
HIGH_EARLY = "high early strength"
HOLIDAYS = 6
SIDES = ("front", "right", "back", "left")
UNTIL_TYPED = "Nothing is worked out until it is typed."
ZERO = "Blank: 0."


def _typed(*fields: Field) -> None:
    for field in fields:
        JOB.typed(field, scope="job")


JOB.section("This job")
_typed(
    Field("job_name", "Job", kind="text", default="New outbuilding"),
    Field("job_place", "Place", kind="text", needed=False, note="Where it will stand."),
    Field(
        "estimate_date",
        "Date of the estimate",
        kind="date",
        low=36526,
        high=73050,
        needed=False,
        fmt="yyyy-mm-dd",
        note="Price ages are counted from this day. A new workbook has the day it was made on.",
        when_blank="Blank: no price is old.",
    ),
)

JOB.section("Building")
_typed(
    Field(
        "building_length_ft",
        "Length of the building",
        "ft",
        "length",
        None,
        4,
        40,
        needed=False,
        when_blank=UNTIL_TYPED,
        note="Along the front. Joists are spaced along this side and span the width.",
    ),
    Field(
        "building_width_ft",
        "Width of the building",
        "ft",
        "length",
        None,
        4,
        24,
        needed=False,
        when_blank=UNTIL_TYPED,
        note="Front to back: the joists' direction.",
    ),
    Field("wall_height_ft", "Height of the walls", "ft", "length", 8, 1, 14),
    Field("roof_height_ft", "Height of the roof above the walls", "ft", "length", 3, 0, 12),
    Field(
        "roof_eave_in",
        "Roof beyond the walls, on each side",
        "in",
        "length",
        6,
        1,
        48,
        zero=True,
        note="Carries snow, and wind lifts it.",
    ),
    Field(
        "door_side",
        "Side with the door",
        kind="choice",
        default="front",
        choices=SIDES,
        note="Seen from the front, which faces the string from corner 1 to corner 2.",
    ),
)

JOB.section("Loads")
_typed(
    Field(
        "floor_live_psf",
        "Floor live load",
        "psf",
        default=40,
        low=10,
        high=250,
        note="{40|1.92} for rooms (IRC Table R301.5); heavy storage asks for {125|6} or more. Ask locally.",
    ),
    Field("floor_dead_psf", "Floor dead load", "psf", default=10, low=2, high=60),
    Field(
        "building_weight",
        "Walls and roof are",
        kind="choice",
        default="typed",
        choices=("typed", "light", "medium", "heavy"),
        note="typed: the two weights below; otherwise those on Factors (common practice, no source).",
    ),
    Field(
        "wall_dead_psf",
        "Walls, weight per area of wall",
        "psf",
        default=8,
        low=1,
        high=60,
        zero=True,
        note="Light framed wall about {8|0.4}, with heavy cladding {12 to 15|0.6 to 0.7} (common practice, no source).",
    ),
    Field("roof_dead_psf", "Roof dead load", "psf", default=10, low=1, high=60, zero=True),
    Field(
        "roof_bears_on",
        "Roof rests on",
        kind="choice",
        default="front and back",
        choices=("front and back", "left and right"),
        note="The walls that carry rafters or trusses. A gable, where there is one, stands on the other two.",
    ),
    Field(
        "roof_snow_psf",
        "Roof snow or live load",
        "psf",
        default=30,
        low=4,
        high=300,
        zero=True,
        note="The local building office knows the figure; {20 psf} at least where people work on the roof (IRC Table R301.6, from memory).",
    ),
    Field(
        "point_load_lb",
        "Point load on a joist",
        "lbf",
        default=0,
        low=20,
        high=5000,
        zero=True,
        note="A wheel of a mower, a foot of a safe: the load that one joist gets.",
    ),
    Field(
        "wind_mph",
        "Basic wind speed",
        "mph",
        default=115,
        low=0,
        high=220,
        note="The map speed of the local code{|: a gust of 3 s in open country. Means of 10 minutes (EN 1991-1-4) are lower by about 1.4, from memory}. A pressure goes into the next cell.",
    ),
    Field(
        "wind_given_psf",
        "Or basic wind pressure",
        "psf",
        default=None,
        low=3,
        high=100,
        zero=True,
        needed=False,
        note="Of the gust, where you were told a pressure.",
        when_blank="Blank: the speed above holds.",
    ),
)


@JOB.row(
    "Wind is read as", kind="text", scope="job", note="Of a pressure, the speed that makes it."
)
def wind_reading(wind_given_psf: Q, wind_speed_mph: Q) -> Q:
    speed = amount(wind_speed_mph, "mph")
    of_pressure = join(amount(wind_given_psf, "psf"), " is ", speed)
    read = np.where(wind_given_psf > 0, of_pressure, join("read as ", speed))
    return np.where(wind_speed_mph == 0, "no wind", read)


_typed(
    Field(
        "wind_exposure",
        "Exposure to wind",
        kind="choice",
        default="C",
        choices=("B", "C", "D"),
        note="C: open country, and whatever is not surely B: woods or houses all round for {1,500 ft}. D: open water.",
    ),
    Field(
        "topography",
        "The place is",
        kind="choice",
        default="flat",
        choices=("flat", "a hill or ridge"),
        note="Wind is faster on a hill, a ridge or the edge of a slope.",
    ),
    Field(
        "wind_kzt",
        "Kzt of a hill or ridge",
        "-",
        default=1.5,
        low=1,
        high=3,
        note="Counts on a hill or ridge alone. ASCE 7-16 26.8 says how to find it; 1.5 is a guess.",
    ),
    Field(
        "anchor_way",
        "Ground anchors are",
        kind="choice",
        default="turned in by hand",
        choices=("turned in by hand", "set by machine, tested"),
        note="What each holds stands on Factors.",
    ),
)


JOB.section("Place on the lot")
_typed(
    Field(
        "site_x_ft",
        "Corner 1 (front left), x",
        "ft",
        "length",
        0,
        -1000,
        1000,
        needed=False,
        note="In the survey's own grid. The stakes of the quick survey stand round 0, 0.",
        when_blank=ZERO,
    ),
    Field(
        "site_y_ft",
        "Corner 1 (front left), y",
        "ft",
        "length",
        0,
        -1000,
        1000,
        needed=False,
        when_blank=ZERO,
    ),
    Field(
        "turn_deg",
        "Turn of the front side",
        "deg",
        default=0,
        low=-360,
        high=360,
        needed=False,
        note="Anticlockwise from the x axis.",
        when_blank=ZERO,
    ),
)

JOB.section("Ground")
_typed(
    Field(
        "soil",
        "Soil",
        kind="key",
        default="loam",
        refers="soil_name",
        note="One of the soils on Factors.",
    ),
    Field(
        "bearing_basis",
        "Presumptive bearing meets",
        kind="choice",
        default="gross",
        choices=("gross", "net"),
        note="gross: all that presses, with footing and soil over it; net: less the weight of the soil dug out. Net only where your code or engineer says so.",
    ),
    Field("strip_depth_in", "Sod and topsoil stripped", "in", "length", 4, 0.5, 24, zero=True),
    Field(
        "work_room_in",
        "Stripped beyond the trench",
        "in",
        "length",
        12,
        2,
        60,
        zero=True,
        note="Room to work beside a timber frame. Common practice, no source.",
    ),
    Field(
        "frost_depth_in",
        "Frost depth",
        "in",
        "length",
        24,
        5,
        100,
        zero=True,
        note="From the local code.",
    ),
    Field(
        "frost_free_area_ft2",
        "Area below which frost depth is waived",
        "ft2",
        default=0,
        low=20,
        high=1000,
        zero=True,
        note="Some codes waive frost depth for small accessory buildings: type the local limit, else 0.",
    ),
    Field(
        "permit_area_ft2",
        "{Area|Footprint} that needs no permit",
        "ft2",
        default=200,
        low=20,
        high=1000,
        zero=True,
        note="{Local; often 120 or 200 (IRC R105.2: 200).|Local: often 10, 15 or 30 (from memory); some places count floor area, height, volume or the distance to the boundary. Ask the building authority.}",
    ),
    Field(
        "fill_accepted",
        "Support on fill accepted",
        kind="choice",
        default="no",
        choices=("no", "yes"),
        note="Presumptive bearing holds on undisturbed soil only. Yes only when someone qualified accepts it.",
    ),
    Field(
        "notice_days",
        "Utility locating notice",
        "days",
        "whole",
        3,
        0,
        30,
        note="Working days between the call and the first dig. Local law.",
    ),
)

JOB.section("Moving material")
_typed(
    Field("tip_distance_ft", "From where the truck tips to the pad", "ft", "length", 60, 0, 2000),
    Field("spoil_distance_ft", "From the pad to the spoil heap", "ft", "length", 40, 0, 2000),
    Field(
        "dig_method",
        "Digging and carrying",
        kind="choice",
        default="by hand",
        choices=("by hand", "machine", "cheapest"),
        note="By hand with a barrow, or with a small excavator or loader; cheapest: what costs less, hire and work, as Cost says, of what gets to the pad.",
    ),
    Field(
        "access_width_in",
        "Narrowest place on the way to the pad",
        "in",
        "length",
        96,
        12,
        600,
        note="A gate, or between house and fence. A machine that is wider is not chosen.",
    ),
    Field(
        "mix_access",
        "A concrete truck reaches the place",
        kind="choice",
        default="yes",
        choices=("no", "yes"),
        note="Within its chute of the holes, or on a road that bears it beside them. no: bags, unless ready-mix is typed on Options.",
    ),
    Field(
        "compact_method",
        "Stone is compacted",
        kind="choice",
        default="with a plate",
        choices=("with a plate", "by hand"),
        note="By hand no plate compactor is rented.",
    ),
    Field(
        "spoil_leaves", "Spoil leaves the site", kind="choice", default="no", choices=("no", "yes")
    ),
    Field("truck_yd3", "Load of the delivery truck", "yd3", default=10, low=0.5, high=30),
    Field(
        "stone_inside_share",
        "Share of stone tipped straight into place",
        "share",
        "share",
        None,
        0,
        1,
        needed=False,
        absent=-1.0,
        when_blank="Blank: all that lies in one bed, where the way to the pad is wide enough for the truck; else none.",
        note="1 when the truck can reach the open side of the pad; 0 when all is barrowed.",
        fmt='0%;"blank"',
    ),
)

JOB.section("Crew and money")
_typed(
    Field("crew_size", "People working", "people", "whole", 2, 1, 20),
    Field("day_hours", "Working hours a day", "h", default=8, low=1, high=16),
    Field(
        "work_week",
        "Days of work",
        kind="choice",
        default="Monday to Friday",
        choices=tuple(WORK_DAYS),
        note="The working days counted on Cost and Calendar. Other days off are listed below.",
    ),
    Field(
        "start_date",
        "Day of the call to the locating service",
        kind="date",
        low=36526,
        high=73050,
        needed=False,
        fmt="yyyy-mm-dd",
        note="The calendar begins on it: orders go out on the same day.",
        when_blank="Blank: the date of the estimate.",
    ),
    Field(
        "concrete_sort",
        "Concrete is",
        kind="choice",
        default="ordinary",
        choices=("ordinary", HIGH_EARLY),
        note="How long it cures before anything stands on it stands on Factors. Its price is that of the line on Prices.",
    ),
    Field(
        "inspection_days",
        "An inspection keeps the work waiting",
        "days",
        "whole",
        reference.rule("inspection_wait_days"),
        0,
        30,
        note="Working days, before concrete. Only where there is a permit or an inspection is paid for. Common practice, no source: ask the office.",
    ),
    Field(
        "vehicle_lb",
        "Your own vehicle carries",
        "lb",
        default=reference.rule("own_vehicle_lb"),
        low=50,
        high=50000,
        note="For the trips that a delivery would be with it. A small pickup carries about so much (from memory): its door says.",
    ),
    Field(
        "wage_per_h",
        "Labour, per person and hour",
        "$/h",
        default=30,
        low=0,
        high=MOST_WAGE,
        note="0 leaves your own time out of the price; the hours stay.",
        fmt="0.00",
    ),
    Field(
        CURRENCY,
        "Sign of money",
        kind="text",
        default=MONEY,
        needed=False,
        stands_for=MONEY,
        note="Such as $, £, € or EUR: amounts of money bear it, here and on paper. Nothing is converted.",
        when_blank="Blank: none.",
    ),
    Field(
        "tax_word",
        "Tax on what is bought is called",
        kind="text",
        default=TAX,
        needed=False,
        stands_for=TAX,
        note="Such as sales tax, VAT or GST.",
        when_blank="Blank: no word.",
    ),
    Field("tax_share", "Sales tax on material", "share", "share", 0.06, 0, 0.3, fmt="0.00%"),
    Field("contingency_share", "Contingency", "share", "share", 0.10, 0, 1, fmt="0.0%"),
    Field("overhead_share", "Overhead", "share", "share", 0, 0, 1, fmt="0.0%", note="Of the cost."),
    Field(
        "profit_share",
        "Profit",
        "share",
        "share",
        0,
        0,
        1,
        fmt="0.0%",
        note="Of cost and overhead: a markup, not a margin of the price.",
    ),
    Field("price_days", "Prices are old after", "days", "whole", 30, 1, 1000),
)

JOB.section("Skirting and permit")
_typed(
    Field(
        "skirting",
        "Skirting round the floor",
        kind="choice",
        default="no",
        choices=("no", "yes"),
        note="From the ground to the floor all round: sheets on a frame, with vents.",
    ),
    item_choice(
        "skirt_item",
        "Its sheets",
        "sheet",
        "sheet_skirt",
        needed=False,
        when_blank="Blank only where there is no skirting.",
    ),
    Field(
        "skirt_stock", "Wood of its frame", kind="key", default="2x4 treated", refers="stock_name"
    ),
    Field(
        "permit_wanted",
        "Building permit",
        kind="choice",
        default="by area",
        choices=("by area", "yes", "no"),
        note="by area: where the building is larger than the area that needs none, above. Its fee is on Prices: ask the office.",
    ),
    Field(
        "inspection_visits",
        "Inspections that are paid for",
        "visits",
        "whole",
        0,
        0,
        20,
        note="Many offices have them in the fee of the permit.",
    ),
)

JOB.section(
    "Trips and clean-up",
    folded={
        "site_priced": "in the price: #",
        "yard_trips": "# to the yard",
        "yard_trip_h": "of # each",
        "hire_taxed": "tax on hire: #",
    },
)
_typed(
    Field(
        "site_priced",
        "Trips, waste and clean-up are in the price",
        kind="choice",
        default="yes",
        choices=("no", "yes"),
    ),
    Field(
        "yard_trips",
        "Trips to the yard",
        "trips",
        "whole",
        2,
        0,
        40,
        note="Your own, for what is forgotten or not delivered. Those for hired tools and waste come on top.",
    ),
    Field("yard_trip_h", "A trip takes", "h", default=1, low=0, high=8),
    Field(
        "hire_taxed", "Sales tax on tool hire", kind="choice", default="yes", choices=("no", "yes")
    ),
)

JOB.section(
    "Saw and boards",
    folded={
        "kerf_in": "kerf #",
        "end_trim_in": "# squared off each board",
        "over_length_in": "boards # longer than named",
        "block_reuse_in": "off-cuts from # kept for blocking",
        "cull_share": "# more boards for culls",
        "cull_boards": "# boards more of each length for culls",
    },
)
_typed(
    Field("kerf_in", "Saw kerf", "in", "length", 0.125, 0.02, 1, zero=True),
    Field("end_trim_in", "Squaring cut off each board", "in", "length", 0, 0.1, 12, zero=True),
    Field(
        "over_length_in",
        "True over-length of boards",
        "in",
        "length",
        0,
        0.1,
        6,
        zero=True,
        note="A {12 ft|3.6 m} board often measures {12 ft 1/2 in|3.61 m} or more. 0 counts the nominal length only.",
    ),
    Field("block_reuse_in", "Shortest off-cut kept for blocking", "in", "length", 12, 2, 96),
    Field(
        "cull_share",
        "Boards over for culls, share",
        "share",
        "number",
        0,
        0,
        0.5,
        note="Of the boards of each item, rounded up; 0: none over. Bowed and split boards are sent back or cut into blocks.",
    ),
    Field(
        "cull_boards",
        "Boards over for culls, of each item",
        "boards",
        "whole",
        0,
        0,
        10,
        note="On top of the share; 0: none over.",
    ),
)

OFF = JOB.table(
    "holiday",
    "Days off, besides those of every week",
    HOLIDAYS,
    "Holidays and days on which nobody works here.",
    index=True,
    shows=Appearance(aside=("holiday_off", "holiday_from", "office_off", "office_off_from")),
)
OFF.typed(
    Field(
        "holiday_date",
        "Day off",
        kind="date",
        default=None,
        low=36526,
        high=73050,
        needed=False,
        fmt="yyyy-mm-dd",
    )
)


def _off(date: Q, dates: Q, number: Q, first: Q, days: Q) -> Q:
    """Number of the working day that a day off takes; NEVER for a blank, a second, a free one."""
    before = weekdays_before(date, first, days)
    works = weekdays_before(date + 1, first, days) > before
    taken = np.where((position(date, dates) == number) & works, before, NEVER)
    return np.where(date > 0, taken, NEVER)


@OFF.column("Working day taken", fmt="0;;")
def holiday_off(holiday_date: Q, holiday_no: Q, week_first: Q, week_days: Q) -> Q:
    return _off(holiday_date, holiday_date, holiday_no, week_first, week_days)


@OFF.column("Days put off from", fmt="0;;")
def holiday_from(holiday_off: Q, holiday_no: Q) -> Q:
    return nth_largest(holiday_off, HOLIDAYS + 1 - holiday_no) - (holiday_no - 1)


@OFF.column("Business day taken", fmt="0;;")
def office_off(holiday_date: Q, holiday_no: Q) -> Q:
    return _off(holiday_date, holiday_date, holiday_no, MONDAY, BUSINESS_DAYS)


@OFF.column("Business days put off from", fmt="0;;")
def office_off_from(office_off: Q, holiday_no: Q) -> Q:
    return nth_largest(office_off, HOLIDAYS + 1 - holiday_no) - (holiday_no - 1)
