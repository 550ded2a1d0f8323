"""The site built from the printed Field Sheet alone, with a tape, a level and a rod.

What is read here is what is printed; of the job only what lies in front of the builder is taken:
the ground itself, the survey's points on it, and the sizes of what is delivered. A tape reads to
an eighth of an inch, a depth to a quarter.

``FIELD_SHEETS=50`` builds so many random jobs by hand; else two of each kind.
"""

from __future__ import annotations

import itertools
import math
import os
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
import pytest
from jobs import at, block, drawn_jobs, solved_whole

from estimator.errors import SolveError
from estimator.model.kinds import BLOCKS, FRAMED, KIND_NAMES, OPEN, PIERS, SLAB
from estimator.model.set_out import GUESSED
from estimator.model.solvers.lot import SURVEY_READS, lot_ground, readings
from estimator.model.solvers.reads import Reads
from estimator.units import parse_length

COUNT = int(os.environ.get("FIELD_SHEETS", "10"))
pytestmark = pytest.mark.slow
TAPE, SHOVEL = 1 / 16, 1 / 8
"""Half of what a tape, and a depth, is read to, in."""


def inches(text: str) -> float:
    """A length or depth as printed."""
    bare = text.removesuffix(GUESSED)
    unit = "" if bare.endswith("in") else " in"  # else the heading of the column says it
    return 12 * parse_length(f"{bare}{unit}")


def between(text: str, before: str, after: str = "") -> float:
    """The length between two words of a line."""
    rest = text.partition(before)[2] if before else text
    return inches(rest.partition(after)[0] if after else rest)


def dug_to(ground: float, strip: float, text: str) -> float:
    """Height that digging from the ground, or filling from the stripped ground, comes to, in."""
    if text.startswith("fill "):
        return ground - strip + inches(text.removeprefix("fill "))
    return ground - inches(text)


def stripped_in(site: Site) -> float:
    """How much sod and topsoil comes off."""
    line = site.line("strip")
    return 0.0 if line == "none comes off" else between(line, "", " off")


@dataclass(frozen=True)
class Site:
    """The ground, and the sheet in the builder's hands."""

    values: dict[str, Any]
    option: int

    def line(self, key: str) -> str:
        """A line of the first page."""
        return str(at(self.values, f"field_{key}"))

    def column(self, key: str) -> list[str]:
        """A column of a table of the first page."""
        return [str(text) for text in block(self.values, key)]

    def dug(self, key: str) -> list[str]:
        """A column of the lines of the second page."""
        tables = ("upper_1", "upper_2", "lower_1", "lower_2")
        return [text for table in tables for text in self.column(f"{table}_{key}")]

    def ground_in(self, places: Any) -> Any:
        """Height of the ground that is there, in."""
        reads = Reads({key: self.values[key] for key in SURVEY_READS})
        return 12 * lot_ground(reads).at(places)[0]

    def asked(self, key: str) -> Any:
        """What the job asked for, to hold against what was built."""
        return at(self.values, key, self.option)

    @property
    def kind(self) -> str:
        return str(at(self.values, "chosen_base"))


@cache
def sites() -> tuple[Site, ...]:
    """Random jobs, of every kind as many, worked out."""
    kinds = dict.fromkeys(KIND_NAMES, COUNT // len(KIND_NAMES))
    found = []
    for job in drawn_jobs(53, 12 * COUNT, most_options=1):
        kind = next(str(value) for (key, _), value in job.cells.items() if key == "option_kind")
        if kinds[kind] == 0:
            continue
        try:
            values = solved_whole(job)
        except SolveError:
            continue  # refused for a good reason, such as rows of supports without room
        option = int(at(values, "chosen_no")) - 1
        if at(values, "frame_listed", option) == at(values, "frame_courses", option):
            found.append(Site(values, option))
            kinds[kind] -= 1
    return tuple(found)


def corners(site: Site) -> Any:
    """Corners where two tapes from points of the survey cross, on the side that x and y tell."""
    points = {
        name: np.array([x, y])
        for name, x, y, _ in readings(Reads({k: site.values[k] for k in SURVEY_READS}))
    }
    first, _, second = site.line("points").removeprefix("1: ").partition("; 2: ")
    second = second.partition(". Strings ")[0]
    a, b = points[first], points[second]
    apart = math.dist(a, b)
    along = (b - a) / apart
    across = np.array([-along[1], along[0]])
    found = []
    told = zip(*(block(site.values, f"stake_{key}") for key in ("x_ft", "y_ft")), strict=True)
    for one, two, xy in zip(
        site.column("stake_tie_1"), site.column("stake_tie_2"), told, strict=True
    ):
        r, s = inches(one) / 12, inches(two) / 12
        at_ft = (r**2 - s**2 + apart**2) / (2 * apart)
        off = math.sqrt(max(r**2 - at_ft**2, 0))
        crossings = [a + at_ft * along + side * off * across for side in (1, -1)]
        found.append(min(crossings, key=lambda place: math.dist(place, np.round(xy, 2))))
    return np.array(found)


def set_out(site: Site) -> tuple[Any, Any]:
    """Corners by their tapes, and the true ones that x and y give to the hundredth of a foot."""
    taped = corners(site)
    told = np.column_stack([block(site.values, f"stake_{key}_ft") for key in "xy"])
    return taped, told


def stakes(site: Site, corner: Any) -> Any:
    """Stakes A and B, in line with the sides, so far beyond the corners as the sheet says."""
    far = between(site.line("strings"), "", " out") / 12
    found = []
    for other in ((1, 0, 3, 2), (3, 2, 1, 0)):
        run = corner - corner[list(other)]
        found.append(corner + far * run / np.linalg.norm(run, axis=1)[:, None])
    return np.vstack(found)


def strings_in(site: Site) -> float:
    """Height of the strings, which have to be level over all stakes and corners."""
    _, corner = set_out(site)
    places = np.vstack([stakes(site, corner), corner])
    printed = [text for key in "ab" for text in site.column(f"stake_{key}")] + site.column(
        "stake_at"
    )
    heights = site.ground_in(places) + [inches(text) for text in printed]
    assert np.ptp(heights) <= 2 * SHOVEL + 1e-6
    # No ground is in their way where they are tied, nor along the sides.
    assert min(inches(text) for text in printed) >= -SHOVEL
    return float(heights.mean())


def top_in(site: Site) -> float:
    """Height of the top of timbers, pad, supports or slab: below the strings as the sheet says."""
    line = site.line("strings").partition("strings ")[2]
    over = 0.0 if line.startswith("level with") else between(line, "", " above")
    return strings_in(site) - over


def along_sides(site: Site) -> list[tuple[int, float, Any, int]]:
    """Line, side, place on the ground and distance of every station that is printed."""
    _, corner = set_out(site)
    found = []
    for line, (side, text) in enumerate(zip(site.dug("no"), site.dug("place"), strict=True)):
        if side and line < 40:
            start, end = corner[int(side) - 1], corner[int(side) % 4]
            share = inches(text) / 12 / math.dist(start, end)
            found.append((line, inches(text), start + share * (end - start), int(side)))
    return found


def chosen(*kinds: str) -> list[Site]:
    return [site for site in sites() if site.kind in kinds]


def test_the_jobs_are_of_all_kinds() -> None:
    assert len(sites()) == COUNT // len(KIND_NAMES) * len(KIND_NAMES)
    assert {site.kind for site in sites()} == set(KIND_NAMES)


def test_taped_corners_stand_where_the_survey_has_them_and_square() -> None:
    for site in sites():
        taped, told = set_out(site)
        # Where tapes cross at a slant an eighth of an inch of tape is more of place.
        assert np.linalg.norm(taped - told, axis=1).max() * 12 < 3
        length, width = (
            inches(text) for text in site.line("outside").partition(";")[0].split(" x ")
        )
        diagonal = between(site.line("outside"), "both diagonals ")
        assert diagonal == pytest.approx(math.hypot(length, width), abs=2 * TAPE)
        sides = [math.dist(told[n], told[(n + 1) % 4]) * 12 for n in range(4)]
        assert sides == pytest.approx([length, width, length, width], abs=TAPE)
        for a, b in ((0, 2), (1, 3)):
            assert math.dist(told[a], told[b]) * 12 == pytest.approx(diagonal, abs=TAPE)


def test_the_top_comes_out_at_the_height_of_the_job_and_off_the_bench_mark() -> None:
    for site in sites():
        expected = 12 * site.asked("top_ft") + site.asked("slab_thick_used_in")
        assert top_in(site) == pytest.approx(expected, abs=SHOVEL + TAPE)
        name, _, told = site.line("points").partition(". Strings ")
        name = name.removeprefix("1: ").partition("; 2: ")[0]
        points = readings(Reads({k: site.values[k] for k in SURVEY_READS}))
        mark = next(12 * z for point, _, _, z in points if point == name)
        up = -1 if " below the ground" in told else 1
        strings = mark + up * inches(told.partition(" in ")[0] + " in")
        assert strings == pytest.approx(strings_in(site), abs=SHOVEL + TAPE)


def test_no_ground_stands_in_the_way_of_a_string_from_stake_to_stake() -> None:
    for site in sites():
        _, corner = set_out(site)
        stake = stakes(site, corner)
        for first, last in ((0, 1), (3, 2), (5, 6), (4, 7)):
            share = np.linspace(0, 1, 301)[:, None]
            line = stake[first] + share * (stake[last] - stake[first])
            assert site.ground_in(line).max() <= strings_in(site) + SHOVEL + TAPE


def test_timbers_lie_level_on_bedding_with_no_air_under_them_in_trenches_wide_enough() -> None:
    for site in chosen(FRAMED):
        strings, top = strings_in(site), top_in(site)
        line = site.line("trench")
        wide, outside = between(line, "", " wide"), between(line, "wide, ", " of it")
        bedding, depth = between(line, "bedding ", ";"), between(line, "courses of ")
        assert outside + site.asked("timber_width_in") <= wide + 2 * TAPE
        strip = stripped_in(site)
        stripped = strip if site.asked("reckoned_from") == "stripped" else 0.0
        for number, _, place, _ in along_sides(site):
            courses = int(site.dug("back")[number])
            bottom = strings - inches(site.dug("below")[number])
            assert bottom + bedding + courses * depth == pytest.approx(top, abs=SHOVEL + 4 * TAPE)
            ground = float(site.ground_in([place])[0])
            # The trench that is dug from the ground is the one that is dug from the strings.
            floor = dug_to(ground, strip, site.dug("grade")[number])
            assert floor == pytest.approx(bottom, abs=2 * SHOVEL + TAPE)
            assert top - courses * depth <= ground - stripped + SHOVEL + 2 * TAPE


def test_lower_courses_reach_as_deep_as_the_stations_say_and_end_where_they_step() -> None:
    for site in chosen(FRAMED):
        strings, top = strings_in(site), top_in(site)
        depth = between(site.line("trench"), "courses of ")
        runs = []
        for line in range(40, 64):
            side, start, end = (site.dug(key)[line] for key in ("no", "place", "back"))
            if side:
                course = int(site.dug("above")[line])
                runs.append((int(side), course, inches(start), inches(end)))
                low = strings - inches(site.dug("below")[line])
                assert low == pytest.approx(top - course * depth, abs=SHOVEL + 4 * TAPE)
        for number, along, _, side in along_sides(site):
            courses = int(site.dug("back")[number])
            over = [c for s, c, a, b in runs if s == side and a - TAPE * 2 <= along <= b + TAPE * 2]
            under = [c for s, c, a, b in runs if s == side and a + TAPE * 2 < along < b - TAPE * 2]
            assert max(under, default=1) <= courses <= max(over, default=1)


def test_open_pads_and_slabs_come_down_or_up_to_one_level_subgrade() -> None:
    for site in chosen(OPEN, SLAB):
        strings = strings_in(site)
        subgrade = strings - between(site.line("subgrade"), "", " below")
        expected = 12 * site.asked("subgrade_ft")
        assert subgrade == pytest.approx(expected, abs=SHOVEL + 2 * TAPE)
        strip = stripped_in(site)
        for number, _, place, _ in along_sides(site):
            ground = float(site.ground_in([place])[0])
            floor = dug_to(ground, strip, site.dug("grade")[number])
            assert floor == pytest.approx(subgrade, abs=2 * SHOVEL + 2 * TAPE)


def test_stone_of_open_pads_and_slabs_lies_on_stripped_ground_as_far_as_its_slopes_reach() -> None:
    for site in chosen(OPEN, SLAB):
        off, slopes = stripped_in(site), site.line("trench").rpartition("; ")[2]
        if not off or slopes == "upright sides":
            continue
        run = float(slopes.removeprefix("shoulders ").removesuffix(" out to 1 down"))
        reach = between(site.line("strip"), "as far as ", " beyond")
        pad = top_in(site) - site.asked("slab_thick_used_in")
        _, corner = set_out(site)
        left = []
        for n in range(4):
            beyond = (corner[n] - corner[(n + k) % 4] for k in (-1, 1))
            out, aside = (side / np.linalg.norm(side) for side in beyond)
            # From the corner, and beside the side that ends there.
            for turn in np.linspace(0, math.pi / 2, 10):
                way = math.cos(turn) * out + math.sin(turn) * aside
                far = np.arange(0.0, reach + 12, 0.5)
                stone = pad - far / run - site.ground_in(corner[n] + far[:, None] / 12 * way) + off
                left.append(far[stone <= 2 * SHOVEL + TAPE].min(initial=reach + 12))
        assert max(left) <= reach + SHOVEL + 0.5


def test_the_grid_of_dig_and_fill_comes_to_the_subgrade_of_every_pad() -> None:
    for site in chosen(FRAMED, OPEN, SLAB):
        _, corner = set_out(site)
        subgrade = strings_in(site) - between(site.line("subgrade"), "", " below")
        strip = stripped_in(site)
        along, back = corner[1] - corner[0], corner[3] - corner[0]
        for row, column in itertools.product(range(5), range(5)):
            place = corner[0] + column / 4 * along + (1 - row / 4) * back
            dig = round(float(block(site.values, f"heat_{column + 1}_in")[row]), 1)
            stripped = float(site.ground_in([place])[0]) - strip
            assert stripped - dig == pytest.approx(subgrade, abs=SHOVEL * 2 + TAPE + 0.05)


def test_every_support_stands_at_its_place_with_its_top_level_with_the_others() -> None:
    for site in chosen(PIERS, BLOCKS):
        strings, top = strings_in(site), top_in(site)
        numbers = [int(text) for text in site.dug("no") if text]
        assert numbers == list(range(1, int(site.asked("support_count")) + 1))
        _, corner = set_out(site)
        along, back = (corner[k] - corner[0] for k in (1, 3))
        for line in range(len(numbers)):
            right, far = (inches(site.dug(key)[line]) / 12 for key in ("place", "back"))
            # From the building's corner, which stands as far inside as the sheet says.
            inside = [0.0, 0.0]
            if not site.line("building").startswith("as the outside"):
                inside[0] = between(site.line("building"), "", " inside the sides")
                inside[1] = between(site.line("building"), "the sides, ", " inside front")
            place = corner[0] + sum(
                (walk + off / 12) * run / np.linalg.norm(run)
                for walk, off, run in ((right, inside[0], along), (far, inside[1], back))
            )
            ground = float(site.ground_in([place])[0])
            assert ground + inches(site.dug("above")[line]) == pytest.approx(top, abs=2 * SHOVEL)
            bottom = ground - inches(site.dug("grade")[line])
            if site.kind == PIERS:
                low = strings - inches(site.dug("below")[line])
                assert low == pytest.approx(bottom, abs=2 * SHOVEL + TAPE)
            else:
                high = int(site.dug("below")[line].removesuffix(" high"))
                bed = between(site.line("trench"), "bed of stone ")
                stack = bed + high * site.asked("block_height_in")
                assert bottom + stack == pytest.approx(top, abs=2 * SHOVEL + 2 * TAPE)
            assert bottom < ground


def test_edges_of_a_slab_stand_in_undisturbed_ground_at_every_corner() -> None:
    for site in chosen(SLAB):
        strings = strings_in(site)
        # The slab is the building: its corners stand inside the pad's.
        _, corner = set_out(site)
        strip = stripped_in(site)
        below = site.asked("slab_below_in")
        for place, text in zip(corner, site.column("stake_edge"), strict=True):
            stripped = float(site.ground_in([place])[0]) - strip
            assert strings - inches(text) <= stripped - below + 2 * SHOVEL + TAPE
