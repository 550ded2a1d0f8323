"""What tests keep of solvers' answers, and work out of a job, is what the model gives."""

from __future__ import annotations

import copy
import time
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from jobs import demo, solved, solved_whole
from solver_memory import WORTH_S, lend_memory
from toy_model import toy_model

from estimator.engine import Model, Solver


class Scene:
    """A model whose one solver takes its time and counts how often it is asked."""

    def __init__(self, folder: Path) -> None:
        self.asked, self.active = 0, True
        self.model: Model = copy.copy(toy_model())
        self.model.solvers = {"doubled": Solver("doubled", "Doubled", ("a_ft",), self._solve)}
        lend_memory(self.model, folder, lambda: self.active)

    def _solve(self, reads: Mapping[str, Any]) -> Mapping[str, Any]:
        self.asked += 1
        until = time.process_time() + 2 * WORTH_S
        while time.process_time() < until:
            pass
        return {"b_ft": np.asarray(reads["a_ft"]) * 2}

    def __call__(self, value: Any) -> Any:
        """What the solver, with its memory, gives."""
        return self.model.solvers["doubled"].function({"a_ft": np.asarray(value)})["b_ft"]


@pytest.fixture
def scene(tmp_path: Path) -> Scene:
    return Scene(tmp_path / "solved")


def test_the_same_reads_are_solved_once_and_give_an_answer_of_ones_own(scene: Scene) -> None:
    first, again = scene([[1.0]]), scene([[1.0]])
    assert scene.asked == 1
    again[0, 0] = 7.0
    assert first.tolist() == scene([[1.0]]).tolist() == [[2.0]]


def test_another_value_shape_or_type_is_solved_anew(scene: Scene) -> None:
    for number, value in enumerate(([[1.0]], [[1.0 + 1e-15]], [[1.0], [1.0]], [[1]], [1.0]), 1):
        assert np.array_equal(scene(value), np.asarray(value) * 2)
        assert scene.asked == number


def test_where_it_is_not_active_every_question_is_solved(scene: Scene) -> None:
    scene([[1.0]])
    scene.active = False
    scene([[1.0]])
    assert scene.asked == 2


@pytest.mark.parametrize("first", ["total_cost", "stone_order_yd3"])
def test_what_is_worked_out_when_asked_for_is_what_the_whole_gives(first: str) -> None:
    whole, asked = solved_whole(demo()), solved(demo())
    one = next(key for key in whole if key.startswith(first))
    np.testing.assert_array_equal(asked[one], whole[one])
    assert len(asked) == len(whole)
    for key, value in asked.items():
        np.testing.assert_array_equal(value, whole[key], err_msg=key)
    with pytest.raises(KeyError):
        asked["no_such_row"]
