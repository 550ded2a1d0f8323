"""C16 to C30 in a metric workbook: characteristic values of EN 338, made fit for the method."""

from __future__ import annotations

from itertools import pairwise

import pytest
from jobs import at

from estimator.evaluation import evaluate
from estimator.metric import metric
from estimator.model import build_model
from estimator.model.strength_classes import CLASSES, class_values
from estimator.typed_job import METRIC_DEMO_JOB, default_cells, load_job, read_inputs


@pytest.mark.parametrize(
    ("name", "bending", "shear", "bearing", "modulus"),
    [  # EN 338:2016 Table 1 as a library transcribes it, see shared/reference/strength_classes.csv
        ("C16", 16, 3.2, 2.2, 8000),
        ("C18", 18, 3.4, 2.2, 9000),
        ("C24", 24, 4.0, 2.5, 11000),
        ("C30", 30, 4.0, 2.7, 12000),
    ],
)
def test_a_class_is_its_characteristic_values_over_the_factors_that_are_said(
    name: str, bending: float, shear: float, bearing: float, modulus: float
) -> None:
    found = class_values(name)
    share = 0.7 / (1.3 * 1.5)
    assert found.bending_mpa * 1.15 == pytest.approx(bending * share * 1.1, rel=1e-12)
    assert found.shear_mpa == pytest.approx(shear * share * 0.67, rel=1e-12)
    assert found.bearing_mpa == pytest.approx(bearing * share * 1.5 * 180 / 150, rel=1e-12)
    assert found.modulus_mpa == modulus
    assert found.wet_strength == pytest.approx(0.55 / 0.7, rel=1e-12)


def test_a_simple_joist_of_c24_carries_no_more_than_design_to_the_eurocode_allows() -> None:
    """Bending of 45 x 145 at 400 mm, 0.5 and 2 kPa: medium-term load, k_mod 0.8, by hand.

    EN 1990 (6.10) 1.35 G + 1.5 Q; EN 1995-1-1 k_sys 1.1; factors as in shared/reference.
    """
    modulus_mm3 = 45 * 145**2 / 6
    dead, live = 0.5 * 0.4, 2.0 * 0.4  # kN/m
    ours = class_values("C24").bending_mpa * 1.15 * modulus_mm3 / 1e6  # kNm, as loads come
    theirs = 24 * 0.8 / 1.3 * 1.1 * modulus_mm3 / 1e6  # kNm, under loads with factors
    span_ours = (8 * ours / (dead + live)) ** 0.5
    span_theirs = (8 * theirs / (1.35 * dead + 1.5 * live)) ** 0.5
    assert 0.85 * span_theirs < span_ours < span_theirs


def test_a_better_class_is_nowhere_weaker() -> None:
    found = [class_values(name) for name in CLASSES]
    for less, more in pairwise(found):
        assert less.bending_mpa < more.bending_mpa
        assert less.modulus_mpa < more.modulus_mpa
        assert less.shear_mpa <= more.shear_mpa
        assert less.bearing_mpa <= more.bearing_mpa


def test_a_metric_workbook_offers_the_classes_and_says_what_they_are() -> None:
    model = metric(build_model())
    cells = default_cells(model, options=True)
    rows = range(model.capacity("species"))
    offered = [cells[key, row] for row in rows if (key := "species_name", row) in cells]
    assert tuple(offered[: len(CLASSES)]) == CLASSES
    assert cells["species", 0] == "C16"
    wood = {cells.get(("wood_name", row)) for row in range(model.capacity("wood"))}
    sizes = {cells.get(("stock_nominal", row)) for row in range(model.capacity("stock"))} - {None}
    missing = {f"{name} {size}" for name in offered for size in sizes} - wood
    assert missing == {f"{name} 45x295" for name in offered}  # stringers, which have spans
    note = model.tables["wood"].note
    assert "no design to EN 1995-1-1" in note
    assert "licensed engineer or the local rule decides" in note
    assert "EN 338" not in build_model().tables["wood"].note


def test_a_47_mm_board_is_reckoned_with_the_wood_of_the_next_smaller_size() -> None:
    model = metric(build_model())
    cells = default_cells(model)
    stocks = {
        str(cells["stock_name", row]): (
            cells["stock_width_mm", row],
            cells["stock_depth_mm", row],
            str(cells["stock_nominal", row]),
        )
        for row in range(model.capacity("stock"))
        if ("stock_name", row) in cells
    }
    sawn = {name: of for name, of in stocks.items() if name.startswith("47x")}
    assert set(sawn) == {f"47x{depth} treated" for depth in (100, 150, 175, 200, 225)}
    for width, depth, nominal in sawn.values():
        planed_width, planed_depth = (float(side) for side in nominal.split("x"))
        assert width > planed_width
        assert depth > planed_depth


def test_the_metric_demo_is_reckoned_with_c24() -> None:
    model = metric(build_model())
    inputs = read_inputs(model, load_job(METRIC_DEMO_JOB, model=model))
    values = evaluate(model, inputs)
    wood = [str(text) for text in values["joist_wood"][:, 0]]
    assert wood[0].startswith("C24 45x145")
    wet = at(values, "joist_wet")
    assert at(values, "joist_e_mpa") == pytest.approx(11000 * (0.9 if wet else 1))
