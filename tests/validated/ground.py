"""Ground: earth volumes under the surveyed surface, and what dug soil swells to."""

from __future__ import annotations

from functools import partial

import numpy as np
from jobs import Point, at, changed, demo, on_flat, on_ground, one_option, solved

from estimator.model.kinds import FRAMED, OPEN
from estimator.solve.surface import fit_ground
from estimator.solve.volumes import clip, cut_ft3, fill_ft3
from validated.case import GROUND, Case, Group, half

PETERSON = 'S. Peterson, "Estimating in Building Construction", worked grid example, cells of 50 ft'
DAGOSTINO = 'Dagostino and Peterson, "Estimating in Building Construction", 7th ed., chapter 9'
TRANSCRIBED = "read in a question-and-answer transcription"
PAGE_IMAGES = "read in page images of the book"

Depths = tuple[float, float, float, float]
"""At the corners top left, top right, bottom left, bottom right, ft."""

PETERSON_CELLS: dict[str, tuple[Depths, float]] = {
    "cell 1": ((0, 0, 0, 0.1), 62),
    "cell 2": ((0, 0, 0.1, 0.3), 250),
    "cell 3": ((0, 0, 0.3, 0.9), 750),
    "cell 4": ((0, 0, 0.9, 1.1), 1250),
    "cell 5": ((0, 0, 1.1, 1.5), 1625),
    "cell 6": ((0, 0, 1.5, 0), 938),
    "cell 9": ((0.3, 0.9, 0.2, 0.4), 1125),
    "cell 10": ((0.9, 1.1, 0.4, 0.7), 1937),
    "cell 11": ((1.1, 1.5, 0.7, 0.9), 2625),
    "cell 12": ((1.5, 0, 0.9, 0), 1500),
    "cell 13 (fill)": ((0, 0.3, 0, 0.7), 625),
}
DAGOSTINO_CELLS: dict[str, tuple[Depths, float]] = {
    "Example 9-5, cell 40": ((0.1, 0.8, 0, 0), 563),
    "Example 9-8, paving": ((1.4, 1.4, 1.2, 1.3), 3313),
}


def cell_ft3(depths: Depths) -> float:
    """Cut under a cell of 50 ft by exact integration of the triangulated surface."""
    corners = np.array([[0, 50], [50, 50], [0, 0], [50, 0]])
    ground = fit_ground(corners, depths, [f"corner {i}" for i in range(4)])
    return float(cut_ft3(clip(ground, corners[[2, 3, 1, 0]]), 0.0))


def cell_of_a_job_ft3(depths: Depths) -> float:
    """The same through the rows of the workbook, dug for a base.

    The largest base is narrower than 50 ft: the cell is laid out at half its size, and holds a
    quarter. A base of 25 x 25 ft is a building of 20 x 20 with two and a half feet of margin.
    """
    spots = ((0.0, 25.0), (25.0, 25.0), (0.0, 0.0), (25.0, 0.0))
    readings: tuple[Point, ...] = tuple(
        (x, y, 100 + depth) for (x, y), depth in zip(spots, depths, strict=True)
    )
    sides = {"building_length_ft": 20, "building_width_ft": 20, "site_x_ft": 2.5, "site_y_ft": 2.5}
    pad = one_option(
        OPEN,
        changed(demo(), strip_depth_in=0, **sides),
        margin_in=30,
        joist_stock="2x8 treated",
        height_mode="by hand",
        hand_height_ft=100 + 4 / 12,
    )
    return at(solved(on_ground(pad, readings)), "cut_yd3") * 27 * 4


def raised_yd3() -> float:
    corners = np.array([[0, 0], [50, 0], [50, 50], [0, 50]])
    ground = fit_ground(corners, [87.6, 87.6, 87.6, 88.6], list("abcd"))
    return float(fill_ft3(clip(ground, corners), 90.0)) / 27


def swelled_yd3() -> float:
    """What 1000 bank yards of the model's own spoil of clay come to, at a swell of 30 percent."""
    place = next(row for (key, row), v in demo().cells.items() if (key, v) == ("soil_name", "clay"))
    job = changed(demo(), soil="clay", soil_loose={place: 1.3})
    values = solved(on_flat(one_option(FRAMED, job)))
    bank = at(values, "dug_yd3") + at(values, "strip_yd3") - at(values, "fill_bank_yd3")
    return at(values, "spoil_yd3") * 1000 / bank


def cells(of: dict[str, tuple[Depths, float]]) -> tuple[Case, ...]:
    return tuple(
        Case(name, printed, partial(cell_ft3, depths)) for name, (depths, printed) in of.items()
    )


ON_JOBS = ("cell 3", "cell 5", "cell 9", "cell 10", "cell 11")

GROUPS = (
    Group(
        GROUND, "Cells of a grid", PETERSON, TRANSCRIBED, "ft3", half(1), cells(PETERSON_CELLS),
        note="The book takes the mean of the corners, the product integrates triangles.",
    ),
    Group(GROUND, "Cells of a grid", DAGOSTINO, PAGE_IMAGES, "ft3", half(1),
          cells(DAGOSTINO_CELLS)),
    Group(
        GROUND,
        "Cells of a grid through the rows of the workbook",
        PETERSON,
        TRANSCRIBED,
        "ft3",
        (-0.5 - 1e-6, 0.5 + 1e-6),
        tuple(
            Case(name, PETERSON_CELLS[name][1], partial(cell_of_a_job_ft3, PETERSON_CELLS[name][0]))
            for name in ON_JOBS
        ),
        note="Laid out at half the size, as no base is 50 ft wide, and multiplied by four.",
    ),
    Group(
        GROUND,
        "Swell of dense clay",
        f"{DAGOSTINO}, Example 9-2: 1000 bank yards, swell 30 percent",
        PAGE_IMAGES,
        "yd3",
        (-1e-6, 1e-6),
        (Case("loose", 1300, swelled_yd3),),
    ),
    Group(
        GROUND,
        "One cell raised to a level",
        "Corners average 87.85 ft: 2.15 ft over 2,500 ft2",
        "worked by hand",
        "yd3",
        half(0.01),
        (Case("fill", 199.07, raised_yd3),),
    ),
)  # fmt: skip
