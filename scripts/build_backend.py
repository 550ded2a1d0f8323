"""Builds the wheel: setuptools, once the templates that travel in it are built.

Building them needs what the product itself needs, so a wheel is built with that installed; a source
archive and an editable installation are not.
"""

from __future__ import annotations

import sys
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from setuptools import build_meta
from setuptools.build_meta import *  # noqa: F403

ROOT = Path(__file__).resolve().parent.parent


def get_requires_for_build_wheel(config_settings: Mapping[str, Any] | None = None) -> list[str]:
    """What setuptools needs, and what building a template does."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    return [*build_meta.get_requires_for_build_wheel(config_settings), *project["dependencies"]]


def build_wheel(
    wheel_directory: str,
    config_settings: Mapping[str, Any] | None = None,
    metadata_directory: str | None = None,
) -> str:
    """Build the templates and their lists if they are not those of this source, then the wheel."""
    sys.path.insert(0, str(ROOT))
    from estimator.workbook.template.shipped import METRIC_TEMPLATE, TEMPLATE, current, shipped

    for path in (TEMPLATE, METRIC_TEMPLATE):
        shipped(current(path, metric=path == METRIC_TEMPLATE))  # with the list of its formulas
    name: str = build_meta.build_wheel(wheel_directory, config_settings, metadata_directory)
    return name
