"""Pages that are carried away, read back from the PDFs: how many, how full, in which letters."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from jobs import changed, demo, one_option
from office import needs_office
from pdf_pages import fonts, pages, sizes_pt, texts

from estimator import cli
from estimator.engine import Model
from estimator.metric import suited
from estimator.model import build_model
from estimator.rows import Table
from estimator.workbook.package.parts import Package, read_file
from estimator.workbook.refill.file import create_workbook
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.printed import SMALLEST_PT
from estimator.workbook.refill.refill import check_book

ERRORS = ("#NAME?", "#VALUE!", "#REF!", "#DIV/0!", "#N/A", "Err:5", "###", "More rows are in use")
LETTER_PT, A4_PT = (612, 792), (595, 842)
TITLES = {
    "lot": ("Field Sheet: stakes", "Pictures: the sides"),
    "yard": ("Order",),
    "saw": ("Cut Plan: every board", "Sheet Layout: floor sheets", "Floor Frame: marks"),
    "customer": ("Quote for the base of an outbuilding",),
}
GO_ON = ("At the saw: boards of the chosen option",)
"""Long tables: their own headings begin the pages on which they go on."""
LEAST_FILL = 0.25
LEAST_GAP = 0.18
"""Between two words, in heights of their line: a space is wider, and so is what parts columns."""
PIERS, LONG, FLOOR = "piers on 30 supports", "a floor of 40 ft", "a slab"
PRINTS = {
    ("the demo", "lot"): 3,
    ("the demo", "yard"): 2,
    ("the demo", "saw"): 3,
    ("the demo", "customer"): 1,
    ("the metric demo", "lot"): 3,
    ("the metric demo", "yard"): 2,
    ("the metric demo", "saw"): 3,
    (PIERS, "lot"): 3,
    (LONG, "saw"): 6,
    (FLOOR, "saw"): 1,
}
"""Pages that a set of a job has at most; those of lot, yard and saw of a demo are eight."""


@pytest.fixture(scope="module")
def books(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Any:
    """The workbook of a job by its name, made once."""
    jobs = {
        PIERS: lambda: one_option("piers", support_rows=5, supports_per_row=6),
        FLOOR: lambda: one_option("slab"),
        LONG: lambda: changed(demo(), building_length_ft=40, building_width_ft=16),
    }
    fixtures = {"the demo": "demo_book", "the metric demo": "metric_demo_book"}
    folder = tmp_path_factory.mktemp("carried")

    @cache
    def made(job: str) -> Path:
        path = folder / f"{job}.xlsx"
        if job in fixtures:
            path.write_bytes(request.getfixturevalue(fixtures[job]))
        else:
            request.getfixturevalue("fresh_template")
            create_workbook(path, build_model(), jobs[job]())
        return path

    return made


def held(path: Path) -> tuple[Model, Mapping[str, Any]]:
    """The model of a workbook, and its numbers and texts."""
    port = FilePort(Package.open(read_file(path), label=path.name))
    model = suited(build_model(), port.ranges())
    return model, check_book(port, model).values


def bare(text: str) -> str:
    """A text without what sets its words and lines apart."""
    return re.sub(r"\s", "", text)


def told(model: Model, values: Mapping[str, Any], reader: str) -> set[str]:
    """Every text that rows and tables on the sheets of a reader hold."""
    found: set[str] = set()
    for sheet in model.sheets:
        by = sheet.shows.told_by
        carried = sheet.shows.reader == reader and (not by or np.any(values[by]))
        parts = (part for part in sheet.parts if carried)
        for part in parts:
            shows = getattr(part, "shows", None)
            if shows is not None and (shows.workings or shows.headed):  # these shrink to fit
                continue
            for key in getattr(part, "keys", ()):
                item = model.quantities[key]
                aside = isinstance(part, Table) and key in part.shows.aside
                if item.kind == "text" and not item.by_option and not aside:
                    found.update(map(str, np.ravel(np.asarray(values[key], dtype=object))))
    return {text for text in found if text.strip()}


@pytest.fixture(scope="module")
def printed(books: Any, tmp_path_factory: pytest.TempPathFactory) -> Any:
    """The workbook of a job, which stays as it is, and the pages of a reader, printed once."""
    folder = tmp_path_factory.mktemp("pages")

    @cache
    def made(job: str, reader: str) -> tuple[Path, Path]:
        book, target = books(job), folder / f"{job}-{reader}.pdf"
        before = book.read_bytes()
        assert cli.main(["print", str(book), "--for", reader, "-o", str(target)]) == 0
        assert book.read_bytes() == before
        return book, target

    return made


@pytest.mark.slow
@needs_office
@pytest.mark.parametrize(("job", "reader"), PRINTS)
def test_carried_pages_are_few_full_and_whole_in_letters_that_can_be_read(
    printed: Any, job: str, reader: str
) -> None:
    book, target = printed(job, reader)
    shown, read = texts(target), pages(target)
    assert len(shown) <= PRINTS[job, reader]
    paper = A4_PT if "metric" in job else LETTER_PT
    bare_of_charts = "metric" not in job  # the template that tests build in feet has none
    for page, text in zip(read, shown, strict=True):
        assert sorted((page.wide_pt, page.high_pt)) == pytest.approx(paper, abs=1)
        if not (bare_of_charts and text.strip().startswith("Pictures")):
            assert page.fill >= LEAST_FILL
        assert page.right_pt <= page.wide_pt
        assert page.least_gap >= LEAST_GAP
    assert min(sizes_pt(target)) >= SMALLEST_PT - 0.01
    assert fonts(target) == {"LiberationSans"}
    model, values = held(book)
    starts = [page.strip().splitlines()[0].strip() for page in shown]
    assert all(start.startswith((*TITLES[reader], *GO_ON)) for start in starts)
    assert starts[0].startswith(TITLES[reader])
    titles = TITLES[reader][:1] if job == FLOOR else TITLES[reader]  # its floor has no frame
    assert all(any(start.startswith(title) for start in starts) for title in titles)
    name, place, option = (
        bare(str(np.ravel(np.asarray(values[key], dtype=object))[0]))
        for key in ("job_name", "job_place", "field_title")
    )
    for number, page in enumerate(shown, 1):
        foot = bare("".join(page.strip().splitlines()[-2:]))
        assert name in foot
        assert place in foot
        assert option in foot
        assert re.search(r"Estimateof\d{4}-\d\d-\d\d", foot)
        assert f"Page{number}of{len(shown)}" in foot
        assert not [word for word in ERRORS if word in page]
    drawn = bare("".join(texts(target, "-raw")))
    if reader != "yard":  # the rest of its sheet is for those who order, not for a supplier
        assert not [text for text in told(model, values, reader) if bare(text) not in drawn]


@pytest.mark.slow
@needs_office
def test_every_piece_of_a_large_floor_is_carried_to_the_saw(printed: Any) -> None:
    book, target = printed(LONG, "saw")
    _, values = held(book)
    pieces = int(np.count_nonzero(np.ravel(values["laid_sheet"])))
    part = next(p for s in build_model().sheets for p in s.parts if "laid_sheet" in _keys(p))
    assert isinstance(part, Table)
    assert pieces > part.shows.printed_rows  # of the sheet itself
    read = [page for page in texts(target) if "Pieces in the order of laying" in page]
    lines = [int(n) for page in read for n in re.findall(r"(?m)^ *(\d+) +\d+ +.* / ", page)]
    assert lines == list(range(1, pieces + 1))


def _keys(part: object) -> Collection[str]:
    """Keys of a part of a sheet, if it has any."""
    keys: Collection[str] = getattr(part, "keys", ())
    return keys


@pytest.mark.slow
@needs_office
@pytest.mark.parametrize("job", ["the demo", "the metric demo"])
def test_each_load_is_ordered_on_pages_without_the_prices_of_other_loads(
    printed: Any, job: str
) -> None:
    book, target = printed(job, "yard")
    _, values = held(book)

    def column(key: str) -> list[Any]:
        return list(np.ravel(np.asarray(values[key], dtype=object)))

    names = column("supplier_name")
    loads = [names[int(place) - 1] for place in column("load_place") if place]
    shown = texts(target)
    assert loads
    for page in shown:
        assert sum(f"{name}: delivery" in page for name in loads) <= 1
        for text in ("buy_tip", "buy_hours", "buy_alike"):
            assert bare(str(column(text)[0])) in bare(page)
    # Lines end in what they cost; those of suppliers alone repeat the sum of theirs.
    costs = [
        float(found[1].replace(",", ""))
        for page in shown
        for found in re.finditer(r"([\d,]+\.\d\d) +\[", page)
    ]
    lines = [c for c, p in zip(column("line_cost"), column("line_place"), strict=True) if p]
    assert sorted(costs) == pytest.approx(sorted(lines), abs=0.001)
    assert sum(costs) == pytest.approx(column("buy_material")[0] + column("buy_fees")[0], abs=1e-6)
    heads = [c for c, o in zip(column("line_cost"), column("line_order"), strict=True) if o]
    assert sum(heads) == pytest.approx(sum(costs), abs=1e-6)
