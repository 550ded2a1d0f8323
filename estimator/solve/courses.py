"""The timber frame round a rectangular pad: ground, courses, steps, trench and pieces.

Courses are numbered from the top: course 1 runs all round, its top at the string. Course k + 1 is
needed wherever the bottom of course k would hang above the ground less the least embedment, so no
timber ever has air under it. Positions along a side run from its first corner; side i goes from
corner i to corner i + 1. All lengths and heights are in feet.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from estimator.errors import InputError, SolveError
from estimator.solve.surface import Ground

Floats = NDArray[np.float64]
Intervals = tuple[tuple[float, float], ...]

TOUCH_FT = 1e-9
JOINT_STEP_FT = 0.25


@dataclass(frozen=True, slots=True, eq=False)
class Profile:
    """Ground along a straight line, as straight stretches with exact ends.

    Attributes:
        start_ft, end_ft: (m,) where each stretch begins and ends along the line.
        start_z_ft, end_z_ft: (..., m) ground heights there. Two stretches that meet may differ in
            height only where the line leaves the readings for the fitted plane.
        guessed: (m,) whether the stretch lies outside the readings.
    """

    start_ft: Floats
    end_ft: Floats
    start_z_ft: Floats
    end_z_ft: Floats
    guessed: NDArray[np.bool_]

    @property
    def length_ft(self) -> float:
        """Length of the line."""
        return float(self.end_ft[-1])

    @property
    def highest_ft(self) -> float:
        """Highest ground on the line."""
        return float(max(self.start_z_ft.max(), self.end_z_ft.max()))

    @property
    def lowest_ft(self) -> float:
        """Lowest ground on the line."""
        return float(min(self.start_z_ft.min(), self.end_z_ft.min()))

    def each(self) -> Iterator[Profile]:
        """The lines of several surfaces, one by one."""
        for start, end in zip(self.start_z_ft, self.end_z_ft, strict=True):
            yield replace(self, start_z_ft=start, end_z_ft=end)

    def at(self, along_ft: ArrayLike) -> Floats:
        """Ground heights at positions along the line; the lower one where two stretches meet."""
        s = np.atleast_1d(np.asarray(along_ft, dtype=np.float64))
        heights = []
        for side in ("left", "right"):
            k = np.searchsorted(self.end_ft, s, side=side).clip(0, len(self.end_ft) - 1)
            share = (s - self.start_ft[k]) / (self.end_ft[k] - self.start_ft[k])
            heights.append(self.start_z_ft[k] + share * (self.end_z_ft[k] - self.start_z_ft[k]))
        return np.asarray(np.minimum(heights[0], heights[1]), dtype=np.float64)

    def guessed_at(self, along_ft: ArrayLike) -> NDArray[np.bool_]:
        """Whether positions along the line lie outside the readings; not where it enters them."""
        s = np.atleast_1d(np.asarray(along_ft, dtype=np.float64))
        sides = [
            self.guessed[np.searchsorted(self.end_ft, s, side=side).clip(0, len(self.end_ft) - 1)]
            for side in ("left", "right")
        ]
        return np.asarray(sides[0] & sides[1], dtype=np.bool_)

    def below(self, level_ft: float) -> Intervals:
        """Where the ground lies below a level, as (start, end) positions in order."""
        found: list[tuple[float, float]] = []
        for a, b, za, zb in zip(
            self.start_ft.tolist(),
            self.end_ft.tolist(),
            (self.start_z_ft - level_ft).tolist(),
            (self.end_z_ft - level_ft).tolist(),
            strict=True,
        ):
            if min(za, zb) >= -TOUCH_FT:
                continue
            cross = a + (b - a) * za / (za - zb) if za * zb < 0 else None
            first = a if za < 0 or cross is None else cross
            last = b if zb < 0 or cross is None else cross
            found.append((first, last))
        return _joined(found, 0.0)


def profile(ground: Ground, start: ArrayLike, end: ArrayLike) -> Profile:
    """Ground along the line from ``start`` to ``end``, with a break at each triangle it enters.

    Heights of several surfaces have a leading axis; :meth:`Profile.each` takes them apart.
    """
    place = np.asarray([start, end], dtype=np.float64)
    return profiles(ground, [(place[0], place[1])])[0]


def profiles(ground: Ground, lines: Sequence[tuple[Floats, Floats]]) -> list[Profile]:
    """The same along several lines, each from its start to its end."""
    a, b = (np.array(ends) - ground.centre_ft for ends in zip(*lines, strict=True))
    lengths = [float(np.linalg.norm(each)) for each in b - a]
    if not min(lengths) > 0:
        raise InputError("the side of the frame has no length")
    edges = np.concatenate([ground.triangles[:, [i, j]] for i, j in ((0, 1), (1, 2), (2, 0))])
    p = ground.vertices_ft[edges[:, 0]]
    along, edge = b - a, ground.vertices_ft[edges[:, 1]] - p
    cross = along[:, :1] * edge[:, 1] - along[:, 1:] * edge[:, 0]
    safe = np.where(cross == 0, 1.0, cross)
    x, y = p[:, 0] - a[:, :1], p[:, 1] - a[:, 1:]
    t = (x * edge[:, 1] - y * edge[:, 0]) / safe
    u = (x * along[:, 1:] - y * along[:, :1]) / safe
    hit = (cross != 0) & (t > 0) & (t < 1) & (u >= -1e-9) & (u <= 1 + 1e-9)
    stretches = [_stretches(shares[some]) for shares, some in zip(t, hit, strict=True)]
    line = np.repeat(np.arange(len(lines)), [len(each) - 1 for each in stretches])
    start = np.concatenate([each[:-1] for each in stretches])[:, None]
    end = np.concatenate([each[1:] for each in stretches])[:, None]
    middle = a[line] + (start + end) / 2 * along[line]
    triangle = ground.locate(middle + ground.centre_ft)
    c, gx, gy = ground.each_plane(triangle)
    first, last = a[line] + start * along[line], a[line] + end * along[line]
    start_z = c + (gx * first[:, 0] + gy * first[:, 1])
    end_z = c + (gx * last[:, 0] + gy * last[:, 1])
    ends = np.cumsum([len(each) - 1 for each in stretches])
    return [
        Profile(
            start_ft=breaks[:-1] * length,
            end_ft=breaks[1:] * length,
            start_z_ft=start_z[..., at - len(breaks) + 1 : at],
            end_z_ft=end_z[..., at - len(breaks) + 1 : at],
            guessed=triangle[at - len(breaks) + 1 : at] < 0,
        )
        for breaks, length, at in zip(stretches, lengths, ends.tolist(), strict=True)
    ]


def _stretches(crossings: Floats) -> Floats:
    """Ends of a line's stretches, as shares of it, by where it crosses edges."""
    breaks = np.unique(np.concatenate([[0.0, 1.0], crossings]))
    # Crossings of edges that meet in a point differ in the last bits: keep one of each.
    breaks = breaks[np.concatenate([[True], np.diff(breaks) > 1e-9])]
    breaks[-1] = 1.0
    return np.asarray(breaks)


Faces = tuple[Profile, Profile]
"""Ground along the outer and the inner face of the timbers of a side."""


@dataclass(frozen=True, slots=True)
class FrameSpec:
    """What the frame is made of and how it sits.

    Attributes:
        timber_depth_ft, timber_width_ft: Dressed section, depth upright.
        bedding_ft: Stone under the lowest course.
        least_embedment_ft: Least depth of the lowest course's bottom below the ground.
        strip_ft: Sod and topsoil taken off before the string is set.
        reckon: Whether courses are reckoned from the stripped ground beside the frame or from the
            original one, where topsoil is put back up to it.
        stock_lengths_ft: Lengths the yard stocks.
        stagger_ft: Least distance between joints of neighbouring courses.
        least_piece_ft: Shortest piece worth pinning, unless a run is shorter.
        run_step_ft: Lower courses begin and end on whole multiples of this; 0 keeps exact ends.
        most_courses: More than this is refused.
    """

    timber_depth_ft: float
    timber_width_ft: float
    bedding_ft: float
    least_embedment_ft: float = 0.0
    strip_ft: float = 0.0
    reckon: Literal["stripped", "original"] = "stripped"
    stock_lengths_ft: tuple[float, ...] = (8.0, 10.0, 12.0, 16.0)
    stagger_ft: float = 2.0
    least_piece_ft: float = 2.0
    run_step_ft: float = 1.0
    most_courses: int = 100

    def __post_init__(self) -> None:
        if not (self.timber_depth_ft > 0 and self.timber_width_ft > 0):
            raise InputError("a timber needs a depth and a width", cure="Give its dressed size.")
        if min(self.bedding_ft, self.least_embedment_ft, self.strip_ft, self.run_step_ft) < 0:
            raise InputError("bedding, embedment, strip and step of a run can't be negative")
        if not self.stock_lengths_ft or min(self.stock_lengths_ft) <= 0:
            raise InputError("no stock length is given for the timbers")

    @property
    def reckoned_strip_ft(self) -> float:
        """What is taken off the original ground before courses are reckoned."""
        return self.strip_ft if self.reckon == "stripped" else 0.0


@dataclass(frozen=True, slots=True)
class CourseRun:
    """One unbroken length of one course on one side, corner squares included."""

    side: int
    course: int
    start_ft: float
    end_ft: float


@dataclass(frozen=True, slots=True)
class Piece:
    """One timber as it lies in the frame; ``stock_ft`` is the shortest stock that gives it."""

    side: int
    course: int
    length_ft: float
    start_ft: float
    stock_ft: float


@dataclass(frozen=True, slots=True)
class Station:
    """What to dig at one place of one side.

    ``ground_ft`` is the original ground, ``stripped_ft`` that less the strip. The trench is given
    below the string and below both grounds; ``exposed_ft`` is the wall above the reckoned ground.
    """

    side: int
    at_ft: float
    ground_ft: float
    stripped_ft: float
    courses: int
    trench_below_string_ft: float
    trench_below_ground_ft: float
    trench_below_stripped_ft: float
    exposed_ft: float
    guessed: bool


@dataclass(frozen=True, slots=True, eq=False)
class Frame:
    """A solved timber frame: string, ground along the sides, runs and pieces."""

    spec: FrameSpec
    string_ft: float
    profiles: tuple[Profile, ...]
    runs: tuple[CourseRun, ...]
    pieces: tuple[Piece, ...]

    @property
    def courses_by_side(self) -> tuple[int, ...]:
        """Greatest number of courses on each side."""
        return tuple(
            max(r.course for r in self.runs if r.side == side) for side in range(len(self.profiles))
        )

    @property
    def courses(self) -> int:
        """Greatest number of courses on any side."""
        return max(self.courses_by_side)

    @property
    def lower(self) -> tuple[CourseRun, ...]:
        """The runs below the top course."""
        return tuple(run for run in self.runs if run.course > 1)

    @property
    def lower_ft(self) -> float:
        """Length of the runs below the top course in all."""
        return float(sum(run.end_ft - run.start_ft for run in self.lower))

    @property
    def run_ft(self) -> float:
        """Length of all pieces."""
        return float(sum(piece.length_ft for piece in self.pieces))

    @property
    def exposed_ft(self) -> float:
        """Greatest height of the wall above the reckoned ground."""
        low = min(p.lowest_ft for p in self.profiles)
        return max(0.0, self.string_ft - low + self.spec.reckoned_strip_ft)

    @property
    def corners(self) -> int:
        """Corners where two runs of one course meet, over all courses."""
        reach = {(run.side, run.course) for run in self.runs if run.start_ft <= TOUCH_FT}
        sides = len(self.profiles)
        return sum(
            ((run.side + 1) % sides, run.course) in reach
            for run in self.runs
            if run.end_ft >= self.profiles[run.side].length_ft - TOUCH_FT
        )

    @property
    def joints(self) -> int:
        """Joints between pieces of one run, over all runs."""
        return sum(
            (a.side, a.course) == (b.side, b.course)
            and abs(a.start_ft + a.length_ft - b.start_ft) <= TOUCH_FT
            for a, b in pairwise(self.pieces)
        )

    def upper(self, courses: int) -> Frame:
        """The frame without the courses below these many, counted from the top one."""
        return replace(
            self,
            runs=tuple(run for run in self.runs if run.course <= courses),
            pieces=tuple(piece for piece in self.pieces if piece.course <= courses),
        )

    def courses_at(self, side: int, along_ft: ArrayLike) -> NDArray[np.intp]:
        """Number of courses at positions along a side; the greater one where a run ends."""
        s = np.atleast_1d(np.asarray(along_ft, dtype=np.float64))
        count = np.zeros(s.shape, dtype=np.intp)
        for run in self.runs:
            if run.side == side:
                count += (s >= run.start_ft - TOUCH_FT) & (s <= run.end_ft + TOUCH_FT)
        return count

    def stations(self, spacing_ft: float) -> tuple[Station, ...]:
        """Stations of every side: each ``spacing_ft``, both corners, and where a course steps."""
        if not spacing_ft > 0:
            raise InputError("the station spacing must be positive")
        out: list[Station] = []
        for side, line in enumerate(self.profiles):
            regular = np.arange(0.0, line.length_ft, spacing_ft).tolist()
            steps = [e for r in self.runs if r.side == side for e in (r.start_ft, r.end_ft)]
            s = np.unique(np.round([*regular, *steps, line.length_ft], 9))
            ground = line.at(s)
            count = self.courses_at(side, s)
            trench = trench_below_string_ft(count, self.spec.timber_depth_ft, self.spec.bedding_ft)
            stretch = np.searchsorted(line.end_ft, s).clip(0, len(line.end_ft) - 1)
            for i in range(len(s)):
                below = float(self.string_ft - ground[i])
                out.append(
                    Station(
                        side=side,
                        at_ft=float(s[i]),
                        ground_ft=float(ground[i]),
                        stripped_ft=float(ground[i]) - self.spec.strip_ft,
                        courses=int(count[i]),
                        trench_below_string_ft=float(trench[i]),
                        trench_below_ground_ft=float(trench[i]) - below,
                        trench_below_stripped_ft=float(trench[i]) - below - self.spec.strip_ft,
                        exposed_ft=max(0.0, below + self.spec.reckoned_strip_ft),
                        guessed=bool(line.guessed[stretch[i]]),
                    )
                )
        return tuple(out)


def trench_below_string_ft(
    courses: ArrayLike, timber_depth_ft: ArrayLike, bedding_ft: ArrayLike
) -> Floats:
    """Depth of the trench bottom below the string: timber depth x courses + bedding."""
    depth = np.asarray(timber_depth_ft, dtype=np.float64) * np.asarray(courses)
    return np.asarray(depth + np.asarray(bedding_ft), dtype=np.float64)


def courses_for_drop(
    drop_ft: ArrayLike, timber_depth_ft: float, least_embedment_ft: float = 0.0
) -> NDArray[np.intp]:
    """Courses needed where the ground lies ``drop_ft`` below the string; at least one."""
    need = (np.asarray(drop_ft, dtype=np.float64) + least_embedment_ft) / timber_depth_ft
    return np.maximum(1, np.ceil(np.round(need, 9))).astype(np.intp)


def side_lines(corners: ArrayLike) -> list[tuple[Floats, Floats]]:
    """The four sides of a rectangle (4, 2) as (start, end) corners, in order."""
    place = np.asarray(corners, dtype=np.float64).reshape(4, 2)
    return [(place[i], place[(i + 1) % 4]) for i in range(4)]


def string_height_ft(
    ground: Ground, corners: ArrayLike, *, strip_ft: float = 0.0, above_high_ft: float = 0.0
) -> float:
    """String set from the highest ground anywhere along the four sides.

    A hump in the middle of a side counts, not only the corners.

    Args:
        ground: The original surface.
        corners: (4, 2) outer corners of the frame.
        strip_ft: Taken off first, if the string is reckoned from the stripped ground.
        above_high_ft: How far the timber tops stand above the high ground; 0 is flush.
    """
    high = max(line.highest_ft for line in profiles(ground, side_lines(corners)))
    return high - strip_ft + above_high_ft


def solve_frame(
    ground: Ground,
    corners: ArrayLike,
    string_ft: float,
    spec: FrameSpec,
) -> Frame:
    """Courses, steps and pieces of the frame for a given string.

    The ground is followed along the outer and the inner face of the timbers, and the lower counts.

    Args:
        ground: The original surface.
        corners: (4, 2) outer corners in order.
        string_ft: Height of the timber tops, on the datum of the ground.
        spec: Timber, bedding and rules.

    Raises:
        InputError: The frame is narrower than two timbers.
        SolveError: More courses than the limit, or no legal joints with the stock lengths.
    """
    sides = faces(ground, corners, spec.timber_width_ft)
    return frame_along(sides, side_lengths_ft(corners), string_ft, spec)


def side_lengths_ft(corners: ArrayLike) -> tuple[float, ...]:
    """Length of each side of a rectangle (4, 2)."""
    return tuple(float(np.linalg.norm(b - a)) for a, b in side_lines(corners))


def faces(ground: Ground, corners: ArrayLike, timber_width_ft: float) -> tuple[Faces, ...]:
    """Ground along the outer and the inner face of the timbers of each side.

    Args:
        ground: The original surface, or several.
        corners: (4, 2) outer corners in order.
        timber_width_ft: How far the faces are apart.

    Raises:
        InputError: The frame is narrower than two timbers.
    """
    lengths = side_lengths_ft(corners)
    if min(lengths) <= 2 * timber_width_ft:
        raise InputError(f"a frame side of {{{min(lengths):.2f} ft}} is no longer than two timbers")
    middle = np.asarray(corners, dtype=np.float64).reshape(4, 2).mean(axis=0)
    inner = []
    for (a, b), length in zip(side_lines(corners), lengths, strict=True):
        along = (b - a) / length
        inward = np.array([-along[1], along[0]])
        inward *= np.sign(inward @ (middle - a))
        inner.append((a + timber_width_ft * inward, b + timber_width_ft * inward))
    found = profiles(ground, [*side_lines(corners), *inner])
    return tuple(zip(found[:4], found[4:], strict=True))


def frame_along(
    sides: Sequence[Faces], lengths: tuple[float, ...], string_ft: float, spec: FrameSpec
) -> Frame:
    """Courses, steps and pieces of the frame along the faces of its sides, of one surface.

    Args:
        sides: As :func:`faces` gives them.
        lengths: Of the sides, ft.
        string_ft, spec: As :func:`solve_frame` has them.

    Raises:
        SolveError: More courses than the limit, or no legal joints with the stock lengths.
    """
    runs: list[CourseRun] = []
    for side, both in enumerate(sides):
        levels = _runs(both, lengths[side], string_ft, spec)
        for course, intervals in enumerate(levels, start=1):
            runs.extend(CourseRun(side, course, s, e) for s, e in intervals)
    outer = tuple(outer for outer, _ in sides)
    return Frame(spec, string_ft, outer, tuple(runs), cut_pieces(tuple(runs), lengths, spec))


def _runs(
    faces: Sequence[Profile], length: float, string_ft: float, spec: FrameSpec
) -> list[Intervals]:
    """Runs of each course of one side, from the top; each lies within the one above."""
    depth = spec.timber_depth_ft
    bottom = min(face.lowest_ft for face in faces)
    reference = string_ft + spec.reckoned_strip_ft + spec.least_embedment_ft
    count = int(courses_for_drop(reference - bottom, depth))
    if count > spec.most_courses:
        raise SolveError(
            f"the timber frame would need {count} courses, more than {spec.most_courses}",
            cure="Lower the string, turn or move the building, or carry it on piers.",
        )
    levels: list[Intervals] = []
    below: Intervals = ()
    for course in range(count, 1, -1):
        level = reference - depth * (course - 1)
        need = [i for face in faces for i in face.below(level)]
        below = _joined([*_rounded(need, length, spec), *below], spec.least_piece_ft)
        levels.append(below)
    return [((0.0, length),), *reversed(levels)]


def _rounded(need: Sequence[tuple[float, float]], length: float, spec: FrameSpec) -> Intervals:
    """Runs stretched outwards to practical ends: into higher ground, so never over air."""
    out = []
    for start, end in need:
        first, last = max(0.0, start), min(length, end)
        if spec.run_step_ft > 0:
            step = spec.run_step_ft
            first = step * float(np.floor(round(first / step, 9)))
            last = min(length, step * float(np.ceil(round(last / step, 9))))
        short = spec.least_piece_ft - (last - first)
        if short > 0:
            last = min(length, last + short)
            first = max(0.0, min(first, last - spec.least_piece_ft))
        if first < spec.least_piece_ft / 2 - TOUCH_FT:
            first = 0.0
        if length - last < spec.least_piece_ft / 2 - TOUCH_FT:
            last = length
        out.append((first, last))
    return tuple(out)


def _joined(intervals: Sequence[tuple[float, float]], gap: float) -> Intervals:
    """Union of intervals; those nearer than ``gap`` become one."""
    out: list[tuple[float, float]] = []
    for start, end in sorted(intervals):
        if out and start <= out[-1][1] + gap + TOUCH_FT:
            out[-1] = (out[-1][0], max(out[-1][1], end))
        else:
            out.append((start, end))
    return tuple(out)


@lru_cache(maxsize=256)
def cut_pieces(
    runs: tuple[CourseRun, ...], lengths: tuple[float, ...], spec: FrameSpec
) -> tuple[Piece, ...]:
    """Pieces of every run: corners lapped alternately, joints staggered from the course above.

    On odd courses the longer pair of sides runs through the corners and the other butts between;
    on even courses the other way round. A run that meets no run of its course at a corner keeps
    that corner whole. Joints are chosen for the fewest pieces, then the least stock bought.
    """
    longer = 0 if lengths[0] >= lengths[1] - TOUCH_FT else 1
    reaches: set[tuple[int, int, int]] = set()
    for run in runs:
        if run.start_ft <= TOUCH_FT:
            reaches.add((run.side, run.course, 0))
        if run.end_ft >= lengths[run.side] - TOUCH_FT:
            reaches.add((run.side, run.course, 1))
    pieces: list[Piece] = []
    joints: dict[tuple[int, int], list[float]] = {}
    for run in sorted(runs, key=lambda r: (r.side, r.course, r.start_ft)):
        through = (run.side % 2 == longer) == (run.course % 2 == 1)
        before, after = (run.side - 1) % 4, (run.side + 1) % 4
        start, end = run.start_ft, run.end_ft
        if not through:
            if start <= TOUCH_FT and (before, run.course, 1) in reaches:
                start += spec.timber_width_ft
            if end >= lengths[run.side] - TOUCH_FT and (after, run.course, 0) in reaches:
                end -= spec.timber_width_ft
        if end - start <= TOUCH_FT:
            continue  # all of it lies in corners that the neighbouring sides fill
        above = joints.get((run.side, run.course - 1), [])
        cuts = _joints(run, start, end, above, spec)
        joints.setdefault((run.side, run.course), []).extend(cuts)
        ends = [start, *cuts, end]
        for a, b in pairwise(ends):
            stock = min(x for x in spec.stock_lengths_ft if x >= b - a - TOUCH_FT)
            pieces.append(Piece(run.side, run.course, b - a, a, stock))
    return tuple(pieces)


def _joints(
    run: CourseRun, start: float, end: float, above: Sequence[float], spec: FrameSpec
) -> list[float]:
    """Joint places of one run by dynamic programming over the legal ones."""
    stock = np.sort(np.asarray(spec.stock_lengths_ft, dtype=np.float64))
    length = end - start
    if length <= stock[-1] + TOUCH_FT:
        return []
    whole = (stock[:, None] * np.arange(1, 5)).ravel()
    shifted = [j + sign * spec.stagger_ft for j in above for sign in (-1, 1)]
    marks = [np.arange(start, end, JOINT_STEP_FT), start + whole, end - whole, np.array(shifted)]
    place = np.unique(np.round(np.concatenate(marks), 9))
    inside = (place >= start + spec.least_piece_ft) & (place <= end - spec.least_piece_ft)
    place = place[inside]
    for joint in above:
        place = place[np.abs(place - joint) >= spec.stagger_ft - TOUCH_FT]
    node = [start, *place.tolist(), end]
    lengths = stock.tolist()
    longest = lengths[-1]
    # By place the fewest pieces up to there, then the least stock bought; where from.
    pieces, bought, came = [0.0], [0.0], [0]
    for j in range(1, len(node)):
        fewest, least, at = math.inf, math.inf, 0
        for i in range(bisect_left(node, node[j] - longest - 2 * TOUCH_FT), j):
            if pieces[i] >= fewest:  # one piece more than these, at least
                continue
            piece = node[j] - node[i]
            if piece < spec.least_piece_ft - TOUCH_FT or piece > longest + TOUCH_FT:
                continue
            total = round(bought[i] + lengths[bisect_left(lengths, piece - TOUCH_FT)], 6)
            if pieces[i] + 1 < fewest or total < least:
                fewest, least, at = pieces[i] + 1, total, i
        pieces.append(fewest)
        bought.append(least)
        came.append(at)
    if math.isinf(pieces[-1]):
        raise SolveError(
            f"no legal joints for the run of {{{length:.2f} ft}} of course {run.course}",
            where=f"side {run.side + 1} of the timber frame",
            cure="Stock longer timbers, or allow joints of neighbouring courses closer together.",
        )
    cuts: list[float] = []
    j = came[-1]
    while j > 0:
        cuts.append(node[j])
        j = came[j]
    return cuts[::-1]
