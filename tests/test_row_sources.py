"""Rows of a published method say where it stands: standard and clause."""

from __future__ import annotations

import re

from estimator.model import build_model

FORCES = frozenset(("psi", "psf", "plf", "lbf", "mph"))
"""Units of stresses, loads, forces and wind: such a row comes from a method, not from a count."""
SUMMED = frozenset(
    (
        "dead_load_lb",
        "total_load_lb",
        "skid_most_plf",
        "beam_most_plf",
        "soil_psf",
        "lift_lb",
        "push_lb",
        "anchored_lb",
        "slab_psf",
    )
)
"""Rows that add up others, or take the greatest or that of the kind: each of those has a source."""
STANDARD = re.compile(r"\b(NDS|IRC|IBC|ASCE|ACI)\b")
CLAUSE = re.compile(r"\b(NDS|IRC|IBC|ASCE|ACI)\b.{0,60}?(\b[A-Z]{0,2}\d+(\.\d+)+|Table|Equation)")


def test_every_row_of_a_load_a_force_or_a_stress_names_its_source() -> None:
    rows = [item for item in build_model().quantities.values() if item.role == "row"]
    forces = {item.key: bool(item.source) for item in rows if item.unit in FORCES}
    assert len(forces) > 60
    assert {key for key, sourced in forces.items() if not sourced} == SUMMED


def test_a_row_that_names_a_standard_names_the_clause() -> None:
    sources = {
        item.key: item.source
        for item in build_model().quantities.values()
        if item.role == "row" and STANDARD.search(item.source)
    }
    assert len(sources) > 60
    assert {key: text for key, text in sources.items() if not CLAUSE.search(text)} == {}
