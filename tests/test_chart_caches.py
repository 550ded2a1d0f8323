"""Charts of a person's own that plot our cells: what they keep of these follows a refill."""

from __future__ import annotations

import re
from typing import Any

import pytest
from books import edited, refilled, spot, value
from lxml import etree
from rich_workbooks import change_part, parts_of
from test_refill import with_own_sheet

from estimator.workbook.package.a1 import column_letters
from estimator.workbook.package.chart_caches import with_chart_caches
from estimator.workbook.package.parts import Package

pytestmark = pytest.mark.slow
CHART = "xl/charts/chart901.xml"


@pytest.fixture(scope="module")
def charted(demo_book: bytes) -> bytes:
    """The demo with a chart of the options' totals under their names, its caches of long ago."""
    data = with_own_sheet(demo_book)
    totals, headings = _row(data, "total_cost"), _row(data, "in_option_name")

    def change(content: bytes) -> bytes:
        text = content.decode()
        assert "Photos!$A$1:$A$3" in text
        cache = '<c:numCache><c:formatCode>General</c:formatCode><c:ptCount val="3"/></c:numCache>'
        text = re.sub(r"<c:numCache>.*?</c:numCache>", cache, text)
        names = (
            f'<c:cat><c:strRef><c:f>{headings}</c:f><c:strCache><c:ptCount val="3"/>'
            '<c:pt idx="0"><c:v>an old name</c:v></c:pt></c:strCache></c:strRef></c:cat><c:val>'
        )
        return text.replace("Photos!$A$1:$A$3", totals).replace("<c:val>", names).encode()

    return change_part(data, CHART, change)


def _row(data: bytes, name: str) -> str:
    sheet, cell = spot(data, (name, 0))
    row = re.sub("[A-Z]", "", cell)
    last = column_letters(ord(cell[0]) - 64 + 2)
    return f"'{sheet}'!${cell[0]}${row}:${last}${row}"


def _points(data: bytes, kind: str) -> list[str]:
    root: Any = etree.fromstring(parts_of(data)[CHART])
    return [p.findtext("{*}v") for p in root.find(f".//{{*}}{kind}").iterfind("{*}pt")]


def test_a_chart_keeps_the_numbers_that_its_cells_show_after_a_refill(charted: bytes) -> None:
    done = refilled(edited(charted, {"in_building_length_ft": "14 ft"})).data
    assert [float(p) for p in _points(done, "numCache")] == [
        value(done, ("total_cost", option)) for option in range(3)
    ]
    assert _points(done, "strCache") == [value(done, ("in_option_name", o)) for o in range(3)]
    assert refilled(done).data == done


def test_nothing_in_a_chart_but_its_caches_changes(charted: bytes) -> None:
    def without(data: bytes) -> bytes:
        root: Any = etree.fromstring(parts_of(data)[CHART])
        for cache in root.iter("{*}numCache", "{*}strCache"):
            for point in list(cache.iterfind("{*}pt")):
                cache.remove(point)
        text: bytes = etree.tostring(root, method="c14n")
        return text

    done = refilled(charted).data
    assert parts_of(done)[CHART] != parts_of(charted)[CHART]
    assert without(done) == without(charted)
    before, after = parts_of(charted), parts_of(done)
    others = [n for n in before if not n.startswith("xl/worksheets/sheet") and n != CHART]
    assert [n for n in others if before[n] != after[n]] == []


def test_a_chart_whose_caches_agree_keeps_its_bytes(charted: bytes) -> None:
    done = Package.open(refilled(charted).data)
    assert with_chart_caches(done) is done


@pytest.mark.parametrize("reference", ["[1]Other!$A$1:$A$3", "totals", "Gone!$A$1:$A$3"])
def test_caches_of_cells_elsewhere_are_left_alone(charted: bytes, reference: str) -> None:
    old = _row(charted, "total_cost").encode()
    data = change_part(charted, CHART, lambda c: c.replace(old, reference.encode()))
    changed = with_chart_caches(Package.open(data)).read(CHART)
    assert b"<c:v>an old name" not in changed
    root: Any = etree.fromstring(changed)
    assert root.find(".//{*}numCache").findall("{*}pt") == []
