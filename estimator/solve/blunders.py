"""Which readings of a survey the readings around them contradict."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from estimator.solve.cornered import NUMBERS as OF_A_CORNER
from estimator.solve.cornered import cornered_bank_ft
from estimator.solve.crossed import Crossing
from estimator.solve.mesh import Floats, Ints, neighbours
from estimator.solve.once_broken import Surface, broken_surfaces, smooth_surfaces, without_each_ft2
from estimator.solve.surface import Ground

NOISE_FT = 0.05
"""Of rod and grass: how far sound readings stand from the ground's surface, standard deviation
(common practice, no source)."""
WITHIN, SPREAD = 3.5, 2.0
"""A surface explains readings that stand at most so many times the noise from it, with a mean
square of at most so many squares of the noise."""
DECISIVE, LIKE_A_SLIP, DOUBTFUL = 36.0, 20.0, 10.0
"""By how much a surface must fit better without a reading, in squares of the noise: for it to be
named, to be named if a slip gives what the others say, and for a check reading to be asked for."""
SLIP_LEAVE_FT = 0.2
"""How far from a slip a residual may lie to be taken for it: four times the noise."""
A_TERM = 3.5
"""What a further number of a surface has to gain, in squares of the noise: about the logarithm of
the number of readings, as in Schwarz's information criterion."""
SPARE = 4
"""Readings that a surface must have beyond its numbers to accuse another one."""
SUSPECTS, FEWER_SUSPECTS = 6, 4
"""Readings that are left out in turn: those that stand out of a surface through all, and as many
without which a bank may run elsewhere; fewer where breaks cross, which take longer to find."""
RIVALS = 4
"""Readings, at most, that are put right by their slips to tell which one bears one."""
FEW = 8
"""Readings below which only a gross error can be told."""
GROSS_FT, GROSS_SHARE, ALIKE = 0.25, 0.08, 0.8
"""Such an error in ft, and as a share of the way between the two readings that lie farthest apart;
residuals that are equally bad."""
FAR_OUT = 5.0
"""How many times farther off than any other a reading lies that is a slip on whatever ground."""
NARROW = 0.05
"""Width, as a share of its length, below which a few places are a line."""


@dataclass(frozen=True, slots=True)
class Slip:
    """A way to misread: by how much the height is then off, ft, and what to call it."""

    off_ft: float
    words: str


@dataclass(frozen=True, slots=True)
class Blunder:
    """A reading to look at.

    Attributes:
        label: The reading's.
        off_ft: By how much it stands above the surface through the others.
        again: Read it again: no surface explains it. If false, the ground may also bend or break
            there, or one more error is not told from that: take a check reading beside it.
        slip: The slip that gives what the others say; empty if none does.
    """

    label: str
    off_ft: float
    again: bool
    slip: str


@dataclass(frozen=True, slots=True)
class _Case:
    """A reading left out, the plainest surface of the others, how far it stands above that."""

    place: int
    without: Surface
    off_ft: float
    explains_others: bool


_Fit = Callable[[Floats, Floats], list[Surface]]
Slips = Mapping[str, Sequence[Slip]]


def blunders(ground: Ground, slips: Slips | None = None) -> list[Blunder]:
    """Readings to check: those that the readings around them contradict.

    The plainest surface is sought that explains all readings as they are read: a plane, one
    that is curved like a saddle or bowl, or planes that meet in one break or in two alongside
    each other (a ridge, a valley, the edge of a bank), which has readings on both sides and is
    consistent along itself; at last, planes that meet in two breaks that cross. If none
    explains them, each reading in question is left out in turn; it is named when a surface then
    fits the others, and better by far. So a slip is named, which is alone, and ground that
    bends or breaks is not. Where the others fit alike without one or another, each is put right
    by its slips in turn, and the one named that this makes fit. Where a plainer surface without
    one reading explains as much as a broken one with it, the reading can't be tested (most
    stand on the outline), and a check reading is asked for. The worst is set aside before the
    next is looked for. Readings in question that stand beside each other, off to the same side,
    are a hump or a hollow; a bank that turns a corner may need the one at its corner; and where no
    surface explains what is left, the ground is of another shape: a check reading is asked for,
    unless one lies far out of all. With fewer than eight
    readings no surface can accuse one; then a reading must be out by 8 % of the survey's size,
    and all that fit equally badly are named together.

    Args:
        ground: The survey.
        slips: By label, the slips that a reading may come from, as :class:`Slip`; a residual that
            is one of them is believed sooner.

    Returns:
        Those to read again, the worst first, then those to check; empty if all fit.

    The limits are common practice, no source.
    """
    count = len(ground.points_ft)
    if count < FEW:
        return _gross(ground) if count > 3 else []
    kept = np.arange(count)
    found: list[Blunder] = []
    taken: list[int] = []
    while len(found) <= count // 4 and len(kept) >= FEW:
        readings = [
            (ground.labels[i], tuple((slips or {}).get(ground.labels[i], ()))) for i in kept
        ]
        worst = _worst(ground.points_ft[kept], ground.heights_ft[kept], readings)
        if worst is None:
            break
        place, blunder = worst
        found.append(blunder)
        taken.append(int(kept[place]))
        kept = np.delete(kept, place)
    if any(each.again for each in found):
        sound = _slips_alone(ground, taken, [each.off_ft for each in found], kept)
        found = [
            each if alone else replace(each, again=False, slip="")
            for each, alone in zip(found, sound, strict=True)
        ]
    return sorted(found, key=lambda each: (not each.again, -abs(each.off_ft)))


def _slips_alone(
    ground: Ground, taken: Sequence[int], off_ft: Sequence[float], kept: Ints
) -> list[bool]:
    """Which readings in question are slips, not a hump, a hollow or ground of another shape.

    One that is alone is asked about with all others: that is answered first.
    """
    if _turns_a_corner(ground, np.arange(len(ground.points_ft))):
        return [False] * len(taken)
    places, heights = ground.points_ft[kept], ground.heights_ft[kept]
    plainest = _plainest(_crossed_surfaces(places, heights))
    settled = _explains(plainest, places, heights)
    worst_ft = float(np.abs(heights - plainest.at(places)).max())
    off = dict(zip(taken, off_ft, strict=True))
    around = dict(neighbours(ground.points_ft))
    return [
        (settled or abs(off[one]) > FAR_OUT * worst_ft)
        and not any(off[one] * off[other] > 0 for other in around[one].tolist() if other in off)
        and not (len(taken) > 1 and _turns_a_corner(ground, np.append(kept, one)))
        for one in taken
    ]


def _turns_a_corner(ground: Ground, some: Ints) -> bool:
    """Whether some readings are those of a bank that turns a corner."""
    off_ft = cornered_bank_ft(ground.points_ft[some], ground.heights_ft[some])
    return off_ft is not None and _stand_about(off_ft, OF_A_CORNER)


def _worst(
    places: Floats, heights: Floats, readings: Sequence[tuple[str, Sequence[Slip]]]
) -> tuple[int, Blunder] | None:
    """Number of the reading without which a surface fits best by far, and what to say of it."""
    as_read = smooth_surfaces(places, heights)
    if _explains(_plainest(as_read), places, heights):
        return None
    as_read += _broken(places, heights)
    explained = _explains(_plainest(as_read), places, heights)
    suspects = _suspects(as_read, places, heights)
    if not explained:
        left_ft2 = without_each_ft2(places, heights)
        suspects = list(dict.fromkeys([*suspects, *_least(left_ft2, SUSPECTS)]))
    # What a broken surface explains as it is read only a smooth one may call into question.
    fit = smooth_surfaces if explained else _surfaces
    cases = _without(suspects, places, heights, fit)
    if not explained and not any(case.explains_others for case in cases):
        crossing = Crossing(places, heights)
        as_read += crossing.surfaces()
        if not _explains(_plainest(as_read), places, heights):
            fit = _crossed_surfaces
            suspects = _least(crossing.without_each(), FEWER_SUSPECTS)
            cases += _without(suspects, places, heights, fit)
    for case in cases:
        # Each is a surface of all readings too, and may fit them better than what was found first.
        as_read.append(replace(case.without, rss_ft2=case.without.rss_ft2 + case.off_ft**2))
    return _judged(places, heights, readings, as_read, cases, fit)


def _without(suspects: Sequence[int], places: Floats, heights: Floats, fit: _Fit) -> list[_Case]:
    """Each of some readings left out, where there are enough others."""
    cases = []
    for i in suspects:
        rest = np.delete(np.arange(len(heights)), i)
        fitted = fit(places[rest], heights[rest])
        fitted = [each for each in fitted if len(rest) - each.terms >= SPARE]
        if fitted:
            without = _plainest(fitted)
            off = float(heights[i] - without.at(places[i : i + 1])[0])
            explains = _explains(without, places[rest], heights[rest])
            cases.append(_Case(i, without, off, explains))
    return cases


def _judged(
    places: Floats,
    heights: Floats,
    readings: Sequence[tuple[str, Sequence[Slip]]],
    as_read: Sequence[Surface],
    cases: Sequence[_Case],
    fit: _Fit,
) -> tuple[int, Blunder] | None:
    """Which of the readings left out is the worst, if it is bad, and what to say of it.

    Of several without which the others fit alike that one is likely, of which a slip gives what
    the others say.
    """
    explained = _explains(_plainest(as_read), places, heights)
    # One noise for all, so that they compare.
    noise2 = min((_noise2(case, len(heights)) for case in cases), default=NOISE_FT**2)
    with_all = _score(_plainest(as_read, noise2), noise2)

    def gain(case: _Case) -> float:
        return (with_all - _score(case.without, noise2)) / noise2

    most = max(map(gain, cases), default=0.0)
    if most < DOUBTFUL:
        return _lone(places, heights, readings, as_read, cases)
    rivals = [case for case in cases if gain(case) > most - DOUBTFUL]
    case, alone = max(rivals, key=gain), len(rivals) == 1
    slip = _slip(case.off_ft, readings[case.place][1]) if alone else ""
    if not slip and not explained and len(rivals) <= RIVALS:
        put_right = (
            _put_right(places, heights, rival.place, slip, fit)
            for rival in rivals
            for slip in readings[rival.place][1]
        )
        likely = [each for each in put_right if gain(each[0]) > most - DOUBTFUL]
        if likely:
            case, slip = max(likely, key=lambda each: gain(each[0]))
            most = gain(case)
            alone = len({each.place for each, _ in likely}) == 1
    again = not explained and alone and most > (LIKE_A_SLIP if slip else DECISIVE)
    return case.place, Blunder(readings[case.place][0], case.off_ft, again, slip if again else "")


def _lone(
    places: Floats,
    heights: Floats,
    readings: Sequence[tuple[str, Sequence[Slip]]],
    as_read: Sequence[Surface],
    cases: Sequence[_Case],
) -> tuple[int, Blunder] | None:
    """The reading for which alone the ground would break, far out of a plainer surface of the rest.

    So few stand around it that a break fits as well as a slip does: a check reading tells.
    """
    terms = _plainest(as_read).terms

    def far_out(case: _Case) -> bool:
        rest = np.delete(np.arange(len(heights)), case.place)
        worst_ft = float(np.abs(heights[rest] - case.without.at(places[rest])).max())
        return case.without.terms < terms and abs(case.off_ft) > max(GROSS_FT, FAR_OUT * worst_ft)

    lone = max(filter(far_out, cases), key=lambda case: abs(case.off_ft), default=None)
    if lone is None:
        return None
    return lone.place, Blunder(readings[lone.place][0], lone.off_ft, False, "")


def _put_right(
    places: Floats, heights: Floats, place: int, slip: Slip, fit: _Fit
) -> tuple[_Case, str]:
    """A reading put right by a slip, with the plainest surface then, and the slip's words."""
    right = heights.copy()
    right[place] -= slip.off_ft
    surface = _plainest(fit(places, right))
    off = float(heights[place] - surface.at(places[place : place + 1])[0])
    return _Case(place, surface, off, _explains(surface, places, right)), slip.words


def _noise2(case: _Case, count: int) -> float:
    """Squared noise of the readings about the surface without one of them."""
    return max(NOISE_FT**2, case.without.rss_ft2 / (count - 1 - case.without.terms))


def _slip(off_ft: float, slips: Sequence[Slip]) -> str:
    """Words of the slip that is nearest to a residual, if near enough to be it."""
    nearest = min(slips, key=lambda each: abs(each.off_ft - off_ft), default=None)
    return nearest.words if nearest and abs(nearest.off_ft - off_ft) <= SLIP_LEAVE_FT else ""


def _score(surface: Surface, noise2: float) -> float:
    return surface.rss_ft2 + A_TERM * surface.terms * noise2


def _plainest(surfaces: Sequence[Surface], noise2: float = NOISE_FT**2) -> Surface:
    return min(surfaces, key=lambda each: _score(each, noise2))


def _surfaces(places: Floats, heights: Floats) -> list[Surface]:
    """Surfaces from the plainest kind on, up to the first kind that explains the readings."""
    found = smooth_surfaces(places, heights)
    if not _explains(_plainest(found), places, heights):
        found += _broken(places, heights)
    return found


def _crossed_surfaces(places: Floats, heights: Floats) -> list[Surface]:
    """As :func:`_surfaces`, with breaks that cross as the last kind."""
    found = _surfaces(places, heights)
    if not _explains(_plainest(found), places, heights):
        found += Crossing(places, heights).surfaces()
    return found


def _broken(places: Floats, heights: Floats) -> list[Surface]:
    found: list[Surface] = []
    for surface in broken_surfaces(places, heights):
        found.append(surface)
        if _explains(surface, places, heights):
            break
    return found


def _explains(surface: Surface, places: Floats, heights: Floats) -> bool:
    """Whether readings stand about a surface as those of rod and grass do."""
    return _stand_about(heights - surface.at(places), surface.terms)


def _stand_about(off_ft: Floats, terms: int) -> bool:
    """Whether readings that stand so far from a surface of so many numbers are sound."""
    spare = max(len(off_ft) - terms, 1)
    near = np.abs(off_ft).max() <= WITHIN * NOISE_FT
    return bool(near and off_ft @ off_ft <= SPREAD * spare * NOISE_FT**2)


def _suspects(surfaces: Sequence[Surface], places: Floats, heights: Floats) -> list[int]:
    """Readings without which one of the surfaces would fit best, that first."""
    left = [_score(each, NOISE_FT**2) - each.gains_ft2(places, heights) for each in surfaces]
    return _least(np.min(left, axis=0), SUSPECTS)


def _least(left: Floats, count: int) -> list[int]:
    return [int(i) for i in np.argsort(left, kind="stable")[:count]]


def _gross(ground: Ground) -> list[Blunder]:
    """Of a few readings those that are grossly out, all that fit equally badly together."""
    places, heights = ground.points_ft, ground.heights_ft
    off = np.zeros(len(places))
    for i in range(len(places)):
        rest = np.delete(np.arange(len(places)), i)
        spread = np.linalg.svd(places[rest] - places[rest].mean(axis=0), compute_uv=False)
        if spread[-1] > NARROW * spread[0]:
            plane = smooth_surfaces(places[rest], heights[rest])[0]
            off[i] = heights[i] - plane.at(places[i : i + 1])[0]
    across = places[:, np.newaxis] - places
    size_ft = float(np.hypot(across[..., 0], across[..., 1]).max())
    limit = max(GROSS_FT, GROSS_SHARE * size_ft)
    size = np.abs(off)
    named = np.flatnonzero((size > limit) & (size >= ALIKE * size.max()))
    order = named[np.argsort(-size[named], kind="stable")]
    return [Blunder(ground.labels[i], float(off[i]), True, "") for i in order]
