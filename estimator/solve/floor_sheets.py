"""Sheet layout on a floor: fewest sheets, long edge across the joists, ends on joists.

The layout rules (common practice, no source): rows run along the floor length, full-width rows
first and the ripped row last; a last strip narrower than the minimum is avoided by ripping the
first row as well. Every piece ends on a joist's centre or at the floor's end and spans at least
``min_bays`` bays; joints in adjoining rows never share a joist. No piece is turned, since the
strong direction lies across the joists.

Method: rows that take turns between two ways are tried first (``sheet_turns``). Where their sheets
are as few as the area, or the linear relaxation of all rows of a width together, allows any plan,
that is the answer; else one integer program per arrangement of rows follows. In it each row is a
path over the joist lines; each sheet is a path along its length whose steps are pieces and the
saw's kerf (arc flow, after Valerio de Carvalho 1999, from memory), and from any point on, the rest
of a sheet may be ripped into equal strips, each a path of its own. With one ripped width of which
several fit side by side, that covers every way of cutting without turning: pieces of full width can
be moved to one end, and pieces of one strip width always sort into strips. So the bound is one for
all layouts that follow the rules above, not only for those of one cutting style.

Tongue-and-groove: a row covers the net width; every joint between rows needs both factory
edges. All sheets lie the same way, tongue away from the starting edge, so a ripped first row
needs the tongue edge and a ripped last row the groove edge: one sheet gives at most one strip of
each. A floor of one row has no such joint.
"""

from __future__ import annotations

import math
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from operator import itemgetter

import numpy as np

from estimator.errors import InputError, SolveError
from estimator.solve.sheet_plan import SheetPlan, read_plan
from estimator.solve.sheet_program import Program, Solved
from estimator.solve.sheet_rows import (
    PER_IN,
    Floor,
    Laid,
    Row,
    area_bound,
    arrangements_of,
)
from estimator.solve.sheet_turns import lay_in_turns

SQUARE = "square"
TONGUE = "tongue and groove"


_WORK = 600_000
"""Branches times entries of a program that a floor is allowed, at an effort of 1."""

_LOOK = 0.1
"""Effort of a first look at rows that take turns, before their bound is worked out."""


@dataclass(frozen=True, slots=True)
class SheetStock:
    """One sheet as it is sold; inches.

    ``net_width_in`` and ``net_length_in`` are what one sheet really covers (47.5 in for many
    tongue-and-groove sheets, 95.875 in for sheets sized for gaps); the nominal size if None.
    For square-edged sheets the net size is the sheet's true size; for tongue-and-groove the
    nominal width includes the tongue.
    """

    length_in: float = 96.0
    width_in: float = 48.0
    net_length_in: float | None = None
    net_width_in: float | None = None
    edges: str = SQUARE


@dataclass(frozen=True, slots=True)
class SheetRules:
    """How sheets are laid and cut; inches. ``nominal`` takes gap and kerf as nothing."""

    gap_in: float = 0.125
    kerf_in: float = 0.125
    min_strip_in: float = 12.0
    min_bays: int = 2
    stagger: bool = True
    nominal: bool = False


@dataclass(frozen=True, slots=True)
class Opening:
    """A rectangle without sheathing, measured from the starting corner (in)."""

    x_in: float
    y_in: float
    length_in: float
    width_in: float


def plan_sheets(
    length_in: float,
    width_in: float,
    joists_in: Sequence[float],
    stock: SheetStock | None = None,
    rules: SheetRules | None = None,
    openings: Sequence[Opening] = (),
    *,
    effort: float = 1.0,
    programs: bool = True,
    time_limit_s: float = 60.0,
) -> SheetPlan:
    """Lay sheets on a rectangular floor with as few sheets as can be.

    Sizes are taken to 0.00002 in. A piece starts on its joist's centre and ends one gap before the
    next piece; sheets that are short by no more than a gap may stay that much short of the
    floor's far edges. Pieces wholly inside an opening are left out; a piece that an opening cuts
    into counts whole, and what is cut out of it isn't used again. Among plans with the fewest
    sheets it looks for fewer pieces and fewer off-cuts, without proof. The same input gives the
    same plan on every machine, unless the time limit is met (``timed_out``).

    Args:
        length_in: Floor length, along which the joists are spaced and the sheets run (in).
        width_in: Floor width, along the joists (in).
        joists_in: Joist centres along the length that sheet ends may land on, without doubled
            ones (``JoistLayout.sheet_lines_in``); the floor's ends are added.
        stock: The sheet.
        rules: Gap, kerf, minimum strip and length, stagger.
        openings: Rectangles left open.
        effort: How much work is allowed, in multiples of what a floor usually takes: a quantity
            counted, not timed. Beyond it the best plan so far comes back with its bound.
        programs: Whether integer programs settle what rows that take turns leave open, if these
            give a plan at all. They take most of the time that the hardest floors take.
        time_limit_s: Seconds after which that is done in any case.

    Raises:
        InputError: A size or rule is out of range.
        SolveError: No layout obeys the rules; names the joist spacing.
    """
    stock, rules = stock or SheetStock(), rules or SheetRules()
    floor = _floor(length_in, width_in, joists_in, stock, rules, openings)
    spacing = _spacing_in(floor)
    deciding, others = arrangements_of(floor)
    notes = _notes(floor, spacing)
    lows, turns = [area_bound(floor)] * len(deciding), None
    if not floor.openings:
        lows, turns = _in_turns(floor, deciding, others, spacing, effort)
        if turns is not None and (not programs or len(turns.sheets) <= min(lows)):
            return read_plan(floor, turns, min(*lows, len(turns.sheets)), notes, late=False)
    deadline, work = time.monotonic() + time_limit_s, math.ceil(effort * _WORK)
    best, bound = _solve_each(floor, deciding, spacing, lows, work // len(deciding), deadline)
    for rows in others:
        try:
            program = Program(floor, rows, spacing)
        except SolveError:  # openings leave none of this arrangement
            continue
        least = max(bound, program.bound())
        if least > best.sheets:
            continue
        share = work // len(others)
        laid, _ = program.try_solve(least, share, deadline, below=best.sheets + 1)
        if laid is not None:
            best = laid
            if laid.sheets <= bound:
                break
    late = time.monotonic() > deadline
    if turns is not None and len(turns.sheets) <= best.sheets:
        return read_plan(floor, turns, min(bound, len(turns.sheets)), notes, late)
    best = best.program.tidied(best, deadline)
    return read_plan(floor, best.program.laid(best), min(bound, best.sheets), notes, late)


def _in_turns(
    floor: Floor,
    deciding: Sequence[tuple[Row, ...]],
    others: Sequence[tuple[Row, ...]],
    spacing_in: float,
    most: float,
) -> tuple[list[int], Laid | None]:
    """What no plan of each deciding arrangement goes below, and the first plan of fewest sheets of
    rows that take turns, if there is one: at a first look where the area is the bound, else with
    so much effort at most."""
    lows = [area_bound(floor)] * len(deciding)
    found: Laid | None = None
    first = min(_LOOK, most)
    for effort in (first, most):
        for rows in (*others, *deciding):
            laid = lay_in_turns(floor, rows, min(lows), effort)
            if laid is not None and (found is None or len(laid.sheets) < len(found.sheets)):
                found = laid
            if found is not None and len(found.sheets) <= min(lows):
                return lows, found
        if effort == first:
            lows = [_least(floor, rows, spacing_in, lows[0]) for rows in deciding]
            if found is not None and len(found.sheets) <= min(lows):
                return lows, found
    return lows, found


def _least(floor: Floor, rows: Sequence[Row], spacing_in: float, area: int) -> int:
    """Sheets that no plan of these rows goes below: by area, or by rows of a kind together."""
    counts = Counter(row.kind for row in rows)
    kinds = tuple(Row(0, kind) for kind in counts)
    try:
        together = Program(floor, kinds, spacing_in, tuple(counts.values()))
    except SolveError:  # the program of every row alone says why
        return area
    return max(area, together.bound())


def _solve_each(
    floor: Floor,
    arrangements: Sequence[tuple[Row, ...]],
    spacing_in: float,
    known: Sequence[int],
    work: int,
    deadline: float,
) -> tuple[Solved, int]:
    """The plan of fewest sheets of these arrangements of rows, and what no plan of any goes below.

    What each does not go below is known, but may be raised: by its program's relaxation, which
    also tells which of them to solve first and which can take no fewer sheets than those before.

    Raises:
        SolveError: No layout of any obeys the rules, or none was found.
    """
    programs: list[tuple[int, Program]] = []
    lows: list[int] = []
    best: Solved | None = None
    refused: SolveError | None = None
    for rows, least in zip(arrangements, known, strict=True):
        try:
            program = Program(floor, rows, spacing_in)
        except SolveError as error:  # openings may leave another arrangement a way
            refused = refused or error
            continue
        programs.append((max(least, program.bound()), program))
    for least, program in sorted(programs, key=itemgetter(0)):
        low, plan = least, None
        if best is None:
            try:
                plan, low = program.solve(least, work, deadline)
            except SolveError as error:
                refused = refused or error
                continue
        elif least < best.sheets:
            plan, low = program.try_solve(least, work, deadline, below=best.sheets)
        lows.append(low)
        best = plan or best
    if best is None:
        late = SolveError("No sheet layout was found in time.", cure="Raise the time limit.")
        raise late if lows or refused is None else refused
    return best, min(lows)


def fastener_count(
    plan: SheetPlan,
    joists_in: Sequence[float],
    edge_spacing_in: float = 6.0,
    field_spacing_in: float = 12.0,
    *,
    rims: bool = True,
    blocked_seams: bool = False,
) -> int:
    """Screws or nails that the layout takes, counted piece by piece along the joists.

    A line of length w takes ``ceil(w / spacing) + 1``, both of its ends included. Each piece has
    an edge-spaced line at either end (two on a joist where pieces meet) and a field-spaced line
    on every joist between. Along a long edge that is carried, each bay takes the ones between its
    two lines, ``ceil(bay / edge spacing) - 1``: at the floor's outside with ``rims``, at the
    seams between rows with ``blocked_seams``. What an opening cuts out of a piece isn't deducted.

    Args:
        plan: The layout.
        joists_in: Joist centres along the floor length (in), as given to ``plan_sheets``; add
            the doubled ones if they are to be fastened to.
        edge_spacing_in: Spacing at piece ends and carried edges (in); 6 is common practice.
        field_spacing_in: Spacing on the joists between (in); 12 is common practice.
        rims: Whether rims carry the floor's two long sides.
        blocked_seams: Whether blocks carry the seams between rows.

    Raises:
        InputError: A spacing isn't positive.
    """
    _positive("Edge fastener spacing", edge_spacing_in)
    _positive("Field fastener spacing", field_spacing_in)
    last_row = max((p.row for p in plan.pieces), default=0)
    total = 0
    for p in plan.pieces:
        x0, x1 = p.x_in, p.x_in + p.length_in
        # The floor's end joists stand half a joist in, under the piece's own end line.
        inner = [c for c in sorted(joists_in) if x0 + 2.0 < c < x1 - 2.0]
        total += 2 * (_spaces(p.width_in, edge_spacing_in) + 1)
        total += len(inner) * (_spaces(p.width_in, field_spacing_in) + 1)
        stops = [x0, *inner, x1]
        between = sum(_spaces(b - a, edge_spacing_in) - 1 for a, b in pairwise(stops))
        total += between * sum(
            rims if outside else blocked_seams for outside in (p.row == 0, p.row == last_row)
        )
    return total


def _spaces(length_in: float, spacing_in: float) -> int:
    return max(1, math.ceil(length_in / spacing_in - 1e-6))


def _positive(what: str, value: float) -> None:
    if not (math.isfinite(value) and value > 0):
        raise InputError(f"{what} is {value:g}.", cure="It must be above zero.")


def _units(value_in: float) -> int:
    # Even, so that halves of gaps and widths stay whole.
    return 2 * round(value_in * PER_IN / 2)


def _floor(
    length_in: float,
    width_in: float,
    joists_in: Sequence[float],
    stock: SheetStock,
    rules: SheetRules,
    openings: Sequence[Opening],
) -> Floor:
    net_length = stock.length_in if stock.net_length_in is None else stock.net_length_in
    net_width = stock.width_in if stock.net_width_in is None else stock.net_width_in
    for what, value in (
        ("Floor length", length_in),
        ("Floor width", width_in),
        ("Sheet length", stock.length_in),
        ("Sheet width", stock.width_in),
        ("Net sheet length", net_length),
        ("Net sheet width", net_width),
        ("Minimum strip", rules.min_strip_in),
    ):
        _positive(what, value)
    for what, value in (("Sheet gap", rules.gap_in), ("Saw kerf", rules.kerf_in)):
        if not 0 <= value <= 1:
            raise InputError(f"{what} is {{{value:g} in}}.", cure="Give 0 to {1 in|25 mm}.")
    if stock.edges not in (SQUARE, TONGUE):
        raise InputError(
            f"Sheet edges {stock.edges!r} are unknown.", cure=f"Use '{SQUARE}' or '{TONGUE}'."
        )
    if net_length > stock.length_in or net_width > stock.width_in:
        raise InputError("A sheet's net size exceeds its nominal size.", cure="Swap the two.")
    if rules.min_strip_in > net_width / 2 - rules.gap_in:
        raise InputError(
            f"A minimum strip of {{{rules.min_strip_in:g} in}} is over half a sheet's width.",
            cure="Use {12 in|300 mm}.",
        )
    if rules.min_bays < 1:
        raise InputError("A piece must span at least one bay.", cure="Use 2.")
    if not all(math.isfinite(c) and 0 <= c <= length_in + 1e-6 for c in joists_in):
        raise InputError(
            "A joist stands off the floor.",
            cure="Measure from the corner, in {inches|millimetres}.",
        )
    for o in openings:
        _positive("Opening length", o.length_in)
        _positive("Opening width", o.width_in)
        inside = o.x_in >= 0 and o.y_in >= 0
        if not (
            inside
            and o.x_in + o.length_in <= length_in + 1e-6
            and o.y_in + o.width_in <= width_in + 1e-6
        ):
            raise InputError(
                f"The opening at {{{o.x_in:g} in}}, {{{o.y_in:g} in}} reaches beyond the floor.",
                cure="Measure its corner from the starting corner of the floor.",
            )
    length = _units(length_in)
    inner = sorted({_units(c) for c in joists_in})
    # A joist within 3 in of the floor's end leaves no bay there: the sheet ends with the floor.
    lines = (0, *(c for c in inner if 3 * PER_IN <= c <= length - 3 * PER_IN), length)
    if len(lines) > 2 and any(b - a < 3 * PER_IN for a, b in pairwise(lines)):
        raise InputError("Joists stand less than {3 in} apart.", cure="Leave doubled joists out.")
    tongued = stock.edges == TONGUE
    gap = 0 if rules.nominal else _units(rules.gap_in)
    return Floor(
        lines=lines,
        width=_units(width_in),
        sheet_length=_units(net_length),
        sheet_width=_units(stock.width_in if tongued else net_width),
        cover=_units(net_width),
        gap=gap,
        row_gap=0 if tongued else gap,
        kerf=0 if rules.nominal else _units(rules.kerf_in),
        min_strip=_units(rules.min_strip_in),
        min_bays=rules.min_bays,
        stagger=rules.stagger,
        tongued=tongued,
        openings=tuple(
            (
                _units(o.x_in),
                _units(o.y_in),
                _units(o.x_in) + _units(o.length_in),
                _units(o.y_in) + _units(o.width_in),
            )
            for o in openings
        ),
    )


def _spacing_in(floor: Floor) -> float:
    return sorted(np.diff(floor.lines))[(len(floor.lines) - 1) // 2] / PER_IN


def _notes(floor: Floor, spacing_in: float) -> tuple[str, ...]:
    length_in, gap_in = floor.sheet_length / PER_IN, floor.gap / PER_IN
    bays = math.floor((length_in + gap_in) / spacing_in + 0.01)
    if len(floor.lines) < 3 or floor.lines[-1] <= floor.sheet_length:
        return ()
    if length_in - bays * spacing_in <= max(gap_in, 0.01 * spacing_in):
        return ()
    return (
        f"Joists {{{spacing_in:g} in}} on centre don't divide the sheet of"
        f" {{{length_in:g} in}}: whole sheets are cut back to {{{bays * spacing_in:g} in}}.",
    )
