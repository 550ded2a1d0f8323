"""The reference tables: every row has its source, bad rows are named, look-ups list choices."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest

from estimator.errors import FileError, InputError
from estimator.model import build_model
from estimator.reference import (
    FOLDER,
    HOW,
    design_values,
    dressed_size,
    find,
    load,
    rule,
    size_factor,
    value,
)

TABLES = sorted(p.stem for p in FOLDER.glob("*.csv"))
KEYS = {
    "adjustment_factors": ("factor", "condition", "property"),
    "concrete": ("item", "size", "property"),
    "design_values": ("species", "grade", "size_class", "property"),
    "dressed_sizes": ("nominal", "condition"),
    "fasteners": ("connection", "size", "property"),
    "joist_spans": ("member", "live_psf", "dead_psf", "species", "grade", "nominal", "spacing_in"),
    "panels": ("kind", "category", "property"),
    "productivity": ("task", "material", "condition"),
    "rules": ("key",),
    "slab": ("key",),
    "size_factors": ("species_group", "nominal", "property"),
    "soils": ("material", "property"),
    "species": ("species", "property"),
    "steps": ("key",),
    "strength_classes": ("strength_class", "property"),
    "uncertainty": ("thing",),
}


@pytest.mark.parametrize("table", TABLES)
def test_every_row_says_where_it_comes_from_and_stands_once(table: str) -> None:
    rows = load(table)
    assert rows
    keys = [tuple(r.text(c).lower() for c in KEYS[table]) for r in rows]
    assert len(set(keys)) == len(keys)
    for row in rows:
        assert row.source
        assert row.how_obtained.startswith(HOW)
        assert row.published == row.how_obtained.startswith("read")


@pytest.mark.parametrize("table", TABLES)
def test_no_table_points_to_an_address_on_the_web(table: str) -> None:
    for row in load(table):
        assert not re.search(
            r"https?:|www\.|\.(com|org|net|edu|gov)\b", " ".join(row.cells.values())
        )


def test_low_and_high_rates_enclose_the_likely_one() -> None:
    for row in load("productivity"):
        assert 0 < row.number("low") <= row.number("value") <= row.number("high"), row.where


def write(folder: Path, *lines: str) -> Path:
    (folder / "soils.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    return folder


HEAD = "material,property,value,source,how_obtained,note"


@pytest.mark.parametrize(
    ("lines", "line", "says"),
    [
        ((HEAD, "clay,swell,x,a book,from memory,"), 2, "'x' in column 'value'"),
        ((HEAD, "clay,swell,1,a book,read,", "sand,swell,,a book,read,"), 3, "'' in column"),
        ((HEAD, "clay,swell,nan,a book,read,"), 2, "'nan' in column"),
        ((HEAD, "clay,swell,1,a book"), 2, "4 fields, the header 6"),
        ((HEAD, "clay,swell,1,,read,"), 2, "does not say where"),
        ((HEAD, "clay,swell,1,a book,hearsay,"), 2, "does not say where"),
        (("material,value", "clay,1"), 1, "header needs"),
    ],
)
def test_a_bad_row_is_named_by_file_and_line(
    tmp_path: Path, lines: tuple[str, ...], line: int, says: str
) -> None:
    with pytest.raises(FileError, match=re.escape(f"soils.csv, line {line}: ")) as caught:
        load("soils", write(tmp_path, *lines))
    assert says in str(caught.value)


def test_a_missing_table_is_named(tmp_path: Path) -> None:
    with pytest.raises(FileError, match=r"nothing\.csv: the reference table can't be read"):
        load("nothing", tmp_path)


def test_a_size_that_no_yard_stocks_lists_those_it_has() -> None:
    with pytest.raises(InputError, match=r"no nominal '3x7'.*It has: 2x4, 2x6"):
        dressed_size("3x7")
    with pytest.raises(InputError, match="not a lumber size"):
        design_values("Hem-fir", "No.2", "joist")
    with pytest.raises(InputError, match=r"no grade 'No\.9' .* It has: No\.1, No\.2"):
        design_values("Hem-fir", "No.9", "2x8")
    with pytest.raises(InputError, match="more than one row of soils"):
        find("soils", material="clay")


def test_sizes_are_read_as_people_write_them() -> None:
    assert dressed_size("4 X 6") == dressed_size("4×6") == (3.5, 5.5)


def test_pine_values_are_of_its_width_and_need_no_size_factor() -> None:
    narrow, wide = (design_values("Southern pine", "No.2", s) for s in ("2x6", "2x12"))
    assert (narrow.bending_psi, wide.bending_psi) == (1000, 750)
    assert narrow.size_factor == wide.size_factor == 1.0
    assert "from memory" in narrow.how_obtained


def test_a_square_timber_is_a_post_and_a_tall_one_a_beam() -> None:
    """NDS Supplement Table 4D: beams and stringers are more than 2 in deeper than thick."""
    assert design_values("Hem-fir", "No.2", "6x8").bending_psi == 575
    assert design_values("Hem-fir", "No.2", "6x10").bending_psi == 675


def test_four_inch_timbers_take_the_size_factor_of_dimension_lumber() -> None:
    assert size_factor("Hem-fir", "4x6") == 1.3
    assert size_factor("Hem-fir", "6x6") == 1.0


def test_rules_are_found_by_key() -> None:
    assert rule("clearance_joists_in") == 18
    assert value("rules", key="live_load_living_psf") == 40


VAGUE = (
    *("no book named", "encyclopedia", "encyclopaedia", "forum", "shop table"),
    *("handbook chapter", "trade page", "university problem", "a handbook", "a span booklet"),
    *("trade article", "trade summaries", "performance handbook", "on the web", "the internet"),
)
"""Words that name no document that a person could look up."""


@pytest.mark.parametrize("table", TABLES)
def test_every_source_names_its_document_or_says_that_there_is_none(table: str) -> None:
    for row in load(table):
        for text in (row.source, row.how_obtained):
            assert len(text) > 3, row.where
            assert not [words for words in VAGUE if words in text.lower()], row.where


def test_no_row_of_the_model_has_a_source_that_names_no_document() -> None:
    model = build_model()
    sources = {key: q.source for key, q in model.quantities.items() if q.source}
    assert len(sources) > 100
    for key, text in sources.items():
        assert not [words for words in VAGUE if words in text.lower()], (key, text)


@pytest.mark.parametrize("size", ["6d", "8d", "10d", "12d", "16d", "20d"])
def test_a_pound_of_nails_is_a_pound_of_steel(size: str) -> None:
    """By hand: length and shank of the Wood Handbook, steel of 490 lb/ft3, heads left out."""
    length, diameter, count = (
        value("fasteners", connection="common nail", size=size, property=name)
        for name in ("length_in", "diameter_in", "count_per_lb")
    )
    shank_lb = math.pi / 4 * diameter**2 * length * 490 / 1728
    assert count * shank_lb == pytest.approx(1, abs=0.05)
