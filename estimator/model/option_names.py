"""Options by letter, by number and by name."""

from __future__ import annotations

import numpy as np

from estimator.rows import OPTION_KEYS
from estimator.vocabulary import Q, join, one_of, pick


def letter_of(number: Q) -> Q:
    """Letter of an option; there is one of this number."""
    return one_of(OPTION_KEYS, number - 1)


def number_of(letter: Q, otherwise: Q) -> Q:
    """Number of the option of a letter, 1 for the first; another where it is no option's."""
    number = otherwise
    for place, key in enumerate(OPTION_KEYS, 1):
        number = np.where(letter == key, place, number)
    return number


def titled(option_name: Q, option_kind: Q, number: Q) -> Q:
    """An option by its name and its kind, or by its kind alone where it has no name."""
    name, kind = pick(option_name, number), pick(option_kind, number)
    return np.where(name == "", kind, join(name, " (", kind, ")"))
