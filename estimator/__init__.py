"""Prices the base of a small outbuilding on a sloping lot, in a workbook that its builder owns.

>>> from estimator import Job
>>> Job.demo().metric
False
"""

from estimator.api import (
    Estimate,
    Job,
    OptionEstimate,
    WorkbookReport,
    check_workbook,
    create_workbook,
    estimate,
    refill_workbook,
)
from estimator.errors import EstimatorError

__all__ = [
    "Estimate",
    "EstimatorError",
    "Job",
    "OptionEstimate",
    "WorkbookReport",
    "check_workbook",
    "create_workbook",
    "estimate",
    "refill_workbook",
]
