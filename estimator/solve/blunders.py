"""Which readings of a survey the readings around them contradict."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from estimator.solve.least_squares import Surface, smooth_surfaces
from estimator.solve.mesh import Floats, Ints, neighbours
from estimator.solve.once_broken import without_each_ft2
from estimator.solve.plainest import (
    A_TERM,
    NOISE_FT,
    all_surfaces,
    broken,
    explains,
    last_kinds,
    plainest,
    score,
    score_less_one,
    surfaces,
)
from estimator.solve.righted import Righted, righted
from estimator.solve.surface import Ground
from estimator.solve.told_by_few import told_by_few

DECISIVE, LIKE_A_SLIP, DOUBTFUL = 36.0, 20.0, 10.0
"""By how much a surface must fit better without a reading, in squares of the noise: for it to be
named, to be named if a slip gives what the others say, and for a check reading to be asked for."""
SLIP_LEAVE_FT = 0.2
"""How far from a slip a residual may lie to be taken for it: four times the noise."""
A_SLIP_FT = 0.15
"""How far, to be taken for it sooner than for a crossing or a terrace that this reading tells."""
SPARE = 4
"""Readings that a surface must have beyond its numbers to accuse another one."""
SUSPECTS, FEWER_SUSPECTS = 6, 4
"""Readings that are left out in turn: those that stand out of a surface through all, and as many
without which a bank may run elsewhere; fewer where breaks cross, which take longer to find."""
SURE = 6.0
"""By how much the ground must fit better with one reading put right than with another: twenty times
as likely."""
SOONER = 1.0
"""By how much better ground must fit of which few readings tell than other ground less a slip; on
drawn banks and terraces this told sound readings from slips."""
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
        off_ft: By how much it stands above the surface through the others; 0 if they don't tell.
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


_Reading = tuple[str, Sequence[Slip]]
"""Its label and slips."""
_Worst = tuple[int, Blunder, list[Blunder]]
"""Number of a reading, what to say of it, and of others that may bear the slip instead."""
_Fit = Callable[[Floats, Floats], list[Surface]]
Slips = Mapping[str, Sequence[Slip]]


def blunders(ground: Ground, slips: Slips | None = None) -> list[Blunder]:
    """Readings to check: those that the readings around them contradict.

    The plainest surface is sought that explains all readings as they are read: a plane, one
    that is curved like a saddle or bowl, or planes that meet in one break or in two alongside
    each other (a ridge, a valley, the edge of a bank), which has readings on both sides and is
    consistent along itself; at last, two breaks that cross, or two banks with a bench between
    them. If none explains them, each reading in question is left out in turn; it is named when a
    surface then fits the others, and better by far. So a slip is named, which is alone, and ground
    that bends or breaks is not. Where the others fit alike without one or another, each is put
    right by its slips in turn, and the one named that this makes fit; if several do about alike,
    and nothing else is in question, a check reading is asked for at each. So it is on a bank or a
    terrace that would run elsewhere if a reading bore a slip, and explain all as well. Where a
    plainer surface without one reading explains as much as a broken one with it, the reading can't
    be tested (most stand on the outline), and a check reading is asked for.

    The worst is set aside before the next is looked for. Readings in question that stand beside
    each other, off to the same side, are a hump or a hollow; a bank may have few beyond an edge, a
    terrace few on its bench, and a bank that turns a corner may need the one there; and where no
    surface explains what is left, or so many are in question that too few are left to tell, the
    ground is of another shape: a check reading is asked for, unless one lies far out of all. So it
    is at a reading that lies on the triangles between those around it, which bear it out, and at
    one on the outline of broken ground that no slip explains. With fewer than eight readings no
    surface can accuse one; then a reading must be out by 8 % of the survey's size, and all that fit
    equally badly are named together.

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
    rivals: list[Blunder] = []
    asked: list[Blunder] = []
    taken: list[int] = []
    while len(found) <= count // 4 and len(kept) >= FEW:
        readings = [
            (ground.labels[i], tuple((slips or {}).get(ground.labels[i], ()))) for i in kept
        ]
        places, heights = ground.points_ft[kept], ground.heights_ft[kept]
        worst = _worst(places, heights, readings)
        if worst is None or not worst[1].again:
            right = _righted(places, heights, readings)
            worst = _slipped(right, readings) or worst
        if worst is None:
            asked += [Blunder(readings[k][0], 0.0, False, "") for k in right.untold()]
            break
        place, blunder, others = worst
        found.append(blunder)
        rivals += others
        taken.append(int(kept[place]))
        kept = np.delete(kept, place)
    if len(found) > 1:
        rivals.clear()  # one slip may be another's; where more is in question, the worst come first
    if any(each.again for each in found):
        sound = _slips_alone(ground, taken, found, kept)
        found = [
            each if alone else replace(each, again=False, slip="")
            for each, alone in zip(found, sound, strict=True)
        ]
    named = {each.label for each in found}
    found += {each.label: each for each in [*rivals, *asked] if each.label not in named}.values()
    return sorted(found, key=lambda each: (not each.again, -abs(each.off_ft)))


def _righted(places: Floats, heights: Floats, readings: Sequence[_Reading]) -> Righted:
    """Each reading put right by its slips."""
    tried = [(k, slip.off_ft) for k, (_, slips) in enumerate(readings) for slip in slips]
    return righted(places, heights, tried)


def _slipped(right: Righted, readings: Sequence[_Reading]) -> _Worst | None:
    """The reading that fits better by far put right, on a bank or a terrace."""
    slip = right.slip()
    if slip is None:
        return None
    place, off_ft = slip
    label, slips = readings[place]
    return place, Blunder(label, off_ft, True, _slip(off_ft, slips)), []


def _slips_alone(
    ground: Ground, taken: Sequence[int], found: Sequence[Blunder], kept: Ints
) -> list[bool]:
    """Which readings in question are slips, not a hump, a hollow or ground of another shape.

    One that is alone is asked about with all others: that is answered first.
    """
    places, heights = ground.points_ft[kept], ground.heights_ft[kept]
    rest = plainest(all_surfaces(places, heights))
    settled = explains(rest, places, heights)
    # Each is two numbers: which reading, and by how much.
    others = score(rest, NOISE_FT**2) + 2 * len(taken) * A_TERM * NOISE_FT**2
    if not settled or not all(each.slip for each in found):
        others = np.inf
    if _told_by_few(ground, np.arange(len(ground.points_ft)), others):
        return [False] * len(taken)
    told = len(kept) - rest.terms >= SPARE + 2 * (len(taken) - 1)
    worst_ft = float(np.abs(heights - rest.at(places)).max())
    off = {place: each.off_ft for place, each in zip(taken, found, strict=True)}
    around = dict(neighbours(ground.points_ft))
    # Where ground breaks it may break once more at its rim, by whatever height.
    untested = set(np.flatnonzero(ground.shapes)[ground.hull].tolist()) if rest.breaks else set()
    return [
        told
        and bool(ground.shapes[one])
        and (one not in untested or bool(each.slip))
        and (settled or abs(off[one]) > FAR_OUT * worst_ft)
        and not any(off[one] * off[other] > 0 for other in around[one].tolist() if other in off)
        and not (len(taken) > 1 and _told_by_few(ground, np.append(kept, one)))
        for one, each in zip(taken, found, strict=True)
    ]


def _told_by_few(ground: Ground, some: Ints, others: float = np.inf) -> bool:
    """Whether some readings are those of a bank or a terrace of which few of them tell.

    Not if other ground, whose score is told, explains them about as well.
    """
    places, heights = ground.points_ft[some], ground.heights_ft[some]
    return told_by_few(places, heights, others - SOONER * NOISE_FT**2)


def _worst(places: Floats, heights: Floats, readings: Sequence[_Reading]) -> _Worst | None:
    """The reading without which a surface fits best by far, and those that may be it as well."""
    as_read = smooth_surfaces(places, heights)
    if explains(plainest(as_read), places, heights):
        return None
    as_read += broken(places, heights)
    explained = explains(plainest(as_read), places, heights)
    suspects = _suspects(as_read, places, heights)
    if not explained:
        left_ft2 = without_each_ft2(places, heights)
        suspects = list(dict.fromkeys([*suspects, *_least(left_ft2, SUSPECTS)]))
    # What a broken surface explains as it is read only a smooth one may call into question.
    fit = smooth_surfaces if explained else surfaces
    cases = _without(suspects, places, heights, fit)
    a_slip = any(
        case.explains_others and _slip(case.off_ft, readings[case.place][1], A_SLIP_FT)
        for case in cases
    )
    if not explained and not a_slip:
        last = last_kinds(places, heights)
        as_read += [surface for _, surface in last]
        # Where a plainer one less a reading explains too, which fits better by far decides.
        no_case = not any(case.explains_others for case in cases)
        explained = no_case and explains(plainest(as_read), places, heights)
        if last and no_case and not explained:
            search = min(last, key=lambda each: score_less_one(each[1], places, heights))[0]
            fit = partial(all_surfaces, kinds=(type(search),))
            suspects = _least(search.without_each(), FEWER_SUSPECTS)
            cases += _without(suspects, places, heights, fit)
    for case in cases:
        # Each is a surface of all readings too, and may fit them better than what was found first.
        as_read.append(replace(case.without, rss_ft2=case.without.rss_ft2 + case.off_ft**2))
    return _judged(places, heights, readings, as_read, cases, fit, explained)


def _without(suspects: Sequence[int], places: Floats, heights: Floats, fit: _Fit) -> list[_Case]:
    """Each of some readings left out, where there are enough others."""
    cases = []
    for i in suspects:
        rest = np.delete(np.arange(len(heights)), i)
        fitted = fit(places[rest], heights[rest])
        fitted = [each for each in fitted if len(rest) - each.terms >= SPARE]
        if fitted:
            without = plainest(fitted)
            off = float(heights[i] - without.at(places[i : i + 1])[0])
            sound = explains(without, places[rest], heights[rest])
            cases.append(_Case(i, without, off, sound))
    return cases


def _judged(
    places: Floats,
    heights: Floats,
    readings: Sequence[_Reading],
    as_read: Sequence[Surface],
    cases: Sequence[_Case],
    fit: _Fit,
    explained: bool,
) -> _Worst | None:
    """Which of the readings left out is the worst, if it is bad, and those that may be it as well.

    Of several without which the others fit alike that one is likely, of which a slip gives what
    the others say.
    """
    # One noise for all, so that they compare.
    noise2 = min((_noise2(case, len(heights)) for case in cases), default=NOISE_FT**2)
    with_all = score(plainest(as_read, noise2), noise2)

    def gain(case: _Case) -> float:
        return (with_all - score(case.without, noise2)) / noise2

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
            rivals = [each for each, _ in likely if gain(each) > most - SURE]
            alone = len({each.place for each in rivals}) == 1
    again = not explained and alone and most > (LIKE_A_SLIP if slip else DECISIVE)
    others = [
        Blunder(readings[rival.place][0], rival.off_ft, False, "")
        for rival in rivals
        if rival.explains_others and rival.place != case.place
    ]
    named = Blunder(readings[case.place][0], case.off_ft, again, slip if again else "")
    return case.place, named, [] if again else others


def _lone(
    places: Floats,
    heights: Floats,
    readings: Sequence[_Reading],
    as_read: Sequence[Surface],
    cases: Sequence[_Case],
) -> _Worst | None:
    """The reading for which alone the ground would break, far out of a plainer surface of the rest.

    So few stand around it that a break fits as well as a slip does: a check reading tells.
    """
    terms = plainest(as_read).terms

    def far_out(case: _Case) -> bool:
        rest = np.delete(np.arange(len(heights)), case.place)
        worst_ft = float(np.abs(heights[rest] - case.without.at(places[rest])).max())
        return case.without.terms < terms and abs(case.off_ft) > max(GROSS_FT, FAR_OUT * worst_ft)

    lone = max(filter(far_out, cases), key=lambda case: abs(case.off_ft), default=None)
    if lone is None:
        return None
    return lone.place, Blunder(readings[lone.place][0], lone.off_ft, False, ""), []


def _put_right(
    places: Floats, heights: Floats, place: int, slip: Slip, fit: _Fit
) -> tuple[_Case, str]:
    """A reading put right by a slip, with the plainest surface then, and the slip's words."""
    right = heights.copy()
    right[place] -= slip.off_ft
    surface = plainest(fit(places, right))
    off = float(heights[place] - surface.at(places[place : place + 1])[0])
    return _Case(place, surface, off, explains(surface, places, right)), slip.words


def _noise2(case: _Case, count: int) -> float:
    """Squared noise of the readings about the surface without one of them."""
    return max(NOISE_FT**2, case.without.rss_ft2 / (count - 1 - case.without.terms))


def _slip(off_ft: float, slips: Sequence[Slip], leave_ft: float = SLIP_LEAVE_FT) -> str:
    """Words of the slip that is nearest to a residual, if near enough to be it."""
    nearest = min(slips, key=lambda each: abs(each.off_ft - off_ft), default=None)
    return nearest.words if nearest and abs(nearest.off_ft - off_ft) <= leave_ft else ""


def _suspects(surfaces: Sequence[Surface], places: Floats, heights: Floats) -> list[int]:
    """Readings without which one of the surfaces would fit best, that first."""
    left = [score(each, NOISE_FT**2) - each.gains_ft2(places, heights) for each in surfaces]
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
