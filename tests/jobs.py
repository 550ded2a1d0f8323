"""Small valid jobs for tests: the known job with cells changed, and random ones for hypothesis."""

from __future__ import annotations

import math
import random
from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any

import numpy as np
from hypothesis import HealthCheck, Phase, assume, given, seed, settings
from hypothesis import strategies as st
from known_job import known_job

from estimator.engine import Model
from estimator.errors import SolveError
from estimator.evaluation import evaluate, work_out
from estimator.inputs import TypedJob
from estimator.item_names import named
from estimator.metric import metric
from estimator.model import build_model
from estimator.model.kinds import BLOCKS, FRAMED, KIND_NAMES, OPEN, PIERS, SLAB
from estimator.rows import OPTION_KEYS
from estimator.typed_job import default_cells, read_inputs

Cells = dict[tuple[str, int], Any]
Point = tuple[float, float, float]
LONGEST_BAY_FT = 16


SIZES: dict[str, Any] = {
    "joist_stock": "2x6",
    "joist_spacing_in": 16,
    "skid_count": 4,
    "support_rows": 2,
    "supports_per_row": 3,
    "footing_diameter_in": 16,
    "beam_plies": 2,
}
"""Sizes of the tests' options unless they say otherwise; None leaves one to be suggested."""
CHOSEN: dict[str, Any] = {**SIZES, "reckoned_from": "stripped"}
"""What those options have unless they say otherwise."""


class RandomJob(TypedJob):
    """A job that shows itself by the cells in which it differs from the known one."""

    __slots__ = ()

    def __repr__(self) -> str:
        old = demo().cells
        new = {c: v for c, v in self.cells.items() if old.get(c) != v}
        return f"changes to the known job: {new}"


FLAT = tuple((x, y, 100.0) for x in (0.0, 20.0, 40.0) for y in (0.0, 20.0, 40.0))
"""A level lot of nine readings, 40 ft square, at 100 ft."""


@cache
def demo() -> TypedJob:
    """The job that tests know."""
    return known_job()


def changed(job: TypedJob, **cells: Any) -> TypedJob:
    """A job with cells changed: ``key=value`` for place 0, ``key={place: value}`` for others.

    Items are called by their names or keys, as in a job file.
    """
    new: Cells = dict(job.cells)
    for key, value in cells.items():
        entries = value if isinstance(value, dict) else {0: value}
        for place, entry in entries.items():
            new[key, place] = entry
    model = build_model()
    if any(key not in model.quantities for key, _ in new):
        model = metric(model)
    return TypedJob(named(model, new), job.where)


def with_options(job: TypedJob, options: Mapping[int, Mapping[str, Any]]) -> TypedJob:
    """The job with these option columns alone, each on top of the defaults.

    ``options`` maps a column number from 0 to cells that hold at least its kind; sizes that are
    not among them are those of ``CHOSEN``.
    """
    model = build_model()
    defaults = default_cells(model, options=True)
    # The search for a place is tested on its own and would double every evaluation's time.
    new = {c: v for c, v in job.cells.items() if not model.quantities[c[0]].by_option}
    for place, cells in options.items():
        for (key, at), value in defaults.items():
            if at == place and model.quantities[key].by_option:
                new[key, place] = value
        for key, value in (CHOSEN | dict(cells)).items():
            new[key, place] = value
    new["siting_wanted", 0] = "no"
    return TypedJob(named(model, new), job.where)


def one_option(kind: str, job: TypedJob | None = None, /, **cells: Any) -> TypedJob:
    """The known job (or another) with one option of a kind in column A."""
    return with_options(job or demo(), {0: {"option_kind": kind, **cells}})


def on_ground(job: TypedJob, points: tuple[Point, ...]) -> TypedJob:
    """The job on other ground, surveyed as heights (x, y, height)."""
    return _surveyed(job, points, "heights", 100.0, 0)


def on_flat(job: TypedJob) -> TypedJob:
    """The job on a level lot at 100 ft."""
    return on_ground(job, FLAT)


def slope(percent: float, height_ft: float = 100.0) -> tuple[Point, ...]:
    """A plane lot that falls along y (from front to back)."""
    return tuple((x, y, height_ft - y * percent / 100) for x, y, _ in FLAT)


def _surveyed(
    job: TypedJob, points: tuple[Point, ...], method: str, instrument_ft: float, setups: int
) -> TypedJob:
    model = build_model()
    survey = {"setup", "point"}
    cells = {c: v for c, v in job.cells.items() if model.quantities[c[0]].axis not in survey}
    cells["survey_method", 0] = method
    cells["level_height_ft", 0] = instrument_ft
    heights = [instrument_ft]
    for number in range(setups):
        cells["setup_name", number] = f"S{number + 1}"
        if number == 0:
            cells["setup_instrument_ft", 0] = instrument_ft
        else:
            cells["setup_foresight_ft", number] = 4.5
            cells["setup_backsight_ft", number] = 4.5 + number / 4
            heights.append(heights[-1] + number / 4)
    for row, (x, y, z) in enumerate(points):
        setup = row % max(setups, 1)
        reading = z if method == "heights" else heights[setup] - z
        cells["point_name", row] = f"Q{row + 1}"
        cells["point_x_ft", row], cells["point_y_ft", row] = x, y
        cells["point_reading_ft", row] = reading
        if setups:
            cells["point_setup", row] = f"S{setup + 1}"
    return TypedJob(cells, job.where)


def priced(job: TypedJob, **prices: float) -> TypedJob:
    """The job with the prices of some items changed, by item key."""
    places = {str(v): at for (key, at), v in job.cells.items() if key == "item_key"}
    return changed(job, item_price={places[key]: price for key, price in prices.items()})


class Solved(Mapping[str, Any]):
    """A job worked out: a quantity, with all that it comes from, when it is asked for.

    A test of one fact asks for a few of two thousand. What the solvers on the way refuse is raised
    then. Who goes through all of them has all of them worked out.
    """

    def __init__(self, model: Model, inputs: Mapping[str, Any]) -> None:
        self._model, self._inputs = model, inputs
        self._values: dict[str, Any] = {}
        self._met: set[str] = set()

    def __getitem__(self, key: str) -> Any:
        if key not in self._model.quantities:
            raise KeyError(key)
        if key not in self._met:
            with np.errstate(all="ignore"):
                self._work_out(key)
        return self._values[key]

    def __iter__(self) -> Iterator[str]:
        return (key for key in self._model.order if key in self._model.quantities)

    def __len__(self) -> int:
        return len(self._model.quantities)

    def _work_out(self, key: str) -> None:
        """A key after all that it comes after, without a call for each step down."""
        waiting = [key]
        while waiting:
            last = waiting[-1]
            before = [k for k in self._model.after[last] if k not in self._met]
            if before and last not in self._met:
                waiting += before
                continue
            waiting.pop()
            if last not in self._met:
                work_out(self._model, last, self._values, self._inputs)
                self._met.add(last)


def solved(job: TypedJob) -> Mapping[str, Any]:
    """Values of the quantities that are asked for."""
    model = build_model()
    return Solved(model, read_inputs(model, job))


def solved_whole(job: TypedJob) -> dict[str, Any]:
    """Values of every quantity.

    Raises:
        EstimatorError: If any solver refuses the job.
    """
    model = build_model()
    return dict(evaluate(model, read_inputs(model, job)))


def at(values: Mapping[str, Any], key: str, option: int = 0) -> Any:
    """One number or text of a row."""
    array = np.asarray(values[key])
    return array[min(option, array.shape[0] - 1), 0].item()


def block(values: Mapping[str, Any], key: str, option: int = 0) -> Any:
    """A column of a table, for one option."""
    array = np.asarray(values[key])
    return array[min(option, array.shape[0] - 1)]


def board_lines(values: Mapping[str, Any], option: int) -> slice:
    """The lines of an option on the list of boards behind Cut Plan."""
    first = int(at(values, "saw_first", option)) - 1
    return slice(first, first + int(at(values, "saw_lines", option)))


def name_of(values: Mapping[str, Any], item: str) -> str:
    """Name of the item of a key in the price book; the key itself where it has none."""
    names = dict(zip(block(values, "item_key"), block(values, "item_name"), strict=True))
    return str(names.get(item, item))


def needed(values: Mapping[str, Any], item: str) -> float:
    """How much of the item of a key the first option needs."""
    items, amounts = block(values, "need_item"), block(values, "need_quantity")
    wanted = name_of(values, item)
    return float(sum(n for i, n in zip(items, amounts, strict=True) if str(i) == wanted))


def used(values: Mapping[str, Any]) -> list[int]:
    """Columns of the options in use."""
    return [int(o) for o in np.flatnonzero(np.asarray(values["option_used"])[:, 0] > 0)]


def solved_or_skipped(job: TypedJob) -> dict[str, Any]:
    """Values of a random job; hypothesis drops the few whose solvers rightly refuse."""
    place = next((place for place, each in enumerate(_pool()) if each is job), None)
    try:
        return dict(_solved_of_pool(place)) if place is not None else solved_whole(job)
    except SolveError:
        assume(False)
        raise


POOL = 16
"""Random jobs that the rules on whole jobs share, so that each is solved once."""


@cache
def _pool() -> tuple[TypedJob, ...]:
    return tuple(drawn_jobs(20, POOL, most_options=3))


@cache
def _solved_of_pool(place: int) -> dict[str, Any]:
    return solved_whole(_pool()[place])


def pooled(place: int) -> dict[str, Any] | None:
    """Values of a shared random job; None where its solvers rightly refuse it."""
    try:
        return dict(_solved_of_pool(place))
    except SolveError:
        return None


def pooled_jobs() -> st.SearchStrategy[TypedJob]:
    """One of the shared random jobs."""
    return st.sampled_from(_pool())


def _options() -> st.SearchStrategy[dict[str, Any]]:
    """Cells of one option of a random kind."""
    treated = st.sampled_from(["4x6 treated", "6x6 treated"])
    inch = st.integers
    floor = {
        "joist_stock": st.sampled_from(["2x6", "2x8", "2x6 treated", "2x8 treated", "2x10"]),
        "joist_spacing_in": st.sampled_from([12, 16, 19.2, 24]),
        "species": st.sampled_from(
            ["Southern pine No.2", "Hem-fir No.2", "Douglas fir-larch No.1"]
        ),
        "blocking_rows": inch(0, 2),
        "sheet_item": st.sampled_from(["sheet_23_32_tg", "sheet_3_4_square", "sheet_19_32_tg"]),
        "nominal_rips": st.sampled_from(["no", "yes"]),
    }
    stone = {
        "stone_item": st.sampled_from(["stone_57", "stone_67", "stone_crusher"]),
        "compaction_share": st.sampled_from([0, 0.1, 0.2]),
        "stone_waste_share": st.sampled_from([0, 0.05, 0.1]),
    }
    pad = stone | {
        "height_mode": st.sampled_from(["high ground", "balanced", "by hand"]),
        "reckoned_from": st.sampled_from(["stripped", "original"]),
        "raise_in": inch(-4, 6),
        "margin_in": st.sampled_from([0, 6, 12, 18]),
        "stone_depth_in": st.sampled_from([2, 4, 5.5, 8]),
        "fill_with": st.sampled_from(["soil", "stone"]),
        "fabric_used": st.sampled_from(["yes", "no"]),
        "overlap_in": st.sampled_from([6, 12, 18]),
        "turn_up_in": inch(0, 8),
        "skid_stock": treated,
        "skid_count": inch(2, 6),
        "skid_place": st.sampled_from(["flush", "edge centred"]),
    }
    framed = {
        "timber_stock": treated,
        "embed_in": inch(0, 4),
        "bedding_in": inch(0, 4),
        "trench_width_in": inch(6, 14),
        "pin_spacing_in": st.sampled_from([24, 36, 48]),
    }
    opened = {
        "shoulder_in": st.sampled_from([0, 6, 12]),
        "shoulder_run": st.sampled_from([0, 1.5, 2]),
    }
    support = {
        "clear_above_in": inch(0, 12),
        "support_rows": inch(2, 4),
        "supports_per_row": inch(2, 5),
        "support_inset_in": st.sampled_from([0, 6, 12]),
        "beam_stock": st.sampled_from(["2x8 treated", "2x10 treated"]),
        "beam_plies": inch(1, 3),
    }
    piers = {
        "pier_diameter_in": st.sampled_from([8, 10, 12, 16]),
        "footing_diameter_in": st.sampled_from([8, 16, 20, 24]),
        "footing_thick_in": st.sampled_from([6, 8, 12]),
        "least_depth_in": inch(8, 30),
        "bars_per_pier": inch(0, 4),
        "concrete_by": st.sampled_from(["cheapest", "bags", "ready-mix"]),
    }
    blocks = stone | {
        "block_pad_in": st.sampled_from([20, 24, 30]),
        "block_bed_in": inch(4, 10),
    }
    slab = {
        "slab_thick_in": st.sampled_from([None, 3, 4, 6]),
        "slab_edge_in": st.sampled_from([None, 8, 12, 20]),
        "slab_edge_below_in": st.sampled_from([None, 6, 18]),
        "slab_steel": st.sampled_from(["mesh", "bars", "none"]),
        "slab_bar_spacing_in": st.sampled_from([12, 18]),
        "slab_edge_bars": inch(0, 4),
        "slab_retarder": st.sampled_from(["no", "yes"]),
        "form_stock": st.sampled_from(["2x4", "2x6", "2x10"]),
        "slab_placed_by": st.sampled_from(["barrow", "chute", "pump"]),
        "concrete_by": st.sampled_from(["cheapest", "bags", "ready-mix"]),
    }
    under_slab = {key: cells for key, cells in pad.items() if not key.startswith("skid")}
    by_kind = {
        FRAMED: pad | framed,
        SLAB: under_slab | opened | slab,
        OPEN: pad | opened,
        PIERS: support | piers,
        BLOCKS: support | blocks,
    }
    return st.one_of(
        *(
            st.fixed_dictionaries(
                {"option_kind": st.just(kind), **({} if kind == SLAB else floor), **by_kind[kind]}
            )
            for kind in KIND_NAMES
        )
    )


_JOB = {
    "wall_height_ft": st.integers(5, 10),
    "roof_height_ft": st.integers(0, 6),
    "door_side": st.sampled_from(["front", "right", "back", "left"]),
    "floor_live_psf": st.sampled_from([30, 40, 60, 125]),
    "roof_snow_psf": st.sampled_from([0, 20, 40]),
    "point_load_lb": st.sampled_from([0, 300]),
    "wind_mph": st.sampled_from([90, 115, 140]),
    "turn_deg": st.sampled_from([0, 15, -30, 90, 123.4]),
    "soil": st.sampled_from(["gravel", "sand", "loam", "clay", "stony clay"]),
    "strip_depth_in": st.sampled_from([0, 4, 6]),
    "frost_depth_in": st.sampled_from([0, 24, 42]),
    "frost_free_area_ft2": st.sampled_from([0, 200]),
    "tip_distance_ft": st.integers(0, 200),
    "spoil_distance_ft": st.integers(0, 200),
    "dig_method": st.sampled_from(["by hand", "machine"]),
    "spoil_leaves": st.sampled_from(["no", "yes"]),
    "truck_yd3": st.sampled_from([2.5, 10]),
    "stone_inside_share": st.sampled_from([0, 0.5, 1]),
    "crew_size": st.integers(1, 4),
    "wage_per_h": st.sampled_from([0, 27.35, 60]),
    "tax_share": st.sampled_from([0, 0.0725]),
    "contingency_share": st.sampled_from([0, 0.1]),
    "overhead_share": st.sampled_from([0, 0.08]),
    "profit_share": st.sampled_from([0, 0.15]),
    "kerf_in": st.sampled_from([0, 0.125]),
    "over_length_in": st.sampled_from([0, 0.5]),
    "block_reuse_in": st.sampled_from([2, 12, 24]),
    "door_way": st.sampled_from(["steps", "ramp", "none"]),
    "door_exit": st.sampled_from(["no", "yes"]),
    "landing_wanted": st.sampled_from(["as the code asks", "yes", "no"]),
    "rails_wanted": st.sampled_from(["as the code asks", "both sides", "none"]),
    "foot_kind": st.sampled_from(["blocks", "concrete"]),
}


@st.composite
def valid_jobs(draw: st.DrawFn, most_options: int = 3) -> TypedJob:
    """Random valid jobs: size, place, ground and its survey, options in random columns, prices.

    Their solvers refuse a few of them for good reasons (see :func:`solved_or_skipped`).
    """
    width = draw(st.integers(24, 64)) / 4
    length = draw(st.integers(24, 128)) / 4
    datum = draw(st.sampled_from([0.0, 100.0, 1250.0]))
    places = draw(
        st.lists(
            st.integers(0, len(OPTION_KEYS) - 1), min_size=1, max_size=most_options, unique=True
        )
    )
    options = {place: draw(_options()) for place in places}
    chance = random.Random(draw(st.integers(0, 2**32 - 1)))
    for cells in options.values():
        # A bay no longer than the longest board, or no beam could be joined over a support.
        least = math.ceil(length / LONGEST_BAY_FT) + 1
        if "supports_per_row" in cells:
            cells["supports_per_row"] = max(cells["supports_per_row"], least)
        cells["hand_height_ft"] = round(datum + chance.uniform(-0.5, 1.0), 3)
    job = with_options(demo(), options)
    job = changed(
        job,
        building_length_ft=length,
        building_width_ft=draw(st.sampled_from([width, f"{width * 12:g} in"])),
        site_x_ft=round(chance.uniform(-20, 20), 2),
        site_y_ft=round(chance.uniform(-20, 20), 2),
        chosen_option=OPTION_KEYS[draw(st.sampled_from(places))],
        **{key: draw(value) for key, value in _JOB.items()},
    )
    points = _lot(draw(st.integers(6, 14)), datum, chance)
    method = draw(st.sampled_from(["rod readings", "heights", "drops"]))
    setups = draw(st.integers(1, 2)) if method == "rod readings" else 0
    return _repriced(_surveyed(job, points, method, datum + 5.0, setups), chance)


def drawn_jobs(number: int, count: int, most_options: int) -> list[TypedJob]:
    """Random valid jobs, the same ones for the same number."""
    found: list[TypedJob] = []

    @seed(number)
    @settings(
        max_examples=count,
        phases=[Phase.generate],
        database=None,
        deadline=None,
        suppress_health_check=list(HealthCheck),
    )
    @given(valid_jobs(most_options=most_options))
    def collect(job: TypedJob) -> None:
        found.append(job)

    collect()
    return found


def _lot(count: int, datum: float, chance: random.Random) -> tuple[Point, ...]:
    """Readings of a bumpy slope: near four corners of a lot 120 ft square, the rest anywhere."""
    east, north = chance.uniform(-0.03, 0.03), chance.uniform(-0.03, 0.03)
    spots = [(x + chance.uniform(-3, 3), y) for x in (-60.0, 60.0) for y in (-60.0, 60.0)]
    while len(spots) < count:
        spots.append((chance.uniform(-55, 55), chance.uniform(-55, 55)))
    return tuple(
        (
            round(x, 2),
            round(y, 2),
            round(datum + east * x + north * y + chance.uniform(-0.2, 0.2), 3),
        )
        for x, y in spots
    )


def _repriced(job: TypedJob, chance: random.Random) -> TypedJob:
    cells: Cells = dict(job.cells)
    for key, place in job.cells:
        price = job.cells.get(("item_price", place))
        if key == "item_price" and price is not None:
            new = round(float(price) * chance.uniform(0.5, 2.0), 2)
            cells[key, place] = new
            cells["item_low", place] = round(new * 0.9, 2)
            cells["item_high", place] = round(new * 1.2, 2)
    return RandomJob(cells, job.where)
