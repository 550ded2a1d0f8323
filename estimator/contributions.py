"""What an assembly adds to the whole, and how a sheet gathers it.

A chapter declares contributions beside its rows (``CHAPTER.adds(...)``); a section of some sheet
gathers all of one kind (``CHAPTER.gathers(...)``), a line each. The lines are made when the sheets
are joined, by :mod:`estimator.gather`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from estimator.errors import RowError

Order = Callable[[Sequence[Any]], Sequence[Any]]
"""Puts contributions in the order of their lines, or makes the lines of them.

Raises :class:`RowError` where it can't.
"""

MORE_CASES = "more_cases"
"""Parameter of a row that takes cases of :class:`OfKind`."""

Linked = Callable[[Sequence[Any], Any], Mapping[str, str | tuple[str, ...]]]
"""Keys that the line of a contribution reads, by parameter: one, or a tuple of them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Contribution:
    """One thing that an assembly adds; a kind of them is a subclass.

    Args:
        key: What the keys of its gathered lines begin with; one of its kind in the whole model.
        label: What a person reads; one of its kind in the whole model.
        note: Beside its gathered lines.

    Raises:
        RowError: Naming the contribution, if :meth:`problem` has something to say.
    """

    key: str
    label: str
    note: str = ""

    def __post_init__(self) -> None:
        problem = self.problem()
        if not self.key.isidentifier() or not self.label:
            problem = "a contribution has a key, of letters, digits and _, and a label."
        if problem:
            raise RowError(problem, where=self.where)

    @property
    def where(self) -> str:
        """What an error calls it."""
        return f"{type(self).__name__.lower()} {self.key!r}"

    def line(self, suffix: str) -> str:
        """Key of its gathered line in the section of that suffix."""
        return f"{self.key}_{suffix}"

    def problem(self) -> str:
        """What is wrong with what was given; empty if nothing is."""
        return ""

    def remark(self) -> str:
        """What is said beside its gathered lines."""
        return self.note


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnRow(Contribution):
    """A contribution that is itself a row, under its own key, where its kind is gathered.

    Args:
        function: The row; its parameters are keys of quantities.
        source: Of the row.
        reads: Keys that it takes by name, where its parameters don't say; else empty.
        mend: Key of the input that changes what it says; empty: none.
    """

    function: Callable[..., Any]
    source: str = ""
    reads: tuple[str, ...] = ()
    mend: str = ""


@dataclass(frozen=True, slots=True)
class Fixed:
    """A text given outright where an attribute of a contribution else names a quantity."""

    text: str

    def __bool__(self) -> bool:
        return bool(self.text)


@dataclass(frozen=True, slots=True, kw_only=True)
class OfKind(Contribution):
    """What rows that choose by kind are for kinds that these rows know nothing of.

    Args:
        kinds: Names of the kinds.
        rows: By key of a row with a parameter :data:`MORE_CASES`, what it is for them: the key of
            a quantity in the row's unit, a number, or a text as ``Fixed("...")``.
    """

    kinds: tuple[str, ...]
    rows: Mapping[str, str | float | Fixed]

    def problem(self) -> str:
        """No kind, or no row."""
        return "" if self.kinds and self.rows else "names no kind, or no row."


@dataclass(frozen=True, slots=True)
class Gather:
    """How the lines of a section are made, one a contribution.

    Args:
        kinds: Kinds of contributions that get a line.
        suffix: What the line's key ends in, after the contribution's own.
        word: What the line's label ends in; empty: the label of the contribution alone.
        unit: Unit of the lines.
        like: Attribute that names a quantity, whose unit and format the line takes.
        given: Attribute that must not be empty; others get no line. Empty: all get one.
        shows: Attribute that the line mirrors: lines of other sections read the line for it, so
            that what is typed over it counts there too.
        says: Attribute that is no key of a quantity: the function is given its text.
        linked: From all contributions of the section, in the order of their lines, and one of them
            to the keys that its line reads besides, by parameter; None: none.
        function: The line's row. A parameter that is an attribute of the contribution reads the
            quantity that it names; any other parameter is the key of a quantity. None: the
            contribution brings its own, under its own key.
        order: Order of the lines; None: as the sheets and their chapters declare them.
    """

    kinds: tuple[type[Contribution], ...]
    suffix: str = ""
    word: str = ""
    unit: str = ""
    fmt: str = "0.00"
    like: str = ""
    given: str = ""
    shows: str = ""
    says: str = ""
    function: Callable[..., Any] | None = None
    order: Order | None = None
    linked: Linked | None = None

    def gets_line(self, item: Contribution) -> bool:
        """Whether a contribution has a line in the section."""
        return isinstance(item, self.kinds) and (not self.given or bool(getattr(item, self.given)))


@dataclass(frozen=True, slots=True)
class GatherColumn:
    """How a column of a table is made of all contributions of a kind.

    Args:
        kind: Kind of contributions.
        key: Of the column.
        label: Its heading.
        function: From all of that kind to the column's function.
        unit: Of its numbers; empty: it is one of texts.
        fmt: Format of its numbers.
        by_option: Whether it has a number an option.
        reads: From all of that kind to keys that the function takes by name; None: its parameters
            say what it reads.
    """

    kind: type[Contribution]
    key: str
    label: str
    function: Callable[[Sequence[Any]], Callable[..., Any]]
    unit: str = ""
    fmt: str = "0.00"
    by_option: bool = False
    reads: Callable[[Sequence[Any]], tuple[str, ...]] | None = None


def after_one_another(items: Sequence[Any]) -> tuple[Any, ...]:
    """Contributions with an attribute ``after`` (keys), each after those it names.

    Otherwise they keep their order.

    Raises:
        RowError: Naming the contribution: it comes after something unknown, or after itself.
    """
    keys = {item.key for item in items}
    for item in items:
        for key in item.after:
            if key not in keys:
                raise RowError(f"comes after {key!r}, which nothing adds.", where=item.where)
    placed: list[Any] = []
    waiting = list(items)
    while waiting:
        done = {item.key for item in placed}
        ready = next((item for item in waiting if done.issuperset(item.after)), None)
        if ready is None:
            raise RowError("comes after itself, by way of others.", where=waiting[0].where)
        placed.append(ready)
        waiting.remove(ready)
    return tuple(placed)


def with_before(items: Sequence[Any]) -> tuple[Any, ...]:
    """Contributions whose ``after`` also names those that say to come ``before`` them.

    Raises:
        RowError: Naming the contribution: it comes before something unknown.
    """
    ahead: dict[tuple[type[Any], str], tuple[str, ...]] = {
        (type(item), item.key): () for item in items
    }
    for item in items:
        for key in getattr(item, "before", ()):
            if (type(item), key) not in ahead:
                raise RowError(f"comes before {key!r}, which nothing adds.", where=item.where)
            ahead[type(item), key] += (item.key,)
    found = []
    for item in items:
        first = ahead[type(item), item.key]
        found.append(replace(item, after=(*item.after, *first)) if first else item)
    return tuple(found)
