"""Where the data that the product ships is found."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path
from typing import Literal


def shipped_folder(name: Literal["shared", "workbook_templates"]) -> Path:
    """A folder of shipped data: inside the installed package, or beside it in a checkout.

    ``shared`` holds reference tables, price books and demo jobs; ``workbook_templates`` the
    templates that new workbooks are made from.
    """
    package = Path(str(files("estimator")))
    inside = package / name
    return inside if inside.is_dir() else package.parent / name
