"""The ways to carry the building, told apart by one table.

Whatever differs from kind to kind is data here or a case of :func:`by_kind` in a row. A row asks
:func:`is_kind` for what the table says of a kind (skids, beams, timbers, piers), and
:func:`by_kind` where each kind has a quantity of its own: then a kind without a case is refused
when the model is built.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np

from estimator.errors import RowError
from estimator.vocabulary import Q, choose


@dataclass(frozen=True, slots=True)
class Kind:
    """One way to carry the building.

    Args:
        name: As Options offers it.
        note: What it is, in a few words, for the help beside the choice.
        carries: What the building stands on: skids on a pad, beams on supports, or it has no
            floor frame, as the base is the floor.
        edge: What holds the stone of a pad: timbers, slopes of its own, nothing.
        support: What stands under each place of the beams.
        cast: Whether it is made of concrete that has to cure.
        loose: Whether it stands loose, so that anchors in the ground alone hold it in the wind.
        moves: Whether the building can be moved later, in words.
        inspected: What an inspector wants to see before it is covered, in words.
        tools: What it takes to build the base beside what every digging does, in words.
    """

    name: str
    note: str
    carries: Literal["pad", "supports", "floor"]
    edge: Literal["timbers", "slopes", ""]
    support: Literal["pier", "block", ""]
    cast: bool
    loose: bool
    moves: str
    inspected: str
    tools: str

    @property
    def graded(self) -> bool:
        """Whether the ground under it is stripped and brought to one level."""
        return self.carries != "supports"

    @property
    def stone(self) -> bool:
        """Whether it stands on stone, in one pad or in a bed under each support."""
        return self.graded or self.support == "block"

    @property
    def joisted(self) -> bool:
        """Whether it has a floor frame of joists and sheets."""
        return self.carries != "floor"


Cases: TypeAlias = Mapping[str, Q] | Mapping[tuple[str, ...], Q] | Mapping[str | tuple[str, ...], Q]
"""By kind, or by kinds that share it, a quantity."""
MoreCases: TypeAlias = Mapping[tuple[str, ...], Q]
"""Cases that packages of kinds add to a row (:class:`~estimator.contributions.OfKind`)."""

FRAMED, OPEN, PIERS, BLOCKS = "framed pad", "open pad", "piers", "blocks"
SLAB = "slab"
ON_SKIDS, OFF_BEAMS = "yes, on its skids", "with effort, off its beams"

KINDS = (
    Kind(
        FRAMED,
        "skids on stone inside timbers",
        carries="pad",
        edge="timbers",
        support="",
        cast=False,
        loose=True,
        moves=ON_SKIDS,
        inspected="subgrade and timbers before stone; floor frame before sheets",
        tools="sledge, saw for timbers, drill with a long bit, level, screed board",
    ),
    Kind(
        OPEN,
        "skids on stone with sloped shoulders",
        carries="pad",
        edge="slopes",
        support="",
        cast=False,
        loose=True,
        moves=ON_SKIDS,
        inspected="subgrade before stone; floor frame before sheets",
        tools="level, screed board, bars and rollers for the skids",
    ),
    Kind(
        PIERS,
        "cast concrete with beams",
        carries="supports",
        edge="",
        support="pier",
        cast=True,
        loose=False,
        moves=OFF_BEAMS,
        inspected="holes, forms and bars before concrete; floor frame before sheets",
        tools="auger or clamshell digger, bar cutter, tie wire, saw for tubes, trowel",
    ),
    Kind(
        BLOCKS,
        "blocks on stone with beams",
        carries="supports",
        edge="",
        support="block",
        cast=False,
        loose=True,
        moves=OFF_BEAMS,
        inspected="supports before beams; floor frame before sheets",
        tools="level, long straight edge, hand tamper, mason's hammer and chisel",
    ),
    Kind(
        SLAB,
        "concrete on an open pad, with thickened edges",
        carries="floor",
        edge="slopes",
        support="",
        cast=True,
        loose=True,
        moves="no",
        inspected="edges, forms, stone, retarder and steel before concrete",
        tools="saw, bar cutter, tie wire, long screed, float, edger, steel trowel",
    ),
)


def kinds_that(**properties: object) -> tuple[str, ...]:
    """Names of the kinds of which all this is true: ``kinds_that(carries="pad")``."""
    return tuple(
        kind.name
        for kind in KINDS
        if all(getattr(kind, name) == wanted for name, wanted in properties.items())
    )


KIND_NAMES = kinds_that()
PADS = kinds_that(carries="pad")
SUPPORTS = kinds_that(carries="supports")
FLOORS = kinds_that(carries="floor")
GRADED = kinds_that(graded=True)
JOISTED = kinds_that(joisted=True)
ON_STONE = kinds_that(stone=True)
TIMBERED = kinds_that(edge="timbers")
SLOPED = kinds_that(edge="slopes")
ON_PIERS = kinds_that(support="pier")
ON_BLOCKS = kinds_that(support="block")
CAST = kinds_that(cast=True)
UNCAST = kinds_that(cast=False)
LOOSE = kinds_that(loose=True)


def is_kind(option_kind: Q, names: Sequence[str]) -> Q:
    """Whether an option is of one of these kinds.

    Raises:
        RowError: If none is named.
    """
    if not names:
        raise RowError("no kind is named.", cure="See the table of kinds.")
    found = option_kind == names[0]
    for name in names[1:]:
        found = found | (option_kind == name)
    return found


def where_kind(option_kind: Q, names: Sequence[str], value: Q, otherwise: Q = 0) -> Q:
    """A quantity that only these kinds have."""
    return np.where(is_kind(option_kind, names), value, otherwise)


def by_kind(option_kind: Q, cases: Cases, more_cases: MoreCases | None = None) -> Q:
    """The quantity of an option's kind.

    Args:
        option_kind: Kind of the option.
        cases: By kind, or by several kinds that share it (``kinds_that(...)``, ``PADS``), its
            quantity: a number, a text, or a reference in a formula.
        more_cases: Those that packages of kinds add: the row's parameter of that name.

    Raises:
        RowError: If a kind has no case or two, or a case names no kind.
    """
    spread: dict[str, Q] = {}
    for names, value in (*cases.items(), *(more_cases or {}).items()):
        for name in (names,) if isinstance(names, str) else names:
            if name not in KIND_NAMES:
                raise RowError(f"there is no kind '{name}'.", cure=_LISTED)
            if name in spread:
                raise RowError(f"the kind '{name}' has two cases.", cure="Take one of them out.")
            spread[name] = value
    for name in KIND_NAMES:
        if name not in spread:
            raise RowError(
                f"the kind '{name}' has no case.",
                cure="Say in an OfKind of its package, or here in by_kind, what this row is for it.",
            )
    return choose(option_kind, spread)


_LISTED = f"The kinds are {', '.join(KIND_NAMES)}."
