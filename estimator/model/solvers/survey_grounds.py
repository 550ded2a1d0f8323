"""The ground as it may be: what options rest on, on many grounds that the same readings may mean.

Readings and set-ups are off by chance; the heights that they give, the surface through them, the
height of each base, its timber frame and its earth are worked out on every ground, as for the job.
Surfaces over the same places share all that is plan, so that hundreds are worked out at once; what
frames of the same courses dig is reckoned together, too. Of the timbers the shortest that the yard
has for each piece is counted: the saw is not planned again.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from estimator.engine import Declared, Model
from estimator.errors import EstimatorError
from estimator.model.footings import SUPPORTS_MOST
from estimator.model.kinds import FLOORS, GRADED, SLOPED, SUPPORTS, TIMBERED
from estimator.model.solvers.ground_under import (
    BALANCE,
    door_place,
    support_places,
    under,
)
from estimator.model.solvers.lot import (
    PLACE_READS,
    SITE_READS,
    SURVEY_READS,
    base_corners,
    from_building,
    lot_grounds,
    turned,
)
from estimator.model.solvers.own_units import OwnUnits
from estimator.model.solvers.reads import Reads
from estimator.model.solvers.timber_frame import (
    frame_spec,
    step_of_runs_ft,
    stock_lengths,
    stretches,
    that_fits,
    trench_spec,
)
from estimator.model.solvers.trial import Rows, Trial
from estimator.units import IN_PER_FT
from estimator.values import Values, as_values

if TYPE_CHECKING:
    from estimator.solve.courses import Frame, FrameSpec

Floats = NDArray[np.float64]

ERRORS = ("rod_error_in", "setup_error_in")
READ = {
    "point_reading_ft": "rod_error_in",
    "quick_reading_ft": "rod_error_in",
    "line_height_ft": "rod_error_in",
    "drop_in": "rod_error_in",
    "setup_rise_ft": "setup_error_in",
}
"""What is read, and how far off it may be: heights of later set-ups rest on those before."""
_READINGS = tuple(SURVEY_READS[at : at + 4] for at in range(0, len(SURVEY_READS), 4))
_PLACES = {key: (x, y) for key, (_, x, y, _) in zip(READ, _READINGS, strict=False)}
"""Keys of where it is read; set-ups are in the order of their ties, and stand anywhere."""
_HEIGHTS = SURVEY_READS[3::4]
_CORNERS = tuple(f"ground_corner_{n}_ft" for n in (1, 2, 3, 4))
_TRIANGLES = ("triangle_ft2", "triangle_low_ft", "triangle_mid_ft", "triangle_high_ft")
UNDER = (
    *(*_CORNERS, "ground_door_ft", "ground_high_ft", "ground_low_ft"),
    *("support_ground_ft", "balanced_ft", *_TRIANGLES),
)
"""What rows take of the ground under a base."""
_TRENCH = ("trench_ft3", "trench_bed_ft3", "trench_beside_ft3")
_TIMBERS = ("frame_lower_ft", "timber_run_ft", "timber_corners", "timber_joints")
BUILT = (*_TIMBERS, *_TRENCH, "shoulder_ft2", "shoulder_ft3")
"""What they take of its frame and of its edges."""
_PLACED = (
    *("option_kind", "height_mode", "timber_width_in", "door_side", "strip_ft"),
    *("support_rows_used", "supports_per_row_used", "support_inset_in"),
    *("compacted_per_bank", "stone_depth_in"),
)
_FRAMED = (
    *("reckoned_from", "timber_stock", "timber_depth_in", "bedding_in", "embed_in"),
    *("trench_width_in", "shoulder_run", "item_category", "item_stock", "item_length_ft"),
    *("item_paid", "timber_length_in", "over_length_in", "end_trim_in"),
)
ERROR_READS = (*READ, *(place for places in _PLACES.values() for place in places), *SITE_READS)
"""What the errors of readings are drawn by."""
DIGITS = 14
"""Decimals of lengths kept, so that either measure comes to the same."""
TOUCH_FT = 1e-6
"""Timbers no longer than this beyond a stock are as long: rounding."""


Over = Mapping[str, Callable[[Values], Values]]


class SurveyRows:
    """The rows from readings to heights, and from the ground to the heights of bases.

    Args:
        rows: Of all sheets.
        decided: Keys in feet of rows that are worked out anew on each ground, and then stay.
        units: Keys of the model whose rows they are.

    Attributes:
        heights: From readings to heights.
        tops: From the ground to what is decided of it.
        decided: As above.
        felt: Keys of what other rows take of a ground.
        reads: Keys of all that must be known.
    """

    def __init__(self, rows: Rows, decided: Sequence[str], units: OwnUnits) -> None:
        def names(keys: Iterable[str]) -> list[str]:
            return [units.name(key) for key in keys]

        self.heights = Trial(rows, names(READ), names(_HEIGHTS))
        self.tops = Trial(rows, names(UNDER), names(("subgrade_ft", *decided)))
        self.decided = tuple(decided)
        self.felt = tuple(names((*UNDER, *BUILT, *decided)))
        in_feet = (*READ, *ERRORS, *SURVEY_READS, *PLACE_READS, *_PLACED, *_FRAMED, *BALANCE.reads)
        known = {*self.heights.reads, *self.tops.reads, *self.felt, *names(in_feet)}
        self.reads = frozenset(known)


@dataclass(frozen=True, slots=True)
class Surveyed:
    """What rests on the ground, on each; the first ground is that of the estimate.

    Args:
        values: By key in the model's own units, (1 + grounds, options or 1, rows).
        boards: By line of the price book, how many timbers more an option takes, (1 + grounds,
            options).
    """

    values: Mapping[str, NDArray[Any]]
    boards: Mapping[int, Floats]


def surveyed(
    rows: SurveyRows,
    model: Model,
    values: Mapping[str, Any],
    over: Over,
    grounds: int,
    seed: int,
) -> Surveyed | None:
    """The options of a job on grounds that its readings may mean; None where they are certain.

    Args:
        rows: The rows on the way.
        model: Whose rows they are.
        values: What the model knows of the options in use, in its own units.
        over: By key, what puts into a value what is typed over it.
        grounds: How many.
        seed: Of the draws.
    """
    units = OwnUnits(model, DIGITS)
    q = Reads(units.in_feet(values, ERRORS))
    most = {key: q.number(key) for key in ERRORS}
    if not any(most.values()):
        return None
    off = reading_errors(most, units.in_feet(values, ERROR_READS), grounds, seed)
    varied = {
        key: np.asarray(values[key], dtype=float) + each for key, each in units.in_own(off).items()
    }
    known, _ = rows.heights.whole(values, varied, over)
    heights = {name: np.asarray(known[name]) for name in rows.heights.goals}
    return _OnGrounds(rows, model, values, over, heights).surveyed()


def reading_errors(
    most_in: Mapping[str, float], read: Mapping[str, Any], grounds: int, seed: int
) -> dict[str, Floats]:
    """By key of what is read, how far each is off on each ground, (grounds, 1, readings).

    Triangular about none, independent of each other; a reading is off alike wherever it is listed.

    Args:
        most_in: By key of an error, how far off such a reading may be, in.
        read: By key (``ERROR_READS``) the readings, (..., readings), and their places.
        grounds: How many.
        seed: Of the draws.
    """
    from estimator.solve.chance import stratified, triangular

    ranks = {key: _rank(key, Reads(read)) for key in READ}
    ends = np.cumsum([len(rank) for rank in ranks.values()])
    parts = np.split(stratified(grounds, int(ends[-1]), seed), ends[:-1], axis=1)
    found = {}
    for (key, rank), part in zip(ranks.items(), parts, strict=True):
        most = most_in[READ[key]] / (1.0 if key.endswith("_in") else IN_PER_FT)
        found[key] = most * (triangular(part[:, rank], 0.0, 2.0)[:, np.newaxis] - 1)
    return found


def _rank(key: str, q: Reads) -> NDArray[np.intp]:
    """Place of each reading among all by height; of equal ones, by where the building has them."""
    order = [q.column(key).astype(float)]
    if key in _PLACES:
        places = np.stack([q.column(place).astype(float) for place in _PLACES[key]], axis=1)
        order = [*from_building(q, places).T, *order]
    return np.asarray(np.lexsort([each.round(DIGITS // 2) for each in order]).argsort())


class _OnGrounds:
    """The options of a job on many grounds.

    Args:
        rows, model, values, over: As :func:`surveyed` has them.
        heights: By key in the model's own units those of readings, (grounds or none, 1, rows).
    """

    def __init__(
        self,
        rows: SurveyRows,
        model: Model,
        values: Mapping[str, Any],
        over: Over,
        heights: Mapping[str, NDArray[Any]],
    ) -> None:
        self._rows, self._model, self._values, self._over = rows, model, values, over
        self._units = OwnUnits(model, DIGITS)
        asked = (*SURVEY_READS, *PLACE_READS, *_PLACED, *_FRAMED)
        self._q = Reads(self._units.in_feet(values, asked))
        self._options = list(self._q.options())
        self._count = max(len(each) for each in heights.values() if each.ndim > 2)
        self._heights = {
            key: np.broadcast_to(each, (self._count, *each.shape[-2:]))
            for key, each in heights.items()
        }
        feet = self._units.in_feet(self._heights, _HEIGHTS)
        self._grounds = lot_grounds(Reads({**self._q.values, **feet}))

    def surveyed(self) -> Surveyed:
        """What rests on the ground, on each."""
        found = self._typed_over(self._under())
        known, _ = self._rows.tops.whole(
            self._values, {key: as_values(value) for key, value in found.items()}, self._over
        )
        shape = (self._count, len(self._options), 1)
        tops = {
            key: np.broadcast_to(np.asarray(known[key]), shape) for key in self._rows.tops.goals
        }
        feet = self._units.in_feet(tops, ("top_ft", "subgrade_ft"))
        built, boards = self._built(feet["top_ft"][..., 0], feet["subgrade_ft"][..., 0])
        found |= self._typed_over(built) | tops
        triangles = [self._units.name(key) for key in _TRIANGLES]
        most = max(self._wide(key, found[key]) for key in triangles)
        least = dict.fromkeys(triangles, most)
        after = {
            key: self._after_planned(key, found[key], least.get(key, 1)) for key in self._rows.felt
        }
        return Surveyed(after, boards)

    def _typed_over(self, values: Mapping[str, Floats]) -> dict[str, NDArray[Any]]:
        """Values in the model's own units, with what is typed over them."""
        found = dict(self._units.in_own(values))
        for key in self._over.keys() & found.keys():
            whole = np.zeros((*found[key].shape[:-1], np.shape(self._values[key])[-1]))
            width = min(whole.shape[-1], found[key].shape[-1])
            whole[..., :width] = found[key][..., :width]
            found[key] = np.asarray(self._over[key](as_values(whole)))
        return found

    def _wide(self, key: str, value: NDArray[Any]) -> int:
        """How many rows of a value are in use, on any ground or by the estimate."""
        used = np.flatnonzero(np.any(np.asarray(self._values[key], dtype=float) != 0, axis=0))
        return max(int(value.shape[-1]), int(used.max(initial=0)) + 1)

    def _after_planned(self, key: str, value: NDArray[Any], least: int) -> NDArray[Any]:
        """A value on all grounds, at least so many rows of it: that of the estimate first, which
        stands for one that is none."""
        planned = np.asarray(self._values[key], dtype=float)
        width = max(self._wide(key, value), least)
        found = np.zeros((1 + self._count, len(self._options), width))
        found[..., : planned.shape[-1]] = planned[..., :width]
        found[1:, :, : value.shape[-1]] = np.where(
            np.isnan(value), found[:1, :, : value.shape[-1]], value
        )
        found[1:, :, value.shape[-1] :] = 0.0
        return found

    def _blank(self, keys: Iterable[str], rows: int = 1) -> dict[str, Floats]:
        return {key: np.full((self._count, len(self._options), rows), np.nan) for key in keys}

    def _under(self) -> dict[str, Floats]:
        """The ground under every base, in feet; NaN where the estimate's is to stand."""
        from estimator.solve.volumes import balanced_height

        q, grounds = self._q, self._grounds
        found = self._blank(key for key in UNDER if key not in _TRIANGLES)
        found |= self._blank(["support_ground_ft"], SUPPORTS_MOST)
        patches = []
        for option in self._options:
            corners = base_corners(q, option)
            whole, patch = under(q, option, grounds)
            patches.append(patch)
            found["ground_high_ft"][:, option, 0] = whole.high_ft.max(axis=-1)
            found["ground_low_ft"][:, option, 0] = whole.low_ft.min(axis=-1)
            places = np.concatenate([corners, door_place(q)])
            for key, height in zip(
                (*_CORNERS, "ground_door_ft"), grounds.at(places)[0].T, strict=True
            ):
                found[key][:, option, 0] = height
            kind = q.text("option_kind", option)
            if kind in SUPPORTS:
                heights, _ = grounds.at(turned(q, support_places(q, option)))
                found["support_ground_ft"][:, option, : heights.shape[-1]] = heights
            elif q.text("height_mode", option) == "balanced" and kind in FLOORS:
                found["balanced_ft"][:, option, 0] = self._balanced_floor_ft(option)
            elif q.text("height_mode", option) == "balanced" and kind in GRADED:
                level = balanced_height(
                    patch,
                    q.number("compacted_per_bank", option),
                    strip_ft=q.number("strip_ft", option),
                )
                stone_ft = q.number("stone_depth_in", option) / IN_PER_FT
                found["balanced_ft"][:, option, 0] = level + stone_ft
        width = max(len(patch.areas_ft2) for patch in patches)
        for key in _TRIANGLES:
            found[key] = np.zeros((self._count, len(self._options), width))
        for option, patch in enumerate(patches):
            each = (patch.areas_ft2, patch.low_ft, patch.mid_ft, patch.high_ft)
            for key, value in zip(_TRIANGLES, each, strict=True):
                found[key][:, option, : value.shape[-1]] = value
        return found

    def _balanced_floor_ft(self, option: int) -> Floats:
        """Balanced height of a floor whose edge takes the place of fill, on each ground."""
        solver = self._model.solvers[BALANCE.name]
        only = (np.arange(len(self._options)) == option)[:, np.newaxis].astype(float)
        reads = {key: self._values[key] for key in solver.reads} | {"option_used": only}
        answer = solver.function(Declared(solver.name, reads | self._heights))
        level = self._units.in_feet(answer, ("balanced_ft",))["balanced_ft"]
        return np.asarray(level[..., option, 0])

    def _built(self, top: Floats, subgrade: Floats) -> tuple[dict[str, Floats], dict[int, Floats]]:
        """Frames and edges in feet, and timbers that are taken more by line of the price book.

        Args:
            top, subgrade: Heights (grounds, options).
        """
        from estimator.solve.shoulders import slopes_stone

        q = self._q
        found = self._blank(BUILT)
        boards: dict[int, Floats] = defaultdict(
            lambda: np.zeros((1 + self._count, len(self._options)))
        )
        for option in self._options:
            kind = q.text("option_kind", option)
            if kind in SLOPED:
                slopes = slopes_stone(
                    self._grounds,
                    base_corners(q, option),
                    top[:, option],
                    q.number("strip_ft", option),
                    q.number("shoulder_run", option),
                )
                found["shoulder_ft2"][:, option, 0] = slopes.area_ft2
                found["shoulder_ft3"][:, option, 0] = slopes.stone_ft3
            if kind in TIMBERED:
                spec = frame_spec(q, option, step_of_runs_ft(self._units.measure))
                frames = self._frames(option, top[:, option], spec)
                self._count_timbers(found, boards, option, frames)
                self._dig(found, option, frames, spec, top[:, option], subgrade[:, option])
        return found, boards

    def _frames(self, option: int, top: Floats, spec: FrameSpec) -> dict[int, Frame]:
        """Frame by number of the ground; none where none can be built, and the estimate's stands."""
        from estimator.solve.courses import faces, frame_along, side_lengths_ft

        corners = base_corners(self._q, option)
        sides = faces(self._grounds, corners, spec.timber_width_ft)
        lengths = side_lengths_ft(corners)
        each = zip(
            *(zip(*(face.each() for face in side), strict=True) for side in sides), strict=True
        )
        found = {}
        for ground, (here, string_ft) in enumerate(zip(each, top.tolist(), strict=True)):
            try:
                found[ground] = that_fits(frame_along(here, lengths, string_ft, spec), option)
            except EstimatorError:
                continue
        return found

    def _count_timbers(
        self,
        found: Mapping[str, Floats],
        boards: dict[int, Floats],
        option: int,
        frames: Mapping[int, Frame],
    ) -> None:
        stock = stock_lengths(self._q, self._q.text("timber_stock", option))
        planned = self._bought(stock, self._q.column("timber_length_in", option) / IN_PER_FT)
        for ground, frame in frames.items():
            for key, value in zip(
                _TIMBERS,
                (frame.lower_ft, frame.run_ft, frame.corners, frame.joints),
                strict=True,
            ):
                found[key][ground, option, 0] = value
            more = self._bought(stock, np.array([piece.length_ft for piece in frame.pieces]))
            more.subtract(planned)
            for item, count in more.items():
                boards[item][1 + ground, option] = count

    def _bought(self, stock: Mapping[int, float], lengths_ft: Floats) -> Counter[int]:
        """Timbers by line of the price book: for each piece the shortest, of these the cheapest.

        Args:
            stock: Lengths, ft, that the lines give.
            lengths_ft: Of the pieces.
        """
        paid = self._q.column("item_paid")
        items = sorted(stock, key=lambda item: (stock[item], paid[item]))
        long = np.array([stock[item] for item in items])
        at = np.searchsorted(long, lengths_ft[lengths_ft > 0] - TOUCH_FT)
        return Counter(items[min(n, len(items) - 1)] for n in at.tolist())

    def _dig(
        self,
        found: Mapping[str, Floats],
        option: int,
        frames: Mapping[int, Frame],
        spec: FrameSpec,
        top: Floats,
        subgrade: Floats,
    ) -> None:
        from estimator.solve.trench import dig_trench

        corners = base_corners(self._q, option)
        alike: dict[Any, list[int]] = defaultdict(list)
        for ground, frame in frames.items():
            sides = tuple(
                tuple(stretches(frame, number, line.length_ft))
                for number, line in enumerate(frame.profiles)
            )
            alike[sides].append(ground)
        for sides, some in alike.items():
            digs = trench_spec(self._q, option, spec, top[some], subgrade[some])
            trench = dig_trench(self._grounds.taken(some), corners, sides, digs)
            for key, value in zip(
                _TRENCH, (trench.dug_ft3, trench.bedding_ft3, trench.back_ft3), strict=True
            ):
                found[key][some, option, 0] = value
