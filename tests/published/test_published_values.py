"""Printed values and worked examples are reproduced, and the page that says so is up to date."""

from __future__ import annotations

import math
from collections import Counter

import pytest
from test_scripts import load
from validated import GROUPS, cutting
from validated.case import CUTTING, OBTAINED, PARTS, Group, difference

validation = load("validation")
CURE = "Run python scripts/validation.py and commit docs/validation.md."
DUST = 1e-9


def lasting(group: Group) -> pytest.ParameterSet:
    """A group; plans of many boards take seconds."""
    marks = [pytest.mark.slow] if group.part == CUTTING else []
    return pytest.param(group, id=f"{group.title}; {group.obtained}", marks=marks)


@pytest.mark.parametrize("group", [lasting(group) for group in GROUPS])
def test_ours_are_theirs_as_far_as_they_print_them(group: Group) -> None:
    low, high = group.within
    off = {
        case.what: (case.theirs, over)
        for case in group.cases
        if not low - DUST <= (over := difference(case)) <= high + DUST
    }
    assert off == {}
    assert f"\n\n{validation.section(group)}\n" in read(), CURE


def read() -> str:
    text: str = validation.PAGE.read_text(encoding="utf-8")
    return text


def test_the_page_says_first_what_is_not_validated_and_holds_each_table_once() -> None:
    text = read()
    assert text.startswith(f"{validation.head()}\n\n## {PARTS[0]}\n"), CURE
    titles = [line for line in text.splitlines() if line.startswith("### ")]
    wanted = [f"### {group.title}" for part in PARTS for group in GROUPS if group.part == part]
    assert titles == wanted, CURE


def test_every_group_says_where_it_comes_from_and_how_and_every_part_has_one() -> None:
    assert {group.part for group in GROUPS} == set(PARTS)
    for group in GROUPS:
        assert group.obtained.startswith(OBTAINED), group.title
        assert group.source, group.title
        assert group.within[0] <= 0 <= group.within[1], group.title
        assert all(math.isfinite(case.theirs) for case in group.cases)
        assert len({case.what for case in group.cases}) == len(group.cases) > 0, group.title
    assert len({(g.title, g.source, g.obtained) for g in GROUPS}) == len(GROUPS)


@pytest.mark.slow
@pytest.mark.parametrize("name", cutting.PLANS)
def test_plans_of_the_fewest_boards_are_proven_and_cut_what_was_asked_for(name: str) -> None:
    plan = cutting.PLANS[name]()
    if name == "paper rolls":
        demand, room = cutting.PAPER_ROLLS, 5600
    else:
        text, room, _ = cutting.INSTANCES[name]
        demand = cutting.read(text)
        assert sum(demand.values()) == 120
    assert Counter(int(label) for board in plan.boards for label, _ in board.pieces) == demand
    assert all(sum(length for _, length in board.pieces) <= room for board in plan.boards)
    assert (plan.cost, plan.bound, plan.proven) == (len(plan.boards), len(plan.boards), True)
