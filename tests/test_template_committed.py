"""What the repository says of the templates that the project ships is what they are."""

from __future__ import annotations

import io
import sys
import zipfile
from functools import cache
from pathlib import Path

import numpy as np
import planters
import pytest
from books import spot
from toy_model import toy_model

from estimator.rows import Sheet
from estimator.vocabulary import Q
from estimator.workbook.package.a1 import address
from estimator.workbook.package.cells import Formula, apply, formula_cells
from estimator.workbook.package.parts import Package
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.template import shipped
from estimator.workbook.template.build import template_bytes
from estimator.workbook.template.shipped import DESCRIBED, METRIC_TEMPLATE, TEMPLATE
from estimator.workbook.template.shipped_formulas import LISTED, Shipped

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT / "scripts"))

from describe_template import checksum, describe  # noqa: E402

BOTH = pytest.mark.parametrize("path", [TEMPLATE, METRIC_TEMPLATE], ids=["feet", "metres"])


@cache
def built(path: Path) -> bytes:
    """What the script that builds the templates would write."""
    return shipped.built(metric=path == METRIC_TEMPLATE)


def parts(data: bytes) -> dict[str, bytes]:
    """Every part of a file, unpacked: how small it is packed is up to the machine's zlib."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


@BOTH
def test_the_description_in_the_repository_is_of_what_the_script_builds(path: Path) -> None:
    committed = path.with_suffix(DESCRIBED).read_text(encoding="utf-8").splitlines()
    fresh = describe(built(path)).splitlines()
    cure = "Run python scripts/build_templates.py and commit the descriptions."
    known = set(committed)
    differing = [line for line in fresh[1:] if line not in known]
    assert differing == [], cure
    assert committed == fresh, cure


@BOTH
def test_the_template_in_use_is_what_the_script_builds(path: Path) -> None:
    used = shipped.current(path, metric=path == METRIC_TEMPLATE).read_bytes()
    fresh = built(path)
    assert list(parts(used)) == list(parts(fresh))
    assert checksum(used) == checksum(fresh), "Run python scripts/build_templates.py."


@BOTH
def test_the_list_beside_a_template_says_what_formulas_and_names_it_has(path: Path) -> None:
    template = shipped.current(path, metric=path == METRIC_TEMPLATE)
    known, data = shipped.shipped(template), template.read_bytes()
    package = Package.open(data, label=path.name)
    texts: dict[str, dict[str, str | None]] = {}
    for sheet, row, column, content in formula_cells(package):
        texts.setdefault(sheet, {})[address(row, column)] = content.formula
    assert {sheet: cells for sheet, cells in known.formulas.items() if cells} == texts
    assert known.ranges == FilePort(package).ranges()
    assert Shipped.read(template.with_suffix(LISTED).read_bytes(), data) == known
    assert known == Shipped.of(data, path.name)


def test_a_list_of_another_template_or_of_which_a_piece_is_gone_is_made_anew(
    tmp_path: Path,
) -> None:
    template = tmp_path / TEMPLATE.name
    beside = template.with_suffix(LISTED)
    package = Package.open(planters.planted(), label=template.name)
    template.write_bytes(package.to_bytes())
    first = shipped.shipped(template)
    whole = beside.read_bytes()
    beside.write_bytes(whole[:-1])
    shipped._shipped.cache_clear()
    assert shipped.shipped(template) == first
    assert beside.read_bytes() == whole
    sheet, place = spot(package, ("volume_ft3", 0))
    template.write_bytes(apply(package, {(sheet, place): Formula("1<2&3")}))
    second = shipped.shipped(template)
    assert second.formula(sheet, place) == "1<2&3" != first.formula(sheet, place)
    assert beside.read_bytes() != whole
    assert {path.name for path in tmp_path.iterdir()} == {template.name, beside.name}


def test_a_template_is_built_where_it_is_missing_or_was_built_for_another_description(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[bool] = []

    def build(*, metric: bool) -> bytes:
        asked.append(metric)
        return TEMPLATE.read_bytes()

    monkeypatch.setattr(shipped, "built", build)
    path = tmp_path / TEMPLATE.name
    text = path.with_suffix(DESCRIBED)
    text.write_text("one\n== Start\n", encoding="utf-8")
    assert shipped.current(path, metric=True) == path
    assert asked == [True]
    assert checksum(path.read_bytes()) == checksum(TEMPLATE.read_bytes())
    shipped.current(path, metric=True)
    assert asked == [True], "it stands"
    text.write_text("two\n== Start\n", encoding="utf-8")
    shipped.current(path, metric=False)
    assert asked == [True, False]
    assert sorted(p.name for p in tmp_path.iterdir()) == [text.name, path.name]


def test_a_row_that_comes_in_between_changes_its_own_lines_of_the_description() -> None:
    def described(*, more: bool) -> list[str]:
        added = Sheet("Added", "Added", "Two rows, or three.")
        added.section("Rows")

        @added.row("First", fmt="0")
        def first_no(cost_usd: Q) -> Q:
            return cost_usd + 1

        if more:

            @added.row("Between", fmt="0")
            def between_no(first_no: Q) -> Q:
                return np.where(first_no > 1, 1, 0)

        @added.row("Last", fmt="0")
        def last_no(first_no: Q) -> Q:
            return first_no + 2

        return describe(template_bytes(toy_model(added))).splitlines()

    few, many = described(more=False), described(more=True)
    new = [line for line in many[1:] if line not in few]
    assert [line for line in few[1:] if line not in many] == []
    assert len(new) <= 4
    assert any("between_no" in line for line in new)
    assert any("first_no" in line for line in new)
