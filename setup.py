"""Packages of the distribution, with the folders of data that travel inside it."""

from setuptools import find_packages, setup

DATA = {
    "estimator.shared": ("shared", ["*.toml", "*/*.csv", "*/*.md"]),
    "estimator.workbook_templates": ("workbook_templates", ["*.xlsx", "*.formulas"]),
}

setup(
    packages=[*find_packages(include=["estimator", "estimator.*"]), *DATA],
    package_dir={package: folder for package, (folder, _) in DATA.items()},
    package_data={package: patterns for package, (_, patterns) in DATA.items()},
)
