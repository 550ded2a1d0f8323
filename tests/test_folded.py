"""Folded groups of inputs: hidden, named in words that follow what is typed, never looked for."""

from __future__ import annotations

import io
from collections.abc import Iterator

import openpyxl
import pytest
from books import edited, refilled, value
from toy_model import toy_model

from estimator.engine import Model
from estimator.errors import RowError
from estimator.inputs import Field
from estimator.model import build_model
from estimator.rows import Section, Sheet
from estimator.vocabulary import Q
from estimator.workbook.package.parts import Package
from estimator.workbook.package.recalculate import recalculated
from estimator.workbook.template.folded import refuse_folded


def folded() -> Iterator[tuple[Sheet, Section]]:
    for sheet in build_model().sheets:
        for part in sheet.parts:
            if isinstance(part, Section) and part.folded:
                yield sheet, part


def words(data: bytes, key: str) -> str:
    """What stands beside the heading of the group that an input belongs to."""
    book = openpyxl.load_workbook(io.BytesIO(data), data_only=True)
    sheet, cell = book.defined_names[f"in_{key}"].attr_text.replace("$", "").split("!")
    first = book[sheet][cell.split(":")[0]]
    row = first.row
    while book[sheet].row_dimensions[row].hidden:
        row -= 1
    return str(book[sheet].cell(row, first.column).value)


def test_folded_lines_are_hidden_under_a_heading_and_nothing_else_is(demo_book: bytes) -> None:
    book = openpyxl.load_workbook(io.BytesIO(demo_book))
    wanted: dict[str, set[int]] = {}
    for sheet, part in folded():
        rows = [book.defined_names[f"in_{key}"].attr_text.rsplit("$", 1)[1] for key in part.folded]
        wanted.setdefault(sheet.name, set()).update(map(int, rows))
        assert book[sheet.name].row_dimensions[min(map(int, rows)) - 1].collapsed
    assert len(wanted) == 2
    for sheet in book.worksheets:
        hidden = {row for row, size in sheet.row_dimensions.items() if size.hidden}
        assert hidden == wanted.get(sheet.title, set()), sheet.title
        assert not hidden or not sheet.sheet_properties.outlinePr.summaryBelow


@pytest.mark.slow
def test_the_words_tell_what_is_typed(demo_book: bytes) -> None:
    assert "kerf 0.125 in; " in words(demo_book, "kerf_in")
    typed = {
        "in_kerf_in": 0.25,
        "in_site_priced": "no",
        ("in_fabric_used", 0): "no",
        ("in_overlap_in", 1): 18,
        ("in_trench_width_in", 0): "1 ft",
    }
    changed = refilled(edited(demo_book, typed)).data
    assert "kerf 0.25 in; " in words(changed, "kerf_in")
    assert words(changed, "site_priced").startswith("in the price: no; ")
    said = words(changed, "overlap_in")
    assert "fabric: by option" in said
    assert "overlap 12 to 18 in" in said
    assert "trench by option wide" in words(changed, "trench_width_in")
    assert value(changed, "trench_width_in") == 12


@pytest.mark.slow
def test_an_entry_that_cannot_be_read_is_told_beside_the_heading(demo_book: bytes) -> None:
    package = Package.open(edited(demo_book, {"in_kerf_in": "thin"}), label="book.xlsx")
    fresh = recalculated(package)
    assert fresh is not None
    assert words(fresh.to_bytes(), "kerf_in").startswith(
        "An entry here can't be read: open the group. "
    )


def job_with(folded: dict[str, str], mend: str = "") -> Model:
    """A model with a folded group of one input, and a row that may link to it."""
    sheet = Sheet("Extra", "Extra", "More.")
    sheet.section("Typed", folded=folded)
    sheet.typed(Field("extra_in", "Extra", "in", "length", 1, 0, 12), scope="job")
    sheet.section("Worked out")

    @sheet.row("Twice", "in", scope="job", mend=mend)
    def twice_in(extra_in: Q) -> Q:
        return 2 * extra_in

    return toy_model(sheet)


@pytest.mark.parametrize(
    ("words", "why"),
    [
        ({"other_in": "extra #"}, "has words for its inputs"),
        ({"extra_in": "extra"}, "have one # each"),
        ({"extra_in": "# and #"}, "have one # each"),
    ],
)
def test_a_folded_group_that_does_not_say_what_it_hides_is_refused(
    words: dict[str, str], why: str
) -> None:
    with pytest.raises(RowError, match=why):
        refuse_folded(job_with(words))


def test_a_folded_group_that_a_link_leads_into_is_refused() -> None:
    with pytest.raises(RowError, match="a link leads to extra_in"):
        refuse_folded(job_with({"extra_in": "extra #"}, mend="extra_in"))
    refuse_folded(job_with({"extra_in": "extra #"}))
