"""Steps and ramps at a door: rises, stringers, rails and boards, by geometry and by the code.

Plain formulas over floats, arrays or symbolic references: every limit is an argument
(``estimator.reference`` has them, table ``steps``). IRC clauses are of the 2021 edition; R311 is
written for dwellings, and local codes say whether an outbuilding must follow it.
"""

from __future__ import annotations

import numpy as np

from estimator.solve.design import IN_PER_FT, Num

# A flight of steps (IRC R311.7)


def rises(total_in: Num, greatest_in: Num) -> Num:
    """Rises of a flight, ceil(H / r) and none below the ground, pieces (IRC R311.7.5.1).

    Args:
        total_in: From the ground at the foot to the floor at the door, in.
        greatest_in: Most that one rise may be, in.
    """
    return np.maximum(np.ceil(total_in / greatest_in), 0)


def rise_in(total_in: Num, count: Num) -> Num:
    """One of the equal rises, H / n, in; 0 where there is none (IRC R311.7.5.1)."""
    return np.where(count > 0, np.maximum(total_in, 0) / np.maximum(count, 1), 0)


def treads(count: Num) -> Num:
    """Treads of a flight, rises less one: the floor is the last, pieces (US Army EN5156)."""
    return np.maximum(count - 1, 0)


def flight_run_in(tread_count: Num, tread_run_in: Num) -> Num:
    """Level length of a flight, treads times run, in."""
    return tread_count * tread_run_in


def pitch_in(one_rise_in: Num, tread_run_in: Num) -> Num:
    """Nosing to nosing along the pitch, sqrt(r^2 + t^2), in."""
    return np.sqrt(one_rise_in**2 + tread_run_in**2)


def stringer_in(tread_count: Num, one_rise_in: Num, tread_run_in: Num, ends_in: Num) -> Num:
    """Length of board that a notched stringer is cut from, in; 0 without treads.

    A tread is one hypotenuse of board, its plumb cut above and its level cut below lie within
    that length whatever the board's depth: the geometry asks for n sqrt(r^2 + t^2), and
    ``ends_in`` is what is sawn off to square and lay out the board.
    """
    length = tread_count * pitch_in(one_rise_in, tread_run_in) + ends_in
    return np.where(tread_count > 0, length, 0)


def throat_in(depth_in: Num, one_rise_in: Num, tread_run_in: Num) -> Num:
    """Wood left under the notches of a stringer, d - r t / sqrt(r^2 + t^2), in.

    The corner of a notch lies r t / h below the upper edge, h being the hypotenuse. The deck guide
    (AWC DCA 6) asks for 5 in. The run is over 0.
    """
    return depth_in - one_rise_in * tread_run_in / pitch_in(one_rise_in, tread_run_in)


def first_notch_in(one_rise_in: Num, tread_thick_in: Num) -> Num:
    """Lowest rise as sawn: less a tread, so that all rises are equal once treads lie on it, in."""
    return one_rise_in - tread_thick_in


def stringers(width_in: Num, thick_in: Num, spacing_in: Num) -> Num:
    """Stringers, or joists of a ramp or landing, flush with both sides, pieces; two at least.

    Args:
        width_in: Over all, in.
        thick_in: Thickness of one, in.
        spacing_in: Most between centres, in (AWC DCA 6: 18 for a cut stringer).
    """
    return np.maximum(np.ceil((width_in - thick_in) / spacing_in) + 1, 2)


def boards_across(run_in: Num, board_in: Num, gap_in: Num) -> Num:
    """Boards that cover a run side by side with a gap between them, pieces.

    The last may be ripped, or project as a nosing.
    """
    return np.maximum(np.ceil((run_in + gap_in) / (board_in + gap_in)), 0)


# A ramp (IRC R311.8)


def ramp_run_in(total_in: Num, run_to_rise: Num) -> Num:
    """Level length of a ramp, H s, in; none below the ground (IRC R311.8.1).

    ``run_to_rise`` is 12 at the required exit door and 8 elsewhere.
    """
    return np.maximum(total_in, 0) * run_to_rise


def slope_length_in(total_in: Num, run_in: Num) -> Num:
    """Length along a slope, sqrt(H^2 + L^2), in."""
    return np.sqrt(np.maximum(total_in, 0) ** 2 + run_in**2)


def bays(run_in: Num, longest_in: Num) -> Num:
    """Equal bays that a run is divided into so that none is over the longest, pieces."""
    return np.maximum(np.ceil(run_in / longest_in), 0)


# Rails (IRC R311.7.8, R311.8.3, R312.1)


def rail_sides(
    total_in: Num,
    rise_count: Num,
    is_ramp: Num,
    run_to_rise: Num,
    guard_rise_in: Num,
    handrail_rises: Num,
    handrail_run: Num,
) -> Num:
    """Sides that the code asks a rail on: 0, 1 (a handrail) or 2 (a guard on every open side).

    IRC R311.7.8: four or more rises; R311.8.3: a ramp steeper than 1 in 12; R312.1.1: more than
    30 in above the ground.

    Args:
        total_in: Height of the floor at the door, in.
        rise_count: Rises of the flight, pieces.
        is_ramp: 1 for a ramp, 0 for steps.
        run_to_rise: Run of the ramp to one of rise, ft/ft.
        guard_rise_in: Height above which a side has a guard, in.
        handrail_rises: Rises from which a flight has a handrail, pieces.
        handrail_run: Run to one of rise below which a ramp has a handrail, ft/ft.
    """
    steep = (is_ramp == 1) & (run_to_rise < handrail_run) & (total_in > 0)
    many = (is_ramp == 0) & (rise_count >= handrail_rises)
    return np.where(total_in > guard_rise_in, 2, np.where(steep | many, 1, 0))


def guard_rails(height_in: Num, rail_in: Num, opening_in: Num) -> Num:
    """Level boards of a guard, one above the other, pieces (IRC R312.1.3).

    n boards of width b and n equal gaps fill the height, each gap at most the opening:
    n = ceil(h / (b + g)).
    """
    return np.ceil(height_in / (rail_in + opening_in))


def rail_posts(length_in: Num, spacing_in: Num) -> Num:
    """Posts of a rail on one side, both ends and between, pieces; none without a length."""
    return np.where(length_in > 0, bays(length_in, spacing_in) + 1, 0)


# What it stands on


def footing_ft3(diameter_in: Num, depth_in: Num) -> Num:
    """Concrete of a round footing cast in its hole, pi d^2 / 4 times the depth, ft3."""
    return np.pi / 4 * (diameter_in / IN_PER_FT) ** 2 * depth_in / IN_PER_FT
