"""What a refill changed in money: the sentences add up, and are about the last refill."""

from __future__ import annotations

import io
import re
import sys
from pathlib import Path

import numpy as np
import pytest
from books import edited, refilled, value
from hypothesis import given
from hypothesis import strategies as st

from estimator.cli import main
from estimator.since import OptionCost, read_cost, told
from estimator.working import working

CENTS = st.integers(0, 10_000_000).map(lambda cents: cents / 100)
GROUPS = ("stone", "lumber", "labour: earthwork", "labour: carpentry", "delivery")


def figures(*options: tuple[str, float, dict[str, float]], cheapest: int = 1) -> dict[str, object]:
    """What the sentences read, of options that pass."""
    costs = np.zeros((6, len(GROUPS)))
    for option, (_, _, groups) in enumerate(options):
        costs[option] = [groups.get(name, 0.0) for name in GROUPS]
    blanks = 6 - len(options)
    return {
        "total_cost": np.array([[t] for _, t, _ in options] + [[np.nan]] * blanks),
        "option_used": np.array([[1.0]] * len(options) + [[0.0]] * blanks),
        "option_kind": np.array([[k] for k, _, _ in options] + [[""]] * blanks),
        "group_name": np.array([GROUPS]),
        "group_cost": costs,
        "cheapest_no": np.array([[float(cheapest)]]),
        "currency": np.array([["$"]]),
    }


def test_a_change_is_told_with_its_largest_groups_and_the_cheapest_that_changed() -> None:
    before = [
        OptionCost("piers", 1000.0, True, {"stone": 100.0, "lumber": 500.0}),
        OptionCost("slab", 1100.0, False, {"stone": 200.0}),
    ]
    values = figures(
        ("piers", 1180.0, {"stone": 150.0, "lumber": 600.0}),
        ("slab", 1100.0, {"stone": 200.0}),
        cheapest=2,
    )
    assert told([*before, None, None, None, None], values) == [
        "A costs $180.00 more, $1,180.00 in all (lumber $100.00 more; stone $50.00 more;"
        " tax, contingency, overhead and profit $30.00 more)",
        "the cheapest that passes is B, and was A",
    ]


def test_options_that_come_and_go_are_told() -> None:
    before = [OptionCost("piers", 1000.0, True, {}), OptionCost("slab", 900.0, False, {})]
    gone = told([*before, None, None, None, None], figures(("open pad", 1000.0, {})))
    assert gone == ["A costs as much as before (piers before)", "B is no longer in use"]
    new = told([before[0], *[None] * 5], figures(("piers", 1000.0, {}), ("slab", 5.5, {})))
    assert new == ["B is new, slab: $5.50"]


def test_a_job_that_waits_for_inputs_has_lost_no_option() -> None:
    assert told([OptionCost("piers", 1000.0, True, {}), *[None] * 5], figures()) == []


def test_where_nothing_is_known_of_a_refill_before_nothing_is_told() -> None:
    assert told([None] * 6, figures(("piers", 1000.0, {}))) == []


@given(then=st.dictionaries(st.sampled_from(GROUPS), CENTS), total=CENTS, cheapest=st.booleans())
def test_a_cost_is_read_as_it_was_kept(
    then: dict[str, float], total: float, cheapest: bool
) -> None:
    cost = OptionCost("framed pad", total, cheapest, then)
    assert read_cost(cost.text) == cost


@pytest.mark.parametrize("text", [None, "", 3.5, "total = 1", "kind = piers; total = much"])
def test_what_is_no_cost_counts_as_none(text: object) -> None:
    assert read_cost(text) is None


@given(
    old=st.dictionaries(st.sampled_from(GROUPS), CENTS),
    new=st.dictionaries(st.sampled_from(GROUPS), CENTS),
    extra=st.tuples(CENTS, CENTS),
)
def test_the_amounts_told_add_up_to_the_change(
    old: dict[str, float], new: dict[str, float], extra: tuple[float, float]
) -> None:
    was, now = sum(old.values()) + extra[0], sum(new.values()) + extra[1]
    cost = OptionCost("piers", was, True, old)
    (line,) = told([cost, *[None] * 5], figures(("piers", now, new)))
    if line == "no total has changed":
        assert abs(now - was) < 0.006
        return
    amounts = [
        float(amount.replace(",", "")) * (1 if way == "more" else -1)
        for amount, way in re.findall(r"\$([\d,.]+) (more|less)", line)
    ]
    assert amounts[0] == pytest.approx(now - was, abs=0.006)
    assert sum(amounts[1:]) == pytest.approx(amounts[0], abs=0.03)


@pytest.mark.slow
def test_a_refill_says_what_the_edit_costs_against_the_last_refill(
    demo_book: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "shed.xlsx"
    path.write_bytes(edited(demo_book, {"in_wage_per_h": value(demo_book, "in_wage_per_h") + 10}))
    assert main(["refill", str(path)]) == 0
    said = capsys.readouterr().out
    for option, key in enumerate("AB"):
        then, now = (value(book, ("total_cost", option)) for book in (demo_book, path.read_bytes()))
        assert now > then
        assert f"\n  {key} costs ${now - then:,.2f} more, ${now:,.2f} in all (" in said
    assert main(["refill", str(path)]) == 0
    assert "\nSince the last refill: no total has changed\n" in capsys.readouterr().out


@pytest.mark.slow
def test_the_next_job_is_not_held_against_the_last_one(
    demo_book: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    old, new = tmp_path / "shed.xlsx", tmp_path / "coop.xlsx"
    old.write_bytes(demo_book)
    assert main(["next", str(old), str(new)]) == 0
    assert main(["refill", str(new)]) == 0
    assert "Since the last refill" not in capsys.readouterr().out


class Terminal(io.StringIO):
    """A stream that a person looks at."""

    def isatty(self) -> bool:
        return True


@pytest.mark.slow
def test_a_terminal_shows_the_steps_of_a_refill_and_a_pipe_does_not(
    demo_book: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    for stream, shows in ((Terminal(), True), (io.StringIO(), False)):
        monkeypatch.setattr(sys, "stderr", stream)
        with working():
            refilled(edited(demo_book, {"in_building_length_ft": "13 ft"}))
        lines = stream.getvalue().split("\r")
        assert any(re.match(r"Solving \d+ of \d+: \w", line) for line in lines) == shows
        assert (stream.getvalue() != "") == shows
    assert not lines[-1].strip()
