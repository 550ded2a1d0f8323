"""Amounts in texts, marked where they are written, so that each measure has its own.

A mark stands in braces in a label, note, source, choice or message of the model:

- ``{6 in}`` reads "6 in" in feet and "152 mm" in metres: the exact amount, rounded to what is
  shown of it;
- ``{6 in|150 mm}`` where a metric builder says another number, ``{feet|metres}`` for words, and
  ``{12 in|}`` for words of one measure alone;
- ``{ft2}`` is a unit alone.

Text without a mark reads alike in both, but that a metric text says of codes and standards of the
United States that they are such.
"""

from __future__ import annotations

import re
from typing import Final, Literal

from estimator.errors import RowError
from estimator.measures import metric_unit, rounded_to

Measure = Literal["feet", "metric"]
"""System of measure of a model: that of its quantities' units and of its texts."""

_CODES: Final = ("IRC", "IBC")
_AMERICAN: Final = re.compile(
    r"(?<!US code )(?<!US standard )\b(?:IRC|IBC|ASCE|NDS|ASTM|AWPA|AASHTO|PS (?:1|2|20))\b"
)
_MARK: Final = re.compile(r"\{([^{}|]*)(?:\|([^{}|]*))?\}")
_AMOUNT: Final = re.compile(r"(?:(?P<number>[^ ]+|[0-9]+ [0-9]+/[0-9]+) )?(?P<unit>[a-z].*)")
_NUMBER: Final = re.compile(r"-?\d[\d,]*(?:\.\d+)?(?:e[+-]\d+)?|(?:\d+ )?\d+/\d+|-?inf|nan")


def in_measure(text: str, measure: Measure) -> str:
    """A text as it reads in a system of measure.

    Raises:
        RowError: If a brace belongs to no mark, or a mark says no amount and no two readings.
    """
    if "{" not in text and "}" not in text:
        return _with_country(text, measure)
    rest = _MARK.sub("", text)
    if "{" in rest or "}" in rest:
        raise RowError(f'"{text}" has a brace that belongs to no mark.', cure=_CURE)
    return _with_country(_MARK.sub(lambda mark: _read(mark, measure), text), measure)


def _with_country(text: str, measure: Measure) -> str:
    """A metric text with the country of codes and standards at the first mention of each."""
    if measure == "feet":
        return text
    seen = set[str]()

    def named(match: re.Match[str]) -> str:
        name = match[0]
        if name in seen:
            return name
        seen.add(name)
        return f"US {'code' if name in _CODES else 'standard'} {name}"

    return _AMERICAN.sub(named, text)


def as_said(text: str, measure: Measure) -> str:
    """What a solver says, as it reads in a system of measure.

    Such a text may quote what a person typed: braces that are no mark stay as they are.
    """

    def read(mark: re.Match[str]) -> str:
        try:
            return _read(mark, measure)
        except RowError:
            return mark[0]

    return _MARK.sub(read, text)


def either(customary: str, metric: str) -> str:
    """A mark that reads as the one text in feet and as the other in metres."""
    return f"{{{customary}|{metric}}}"


_CURE: Final = (
    "Between the braces stands a number with a unit, a unit alone, or words for feet and words for"
    " metres with | between them."
)


def _read(mark: re.Match[str], measure: Measure) -> str:
    one, other = mark.groups()
    if other is not None:
        if not one and not other:
            raise RowError(f'the mark "{mark[0]}" says nothing.', cure=_CURE)
        return one if measure == "feet" else other
    parts = _AMOUNT.fullmatch(one)
    number, unit = (parts["number"], parts["unit"]) if parts else (None, "")
    metric = metric_unit(unit)
    if metric.name == unit or (number is not None and not _NUMBER.fullmatch(number)):
        raise RowError(f'the mark "{mark[0]}" is no amount with a unit.', cure=_CURE)
    if measure == "feet":
        return one
    if number is None:
        return metric.name
    value = _amount(number) * metric.factor
    if metric.name == "mm":
        return f"{value:.0f} mm" if abs(value) >= 2 else f"{value:.2g} mm"
    return f"{rounded_to(value, 3):.12g} {metric.name}"


def _amount(text: str) -> float:
    """A number with or without a fraction: ``12``, ``5 1/2``, ``3/4``, ``2,000``."""
    whole, _, fraction = text.replace(",", "").rpartition(" ")
    if "/" not in fraction:
        return float(fraction)
    over, _, under = fraction.partition("/")
    return float(whole or 0) + float(over) / float(under)
