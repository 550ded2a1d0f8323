"""Hazards against kinds: no cell is empty, and each option shows the worst of its checks."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

import pytest
from jobs import at, changed, demo, on_flat, one_option, solved

from estimator.errors import RowError
from estimator.gather import contributed
from estimator.model import SHEETS, build_model
from estimator.model.adds import HAZARDS, OK, Check
from estimator.model.hazards import (
    ANSWERS,
    TABLE,
    Answer,
    Answered,
    Hazard,
    Spared,
    hazard_lines,
    refuse_gaps,
)
from estimator.model.kinds import BLOCKS, KIND_NAMES, PIERS

CELLS = [(hazard, kind) for hazard in TABLE for kind in KIND_NAMES]


def flat(kind: str, **cells: Any) -> Mapping[str, Any]:
    return solved(on_flat(one_option(kind, demo(), **cells)))


def test_twelve_hazards_are_weighed() -> None:
    assert [hazard.label for hazard in TABLE] == [
        "Bearing",
        "Frost",
        "Fill",
        "Sliding",
        "Overturning",
        "Uplift",
        "Overhang",
        "End line under the gable wall",
        "Moisture",
        "Lateral support of stacks",
        "Height",
        "Access",
    ]


@pytest.mark.parametrize(("hazard", "kind"), CELLS)
def test_no_kind_leaves_a_hazard_open(hazard: Hazard, kind: str) -> None:
    """Checks that there are, and what they cost; or why it is none."""
    cell = ANSWERS[kind][hazard.key]
    if isinstance(cell, Answered):
        answered = {c.hazard for c in contributed(SHEETS, Check)}
        assert cell.price
        assert answered.intersection(hazard.checked)
    else:
        assert len(cell.because.split()) > 3


def without(kind: str, key: str) -> Mapping[str, Mapping[str, Answer]]:
    kept = {name: cell for name, cell in ANSWERS[kind].items() if name != key}
    return {**ANSWERS, kind: kept}


@pytest.mark.parametrize(("hazard", "kind"), CELLS)
def test_an_empty_cell_is_refused_by_kind_and_hazard(hazard: Hazard, kind: str) -> None:
    words = f"'{kind}' has no answer to the hazard '{hazard.label}'"
    with pytest.raises(RowError, match=re.escape(words)):
        refuse_gaps(TABLE, without(kind, hazard.key))


def test_a_kind_that_answers_nothing_is_refused() -> None:
    rest = {kind: cells for kind, cells in ANSWERS.items() if kind != BLOCKS}
    with pytest.raises(RowError, match="'blocks' has no answer to the hazard 'Bearing'"):
        refuse_gaps(TABLE, rest)


@pytest.mark.parametrize(
    "answers",
    [
        {**ANSWERS, "stilts": ANSWERS[PIERS]},
        {**ANSWERS, PIERS: {**ANSWERS[PIERS], "lightning": Spared("never yet struck there")}},
    ],
)
def test_an_answer_to_nothing_is_refused(answers: Mapping[str, Mapping[str, Answer]]) -> None:
    with pytest.raises(RowError, match="a kind or hazard that there is not"):
        refuse_gaps(TABLE, answers)


def test_a_hazard_of_checks_that_nobody_knows_is_refused() -> None:
    with pytest.raises(RowError, match="unknown hazard 'lightning'"):
        refuse_gaps([Hazard("sky", "Sky", ("lightning",))], ANSWERS)


def test_an_answer_without_a_check_is_refused() -> None:
    checks = [c for c in contributed(SHEETS, Check) if c.hazard != "sliding"]
    with pytest.raises(RowError, match="no check answers it") as caught:
        hazard_lines(checks)
    assert "Sliding" in str(caught.value)


@pytest.mark.parametrize("kind", KIND_NAMES)
def test_each_option_shows_the_worst_of_its_checks_or_why_there_is_none(kind: str) -> None:
    checks = contributed(SHEETS, Check)
    for job in (demo(), changed(demo(), wind_mph=200, floor_live_psf=250)):
        values = solved(on_flat(one_option(kind, job)))
        for hazard in TABLE:
            shown = at(values, f"hazard_{hazard.key}")
            cell = ANSWERS[kind][hazard.key]
            texts = [at(values, c.key) for c in checks if c.hazard in hazard.checked]
            ranks = ("FAIL", "LOOK", OK)
            worst = min(next(i for i, w in enumerate(ranks) if t.startswith(w)) for t in texts)
            if isinstance(cell, Spared):
                assert shown == f"none: {cell.because}"
                assert ranks[worst] == OK, "a check speaks of what is called none"
            else:
                assert shown in texts
                assert shown.startswith(ranks[worst])


def test_what_answers_a_hazard_costs_is_said_beside_it() -> None:
    model = build_model()
    assert "anchors and straps (framed pad, open pad, blocks)" in (
        model.quantities["hazard_sliding"].note
    )


def test_every_hazard_of_a_check_that_buildings_face_is_in_the_table() -> None:
    """The rest are faults of lists, prices, papers and members, each with a check of its own."""
    weighed = {name for hazard in TABLE for name in hazard.checked}
    assert weighed <= set(HAZARDS)
    others = set(HAZARDS) - weighed
    assert not others.intersection({"sliding", "overturning", "uplift", "frost", "overhang"})


def test_dry_stacks_are_refused_beyond_four_times_their_side_and_looked_at_before() -> None:
    """IRC R606.7 (2018) for unfilled piers, from memory. A stack tips before beams slide on it
    where 0.35 of its height is more than half its side: 16 in blocks above 22.9 in."""

    def stacks(side_in: float) -> dict[str, Any]:
        return flat(BLOCKS, clear_above_in=24, block_side_in=side_in)

    rise = at(stacks(16), "support_rise_most_in")
    assert at(stacks(rise * 0.71), "check_stacks") == OK
    assert at(stacks(rise * 0.69), "check_stacks").startswith("LOOK")
    assert at(stacks(rise * 0.26), "check_stacks").startswith("LOOK")
    assert at(stacks(rise * 0.24), "check_stacks").startswith("FAIL")
    assert at(flat(PIERS, clear_above_in=24), "check_stacks") == OK
