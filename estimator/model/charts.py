"""What is drawn on Pictures (the sides of the base, the lot from above) and on Start."""

from __future__ import annotations

from dataclasses import replace

from estimator.appearance import Band, Bar, Bars, Chart, Charts, Line, Reach
from estimator.model.siting_sheet import KEEP_OUTS

BROWN, BLACK, GREY, BLUE, GREEN, RED = "7F4F24", "000000", "7A7A7A", "1F5FA8", "2E7D32", "B3261E"
WOOD = "B98A4B"
DRAWING = "Drawn to scale from the squared end, at the left; figures are those of the lines"
DRAWING_ROOM = 17
"""Title of the part of Cut Plan where boards are drawn, and rows left there."""
DRAWN_CM, DRAWN_HIGH_CM = 21.5, 9.0
FLOOR_CM, FLOOR_HIGH_CM = 8.7, 8.4
FLOOR_DRAWING = "Floor from above, front at the bottom; sheets, four to a row from the lower left"
FLOOR_ROOM = 17
"""Title of the part of Sheet Layout where floor and sheets are drawn, and rows left there."""
CALENDAR_ROOM = "The calendar of the chosen option, a line for each task as listed above"
PLAN_WIDE_CM, PLAN_HIGH_CM, PLAN_ROOM = 17.5, 9.0, 17
"""Title of the part of Calendar where it is drawn; its width and height, and rows left there."""
SIDES = ("front", "right", "back", "left")
WIDE_CM, SIDE_WIDE_CM, SIDE_CM, PLAN_CM = 18.9, 9.4, 5.2, 15.6
SIDE_ROWS, PLAN_ROWS = 10, 30
"""Sheet rows of 0.53 cm that the chart of a side, and of the plan, takes."""

SIDE_LINES = (
    Line("Ground", "line_at_ft", "line_ground_in", BROWN, width_pt=2.25),
    Line("Top of the base", "line_at_ft", "line_string_in", BLACK, "dash", 1.5),
    # Down from the top at every end of a course: courses stand as boxes.
    Line(
        "Bottom of courses, stone or edge",
        "bottom_at_ft",
        "bottom_in",
        GREY,
        "sysDot",
        2.25,
        reach=Reach("y", width_pt=0.75),
    ),
)
PLAN_LINES = (
    Line("Property line", "lot_x_ft", "lot_y_ft", BLACK, "lgDashDot", 1.5),
    Line("Base as staked", "base_x_ft", "base_y_ft", RED, width_pt=2.5),
    Line("Place 1", "best_1_x_ft", "best_1_y_ft", GREEN, "solid", 2.0, legend=False),
    Line("Place 2", "best_2_x_ft", "best_2_y_ft", GREEN, "dash", 1.25, legend=False),
    Line("Place 3", "best_3_x_ft", "best_3_y_ft", BLUE, "lgDash", 1.25, legend=False),
    Line("Place 4", "best_4_x_ft", "best_4_y_ft", BLUE, "sysDot", 1.25, legend=False),
    Line("Place 5", "best_5_x_ft", "best_5_y_ft", GREY, "sysDash", 1.25, legend=False),
    Line("Readings", "dot_x_ft", "dot_y_ft", BLACK, "none", 0, "x", 6),
    Line("Readings", "stake_dot_x_ft", "stake_dot_y_ft", BLACK, "none", 0, "x", 6),
    Line("Setback line", "setback_x_ft", "setback_y_ft", BLACK, "sysDot", 1.0),
    *(
        Line("Keep-out area", f"keep_{number}_x_ft", f"keep_{number}_y_ft", RED, "solid", 1.5)
        for number in range(1, KEEP_OUTS + 1)
    ),
    Line("Contours", "contour_x_ft", "contour_y_ft", BROWN, "none", 0, "circle", 2),
    # Only makes both axes of the plan equally long.
    Line("Extent", "square_x_ft", "square_y_ft", BLACK, "none", 0, legend=False),
    # A place stands in no legend, as a search need not have run: each bears its number.
    Line("Places", "found_x_ft", "found_y_ft", GREEN, "none", 0, texts="found_text", side="over"),
    Line("Sides", "named_x_ft", "named_y_ft", RED, "none", 0, texts="named_text", side="over"),
    Line(
        "Heights",
        "contour_mark_x_ft",
        "contour_mark_y_ft",
        BROWN,
        "none",
        0,
        texts="contour_mark",
        side="over",
    ),
)
# Only draws all sides to one scale.
SIDES_EXTENT = Line("Extent", "side_extent_ft", "side_extent_in", BLACK, "none", 0, legend=False)


def _lines_of(number: int) -> tuple[Line, ...]:
    """Lines of one side, which has its share of the columns of all."""
    return tuple(replace(line, share=(number, len(SIDES))) for line in SIDE_LINES)


def _side(number: int, name: str) -> Chart:
    return Chart(
        f"Side {number + 1}, {name}",
        "{ft} from its first corner",
        "{in} from the top",
        f"Ground, top of the base and bottom of the lowest course or of the stone along the {name} side of"
        " the chosen option, in {inches|millimetres} above or below that top; all sides to one scale.",
        (*_lines_of(number), SIDES_EXTENT),
        SIDE_WIDE_CM,
        SIDE_CM,
        SIDE_ROWS,
        beside=number % 2 == 1,
        from_zero=("x",),
        # Labels stay at the foot although the top, at 0, runs through the picture.
        low_labels=("x",),
    )


PLAN_CHART = Chart(
    "The lot from above, with contours; numbers: the best places found; ?: ground guessed",
    "x, {ft}",
    "y, {ft}",
    "Plan of the lot: property line, setback line, keep-out areas, readings, contours as dots with"
    " their heights, the base as it is staked with its sides and size, and up to five best places with"
    " their numbers.",
    PLAN_LINES,
    WIDE_CM,
    PLAN_CM,
    PLAN_ROWS,
)
CHARTS = Charts(
    pages=((*(_side(number, name) for number, name in enumerate(SIDES)), PLAN_CHART),),
    first_row=6,
    columns=8,
    column_width=12.5,
)

BAND_CM, BAND_HIGH_CM, HOUSE_CM, BAND_ROWS = 7.2, 5.1, 8.2, 10
"""Of the charts on Start: width, height, width of the building, and sheet rows that they take."""
DECISION = Band(
    "Drawn from the numbers",
    (
        Bars(
            "Cost before contingency, and its range",
            "$",
            "For each option the range of its cost before contingency as a bar, and that cost as it is"
            " estimated as a mark.",
            (
                Bar("Low", "compare_low"),
                Bar("Range", "compare_spread", "5B93A0"),
            ),
            BAND_CM,
            BAND_HIGH_CM,
            (Bar("Estimate", "compare_before", RED),),
        ),
        Bars(
            "Hours of work",
            "h",
            "For each option its hours of work as a bar.",
            (Bar("Hours", "compare_hours", "4F8793"),),
            BAND_CM,
            BAND_HIGH_CM,
        ),
        Chart(
            "The chosen option from the front",
            "{ft} from the first corner of its base",
            "{in} from the top",
            "Outline of the building as it stands on the chosen base: ground, top of the base, bottom of"
            " courses, stone or edge, floor, walls and roof along the front.",
            (
                Line("Building", "house_at_ft", "house_in", BLUE, width_pt=2.0),
                *_lines_of(0),
            ),
            HOUSE_CM,
            BAND_HIGH_CM,
            BAND_ROWS,
        ),
    ),
)

BOARDS_DRAWN = Band(
    DRAWING,
    (
        Chart(
            "",
            "",
            "",
            "Each line of boards of the chosen option as a bar from the squared end, to scale: a"
            " thin line as long as the board, a thick one as far as it is used, a stroke at every"
            " cut and before it the mark of the piece.",
            (
                Line(
                    "Board",
                    "saw_end_x",
                    "saw_end_line",
                    WOOD,
                    "none",
                    0,
                    reach=Reach("x", width_pt=1.5),
                ),
                Line(
                    "Used",
                    "saw_cut_x",
                    "saw_cut_line",
                    WOOD,
                    "none",
                    0,
                    reach=Reach("x", width_pt=5),
                ),
                Line("Cuts", "saw_cut_x", "saw_cut_line", BLACK, "none", 0, reach=Reach("y", 0.8)),
                Line("Marks", "saw_cut_x", "saw_cut_line", BLACK, "none", 0, texts="saw_cut_mark"),
            ),
            DRAWN_CM,
            DRAWN_HIGH_CM,
            DRAWING_ROOM,
            text_pt=10.0,
            x_most=1.0,
            from_zero=("x", "y"),
            downward=True,
            unlabelled=("x",),
        ),
    ),
)

SHEETS_DRAWN = Band(
    FLOOR_DRAWING,
    (
        Chart(
            "Floor",
            "sheets along the front",
            "",
            "The floor of the chosen option from above, front at the bottom: each piece of sheet with"
            " its edges and its number in the order of laying, openings in red.",
            (
                Line(
                    "Pieces",
                    "laid_at_x",
                    "laid_at_y",
                    BLACK,
                    "none",
                    0,
                    reach=Reach("x", "laid_part_long"),
                ),
                Line(
                    "Pieces",
                    "laid_at_x",
                    "laid_at_y",
                    BLACK,
                    "none",
                    0,
                    reach=Reach("y", "laid_part_wide"),
                ),
                Line("Edges", "floor_edge_x", "floor_edge_y", BLACK),
                *(
                    Line("Openings", f"hole_{end}x", f"hole_{end}y", RED, "none", 0, reach=reach)
                    for end, back in (("", False), ("end_", True))
                    for reach in (
                        Reach("x", "hole_long", 2, back=back),
                        Reach("y", "hole_wide", 2, back=back),
                    )
                ),
                Line(
                    "Numbers",
                    "laid_at_x",
                    "laid_mid_y",
                    BLACK,
                    "none",
                    0,
                    texts="panel_piece_no",
                    side="right",
                ),
            ),
            FLOOR_CM,
            FLOOR_HIGH_CM,
            FLOOR_ROOM,
            from_zero=("x", "y"),
            unlabelled=("y",),
        ),
        Chart(
            "Sheets and their cuts",
            "sheets 1 to 4, and so on upward",
            "",
            "The sheets of the chosen option, four to a row, the first at the lower left, each with"
            " the far edges of the pieces that are cut from it, and their numbers.",
            (
                Line(
                    "Cuts",
                    "laid_far_x",
                    "laid_far_y",
                    WOOD,
                    "none",
                    0,
                    reach=Reach("x", "laid_part_long", 2, back=True),
                ),
                Line(
                    "Cuts",
                    "laid_far_x",
                    "laid_far_y",
                    WOOD,
                    "none",
                    0,
                    reach=Reach("y", "laid_part_wide", 2, back=True),
                ),
                Line(
                    "Numbers",
                    "laid_far_x",
                    "laid_far_mid_y",
                    BLACK,
                    "none",
                    0,
                    texts="panel_piece_no",
                ),
            ),
            FLOOR_CM,
            FLOOR_HIGH_CM,
            FLOOR_ROOM,
            from_zero=("x", "y"),
            unlabelled=("y",),
            squared=True,
        ),
    ),
)

CALENDAR_DRAWN = Band(
    CALENDAR_ROOM,
    (
        Chart(
            "",
            "working days from the call",
            "line of the calendar",
            "Each line of the calendar of the chosen option as a bar from the working day on which"
            " it is begun to the one on which it is done.",
            (
                Line(
                    "Work", "plan_at", "plan_no", BLUE, "none", 0, reach=Reach("x", "plan_days", 7)
                ),
            ),
            PLAN_WIDE_CM,
            PLAN_HIGH_CM,
            PLAN_ROOM,
            from_zero=("x", "y"),
            downward=True,
        ),
    ),
)
