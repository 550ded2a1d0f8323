"""The quick survey: nine stakes whose places follow the building, read as the full survey is."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pytest
from jobs import block, changed, demo, on_ground, one_option

from estimator.engine import Model
from estimator.errors import InputError
from estimator.evaluation import evaluate
from estimator.inputs import TypedJob
from estimator.metric import metric
from estimator.model import build_model
from estimator.model.kinds import FRAMED
from estimator.model.quick_survey import STAKE_NAMES
from estimator.model.solvers.lot import SURVEY_READS, readings
from estimator.model.solvers.reads import Reads
from estimator.typed_job import default_job, read_inputs

NINE = len(STAKE_NAMES)


def survey(job: TypedJob, model: Model | None = None) -> Any:
    """Readings that solvers see, with no option in use."""
    model = model or build_model()
    bare = TypedJob({c: v for c, v in job.cells.items() if c[0] != "option_kind"}, job.where)
    return evaluate(model, read_inputs(model, bare))


def seen(job: TypedJob) -> list[tuple[float, float, float]]:
    """Places and heights of all readings."""
    values = survey(job)
    found = readings(Reads({key: values[key] for key in SURVEY_READS}))
    return [(x, y, z) for _, x, y, z in found]


def staked(readings: Sequence[Any], **cells: Any) -> TypedJob:
    """A plain job of a building 14 x 10 ft, read at the stakes in their order."""
    sized = changed(default_job(), building_length_ft="14'", building_width_ft=10, **cells)
    return changed(sized, quick_reading_ft=dict(enumerate(readings)))


def test_stakes_stand_round_the_building_three_feet_outside_and_in_its_middle() -> None:
    values = survey(staked([]))
    assert list(zip(block(values, "quick_x_ft"), block(values, "quick_y_ft"), strict=True)) == [
        *((-3, -3), (7, -3), (17, -3), (17, 5), (17, 13), (7, 13), (-3, 13), (-3, 5), (7, 5))
    ]
    assert tuple(block(values, "quick_stake")) == STAKE_NAMES


def test_stakes_follow_the_size_and_the_distance_that_are_typed() -> None:
    values = survey(staked([], stake_out_ft="4 ft", stake_width_ft=8))
    assert block(values, "quick_x_ft")[:3].tolist() == [-4, 7, 18]
    assert block(values, "quick_y_ft")[[0, 4, 8]].tolist() == [-4, 12, 4]


def test_metric_stakes_stand_0_9_m_outside() -> None:
    model = metric(build_model())
    job = changed(default_job(model=model), building_length_m=4.2, building_width_m="3,0")
    values = survey(job, model)
    assert block(values, "quick_x_m")[:3].tolist() == pytest.approx([-0.9, 2.1, 5.1], abs=1e-12)
    assert block(values, "quick_y_m")[4] == pytest.approx(3.9, abs=1e-12)


@pytest.mark.parametrize(
    ("method", "heights"),
    [
        ("rod readings", [-4.5, 0, 0.25]),
        ("drops", [95.5, 100, 100.25]),
        ("heights", [4.5, 0, -0.25]),
    ],
)
def test_a_stake_at_0_is_read_and_a_blank_one_is_not(method: str, heights: list[float]) -> None:
    job = staked(["4' 6\"", None, 0, None, -0.25], survey_method=method)
    assert [z for _, _, z in seen(job)] == heights
    assert [(x, y) for x, y, _ in seen(job)] == [(-3, -3), (17, -3), (17, 13)]


def test_rod_readings_at_stakes_are_taken_from_the_first_set_up() -> None:
    job = staked([4.5], setup_name="S1", setup_instrument_ft=104)
    assert seen(job) == [(-3, -3, 99.5)]


def test_two_stakes_may_have_one_reading() -> None:
    assert len(seen(staked([4.5] * NINE))) == NINE


def test_a_reading_that_is_none_is_refused() -> None:
    with pytest.raises(InputError, match="Reading: 'four' can't be read as a length"):
        survey(staked(["four"]))


def test_readings_of_one_s_own_join_those_at_the_stakes() -> None:
    own = changed(staked([4.5]), point_name="pump", point_x_ft=30, point_y_ft=2)
    assert seen(changed(own, point_reading_ft=5)) == [(30, 2, -5), (-3, -3, -4.5)]


def test_a_full_survey_alone_is_what_it_was() -> None:
    values = survey(demo())
    names = [name for name, *_ in readings(Reads({key: values[key] for key in SURVEY_READS}))]
    assert not [name for name in names if name.startswith("stake")]
    assert block(values, "quick_name").tolist() == [""] * NINE


def test_the_ground_of_nine_stakes_is_that_of_a_full_survey_of_the_same_places() -> None:
    size = {"building_length_ft": 14, "building_width_ft": 10, "site_x_ft": 0, "site_y_ft": 0}
    model, base = build_model(), one_option(FRAMED, changed(demo(), **size))
    drops = [1.0, 1.25, 1.5, 1.75, 2.0, 2.25, 1.5, 1.125, 1.625]
    values = survey(staked([]))
    places = zip(block(values, "quick_x_ft"), block(values, "quick_y_ft"), strict=True)
    full = on_ground(base, tuple((x, y, 100 - d) for (x, y), d in zip(places, drops, strict=True)))
    bare = on_ground(base, ())
    quick = changed(bare, survey_method="drops", quick_reading_ft=dict(enumerate(drops)))
    by_full, by_quick = (dict(evaluate(model, read_inputs(model, j))) for j in (full, quick))
    for key in ("total_cost", "cut_yd3", "fill_yd3", "ground_high_ft", "top_ft", "guessed_share"):
        assert np.asarray(by_quick[key])[0, 0] == pytest.approx(
            np.asarray(by_full[key])[0, 0], rel=1e-9, abs=1e-9
        ), key
    assert by_quick["guessed_share"][0, 0] == 0
