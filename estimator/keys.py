"""Keys by which the file code asks a model for what every workbook with options has.

A model that lacks one of them has a workbook without what it stands for.
"""

from __future__ import annotations

from typing import Final

KIND: Final = "option_kind"
"""The input that says what an option is; blank leaves the option unused."""
OPTION_NAME: Final = "option_name"
"""The row that names an option over its column."""
INPUTS_OK: Final = "inputs_ok"
"""The job row that is 1 where every input can be read."""
OVERALL: Final = "overall_flag"
"""The job row whose text stands on every sheet."""
NOT_VALID: Final = "not_valid"
"""The job row that says why no number can be used, or is empty; the overall flag reads it first."""
CHOSEN: Final = "chosen_used"
"""The job row that is 1 where the chosen option is in use."""
