"""Wood: sizes, strengths, worked members and continuous beams."""

from __future__ import annotations

from functools import partial

from estimator.reference import design_values, dressed_size, find, value, wet_service
from estimator.solve import design
from estimator.solve.continuous import Continuity, continuity
from validated.case import WOOD, Case, Group, half

DF, HF, SP, SPF = "Douglas fir-larch", "Hem-fir", "Southern pine", "Spruce-pine-fir"


def wet_fir_bending_psi() -> float:
    fir = design_values(DF, "No.1", "2x8")
    wet = wet_service(DF, "2x8", fir).bending
    return float(
        design.adjusted_bending_psi(
            fir.bending_psi, load_duration=1.15, wet_service=wet, size=fir.size_factor
        )
    )


def wet_fir_shear_psi() -> float:
    fir = design_values(DF, "No.1", "2x8")
    wet = wet_service(DF, "2x8", fir).shear
    return float(design.adjusted_shear_psi(fir.shear_psi, load_duration=1.15, wet_service=wet))


def hem_fir_bending_psi() -> float:
    hem = design_values(HF, "No.2", "2x10")
    return float(
        design.adjusted_bending_psi(
            hem.bending_psi, load_duration=1.15, size=hem.size_factor, repetitive=1.15
        )
    )


def hem_fir_shear_psi() -> float:
    hem = design_values(HF, "No.2", "2x10")
    return float(design.adjusted_shear_psi(hem.shear_psi, load_duration=1.15))


def hem_fir_bearing_psi() -> float:
    return float(design.adjusted_bearing_psi(design_values(HF, "No.2", "2x10").bearing_psi))


DEAD_AND_LIVE_PLF, LIVE_PLF, SPAN_FT = 55.0 * 16 / 12, 40.0 * 16 / 12, 12.0
"""Of the twelve-foot joist: 2x10 at 16 in."""


def moment_lb_in() -> float:
    return 12 * float(design.moment_lb_ft(DEAD_AND_LIVE_PLF, SPAN_FT))


def shear_lb() -> float:
    _, depth = dressed_size("2x10")
    return float(design.shear_lb(DEAD_AND_LIVE_PLF, SPAN_FT, ignored_in=depth))


def sag_in() -> float:
    inertia = design.moment_of_inertia_in4(*dressed_size("2x10"))
    return float(design.deflection_in(LIVE_PLF, SPAN_FT, 1_600_000.0, inertia))


def modulus_needed_in3() -> float:
    """CF S that the moment uses up, with the design values of the course's day: Fb 875 psi."""
    moment = design.moment_lb_ft(DEAD_AND_LIVE_PLF, SPAN_FT)
    bending = design.adjusted_bending_psi(875.0, repetitive=1.15)
    return float(design.bending_utilisation(moment, 1.0, bending))


COURSES = (
    Group(
        WOOD,
        "A wet Douglas fir 2x8 under snow",
        "Purdue University, CE 479 wood design example (2006): No.1, wet, dead and snow load",
        "read in a copy of the course page",
        "psi",
        half(1),
        (
            Case("Fb'", 1173, wet_fir_bending_psi),
            Case("Fv'", 201, wet_fir_shear_psi),
        ),
    ),
    Group(
        WOOD,
        "A hem-fir 2x10 joist under snow",
        "Missouri University of Science and Technology, course 5260, problem 4.30: No.2 at 16 in",
        "read in a copy of the course page",
        "psi",
        (-0.51, 0.51),
        (
            Case("Fb'", 1237, hem_fir_bending_psi),
            Case("Fv'", 173, hem_fir_shear_psi),
            Case("Fc_perp'", 405, hem_fir_bearing_psi),
        ),
        note="Halves are printed rounded up.",
    ),
    Group(
        WOOD,
        "A twelve-foot joist: moment",
        "Cornell University, ARCH 264 (2008), homework 4: 2x10 at 16 in, 40 live and 15 dead",
        "read in a copy of the course page",
        "lb-in",
        half(1),
        (Case("M", 15840, moment_lb_in),),
    ),
    Group(
        WOOD,
        "A twelve-foot joist: shear",
        "Cornell University, ARCH 264 (2008), homework 4",
        "read in a copy of the course page",
        "lb",
        (-0.6, 0.6),
        (Case("V at d from the support", 384, shear_lb),),
        note="Printed with d rounded to 0.77 ft, which shifts V by under 0.6 lb.",
    ),
    Group(
        WOOD,
        "A twelve-foot joist: sag and section",
        "Cornell University, ARCH 264 (2008), homework 4",
        "read in a copy of the course page",
        "in, in2, in3, in4",
        half(0.01),
        (
            Case("sag under live load, in", 0.16, sag_in),
            Case(
                "A, in2 (13.875 printed)",
                13.875,
                lambda: float(design.section_area_in2(*dressed_size("2x10"))),
            ),
            Case(
                "I, in4", 98.93, lambda: float(design.moment_of_inertia_in4(*dressed_size("2x10")))
            ),
            Case("CF S needed, in3", 15.74, modulus_needed_in3),
        ),
        places=3,
    ),
)

SECTIONS = {
    "2x6": (8.25, 7.563, 20.80),
    "2x8": (10.88, 13.14, 47.63),
    "2x10": (13.88, 21.39, 98.93),
    "2x12": (16.88, 31.64, 178.0),
}
PROPERTIES = (
    ("area", "in2", 0.005, design.section_area_in2),
    ("section modulus", "in3", 0.0051, design.section_modulus_in3),
    ("moment of inertia", "in4", 0.051, design.moment_of_inertia_in4),
)
SECTION_GROUPS = tuple(
    Group(
        WOOD,
        f"Sections of joists: {name}",
        "NDS Supplement Table 1B",
        "from memory, to four figures",
        unit,
        (-allowed, allowed),
        tuple(
            Case(size, printed[place], lambda f=of, s=size: float(f(*dressed_size(s))))
            for size, printed in SECTIONS.items()
        ),
        places=3,
    )
    for place, (name, unit, allowed, of) in enumerate(PROPERTIES)
)

DRESSED = {
    "2x4": (1.5, 3.5, 1.5625, 3.5625),
    "2x6": (1.5, 5.5, 1.5625, 5.625),
    "2x8": (1.5, 7.25, 1.5625, 7.5),
    "2x10": (1.5, 9.25, 1.5625, 9.5),
    "2x12": (1.5, 11.25, 1.5625, 11.5),
    "4x4": (3.5, 3.5, 3.5625, 3.5625),
    "4x6": (3.5, 5.5, 3.5625, 5.625),
    "4x12": (3.5, 11.25, 3.5625, 11.5),
}
TIMBERS_READ = {"6x6 green": (5.5, 5.5), "6x8 dry": (5.5, 7.25)}
TIMBERS_REMEMBERED = {"6x8 green": (5.5, 7.5), "8x8 green": (7.5, 7.5)}
EXACT = (0.0, 0.0)


def dressed(sizes: dict[str, tuple[float, float]]) -> tuple[Case, ...]:
    return tuple(
        Case(f"{name}, {side}", printed[at], lambda n=name, i=at: dressed_size(*n.split())[i])
        for name, printed in sizes.items()
        for at, side in enumerate(("thick", "wide"))
    )


SIZES = (
    Group(
        WOOD,
        "Dimension lumber, dressed",
        "DOC PS 20 American Softwood Lumber Standard, minimum dressed sizes",
        "read in a transcription of its table",
        "in",
        EXACT,
        dressed(
            {f"{name} dry": sides[:2] for name, sides in DRESSED.items()}
            | {f"{name} green": sides[2:] for name, sides in DRESSED.items()}  # type: ignore[misc]
        ),
        looked_up=True,
        places=4,
    ),
    Group(
        WOOD,
        "Timbers, dressed",
        "DOC PS 20: 1/2 in off green, 3/4 in off a dry one of 7 to 15 in",
        "read in a transcription of the rule",
        "in",
        EXACT,
        dressed(TIMBERS_READ),
        looked_up=True,
    ),
    Group(
        WOOD,
        "Timbers, dressed, others",
        "NDS Supplement Table 1B",
        "from memory",
        "in",
        EXACT,
        dressed(TIMBERS_REMEMBERED),
        looked_up=True,
    ),
)

WET_SHARES = {
    (DF, "No.1", "2x6"): (0.85, 0.97, 0.67, 0.9),  # 1,000 x 1.3 is over 1,150
    (SPF, "No.1/No.2", "2x8"): (1.0, 0.97, 0.67, 0.9),  # 875 x 1.2 is below
    (SPF, "No.1/No.2", "4x4"): (0.85, 0.97, 0.67, 0.9),  # 875 x 1.5
    (SP, "No.2", "4x6"): (1.0, 0.97, 0.67, 0.9),  # 1,000
    (DF, "No.1", "6x6"): (1.0, 1.0, 0.67, 1.0),
    (HF, "No.1", "6x6"): (1.0, 1.0, 0.67, 1.0),
    (SP, "No.2", "6x6"): (1.0, 1.0, 1.0, 1.0),  # the table is for wet already
}


def wet_share(species: str, grade: str, size: str, name: str) -> float:
    return float(getattr(wet_service(species, size, design_values(species, grade, size)), name))


def wet_cases(*, pine: bool) -> tuple[Case, ...]:
    return tuple(
        Case(f"{species} {grade} {size}, {name}", share, partial(wet_share, *wood, name))
        for wood in WET_SHARES
        for species, grade, size in (wood,)
        for name, share in zip(
            ("bending", "shear", "bearing", "modulus"), WET_SHARES[wood], strict=True
        )
        if (species == SP) == pine
    )


WET = (
    Group(
        WOOD,
        "Wet service",
        "NDS Supplement Tables 4A, 4B, 4D, wet service",
        "read in Merritt, Building Design and Construction Handbook, Table 10.6",
        "share",
        EXACT,
        wet_cases(pine=False),
        looked_up=True,
    ),
    Group(
        WOOD,
        "Wet service of Southern pine",
        "NDS Supplement Tables 4B, 4D, wet service",
        "from memory",
        "share",
        EXACT,
        wet_cases(pine=True),
        looked_up=True,
    ),
)

DECK_2X6 = {SP: (119, 108, 91), "Douglas fir-larch, hem-fir or spruce-pine-fir": (114, 100, 82)}


def deck_2x6_in(species: str, spacing: str) -> float:
    row = find(
        "joist_spans", member="deck joist", species=species, nominal="2x6", spacing_in=spacing
    )
    return row.number("span_in")


BARRED = Group(
    WOOD,
    "Deck joists of 2x6",
    "AWC DCA 6 Table 2",
    "read in the City of Everett's copy: 9-11, 9-0, 7-7; 9-6, 8-4, 6-10",
    "in",
    EXACT,
    tuple(
        Case(f"{species} at {spacing} in", span, partial(deck_2x6_in, species, spacing))
        for species, row in DECK_2X6.items()
        for spacing, span in zip(("12", "16", "24"), row, strict=True)
    ),
    looked_up=True,
)


def end_and_inner(found: Continuity) -> tuple[float, float]:
    """Shears on both sides of the first inner support over the load of a span."""
    left = found.shear_dead / 2
    return left, found.reaction_dead - left


HICKS = {2: (5 / 8, 5 / 8), 3: (6 / 10, 5 / 10), 4: (17 / 28, 15 / 28), 5: (23 / 38, 20 / 38)}
DIAGRAMS = {2: (1.25, 1.25), 3: (1.10, 1.20), 4: (1.143, 1.223), 5: (1.132, 1.218)}
CONTINUOUS = (
    Group(
        WOOD,
        "Continuous beams, all spans loaded: shears by the first inner support",
        "T. G. Hicks, Civil Engineering Formulas, Table 2.1",
        "read in a copy; its 23/38 and 20/38 are for five spans",
        "of w L",
        (-1e-9, 1e-9),
        tuple(
            Case(f"{n} spans, {side}", row[at], lambda n=n, i=at: end_and_inner(continuity(n))[i])
            for n, row in HICKS.items()
            for at, side in enumerate(("towards the end", "towards the middle"))
        ),
        places=4,
    ),
    *(
        Group(
            WOOD,
            f"Continuous beams: greatest reaction{more}",
            "AISC Manual, Table 3-23, continuous beams over equal spans",
            obtained,
            "of w L",
            half(0.001),
            tuple(
                Case(
                    f"{n} spans, {load} load",
                    DIAGRAMS[n][at],
                    lambda n=n, k=f"reaction_{load}": float(getattr(continuity(n), k)),
                )
                for n in spans
                for at, load in enumerate(("dead", "live"))
            ),
            places=4,
            note="Live load stands on the worst spans.",
        )
        for more, obtained, spans in (
            ("", "read in an engineers' page that prints the same diagrams", (2, 3, 4)),
            (", five spans", "from memory", (5,)),
        )
    ),
)

LIMITS_OF_STEPS = {
    "rise_most_in": (7.75, "R311.7.5.1"),
    "run_least_in": (10, "R311.7.5.2"),
    "stair_width_least_in": (36, "R311.7.1"),
    "landing_depth_least_in": (36, "R311.7.6"),
    "handrail_rises": (4, "R311.7.8"),
    "guard_rise_in": (30, "R312.1.1"),
    "guard_height_in": (36, "R312.1.2"),
    "guard_opening_in": (4, "R312.1.3"),
    "ramp_exit_run": (12, "R311.8.1"),
    "ramp_run": (8, "R311.8.1"),
    "ramp_handrail_run": (12, "R311.8.3"),
}
STEPS = Group(
    WOOD,
    "Steps and ramps",
    "IRC, 2015 to 2021 numbering",
    "read in quotations of the code; R311.8.3 in Code Operative's model of it",
    "in, rises, run to rise",
    EXACT,
    tuple(
        Case(f"{clause}, `{key}`", printed, partial(value, "steps", key=key))
        for key, (printed, clause) in LIMITS_OF_STEPS.items()
    ),
    looked_up=True,
)

NAILS = {"6d": (2.0, 0.113), "8d": (2.5, 0.131), "10d": (3.0, 0.148), "16d": (3.5, 0.162)}
NAIL_GROUP = Group(
    WOOD,
    "Common nails",
    "USDA Wood Handbook FPL-GTR-282 Table 8-1",
    "read in a transcription in millimetres",
    "in",
    EXACT,
    tuple(
        Case(
            f"{size}, {name}",
            printed[at],
            partial(value, "fasteners", connection="common nail", size=size, property=f"{name}_in"),
        )
        for size, printed in NAILS.items()
        for at, name in enumerate(("length", "diameter"))
    ),
    looked_up=True,
    places=3,
)

GROUPS = (
    *COURSES, *CONTINUOUS, *WET, *SECTION_GROUPS, *SIZES, BARRED, STEPS, NAIL_GROUP,
)  # fmt: skip
