"""Members in one piece over equal spans: what their supports get, against printed tables."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.reference import load
from estimator.solve.bearing import overhang_tributary_ft
from estimator.solve.continuous import SPANS_MOST, continuity, end_shears, support_moments


def test_one_span_is_a_simple_beam_and_its_neighbour_begins_at_the_joint() -> None:
    one = continuity(1)
    assert (one.reaction_dead, one.reaction_live, one.shear_dead, one.shear_live) == (1, 1, 1, 1)


def test_an_overhang_levers_on_the_next_support() -> None:
    """Two spans, a moment M at both ends: the middle support carries -M / 2 and loses 3 M / L
    (three moments: M + 4 m + M = 0)."""
    assert support_moments([0.0, 0.0], 1.0, 1.0) == pytest.approx([1, -0.5, 1])
    two = continuity(2)
    assert (two.lever, two.lift) == (pytest.approx(1.5), pytest.approx(3.0))
    assert overhang_tributary_ft(8.0, 1.0) == pytest.approx(9 * 9 / 16)
    assert overhang_tributary_ft(4.0, 1.0, 1.5) == pytest.approx(2 + 1 + 1.5 / 8)


loads = st.lists(st.floats(0, 100), min_size=1, max_size=SPANS_MOST)


@given(loads, st.floats(0, 50), st.floats(0, 50))
def test_supports_carry_all_the_load_and_no_moment_is_left_over(
    spans: list[float], left: float, right: float
) -> None:
    to_left, to_right = end_shears(spans, left, right)
    assert to_left + to_right == pytest.approx(np.array(spans), abs=1e-9)
    # Moments about the first support: loads, and the end moments, against the reactions.
    reactions = np.append(to_left, 0.0) + np.append(0.0, to_right)
    about = sum(w * (i + 0.5) for i, w in enumerate(spans))
    held = float(reactions @ np.arange(len(spans) + 1))
    assert held == pytest.approx(about + right - left, abs=1e-7)


@given(st.integers(2, SPANS_MOST), st.data())
def test_no_pattern_of_live_load_gives_a_support_more_than_the_factor(
    spans: int, data: st.DataObject
) -> None:
    pattern = data.draw(st.lists(st.sampled_from((0.0, 0.5, 1.0)), min_size=spans, max_size=spans))
    to_left, to_right = end_shears(pattern)
    found = continuity(spans)
    assert (to_right[:-1] + to_left[1:]).max() <= found.reaction_live + 1e-9
    assert 2 * max(to_left.max(), to_right.max()) <= found.shear_live + 1e-9
    assert found.reaction_dead <= found.reaction_live <= 1.25 + 1e-9


def test_the_table_of_wet_service_names_a_share_for_every_size() -> None:
    rows = [r for r in load("adjustment_factors") if r.text("factor") == "wet_service"]
    assert {r.text("condition") for r in rows} == {
        "2-4 thick",
        "5x5 and larger",
        "5x5 and larger, Southern pine",
    }
