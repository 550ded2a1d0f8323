"""Plan and layout put together again from what Cut Plan, Sheet Layout and Floor Frame print.

Nothing of the solvers is asked: marks, positions and sizes are read as a person with a tape reads
them, to a sixteenth of an inch, and must make the whole floor.
"""

from __future__ import annotations

import contextlib
import itertools
import os
import re
from collections import Counter
from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np
import pytest
from jobs import POOL, Solved, at, block, drawn_jobs, pooled, solved
from two_measures import factor_of, metric_inputs

from estimator.errors import SolveError
from estimator.inputs import TypedJob
from estimator.metric import metric
from estimator.model import build_model
from estimator.typed_job import read_inputs
from estimator.units import parse_length

TAPE_IN = 1 / 16
"""What a tape tells apart; rounding moves a reading by half of it."""


LENGTH = r"(?:(?:\d+ ft )?(?:\d+ )?(?:\d+/\d+ )?in|\d+ mm)"
PLACE = r"\d+(?: \d+/\d+|/\d+)?"
RUN = r"[A-Z]+\d[^ ,:]*"
"""A length as a tape reads, whole units and sixteenths along it, and marks that run on."""


class InFeet(Mapping[str, Any]):
    """Values of the metric model, called and counted as those in feet; texts stay as they are."""

    def __init__(self, values: Mapping[str, Any]) -> None:
        self._values, self._name = values, metric(build_model()).name

    def __getitem__(self, key: str) -> Any:
        value = np.asarray(self._values[self._name(key)])
        return value if value.dtype.kind in "UO" else value / factor_of(key)

    def __iter__(self) -> Iterator[str]:
        return iter(build_model().quantities)

    def __len__(self) -> int:
        return len(build_model().quantities)


def inches(text: str) -> float:
    """A length as printed."""
    return parse_length(text) * 12


def along(text: str, values: Mapping[str, Any]) -> float:
    """Inches from the squared end, printed without a unit: that of the tape."""
    return inches(f"{text} {'mm' if isinstance(values, InFeet) else 'in'}")


def listed(text: Any, values: Mapping[str, Any]) -> float:
    """Inches of a length in a table: the heading of its column says millimetres, the text feet and
    inches."""
    return inches(f"{text} mm" if isinstance(values, InFeet) else str(text))


def marks_in(text: str) -> list[str]:
    """Each mark of a run: J1-J3, J7."""
    found = []
    for run in text.split(", "):
        first, _, last = run.partition("-")
        letters, number, end = re.fullmatch(r"([A-Z]+)(\d+)(.*)", first).groups()  # type: ignore[union-attr]
        stop = re.fullmatch(r"[A-Z]+(\d+).*", last or first)[1]  # type: ignore[index]
        found += [f"{letters}{n}{end}" for n in range(int(number), int(stop) + 1)]
    return found


def saw_lines(values: Mapping[str, Any]) -> Iterator[tuple[str, int, str, str]]:
    """Item, boards alike, what is cut, and marks with their places, of the page of the option.

    What is cut stands behind the page. A line without an item goes on with the board above it.
    """
    chosen = int(at(values, "chosen_no")) - 1
    first = int(at(values, "saw_first", chosen)) - 1
    columns = [block(values, key) for key in ("saw_item", "saw_boards", "saw_marks")]
    page = [
        (str(item), int(count), str(pieces), str(marks))
        for item, count, marks, pieces in zip(
            *columns, block(values, "board_pieces")[first:], strict=False
        )
        if str(marks)
    ]
    while page:
        item, count, pieces, marks = page.pop(0)
        assert item
        while page and not page[0][0]:
            marks += f" {page.pop(0)[3]}"
        yield item, count, pieces, marks


def check_boards(values: Mapping[str, Any]) -> None:
    kerf, trim = float(at(values, "kerf_in")), float(at(values, "end_trim_in"))
    over = float(at(values, "over_length_in"))
    chosen = int(at(values, "chosen_no")) - 1
    assert at(values, "saw_left_out", chosen) == ""
    lengths = dict(
        zip(map(str, block(values, "item_name")), block(values, "item_length_ft"), strict=True)
    )
    sizes: dict[str, float] = {}
    bought: Counter[str] = Counter()
    cuts = 0
    for item, count, pieces, marks in saw_lines(values):
        bought[item] += count
        told: Counter[float] = Counter()
        for part in pieces.split(", "):
            number, size = re.fullmatch(rf"(\d+) [a-z ]+ ({LENGTH})", part).groups()  # type: ignore[union-attr]
            told[inches(size)] += int(number)
        begin = 0.0
        for run in marks.split("; "):
            alike, ends = re.fullmatch(  # type: ignore[union-attr]
                rf"({RUN}(?:, {RUN})*): ({PLACE}(?:, {PLACE})*)", run
            ).groups()
            cuts += len(ends.split(", "))
            run_marks = marks_in(alike)
            assert len(run_marks) == count * len(ends.split(", "))
            for end in ends.split(", "):
                size = along(end, values) - begin
                near = min(told, key=lambda each: abs(each - size))
                assert size == pytest.approx(near, abs=TAPE_IN + 1e-6)
                told[near] -= 1
                begin = along(end, values) + kerf
            for mark in run_marks:
                assert mark not in sizes
                sizes[mark] = near
        assert not +told
        room = 12 * float(lengths[item]) + over - trim
        assert begin - kerf <= room + TAPE_IN / 2 + 1e-6
    names, boards = block(values, "item_name"), block(values, "item_boards", chosen)
    drawn = [str(text) for text in block(values, "saw_cut_mark") if str(text)]
    assert len(drawn) == cuts
    assert bought == {str(name): int(n) for name, n in zip(names, boards, strict=True) if n > 0}
    check_marks(values, sizes, chosen)


def check_marks(values: Mapping[str, Any], sizes: Mapping[str, float], chosen: int) -> None:
    """Every joist, rim and block of the floor, each as long as Floor Frame says."""
    joists = [str(text) for text in block(values, "mark_near") if str(text)]
    parts = int(at(values, "floor_parts")) if joists else 0
    for number in range(1, len(joists) + 1):
        if parts > 1:
            found = [sizes[f"J{number}.{part}"] for part in range(1, parts + 1)]
            assert found[0] == pytest.approx(inches(at(values, "floor_joist")), abs=TAPE_IN)
            assert found[-1] == pytest.approx(inches(at(values, "floor_back")), abs=TAPE_IN)
        else:
            said = inches(at(values, "floor_joist"))
            assert sizes[f"J{number}"] == pytest.approx(said, abs=TAPE_IN)
    assert len({m.split(".")[0] for m in sizes if re.match(r"J\d", m)}) == len(joists)
    blocks = [size for mark, size in sizes.items() if re.match(r"B\d", mark)]
    assert len(blocks) == int(at(values, "blocking_count", chosen))
    for rim in ("R1", "R2") if joists else ():
        ends = itertools.accumulate(s for m, s in sizes.items() if re.match(rf"{rim}(\.|$)", m))
        assert max(ends) == pytest.approx(inches(at(values, "floor_rim")), abs=TAPE_IN * 4)
        joints = str(at(values, "rim_joints", chosen))
        middles = {listed(text, values) for text in block(values, "mark_centre") if str(text)}
        for joint in filter(None, re.split("[,;] ", joints)):
            assert min(abs(inches(joint) - middle) for middle in middles) <= TAPE_IN


Rectangle = tuple[float, float, float, float]


def overlap(one: Rectangle, two: Rectangle) -> bool:
    """Whether two rectangles (from and to, along and back) share more than the tape's rounding."""
    (a, b, c, d), (e, f, g, h) = one, two
    return min(b, f) - max(a, e) > TAPE_IN and min(d, h) - max(c, g) > TAPE_IN


def check_sheets(values: Mapping[str, Any]) -> None:
    chosen = int(at(values, "chosen_no")) - 1
    columns = ("laid_sheet", "laid_x", "laid_y", "laid_long", "laid_wide", "laid_cut")
    floor: list[Rectangle] = []
    sheets: dict[int, list[Rectangle]] = {}
    for sheet, x, y, long, wide, cut in zip(*(block(values, k) for k in columns), strict=True):
        if sheet > 0:
            x_in, y_in, long_in, wide_in = (listed(t, values) for t in (x, y, long, wide))
            floor.append((x_in, x_in + long_in, y_in, y_in + wide_in))
            u, v = (inches(text) for text in str(cut).split(" / "))
            sheets.setdefault(int(sheet), []).append((u, u + long_in, v, v + wide_in))
    assert len(sheets) == int(at(values, "sheet_count", chosen))
    if not floor:
        return
    length = 12 * float(at(values, "building_length_ft"))
    width = 12 * float(at(values, "building_width_ft"))
    sheet_long = float(at(values, "sheet_long_in", chosen))
    sheet_wide = float(at(values, "sheet_wide_in", chosen))
    for pieces in sheets.values():
        for _, u, _, v in pieces:
            assert u <= sheet_long + TAPE_IN
            assert v <= sheet_wide + TAPE_IN
        assert not any(itertools.starmap(overlap, itertools.combinations(pieces, 2)))
    assert not any(itertools.starmap(overlap, itertools.combinations(floor, 2)))
    middles = [listed(text, values) for text in block(values, "mark_centre") if str(text)]
    for a, b, _, _ in floor:
        assert a == 0 or min(abs(a - middle) for middle in middles) <= TAPE_IN
        assert b <= length + TAPE_IN
    # What no piece covers is no more than a gap (an eighth) at every edge, or an opening.
    bare = length * width - sum((b - a) * (d - c) for a, b, c, d in floor)
    holes = block(values, "opening_length_ft") * block(values, "opening_width_ft")
    edges = sum(b - a + d - c for a, b, c, d in floor) + length + width
    assert bare <= 144 * float(holes[holes > 0].sum()) + edges * (1 / 8 + TAPE_IN)


def check(values: Mapping[str, Any] | None) -> None:
    """Boards and sheets of the chosen option, of a job that is not refused."""
    if values is not None:
        check_boards(values)
        check_sheets(values)


JOBS = int(os.environ.get("PRINTED", "0"))
"""Random jobs beside those that the rules on whole jobs share; 300 take some minutes."""
SHARD, SHARDS = (int(n) for n in os.environ.get("PRINTED_PART", "0/1").split("/"))
"""Which of so many equal parts of them to take, from 0."""


def in_metres(job: TypedJob) -> InFeet:
    """The very same job as the metric workbook prints it."""
    inputs = metric_inputs(read_inputs(build_model(), job))
    return InFeet(Solved(metric(build_model()), inputs))


@pytest.mark.slow
@pytest.mark.parametrize("place", range(POOL))
def test_plan_and_layout_are_whole_as_they_are_printed(place: int) -> None:
    check(pooled(place))


@pytest.mark.slow
def test_plan_and_layout_are_whole_as_a_metric_workbook_prints_them() -> None:
    for job in drawn_jobs(20, 3, most_options=1):
        check(in_metres(job))


@pytest.mark.slow
@pytest.mark.skipif(not JOBS, reason="by hand: PRINTED=300")
def test_plan_and_layout_of_many_jobs_are_whole_as_they_are_printed() -> None:
    for job in drawn_jobs(14, JOBS, most_options=1)[SHARD::SHARDS]:
        for read in (solved, in_metres):
            with contextlib.suppress(SolveError):  # a job that solvers rightly refuse
                check(read(job))
