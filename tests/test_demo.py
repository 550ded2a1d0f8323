"""The shipped demo, in feet and in metric units: a job of its own that passes its checks."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pytest
from jobs import used
from known_job import known_job

from estimator.engine import Model
from estimator.evaluation import evaluate
from estimator.inputs import TypedJob
from estimator.metric import metric
from estimator.model import build_model
from estimator.model.kinds import FRAMED, KIND_NAMES
from estimator.typed_job import demo_job, load_job, read_inputs
from estimator.units import IN_PER_FT

MEASURES = ("feet", "metric")
SHARED_SIZES = ("joist_stock", "joist_spacing_in", "species", "height_mode", "stone_item")
"""Ways of building that options of more than one kind have."""


@cache
def model_of(measure: str) -> Model:
    return build_model() if measure == "feet" else metric(build_model())


def typed(measure: str) -> TypedJob:
    model = model_of(measure)
    return load_job(demo_job(model), model=model)


@cache
def values_of(measure: str) -> dict[str, Any]:
    """Every quantity of the demo, by the key that it has in feet."""
    model = model_of(measure)
    values = evaluate(model, read_inputs(model, typed(measure)))
    return {key: np.asarray(values[model.name(key)]) for key in build_model().quantities}


@pytest.mark.parametrize("measure", MEASURES)
def test_the_demo_says_that_it_is_invented(measure: str) -> None:
    cells = typed(measure).cells
    assert "invented" in cells["job_name", 0]
    assert "invented" in cells["job_place", 0]


@pytest.mark.parametrize("measure", MEASURES)
def test_the_demo_shows_every_kind_and_each_of_them_passes_its_checks(measure: str) -> None:
    values = values_of(measure)
    kinds = [str(kind) for kind in values["option_kind"].ravel() if kind]
    assert sorted(kinds) == sorted(KIND_NAMES)
    for option, kind in enumerate(kinds):
        fails = [text for text in values["check_text"][option] if str(text).startswith("FAIL")]
        assert not fails, kind
        assert values["total_cost"][option, 0] > 0


@pytest.mark.parametrize("measure", MEASURES)
def test_its_options_differ_in_more_than_their_kind(measure: str) -> None:
    values = values_of(measure)
    several = {
        key: {str(values[key][option, 0]) for option in used(values)} - {"", "nan", "0.0"}
        for key in SHARED_SIZES
    }
    assert sum(len(found) > 1 for found in several.values()) >= 3, several


@pytest.mark.parametrize("measure", MEASURES)
def test_its_frame_has_one_course_at_some_places_and_two_at_others(measure: str) -> None:
    values = values_of(measure)
    frame = [str(kind) for kind in values["option_kind"].ravel()].index(FRAMED)
    courses, lengths = values["timber_course"][frame], values["timber_length_in"][frame]
    low, high = (float(np.sum(lengths[courses == course])) for course in (2, 1))
    assert set(courses[lengths > 0]) == {1, 2}
    assert 0 < low < high


@pytest.mark.parametrize("measure", MEASURES)
def test_its_door_stands_in_a_gable(measure: str) -> None:
    values = values_of(measure)
    assert values["door_side"].item() not in values["roof_bears_on"].item().split(" and ")


def test_the_demo_in_feet_is_16_by_9_ft_with_a_margin_of_8_in() -> None:
    values = values_of("feet")
    assert [values[f"building_{side}_ft"].item() for side in ("length", "width")] == [16, 9]
    assert values["margin_in"][0, 0] == 8


def test_the_metric_demo_is_no_conversion_of_the_other() -> None:
    feet, metres = (values_of(measure) for measure in MEASURES)
    ft_per_m = 1 / 0.3048
    for key in ("building_length_ft", "building_width_ft", "wall_height_ft"):
        other = metres[key].item() * ft_per_m
        assert abs(feet[key].item() - other) > 1 / IN_PER_FT, key
    for key in ("soil", "survey_method", "door_way", "chosen_option"):
        assert feet[key].item() != metres[key].item(), key


def test_the_demo_is_not_the_job_whose_numbers_tests_know() -> None:
    known = known_job().cells
    for key in ("building_length_ft", "building_width_ft", "job_name", "soil", "door_side"):
        assert typed("feet").cells[key, 0] != known[key, 0], key
