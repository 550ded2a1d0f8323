"""Hazards against kinds: what answers each of them for each kind, and what that costs.

Every kind answers every hazard: by checks and what they lead to in the price, or by the reason why
the hazard is none for it. What is left out of one kind is an error of the comparison.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any, TypeAlias

import numpy as np

from estimator.contributions import OwnRow
from estimator.errors import RowError
from estimator.keys import KIND
from estimator.model.adds import HAZARDS, OK, Check
from estimator.model.kinds import BLOCKS, FRAMED, KIND_NAMES, OPEN, PIERS, SLAB, by_kind
from estimator.vocabulary import Q, count_starting

AT_ONCE = 3
"""Most checks that one line weighs up, so that its formula stays readable."""


@dataclass(frozen=True, slots=True)
class Answered:
    """Checks answer the hazard.

    Args:
        price: What the answer costs, in words: which lines of the price hold it.
    """

    price: str


@dataclass(frozen=True, slots=True)
class Spared:
    """The hazard is none for this kind.

    Args:
        because: Why.
    """

    because: str


Answer: TypeAlias = Answered | Spared


@dataclass(frozen=True, slots=True)
class Hazard:
    """What may happen to any building.

    Args:
        key: One word for its row.
        label: As Checks shows it.
        checked: Hazards of the checks that answer it (``HAZARDS``).
    """

    key: str
    label: str
    checked: tuple[str, ...]


TABLE = (
    Hazard("bearing", "Bearing", ("soil overloaded",)),
    Hazard("frost", "Frost", ("frost",)),
    Hazard("fill", "Fill", ("settling",)),
    Hazard("sliding", "Sliding", ("sliding",)),
    Hazard("overturning", "Overturning", ("overturning",)),
    Hazard("uplift", "Uplift", ("uplift",)),
    Hazard("overhang", "Overhang", ("overhang",)),
    Hazard("end_line", "End line under the gable wall", ("end line under the gable wall",)),
    Hazard(
        "moisture",
        "Moisture",
        ("water", "rot", "rot in the ground", "rot for lack of air", "splash"),
    ),
    Hazard("stacks", "Lateral support of stacks", ("lateral support of stacks",)),
    Hazard("height", "Height", ("too much fall", "a wall too high", "supports that lean or crack")),
    Hazard("access", "Access", ("access",)),
)

_EVERY: Mapping[str, Answer] = {
    "overhang": Answered("joists"),
    "end_line": Answered("end joists"),
    "access": Answered("steps, ramp, landing and rails"),
}
_LOOSE: Mapping[str, Answer] = {
    "sliding": Answered("anchors and straps"),
    "overturning": Answered("anchors and straps"),
    "uplift": Answered("anchors and straps, ties at the joists"),
}
_PAD: Mapping[str, Answer] = {
    **_EVERY,
    **_LOOSE,
    "bearing": Answered("skids, and stone under them"),
    "frost": Answered("nothing, a pad lies above frost, and whether it may is asked"),
    "fill": Answered("fill, tamped in layers"),
    "moisture": Answered("treated wood, stone, drain or swale"),
    "stacks": Spared("no stacks, skids lie on stone"),
}
_BEAMS: Mapping[str, Answer] = {
    **_EVERY,
    "moisture": Answered("treated wood, height of the beams"),
}
ANSWERS: Mapping[str, Mapping[str, Answer]] = {
    FRAMED: {**_PAD, "height": Answered("courses of timber and their tie-backs")},
    OPEN: {**_PAD, "height": Answered("stone, as too much fall fails")},
    PIERS: {
        **_BEAMS,
        "bearing": Answered("footings"),
        "frost": Answered("depth of holes, concrete, tubes"),
        "fill": Spared("piers stand below what is stripped, in undisturbed soil"),
        "sliding": Answered("brackets, and anchors where they lack"),
        "overturning": Answered("brackets, weight of piers, and anchors where they lack"),
        "uplift": Answered(
            "brackets, weight of piers, anchors where they lack, ties at the joists"
        ),
        "stacks": Spared("no stacks, piers are cast in one"),
        "height": Answered("diameter of piers, without bracing"),
    },
    BLOCKS: {
        **_BEAMS,
        **_LOOSE,
        "bearing": Answered("stone beds"),
        "frost": Answered("nothing, beds lie above frost, and whether they may is asked"),
        "fill": Spared("beds are dug into undisturbed soil, nothing is filled"),
        "stacks": Answered("larger blocks, or a lower floor"),
        "height": Answered("blocks, as stacks too tall fail"),
    },
    SLAB: {
        "bearing": Answered("width of its edges"),
        "frost": Answered("depth of its edges"),
        "fill": Answered("fill, tamped in layers, and edges below it"),
        "sliding": Answered("weight of the slab, anchor bolts"),
        "overturning": Answered("weight of the slab, anchor bolts"),
        "uplift": Answered("weight of the slab, anchor bolts"),
        "overhang": Spared("no joists, walls stand on the edge"),
        "end_line": Spared("no joists, end walls stand on the edge"),
        "moisture": Answered("stone, vapour retarder, drain or swale, height above the ground"),
        "stacks": Spared("no stacks, the edge is cast in one"),
        "height": Answered("concrete of its edges, shoulders of stone, steel and joints"),
        "access": _EVERY["access"],
    },
}
"""By kind and hazard."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HazardLine(OwnRow):
    """The worst of what checks say of a hazard, or why it is none, option by option [Checks]."""


def hazard_lines(checks: Sequence[Check]) -> list[HazardLine]:
    """A line for each hazard of :data:`TABLE`, those of many checks in parts before it.

    Raises:
        RowError: If a kind has no answer to a hazard or one to none, a hazard names an unknown one
            of checks, or no check answers where an answer says so.
    """
    refuse_gaps(TABLE, ANSWERS)
    return [line for hazard in TABLE for line in _lines(hazard, checks)]


def refuse_gaps(table: Sequence[Hazard], answers: Mapping[str, Mapping[str, Answer]]) -> None:
    """Refuse a table with an empty cell.

    Raises:
        RowError: Naming kind and hazard of every one that is.
    """
    for hazard in table:
        for name in hazard.checked:
            if name not in HAZARDS:
                raise RowError(f"unknown hazard {name!r}; see HAZARDS.", where=hazard.label)
    gaps = [
        f"the kind '{kind}' has no answer to the hazard '{hazard.label}' ({hazard.key})"
        for hazard in table
        for kind in KIND_NAMES
        if hazard.key not in answers.get(kind, {})
    ]
    if gaps:
        raise RowError(
            "\n".join(gaps) + ".",
            cure="Say in ANSWERS of model/hazards.py what answers it and its price (Answered), or why it is none (Spared).",
        )
    known = {hazard.key for hazard in table}
    for kind, cells in answers.items():
        if kind not in KIND_NAMES or not known.issuperset(cells):
            raise RowError(f"ANSWERS of '{kind}' name a kind or hazard that there is not.")


def _lines(hazard: Hazard, checks: Sequence[Check]) -> list[HazardLine]:
    keys = [check.key for check in checks if check.hazard in hazard.checked]
    cells = {kind: ANSWERS[kind][hazard.key] for kind in KIND_NAMES}
    if not keys and any(isinstance(cell, Answered) for cell in cells.values()):
        raise RowError("no check answers it.", where=f"hazard {hazard.label!r}")
    labels = {check.key: check.label for check in checks}
    parts: list[HazardLine] = []
    while len(keys) > AT_ONCE:
        chunks = [keys[i : i + AT_ONCE] for i in range(0, len(keys), AT_ONCE)]
        made = [_part(hazard, chunk, len(parts) + n, labels) for n, chunk in enumerate(chunks, 1)]
        parts += made
        labels |= {part.key: part.label for part in made}
        keys = [part.key for part in made]
    spared = any(isinstance(cell, Spared) for cell in cells.values())
    line = HazardLine(
        key=f"hazard_{hazard.key}",
        label=hazard.label,
        note=_priced(cells),
        function=partial(_verdict, keys, cells) if spared else partial(_worst, keys),
        reads=(KIND, *keys) if spared else tuple(keys),
    )
    return [*parts, line]


def _part(
    hazard: Hazard, keys: Sequence[str], number: int, labels: Mapping[str, str]
) -> HazardLine:
    return HazardLine(
        key=f"hazard_{hazard.key}_{number}",
        label=f"{hazard.label}, part {number}",
        note=f"The worst of: {'; '.join(labels[key] for key in keys)}.",
        function=partial(_worst, keys),
        reads=tuple(keys),
    )


def _priced(cells: Mapping[str, Answer]) -> str:
    """What the answers cost, kinds with one price together."""
    prices: dict[str, list[str]] = {}
    for kind, cell in cells.items():
        if isinstance(cell, Answered):
            prices.setdefault(cell.price, []).append(kind)
    if len(prices) == 1 and len(next(iter(prices.values()))) == len(cells):
        return f"Priced: {next(iter(prices))}."
    told = "; ".join(f"{price} ({', '.join(kinds)})" for price, kinds in prices.items())
    return f"Priced: {told}."


def _worst(keys: Sequence[str], **values: Q) -> Q:
    """The first text that says FAIL, else the first that says LOOK, else ok."""
    worst: Q = OK
    for word in ("LOOK", "FAIL"):
        for key in reversed(keys):
            worst = np.where(count_starting(values[key], word) > 0, values[key], worst)
    return worst


def _verdict(keys: Sequence[str], cells: Mapping[str, Answer], **values: Q) -> Q:
    worst = _worst(keys, **values)
    cases: dict[str, Any] = {
        kind: worst if isinstance(cell, Answered) else f"none: {cell.because}"
        for kind, cell in cells.items()
    }
    return by_kind(values[KIND], cases)
