"""Which module may read which: one way, and no circle."""

from __future__ import annotations

import ast
import graphlib
from collections.abc import Mapping
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
BUILDINGS = ("package", "template", "refill", "carry")
"""Of the file code, each of which may read those before it."""
OUTSIDE_PACKAGE = {"estimator.errors"}
"""All of the product that the code for any workbook may read."""


@cache
def imports() -> Mapping[str, frozenset[str]]:
    """By module, the modules of the project that it reads, wherever in it that is said."""
    paths = {_name(path): path for path in (ROOT / "estimator").rglob("*.py")}
    return {name: frozenset(_reads(path, paths)) - {name} for name, path in paths.items()}


def _name(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def _reads(path: Path, known: Mapping[str, Path]) -> set[str]:
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: a relative import"
            within = {f"{node.module}.{alias.name}" for alias in node.names}
            found |= within & known.keys() or {str(node.module)}
    return {name for name in found if name in known}


def _building(module: str) -> str:
    return module.removeprefix("estimator.workbook.").partition(".")[0]


def test_no_module_reads_itself_by_way_of_others() -> None:
    order = graphlib.TopologicalSorter(imports())
    try:
        order.prepare()
    except graphlib.CycleError as error:
        pytest.fail(" -> ".join(error.args[1]))


def test_the_file_code_stands_in_its_four_buildings() -> None:
    inside = {m for m in imports() if m.startswith("estimator.workbook.")}
    assert {_building(module) for module in inside} == set(BUILDINGS)


@pytest.mark.parametrize("building", BUILDINGS)
def test_no_building_reads_one_that_stands_after_it(building: str) -> None:
    later = BUILDINGS[BUILDINGS.index(building) + 1 :]
    climbing = {
        (module, other)
        for module, found in imports().items()
        if module.startswith(f"estimator.workbook.{building}.")
        for other in found
        if other.startswith("estimator.workbook.") and _building(other) in later
    }
    assert not climbing


def test_the_code_for_any_workbook_knows_nothing_of_the_product() -> None:
    package = {m: f for m, f in imports().items() if m.startswith("estimator.workbook.package.")}
    assert len(package) >= 10
    outside = {
        (module, other)
        for module, found in package.items()
        for other in found
        if not other.startswith("estimator.workbook.package") and other not in OUTSIDE_PACKAGE
    }
    assert not outside


@pytest.mark.parametrize("below", ["estimator.model", "estimator.solve"])
def test_rows_and_solvers_know_nothing_of_files(below: str) -> None:
    files = ("estimator.workbook", "estimator.live", "estimator.cli")
    climbing = {
        (module, other)
        for module, found in imports().items()
        if module.startswith(below)
        for other in found
        if other.startswith(files)
    }
    assert not climbing
