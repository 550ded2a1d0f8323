"""Steps or a ramp at the door: of the sheets Floor and Factors, with what they add to the whole."""

from __future__ import annotations

from estimator.model.steps.base import BASE
from estimator.model.steps.checks import CHECKS
from estimator.model.steps.flight import FLIGHT
from estimator.model.steps.inputs import INPUTS
from estimator.model.steps.limits import LIMITS
from estimator.model.steps.rails import RAILS
from estimator.model.steps.ramp import PLATFORM
from estimator.model.steps.weight import WEIGHT

__all__ = ["LIMITS", "STEPS"]

STEPS = (INPUTS, FLIGHT, PLATFORM, RAILS, BASE, WEIGHT, CHECKS)
"""Chapters of the sheet Floor, in order."""
