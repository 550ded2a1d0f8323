"""What an assembly adds to the whole: pieces, needs, hours, checks, steps, weights.

Each is declared beside the assembly's rows; where its kind is gathered stands in brackets.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Final, TypeVar

from estimator.contributions import Contribution, Fixed, OwnRow, after_one_another
from estimator.errors import RowError
from estimator.model.kinds import KIND_NAMES
from estimator.rows import Chapter

F = TypeVar("F", bound=Callable[..., Any])

WHOLE: Final = "whole"
"""In one piece; one that no board is long enough for can't be had."""
ON_JOISTS: Final = "on joists"
"""Joined on the middle of a joist, as rims are."""
OVER_SUPPORTS: Final = "over supports"
"""Joined over a support, as boards of a beam are."""
OVER_BEARERS: Final = "over skids or beams"
"""In parts that meet end to end over a skid or beam, as joists do."""
EQUAL_PARTS: Final = "equal parts"
"""In equal parts that lap on the stone, as skids are."""
FROM_OFFCUTS: Final = "from off-cuts"
"""In one piece, from off-cuts of its stock first, as blocks are."""
JOINED: Final = (WHOLE, ON_JOISTS, OVER_SUPPORTS, OVER_BEARERS, EQUAL_PARTS, FROM_OFFCUTS)

ABOVE_GROUND: Final = "above ground, UC3B"
GROUND_CONTACT: Final = "ground contact, UC4A"
"""Use categories that a piece may ask for; any other text asks for no treatment."""
ANY_WOOD: Final = Fixed("")
"""Use category of a piece that needs no treatment."""

TRADES: Final = ("earthwork", "stone", "timber", "concrete", "carpentry", "errands")

OK: Final = "ok"
"""What a check says that passes."""

HAZARDS: Final = (
    "wrong readings",
    "guessed ground",
    "too much fall",
    "a wall too high",
    "a pad below the ground",
    "settling",
    "water",
    "soil overloaded",
    "frost",
    "supports that lean or crack",
    "lateral support of stacks",
    "weak joists",
    "end line under the gable wall",
    "overhang",
    "weak skids",
    "weak beams",
    "weak sheets",
    "cut joists",
    "access",
    "a list that is not whole",
    "rot",
    "rot in the ground",
    "rot for lack of air",
    "sliding",
    "overturning",
    "uplift",
    "splash",
    "missing prices",
    "a yard sold out",
    "no permit",
    "a size that changed",
)
"""What checks answer, in the order in which they are listed."""


def _initials(mark: str) -> str:
    return "".join(word[0] for word in mark.split()).upper()


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece(Contribution):
    """Pieces of one length for the saw [Lumber].

    Args:
        stock: Key of the stock's name; empty where there is none.
        length: Key of the length of one, in.
        count: Key of how many.
        joined: One of :data:`JOINED`: how one longer than every board is made.
        mark: What Cut Plan calls one.
        letters: What its number is written behind, on the wood and on the sheets; left out: the
            initials of its mark.
        use: Key of its use category, that of the treatment it needs. Left out: any wood will do.
    """

    stock: str
    length: str
    count: str
    joined: str
    mark: str
    letters: str = ""
    use: str | Fixed = ANY_WOOD

    @property
    def code(self) -> str:
        """The letters, or the initials of its mark."""
        return self.letters or _initials(self.mark)

    def problem(self) -> str:
        """An unknown way of joining, or nothing to call it."""
        return _joining(self.joined) or ("has no mark." if not self.mark else "")


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceList(Contribution):
    """Pieces of many lengths for the saw, one line of a table each; in one piece [Lumber].

    Args:
        stock: Key of the stock's name; empty where there is none.
        lengths: Column of their lengths, in; 0 where the line is not used.
        counts: Column of how many there are of each; empty: one.
        count: Key of how many there are in all.
        mark: What Cut Plan calls one.
        letters: As of :class:`Piece`.
        use: As of :class:`Piece`.
    """

    stock: str
    lengths: str
    count: str
    mark: str
    letters: str = ""
    counts: str = ""
    use: str | Fixed = ANY_WOOD

    @property
    def code(self) -> str:
        """The letters, or the initials of its mark."""
        return self.letters or _initials(self.mark)

    def problem(self) -> str:
        """Nothing to call it."""
        return "has no mark." if not self.mark else ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Need(Contribution):
    """So much of an item of the price book [Cost].

    Args:
        item: The item's key, ``Fixed("drain_pipe")``, or the key of a row that gives it.
        quantity: Key of how much, in the item's unit.
    """

    item: str | Fixed
    quantity: str

    def problem(self) -> str:
        """A need without an item."""
        return "a need without an item." if not self.item else ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Hours(Contribution):
    """Hours of work [Cost].

    Args:
        quantity: Key of the hours.
        trade: One of :data:`TRADES`.
        after: Keys of the work that must be done before.
        before: Keys of work of other assemblies that must wait for it.
        wait: Key of the days to wait after it, of concrete that cures, weekends included; empty:
            none.
        hold: Key of the working days that it stands still for an inspection; empty: none.
    """

    quantity: str
    trade: str
    after: tuple[str, ...] = ()
    before: tuple[str, ...] = ()
    wait: str = ""
    hold: str = ""

    def problem(self) -> str:
        """An unknown trade."""
        return "" if self.trade in TRADES else f"unknown trade {self.trade!r}; see TRADES."


@dataclass(frozen=True, slots=True, kw_only=True)
class Check(OwnRow):
    """A row that says ok, or what to put right (FAIL) or look at (LOOK) [Checks].

    Args:
        hazard: What it guards against, one of :data:`HAZARDS`.
    """

    hazard: str

    def problem(self) -> str:
        """An unknown hazard."""
        if self.hazard not in HAZARDS:
            return f"unknown hazard {self.hazard!r}; see HAZARDS."
        return "" if self.mend else "says no input where it is mended."


@dataclass(frozen=True, slots=True, kw_only=True)
class Step(Contribution):
    """A step of the order of work [Field Sheet].

    Args:
        text: What is done.
        after: Keys of the steps that come before.
        before: Keys of steps of other assemblies that come after it.
        kinds: Of the options that it is a step of.
    """

    text: str
    after: tuple[str, ...] = ()
    before: tuple[str, ...] = ()
    kinds: tuple[str, ...] = KIND_NAMES


@dataclass(frozen=True, slots=True, kw_only=True)
class Weight(Contribution):
    """What something weighs, each time only what counts there [Footings].

    Args:
        dead: Key of what bears on the base, lb; empty: it doesn't.
        dry: Key of what holds the building down, dried out, lb; empty: it doesn't.
        fresh: Key of the heaviest single thing to lift, as delivered, lb; empty: nothing heavy.
    """

    dead: str = ""
    dry: str = ""
    fresh: str = ""

    def problem(self) -> str:
        """No weight at all."""
        return "" if self.dead or self.dry or self.fresh else "a weight without a quantity."


def check(
    chapter: Chapter, label: str, *, hazard: str, mend: str, note: str = "", source: str = ""
) -> Callable[[F], F]:
    """Make a function a check, under the function's name; see :class:`Check`.

    Raises:
        RowError: If the hazard is unknown.
    """

    def register(function: F) -> F:
        chapter.adds(
            Check(
                key=function.__name__,
                label=label,
                note=note,
                hazard=hazard,
                mend=mend,
                source=source,
                function=function,
            )
        )
        return function

    return register


def by_hazard(checks: Sequence[Check]) -> list[Check]:
    """Checks in the order of :data:`HAZARDS`, those of one hazard as declared."""
    return sorted(checks, key=lambda one: HAZARDS.index(one.hazard))


def told_apart(pieces: Sequence[Piece | PieceList]) -> Sequence[Piece | PieceList]:
    """Pieces as they come, if no two that are called differently have the same letters.

    Raises:
        RowError: Naming the two.
    """
    marks: dict[str, Piece | PieceList] = {}
    for piece in pieces:
        first = marks.setdefault(piece.code, piece)
        if first.mark != piece.mark:
            raise RowError(
                f"its letters {piece.code} are those of {first.where} too.",
                where=piece.where,
                cure='Give it others: letters="...".',
            )
    return pieces


def steps_of(steps: Sequence[Step], kind: str, most: int) -> tuple[str, ...]:
    """What is done for an option of a kind, each after those that it names, and blanks up to most.

    Raises:
        RowError: Naming the step: it comes after something unknown, or after itself; or naming
            the kind: it has more steps than there is room for.
    """
    texts = [step.text for step in after_one_another(steps) if kind in step.kinds]
    if len(texts) > most:
        raise RowError(f"has {len(texts)} steps; the Field Sheet holds {most}.", where=kind)
    return (*texts, *[""] * (most - len(texts)))


def _joining(joined: str) -> str:
    return "" if joined in JOINED else f"unknown way of joining {joined!r}; see JOINED."
