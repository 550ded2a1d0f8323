"""A job asked for question by question: a dozen of them, and the readings at nine stakes."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any, Final

import numpy as np

from estimator.engine import Model
from estimator.errors import InputError
from estimator.evaluation import evaluate
from estimator.inputs import Cell, Field, TypedJob, read, words
from estimator.typed_job import read_inputs

QUESTIONS: Final = (
    "job_name",
    "job_place",
    "building_length_ft",
    "building_width_ft",
    "door_side",
    "frost_depth_in",
    "roof_snow_psf",
    "wind_mph",
    "soil",
    "dig_method",
    "survey_method",
)
REQUIRED: Final = ("building_length_ft", "building_width_ft")
"""Those of them that a workbook leaves blank until they are known."""
WIND, LEAST_WIND, PRESSURE, WIND_READ = (
    "wind_mph",
    "wind_least_mph",
    "wind_given_psf",
    "wind_reading",
)
READING: Final = "quick_reading_ft"
STEEP: Final = 0.25
"""Fall of the ground over its way, one in four, above which readings are asked about: common
practice, no source."""
NAME: Final = QUESTIONS[:1]
"""What is asked before a file's name, which is taken from it."""

Ask = Callable[[str], str]
"""Shows a prompt and gives the line that was typed."""
Say = Callable[[str], object]
"""Shows a line."""
Told = Callable[[TypedJob], None]
"""Is given what has been answered so far."""


def _nobody(_: TypedJob) -> None:
    """Nobody is told."""


def ask_job(
    model: Model,
    job: TypedJob,
    ask: Ask,
    say: Say,
    *,
    keys: Sequence[str] = QUESTIONS,
    told: Told = _nobody,
) -> TypedJob:
    """A job with the answers to the questions over what it holds.

    A blank line takes what the job holds; an answer that its cell would refuse is asked again.
    Wind may be answered by a pressure with its unit; the speed that it is read as is said.
    ``told`` is given the job after each answer.
    """
    cells: dict[Cell, Any] = dict(job.cells)
    for key in keys:
        name = model.name(key)
        field = _field(model, name)
        if key in REQUIRED:
            field = replace(field, needed=True)
        if key == WIND:
            cells |= _wind(model, field, TypedJob(cells, job.where), ask, say)
        else:
            comma = model.measure == "metric"
            cells[name, 0] = _answer(field, cells, ask, say, comma=comma)
        told(TypedJob(dict(cells), job.where))
    return TypedJob(cells, job.where)


def _wind(model: Model, speed: Field, job: TypedJob, ask: Ask, say: Say) -> dict[Cell, Any]:
    """The cells of a wind speed, or of a pressure that was typed with its unit."""
    pressure = replace(_field(model, model.name(PRESSURE)), zero=False, needed=True)
    comma = model.measure == "metric"
    while True:
        asked, typed = _answer_of(speed, job.cells, ask, say, comma=comma, instead=pressure)
        cells: dict[Cell, Any] = {(speed.key, 0): typed}
        if asked is pressure:
            cells = {(pressure.key, 0): typed}
            now = TypedJob({**job.cells, **cells}, job.where)
            known = evaluate(model, read_inputs(model, now))
            say(f"{np.asarray(known[model.name(WIND_READ)]).flat[0]}.")
            return cells
        if not 0 < float(typed) < float(job.cells[model.name(LEAST_WIND), 0]):
            return cells
        say(f"  That is no design wind. 0 is none; a pressure has {pressure.unit} behind it.")


def ask_word(what: str, listed: tuple[str, ...], ask: Ask, say: Say) -> str:
    """One of these words, of which a blank line takes the first."""
    field = Field("asked", what, kind="choice", choices=listed)
    return str(_answer(field, {("asked", 0): listed[0]}, ask, say))


def ask_readings(
    model: Model, job: TypedJob, ask: Ask, say: Say, *, told: Told = _nobody
) -> TypedJob:
    """The job with the readings at the nine stakes, in the places of those it holds.

    How far the ground falls by them is said; where that is steep they are asked again unless
    they are said to be right, a blank line keeping what was typed.
    """
    key = model.name(READING)
    field = _field(model, key)
    cells = {cell: value for cell, value in job.cells.items() if cell[0] != key}
    known = evaluate(model, read_inputs(model, TypedJob(cells, job.where)))
    names, x, y = (
        np.asarray(known[model.name(stake)])[0]
        for stake in ("quick_stake", "quick_x_ft", "quick_y_ft")
    )
    say(
        f"Readings ({cells[model.name('survey_method'), 0]}) at nine stakes; x along the front and"
        f" y to the back from the front left corner, {field.unit}. Blank: not taken."
    )
    while True:
        for place, name in enumerate(names):
            asked = replace(field, label=f"  {place + 1} {name} (x {x[place]:g}, y {y[place]:g})")
            cells[key, place] = _answer(asked, {(key, 0): cells.get((key, place))}, ask, say)
            told(TypedJob(dict(cells), job.where))
        answered = TypedJob(cells, job.where)
        if (
            not _say_fall(model, answered, say)
            or ask_word("Is that so", ("no", "yes"), ask, say) == "yes"
        ):
            return answered


def _say_fall(model: Model, job: TypedJob, say: Say) -> bool:
    """Say how far the ground falls by the readings at the stakes; whether that is steep."""
    known = evaluate(model, read_inputs(model, job))
    names, x, y, heights = (
        np.asarray(known[model.name(stake)])[0]
        for stake in ("quick_name", "quick_x_ft", "quick_y_ft", "quick_height_ft")
    )
    taken = np.flatnonzero(names)
    if len(taken) < 2:
        return False
    names, places, heights = names[taken], np.stack([x, y])[:, taken], heights[taken]
    apart = np.hypot(*(places[:, :, np.newaxis] - places[:, np.newaxis]))
    falls = heights[:, np.newaxis] - heights
    slopes = falls / np.where(apart > 0, apart, np.inf)
    steep = bool(slopes.max() > STEEP)
    high, low = np.unravel_index(np.argmax(slopes if steep else falls), falls.shape)
    unit = _field(model, model.name(READING)).unit
    say(
        f"The ground falls {falls[high, low]:.2f} {unit} from {names[high]} to {names[low]},"
        f" {apart[high, low]:.1f} {unit} apart."
    )
    if steep:
        say(f"That is steep. A bare reading is in {unit}; one in another unit has that behind it.")
    return steep


def _answer(
    field: Field, answered: Mapping[Cell, Any], ask: Ask, say: Say, *, comma: bool = False
) -> Any:
    """What was typed for a field, once it is something that its cell takes."""
    return _answer_of(field, answered, ask, say, comma=comma)[1]


def _answer_of(
    field: Field,
    answered: Mapping[Cell, Any],
    ask: Ask,
    say: Say,
    *,
    comma: bool = False,
    instead: Field | None = None,
) -> tuple[Field, Any]:
    """The same and its field: ``instead`` where a number was typed with the unit of that one."""
    default = answered.get((field.key, 0))
    listed = field.choices
    if field.kind == "key":
        listed = tuple(words(value) for (key, _), value in answered.items() if key == field.refers)
    parts = [field.label]
    parts += [f" ({', '.join(listed)})"] if listed else []
    parts += [f", {field.unit}"] if field.unit else []
    parts += [f", or a pressure in {instead.unit} with its unit"] if instead else []
    parts += [f" [{words(default)}]"] if default is not None else []
    while True:
        text = ask("".join(parts) + ": ").strip()
        asked = field
        if instead and text.casefold().endswith(instead.unit.casefold()):
            asked, text = instead, text[: -len(instead.unit)].strip()
        typed = _as_typed(asked, text, comma=comma) if text else default
        try:
            read(asked, typed, "", frozenset(listed))
        except InputError as error:
            say(f"  {' '.join(filter(None, (error.what, error.cure)))}")
            continue
        return asked, typed


def _as_typed(field: Field, text: str, *, comma: bool) -> Any:
    """A line as its cell would hold it: a number where one belongs, perhaps with a comma or with
    the unit that is asked for."""
    if field.kind not in ("number", "whole"):
        return text
    bare = text
    if field.unit and text.casefold().endswith(field.unit.casefold()):
        bare = text[: -len(field.unit)]
    try:
        return float(bare.replace(",", ".") if comma else bare)
    except ValueError:
        return text


def _field(model: Model, key: str) -> Field:
    field = model.quantities[key].field
    assert field is not None
    return field
