"""The next job from the last workbook, and the price book out and in."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
from books import edited, value
from known_job import AS_NEW, KNOWN_JOB, known_job

from estimator.cli import main
from estimator.model import build_model
from estimator.model.carry_over import job_specific
from estimator.typed_job import read_inputs
from estimator.workbook.package.parts import Package, read_file
from estimator.workbook.refill.book import read_book
from estimator.workbook.refill.file_port import FilePort


@pytest.fixture(scope="module")
def demo(demo_book: bytes, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("next") / "demo.xlsx"
    path.write_bytes(demo_book)
    return path


def typed_of(path: Path) -> dict[tuple[str, int], object]:
    package = Package.open(read_file(path), label=path.name)
    return dict(read_book(FilePort(package), build_model()).typed.cells)


def test_the_next_job_keeps_prices_rates_and_options_and_clears_the_building_and_readings(
    demo: Path, tmp_path: Path
) -> None:
    new = tmp_path / "coop.xlsx"
    assert main(["next", str(demo), str(new)]) == 0
    before, after = typed_of(demo), typed_of(new)
    cleared = job_specific(build_model())
    assert {c for c in before if c[0] in cleared}
    assert {c: v for c, v in after.items() if c[0] in cleared} == AS_NEW
    kept = {c: v for c, v in after.items() if c[0] not in cleared}
    assert {c: v for c, v in before.items() if c[0] not in cleared} == kept


def test_nothing_read_on_the_old_lot_stays_but_the_tools_do() -> None:
    model = build_model()
    cleared = job_specific(model)
    survey = [k for k, q in model.quantities.items() if q.role == "input" and q.sheet == "Survey"]
    kept = {key for key in survey if key not in cleared}
    assert kept == {"survey_method", "level_height_ft", "long_level_ft", "stake_out_ft"}


def test_the_next_job_asks_for_the_size_and_the_readings_and_a_refill_refuses_nothing(
    demo: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    old, new = tmp_path / "lines.xlsx", tmp_path / "coop.xlsx"
    name = value(demo.read_bytes(), "in_point_name")
    lines = {"in_line_name": "L1", "in_line_at": name, "in_drop_name": "D1", "in_drop_in": 3}
    lot = {"in_corner_name": "C1", "in_opening_what": "hatch", "in_double_what": "wall"}
    old.write_bytes(edited(demo.read_bytes(), {**lines, "in_drop_line": "L1", **lot}))
    assert main(["next", str(old), str(new)]) == 0
    capsys.readouterr()
    assert main(["refill", str(new)]) == 0
    assert capsys.readouterr().out.splitlines()[:3] == [
        "To do: Job: type the length and the width of the building",
        "To do: Survey: type a reading at each of the nine stakes, or readings of your own",
        "Then run: estimator refill",
    ]


def test_the_next_job_from_a_file_has_the_numbers_of_that_job_at_the_old_prices(
    demo: Path, tmp_path: Path
) -> None:
    new = tmp_path / "again.xlsx"
    assert main(["next", str(demo), str(new), "--job", str(KNOWN_JOB)]) == 0
    assert typed_of(new) == typed_of(demo)


def test_the_next_job_never_replaces_a_file(demo: Path, tmp_path: Path) -> None:
    new = tmp_path / "coop.xlsx"
    new.write_text("mine")
    assert main(["next", str(demo), str(new)]) == 2
    assert new.read_text() == "mine"


def test_the_price_book_goes_out_and_in_and_says_what_changed(
    demo: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    book = tmp_path / "book.xlsx"
    book.write_bytes(demo.read_bytes())
    prices = tmp_path / "yard.csv"
    assert main(["prices", "out", str(book), str(prices)]) == 0
    with prices.open(newline="") as file:
        rows = list(csv.DictReader(file))
    stone = next(r for r in rows if r["item_key"] == "stone_57")
    stone["item_price"] = "99.5"
    own = {"item_key": "", "item_name": "Gravel", "item_unit": '=HYPERLINK("x")'}
    rows.append(stone | own)
    gone = next(r for r in rows if r["item_key"] == "stone_67")
    rows.remove(gone)
    with prices.open("w", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
    capsys.readouterr()
    assert main(["prices", "in", str(book), str(prices)]) == 0
    said = capsys.readouterr().out
    assert "Crushed stone, clean, 1 in (No. 57): 21.5 -> 99.5" in said
    assert "new: 1\n  Gravel" in said
    assert "not in the list (kept): 1\n  Crushed stone, clean, 3/4 in (No. 67)" in said
    typed = typed_of(book)
    keys = {v: place for (key, place), v in typed.items() if key == "item_key"}
    assert typed["item_price", keys["stone_57"]] == 99.5
    assert "stone_67" in keys, "a line that the list leaves out stays"
    new = next(place for (key, place), v in typed.items() if (key, v) == ("item_name", "Gravel"))
    assert typed["item_unit", new] == '=HYPERLINK("x")', "text, never a formula"
    values = read_inputs(build_model(), known_job())
    assert np.asarray(values["item_price"])[0, 0] == 21.5
