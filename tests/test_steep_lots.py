"""A steep or broken lot is answered: one way that can't be built there never stops the others."""

from __future__ import annotations

import re

import numpy as np
import pytest

from estimator.errors import SurveyError
from estimator.evaluation import evaluate
from estimator.inputs import TypedJob
from estimator.model import build_model
from estimator.report import against, used_options
from estimator.typed_job import default_job, read_inputs
from estimator.values import Values

OUT_FT = 3.0
"""How far the outer stakes of the quick survey stand from the building."""


def lot(length: float, width: float, shape: str, fall_ft: float) -> TypedJob:
    """A plain new job whose nine quick readings are heights of a simple ground."""
    model = build_model()
    plain = default_job(None, model=model)
    middle, back, right = length / 2, width + OUT_FT, length + OUT_FT
    stakes = (
        *((-OUT_FT, -OUT_FT), (middle, -OUT_FT), (right, -OUT_FT), (right, width / 2)),
        *((right, back), (middle, back), (-OUT_FT, back), (-OUT_FT, width / 2)),
        (middle, width / 2),
    )
    heights = {
        "plane": [fall_ft * (x + y) / (length + width) for x, y in stakes],
        "ridge": [-fall_ft * abs(x - middle) / middle for x, _ in stakes],
        "hump": [*[0.0] * 8, fall_ft],
        "hollow": [*[0.0] * 8, -fall_ft],
    }[shape]
    typed = {("quick_reading_ft", i): 10 + height for i, height in enumerate(heights)}
    size = {("building_length_ft", 0): length, ("building_width_ft", 0): width}
    way = {("survey_method", 0): "heights"}
    return TypedJob({**plain.cells, **size, **way, **typed}, plain.where)


def answered(job: TypedJob) -> dict[str, Values]:
    model = build_model()
    return dict(evaluate(model, read_inputs(model, job)))


@pytest.mark.parametrize("shape", ["plane", "ridge", "hump", "hollow"])
@pytest.mark.parametrize("fall_ft", [4, 8])
def test_every_way_is_answered_on_a_lot_that_falls_much(shape: str, fall_ft: float) -> None:
    values = answered(lot(14, 10, shape, fall_ft))
    assert len(used_options(values)) == 5
    totals = np.asarray(values["total_cost"])[:5, 0]
    assert np.all(np.isfinite(totals))


def test_a_frame_with_more_courses_than_the_tables_hold_fails_and_says_what_is_left_out() -> None:
    values = answered(lot(14, 10, "plane", 6))
    needed, listed = (
        float(np.asarray(values[key])[0, 0]) for key in ("frame_courses", "frame_listed")
    )
    assert needed > listed >= 1
    courses = np.asarray(values["timber_course"])[0]
    assert courses.max() == listed
    assert np.count_nonzero(courses) == np.asarray(values["timber_pieces"])[0, 0]
    assert any("the lower ones are not priced" in text for text in against(values, 0))
    assert str(np.asarray(values["chosen_title"]).flat[0]).startswith("C piers")
    assert np.asarray(values["checks_failed"])[2, 0] == 0


def test_a_frame_of_more_timbers_a_course_than_the_table_holds_says_what_to_do() -> None:
    job = lot(40, 24, "plane", 0)
    stock, length = ("item_stock", "item_length_ft")
    short = {
        (length, row): 2.5
        for (key, row), name in job.cells.items()
        if key == stock and name == "4x6 treated"
    }
    values = answered(TypedJob({**job.cells, **short}, job.where))
    said = str(np.asarray(values["not_priced"])[0, 0])
    assert re.search(r"option A takes \d+ timbers a course; .* longer timbers", said)


def test_a_frame_that_fits_is_listed_whole() -> None:
    values = answered(lot(14, 10, "plane", 1))
    assert np.asarray(values["frame_listed"])[0, 0] == np.asarray(values["frame_courses"])[0, 0] > 1
    assert not any("not priced" in text for text in against(values, 0))


@pytest.mark.parametrize("reading", [-9999, 130, 1000])
def test_a_reading_that_no_ground_could_have_is_refused_by_its_name(reading: float) -> None:
    job = lot(14, 10, "plane", 1)
    wrong = TypedJob({**job.cells, ("quick_reading_ft", 4): reading}, job.where)
    with pytest.raises(
        SurveyError, match=r"^Survey stake back right \(line 5\): its height, .*Read it again"
    ):
        answered(wrong)
