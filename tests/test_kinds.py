"""Kinds of carrying a building: the table, and the rows that choose by it."""

from __future__ import annotations

import shutil
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from jobs import at, changed, demo, solved

from estimator.engine import Model
from estimator.errors import RowError
from estimator.evaluation import evaluate
from estimator.expression import as_node, quantity
from estimator.formula import emit
from estimator.inputs import Field, TypedJob
from estimator.metric import metric
from estimator.model import build_model
from estimator.model.kinds import (
    BLOCKS,
    FRAMED,
    KIND_NAMES,
    OPEN,
    PADS,
    PIERS,
    SUPPORTS,
    by_kind,
    is_kind,
    kinds_that,
    where_kind,
)
from estimator.rows import OPTION_KEYS, USED, Sheet
from estimator.typed_job import default_cells, demo_job, load_job, read_inputs
from estimator.values import as_values
from estimator.vocabulary import Q
from estimator.workbook.refill.empty_rows import has_gaps

ROOM = len(OPTION_KEYS) - 1
"""So many kinds are tried together, so that an option stays blank beside them."""
ROOT = Path(__file__).resolve().parent.parent


class Plain:
    """Every quantity at a cell of its own name."""

    def cell(self, key: str) -> str:
        return key

    block = options = cell


LYING, STANDING = (FRAMED, OPEN), (PIERS, BLOCKS)
THE_FOUR = (*LYING, *STANDING)


@pytest.fixture
def four(monkeypatch: pytest.MonkeyPatch) -> None:
    """The kinds of today alone, so that one more leaves the tests of choosing as they are."""
    monkeypatch.setattr("estimator.model.kinds.KIND_NAMES", THE_FOUR)


def of_the_four(names: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(name for name in names if name in THE_FOUR)


def formula(value: Q) -> str:
    return emit(as_node(value), Plain())


KIND = quantity("kind", kind="text", axis=None, by_option=True)
STONE = quantity("stone_yd3", kind="number", axis=None, by_option=True)
HOLES = quantity("hole_yd3", kind="number", axis=None, by_option=True)


def test_kinds_are_found_by_what_the_table_says_of_them() -> None:
    assert kinds_that(carries="pad") == PADS
    assert of_the_four(PADS) == LYING
    assert kinds_that(carries="supports") == SUPPORTS
    assert of_the_four(SUPPORTS) == STANDING
    assert of_the_four(kinds_that(edge="timbers")) == (FRAMED,)
    assert of_the_four(kinds_that(stone=True)) == (FRAMED, OPEN, BLOCKS)
    assert of_the_four(kinds_that(cast=True, support="pier")) == (PIERS,)


@pytest.mark.usefixtures("four")
def test_each_kind_has_its_own_quantity() -> None:
    kinds = as_values(np.array([["framed pad"], ["PIERS"], ["blocks"], ["open pad"]]))
    stone = as_values(np.array([[1.0], [2.0], [3.0], [4.0]]))
    found = by_kind(kinds, {LYING: stone, PIERS: 0, BLOCKS: stone * 10})
    assert found.ravel().tolist() == [1, 0, 30, 4]
    scenarios = stone + np.arange(5.0).reshape(5, 1, 1)
    many = by_kind(kinds, {LYING: scenarios, PIERS: 0, BLOCKS: scenarios * 10})
    assert many.shape == (5, 4, 1)
    assert many[2].ravel().tolist() == [3, 0, 50, 6]
    named = by_kind(kinds, {FRAMED: "timbers", OPEN: "slopes", STANDING: ""})
    assert named.ravel().tolist() == ["timbers", "", "", "slopes"]


@pytest.mark.usefixtures("four")
def test_a_kind_that_is_blank_has_nothing() -> None:
    blank = as_values("")
    assert by_kind(blank, {LYING: 3.0, PIERS: 2.0, BLOCKS: 0}).item() == 0
    assert by_kind(blank, {LYING: "a", PIERS: "b", BLOCKS: ""}).item() == ""
    assert where_kind(blank, LYING, 3.0).item() == 0


@pytest.mark.usefixtures("four")
def test_the_formula_asks_once_for_kinds_that_share_a_quantity() -> None:
    assert formula(by_kind(KIND, {PIERS: HOLES, BLOCKS: 0, LYING: 0})) == (
        'IF(kind="piers",hole_yd3,0)'
    )
    text = formula(by_kind(KIND, {FRAMED: STONE * 2, OPEN: STONE, PIERS: HOLES, BLOCKS: STONE * 2}))
    assert text == ('IF(kind="open pad",stone_yd3,IF(kind="piers",hole_yd3,stone_yd3*2))')
    assert formula(is_kind(KIND, LYING)) == 'OR(kind="framed pad",kind="open pad")'


@pytest.mark.usefixtures("four")
def test_a_formula_for_four_kinds_is_short() -> None:
    cases = {FRAMED: STONE, OPEN: STONE + 1, PIERS: HOLES, BLOCKS: 0}
    assert len(formula(by_kind(KIND, cases))) <= 123


@pytest.mark.usefixtures("four")
@pytest.mark.parametrize(
    ("cases", "words"),
    [
        ({LYING: 1, PIERS: 2}, "the kind 'blocks' has no case"),
        ({LYING: 1, STANDING: 2, PIERS: 3}, "the kind 'piers' has two cases"),
        ({LYING: 1, STANDING: 2, "stilts": 3}, "there is no kind 'stilts'"),
    ],
)
def test_cases_that_do_not_fit_the_kinds_are_refused_with_the_row(
    cases: dict[Any, Any], words: str
) -> None:
    sheet = Sheet("Yard", "Yard", "For trying rows.")
    sheet.section("Options")
    sheet.typed(Field("option_kind", "Kind", kind="text", needed=False), scope="option")

    @sheet.row("Tried")
    def tried(option_kind: Q) -> Q:
        return by_kind(option_kind, cases)

    with pytest.raises(RowError, match=words) as caught:
        Model([sheet], [])
    assert "Yard.tried" in str(caught.value)


def test_no_row_can_ask_for_no_kind() -> None:
    with pytest.raises(RowError, match="no kind is named"):
        is_kind(KIND, kinds_that(carries="balloon"))


SCREW_KIND = """    Kind(
        "screw piles",
        "steel screws with beams",
        carries="supports",
        edge="",
        support="screw",
        cast=False,
        loose=False,
        moves="with effort, off its beams",
        inspected="piles before beams",
        tools="driver for the piles",
    ),
"""
RAFT_KIND = """    Kind(
        "raft",
        "a slab without thickened edges",
        carries="floor",
        edge="slopes",
        support="",
        cast=True,
        loose=True,
        moves="no",
        inspected="forms and stone before concrete",
        tools="screed and float",
    ),
"""
RAFT_EDITS = {
    "model/kinds.py": [("\n)\n\n\ndef kinds_that", f"\n{RAFT_KIND})\n\n\ndef kinds_that")],
    "model/hazards.py": [
        (
            '}\n"""By kind and hazard."""',
            '    "raft": dict.fromkeys((h.key for h in TABLE), Answered("concrete")),\n'
            '}\n"""By kind and hazard."""',
        ),
    ],
}
"""What another kind takes that carries the floor itself, by file: at most six."""
SCREW_EDITS = {
    "model/kinds.py": [("\n)\n\n\ndef kinds_that", f"\n{SCREW_KIND})\n\n\ndef kinds_that")],
    "model/hazards.py": [
        (
            '}\n"""By kind and hazard."""',
            '    "screw piles": dict.fromkeys((h.key for h in TABLE), Answered("piles")),\n'
            '}\n"""By kind and hazard."""',
        ),
    ],
}
BUILDS = "from estimator.model import build_model; from estimator.metric import metric"
SCREW_TABLE = """
from estimator.contributions import Fixed, OfKind
from estimator.model.footings import FOOTINGS
from estimator.vocabulary import Q

FOOTINGS.section("Screw piles")


@FOOTINGS.row("Depth of a screw", "in")
def pile_depth_in(frost_depth_in: Q) -> Q:
    return frost_depth_in + 12


NONE = ("support_own_lb", "support_cover_lb", "dug_psf", "hole_yd3", "backfill_yd3")
LOOSE = ("shallow_places", "base_side_lb", "base_slide_lb")
FOOTINGS.adds(
    OfKind(
        key="screws",
        label="Screw piles",
        kinds=("screw piles",),
        rows=dict.fromkeys(NONE + LOOSE, 0)
        | dict.fromkeys(("pier_depth_in", "support_dig_in"), "pile_depth_in")
        | {"support_ft2": 0.5, "field_trench": Fixed("piles, plumb")},
    )
)
"""
SCREW_JOINED = [
    ("    prices,\n", "    prices,\n    screws,\n"),
    ("OF_KINDS = (", "OF_KINDS = (screws, "),
]
RAFT_SAYS = """
import numpy as np
from estimator.evaluation import evaluate
from estimator.inputs import TypedJob
from estimator.typed_job import default_cells, demo_job, load_job, read_inputs
from estimator.metric import metric
from estimator.model import build_model
for model in (build_model(), metric(build_model())):
    job = load_job(demo_job(model), model=model)
    cells = dict(job.cells) | {("option_kind", 4): "raft", ("siting_wanted", 0): "no"}
    cells["door_way", 0] = "none"
    for (key, place), value in default_cells(model, options=True).items():
        if place == 4 and key != "option_kind" and model.quantities[key].by_option:
            cells[key, place] = value
    values = evaluate(model, read_inputs(model, TypedJob(cells, job.where)))
    for key, value in values.items():
        array = np.asarray(value)
        if array.dtype.kind == "f" and model.quantities[key].by_option and len(array) > 1:
            assert np.isfinite(array[..., 4, :]).all(), key
    at = {k: float(np.asarray(values[model.name(k)])[4, 0]) for k in (
        "joist_count", "rim_count", "beam_boards", "floor_ft2", "skid_hours", "floor_dead_lb",
        "concrete_yd3", "total_cost")}
    none = ("joist_count", "rim_count", "beam_boards", "floor_ft2", "skid_hours", "floor_dead_lb")
    assert not any(at[k] for k in none), at
    assert at["concrete_yd3"] > 0 and at["total_cost"] > 0, at
"""


def _changed_sources(folder: Path, edits: Mapping[str, list[tuple[str, str]]]) -> Path:
    """A copy of the sources with these changes by file."""
    shutil.copytree(ROOT / "estimator", folder / "estimator")
    (folder / "shared").symlink_to(ROOT / "shared")
    for name, changes in edits.items():
        path = folder / "estimator" / name
        text = path.read_text(encoding="utf-8")
        for old, new in changes:
            assert text.count(old) == 1, (name, old)
            text = text.replace(old, new)
        path.write_text(text, encoding="utf-8")
    return folder


def _run(folder: Path, code: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", code],
        cwd=folder,
        capture_output=True,
        text=True,
        check=False,
        env={"PYTHONPATH": str(folder)},
    )


@pytest.mark.parametrize(
    ("files", "words"),
    [
        (["model/kinds.py"], "the kind 'screw piles' has no answer to the hazard 'Bearing'"),
        (
            ["model/kinds.py", "model/hazards.py"],
            "Footings.base_side_lb: the kind 'screw piles' has no case",
        ),
    ],
)
def test_a_kind_that_is_only_named_is_refused_with_the_first_hazard_or_row_that_lacks_it(
    tmp_path: Path, files: list[str], words: str
) -> None:
    folder = _changed_sources(tmp_path, {name: SCREW_EDITS[name] for name in files})
    ran = _run(folder, "from estimator.model import build_model; build_model()")
    assert ran.returncode != 0
    assert words in ran.stderr


def test_a_kind_on_supports_of_its_own_takes_four_files_one_of_them_its_own(
    tmp_path: Path,
) -> None:
    folder = _changed_sources(tmp_path, SCREW_EDITS | {"model/__init__.py": SCREW_JOINED})
    own = folder / "estimator" / "model" / "screws.py"
    own.write_text(SCREW_TABLE, encoding="utf-8")
    says = "build_model().expressions['support_dig_in'], metric(build_model())"
    ran = _run(folder, f"{BUILDS}; print({says})")
    assert ran.returncode == 0, ran.stderr


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ('"support_own_lbs": 0', "ofkind 'screws': no row 'support_own_lbs' takes more cases"),
        ('"dug_psf": "pile_depth_in"', "its dug_psf 'pile_depth_in' is in 'in'"),
        ('"dug_psf": "pile_depths"', "unknown quantity 'pile_depths' for dug_psf"),
    ],
)
def test_what_the_table_of_a_kind_says_of_no_row_or_in_another_unit_is_refused(
    tmp_path: Path, wrong: str, words: str
) -> None:
    folder = _changed_sources(tmp_path, SCREW_EDITS | {"model/__init__.py": SCREW_JOINED})
    own = folder / "estimator" / "model" / "screws.py"
    own.write_text(SCREW_TABLE.replace('"support_ft2": 0.5', wrong), encoding="utf-8")
    ran = _run(folder, f"{BUILDS}; build_model()")
    assert ran.returncode != 0
    assert words in ran.stderr


@pytest.mark.slow
def test_a_kind_that_carries_the_floor_itself_takes_few_files_and_no_joists(tmp_path: Path) -> None:
    assert len(RAFT_EDITS) <= 6
    ran = _run(_changed_sources(tmp_path, RAFT_EDITS), RAFT_SAYS)
    assert ran.returncode == 0, ran.stderr


def test_options_offer_the_kinds_of_the_table() -> None:
    entry = build_model().quantities["option_kind"].field
    assert entry is not None
    assert entry.choices == KIND_NAMES
    assert all(name in entry.note for name in KIND_NAMES)


def _with_defaults(model: Model, typed: TypedJob) -> TypedJob:
    """The job with one option of each kind, the last ones where it has no room for all, every
    size of it as a new workbook has it."""
    kinds = KIND_NAMES[-ROOM:]
    cells = {c: v for c, v in typed.cells.items() if not model.quantities[c[0]].by_option}
    for (key, place), value in default_cells(model, options=True).items():
        if place < len(kinds) and model.quantities[key].by_option:
            cells[key, place] = value
    return TypedJob(
        cells | {("option_kind", place): kind for place, kind in enumerate(kinds)},
        typed.where,
    )


def _with_the_rest(model: Model, typed: TypedJob) -> TypedJob:
    """The job with an option more for each kind that it lacks, sized as in a new workbook."""
    there = [kind for (key, _), kind in typed.cells.items() if key == "option_kind"]
    rest = [kind for kind in KIND_NAMES if kind not in there]
    places = dict(zip(range(len(there), ROOM), rest, strict=False))
    cells = {
        (key, place): value
        for (key, place), value in default_cells(model, options=True).items()
        if place in places and model.quantities[key].by_option
    }
    kinds = {("option_kind", place): kind for place, kind in places.items()}
    return TypedJob(dict(typed.cells) | cells | kinds, typed.where)


@pytest.mark.parametrize("sizes", ["of the demo", "of a new workbook"])
@pytest.mark.parametrize("measure", ["feet", "metric"])
def test_every_row_is_finite_for_every_kind_and_quiet_for_a_blank_one(
    measure: str, sizes: str
) -> None:
    model = build_model() if measure == "feet" else metric(build_model())
    job = changed(load_job(demo_job(model), model=model), siting_wanted="no")
    job = _with_defaults(model, job) if sizes == "of a new workbook" else _with_the_rest(model, job)
    values = evaluate(model, read_inputs(model, job))
    used = np.asarray(values["option_used"])[:, 0] > 0
    kinds = np.asarray(values["option_kind"])[:, 0]
    assert len(set(kinds[used])) == min(len(KIND_NAMES), ROOM)
    assert set(kinds[~used]) == {""}
    for key, value in values.items():
        item, array = model.quantities[key], np.asarray(value)
        if item.by_option and item.role != "input" and key != USED:
            array = np.broadcast_to(array, (len(OPTION_KEYS), array.shape[-1]))
            blank = array[~used]
            quiet = blank == "" if array.dtype.kind == "U" else np.isnan(blank)
            assert quiet.all() or item.role == "mark", key
            array = array[used]
        if array.dtype.kind == "f":
            blank = np.isnan(array) & (item.role == "solved" and has_gaps(model, item))
            assert (np.isfinite(array) | blank).all(), key


def test_every_kind_presses_on_the_soil_with_the_weight_of_the_building() -> None:
    values = solved(changed(demo(), siting_wanted="no"))
    for option, kind in enumerate(np.asarray(values["option_kind"])[:, 0]):
        if kind:
            pressure = at(values, "soil_psf", option)
            footprint = at(values, "building_length_ft") * at(values, "building_width_ft")
            spread = at(values, "dead_load_lb", option) / footprint
            assert spread < pressure < 20 * at(values, "bearing_psf", option), kind
