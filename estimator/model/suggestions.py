"""Sheet Suggestions: the least that works for the loads, beside what is chosen; it changes nothing.

Candidates are tried on the very rows that check the chosen sizes: :class:`Trial` runs the rows
that depend on what is varied, all candidates of all options at once as scenarios.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from estimator.model.checks import CHECKS
from estimator.model.footings import FOOTINGS, SUPPORTS_MOST
from estimator.model.lumber import LUMBER
from estimator.model.options import SUPPORTS
from estimator.model.reads import Reads, as_texts, blanks, zeros
from estimator.model.sheathing import SHEATHING
from estimator.rows import Quantity, Sheet
from estimator.units import IN_PER_FT
from estimator.values import Values, as_values
from estimator.vocabulary import Q, as_text, join

SUGGESTIONS = Sheet(
    "Suggestions",
    "Suggestions: the least that works for these loads",
    "Beside what is chosen. Nothing here changes an input: type on Options what you take over.",
)
SPACINGS = {"12": 12.0, "16": 16.0, "19": 19.2, "24": 24.0}
"""Usual spacings on centre, in, by the name that their rows carry (common practice, no source)."""
NONE = "none on offer works"
SKIDS = tuple(range(2, 13))
GRID = tuple((rows, each) for rows in range(2, 7) for each in range(2, 11))
LEAST_BAY_FT = 1.0

SUGGESTIONS.section("Joists: the smallest that works at each spacing")


@SUGGESTIONS.row("Chosen", kind="text")
def chosen_joist(joist_stock: Q, joist_spacing_in: Q) -> Q:
    return join(joist_stock, " at ", as_text(joist_spacing_in, "0.0"), " in")


@SUGGESTIONS.row("Chosen, greatest use", "share", fmt="0%")
def chosen_joist_use(joist_use: Q, overhang_use: Q, joist_rest_use: Q) -> Q:
    return np.maximum(joist_use, np.maximum(overhang_use, joist_rest_use))


for _name, _spacing in SPACINGS.items():
    SUGGESTIONS.solved(
        f"suggest_joist_{_name}",
        f"At {_spacing:g} in",
        solver="suggest",
        kind="text",
        note="Of the sizes in the price book, treated or not as the chosen one.",
    )
    SUGGESTIONS.solved(
        f"suggest_use_{_name}", "Its greatest use", "share", solver="suggest", fmt="0%"
    )
    SUGGESTIONS.solved(
        f"suggest_cost_{_name}",
        "Its joists and rims for this floor",
        "$",
        solver="suggest",
        fmt="#,##0",
        note="Each from its one best stocked length; Cut Plan mixes lengths and may be cheaper.",
    )
SUGGESTIONS.solved("suggest_cheapest", "Cheapest of them", solver="suggest", kind="text")

SUGGESTIONS.section("Skids: the fewest that work, with the chosen joists")


@SUGGESTIONS.row("Chosen", "skids", fmt="0")
def chosen_skids(skid_count: Q) -> Q:
    return skid_count * 1


SUGGESTIONS.solved(
    "suggest_skids", "Fewest", "skids", solver="suggest", fmt="0", note="0: none up to 12 works."
)

SUGGESTIONS.section("Supports: the fewest that work, with the chosen joists and beams")


@SUGGESTIONS.row("Chosen", kind="text")
def chosen_supports(support_count: Q, support_rows: Q, supports_per_row: Q) -> Q:
    grid = join(support_count, " in ", support_rows, " rows of ", supports_per_row)
    return np.where(support_count > 0, grid, "")


SUGGESTIONS.solved(
    "suggest_supports",
    "Fewest",
    solver="suggest",
    kind="text",
    note="Footings as typed; more rows cost more beams.",
)

_ROWS: Mapping[str, Quantity] = {
    key: item
    for sheet in (FOOTINGS, LUMBER, SHEATHING, CHECKS)
    for key, item in sheet.quantities.items()
}


class Trial:
    """The rows between what is varied and what is asked for, in order.

    Args:
        varied: Keys of inputs that get other values.
        goals: Keys of the rows wanted.
    """

    def __init__(self, varied: Sequence[str], goals: Sequence[str]) -> None:
        self._varied = frozenset(varied)
        self._moves: dict[str, bool] = {}
        self._order: list[str] = []
        self.goals = tuple(goals)
        self.reads: frozenset[str] = frozenset(
            read for goal in goals for read in self._frontier(goal)
        )

    def _depends(self, key: str) -> bool:
        if key in self._varied:
            return True
        if key not in self._moves:
            item = _ROWS.get(key)
            reads = item.reads if item and item.function else ()
            self._moves[key] = any(self._depends(read) for read in reads)
        return self._moves[key]

    def _frontier(self, key: str) -> frozenset[str]:
        """What must be known for a row; notes the rows to run on the way."""
        if key in self._varied:
            return frozenset()
        if not self._depends(key):
            return frozenset({key})
        found = frozenset[str]().union(*(self._frontier(k) for k in _ROWS[key].reads))
        if key not in self._order:
            self._order.append(key)
        return found

    def run(self, values: Mapping[str, Any], varied: Mapping[str, Any]) -> dict[str, Values]:
        """Goals for every candidate, (candidates, options, 1).

        Args:
            values: What ``reads`` names.
            varied: Value of each varied key, (candidates, options or 1, 1).
        """
        known = {key: as_values(values[key]) for key in self.reads}
        known |= {key: as_values(value) for key, value in varied.items()}
        with np.errstate(all="ignore"):
            for key in self._order:
                item = _ROWS[key]
                assert item.function is not None
                known[key] = as_values(item.function(**{k: known[k] for k in item.reads}))
        return {key: known[key] for key in self.goals}


_JOISTS = Trial(
    ("joist_stock", "joist_spacing_in"),
    (
        "check_joists",
        "joist_use",
        "overhang_use",
        "joist_rest_use",
        "joists_in_all",
        "joist_length_in",
    ),
)
_SKIDS = Trial(("skid_count",), ("check_joists", "check_skids", "check_bearing"))
_SUPPORTS = Trial(
    ("support_rows", "supports_per_row"),
    ("check_joists", "check_beams", "check_bearing", "bay_across_ft"),
)
READS: tuple[str, ...] = tuple(
    sorted(
        (_JOISTS.reads | _SKIDS.reads | _SUPPORTS.reads)
        | {
            "option_used",
            "option_kind",
            "on_pad",
            "joist_stock",
            "building_length_ft",
            "sheet_span_in",
            "stock_name",
            "stock_nominal",
            "stock_width_in",
            "stock_depth_in",
            "stock_treated",
            "item_category",
            "item_stock",
            "item_length_ft",
            "kerf_in",
            "end_trim_in",
            "over_length_in",
            "support_inset_in",
            "building_width_ft",
        }
    )
)


def solve_suggestions(values: Mapping[str, Any]) -> Mapping[str, Any]:
    """Smallest joists, fewest skids and fewest supports of every option."""
    q = Reads(values)
    return {**_joists(q), "suggest_skids": _skids(q), "suggest_supports": _supports(q)}


def _fails(checks: Mapping[str, Values]) -> NDArray[np.bool_]:
    """Where any check of a trial fails, (candidates, options)."""
    failing = [
        np.char.startswith(np.asarray(text).astype(str), "FAIL")
        for key, text in checks.items()
        if key.startswith("check_")
    ]
    shape = np.broadcast_shapes(*(f.shape for f in failing))
    return np.asarray(np.any([np.broadcast_to(f, shape) for f in failing], axis=0)[..., 0])


def _joists(q: Reads) -> dict[str, Any]:
    answer: dict[str, Any] = {"suggest_cheapest": blanks()}
    for name in SPACINGS:
        answer[f"suggest_joist_{name}"] = blanks()
        answer[f"suggest_use_{name}"], answer[f"suggest_cost_{name}"] = zeros(), zeros()
    for treated in ("no", "yes"):
        options = [o for o in q.options() if _is_treated(q, q.text("joist_stock", o)) == treated]
        offered = _offered(q, treated)
        if not options or not offered:
            continue
        tried = [(size, spacing) for spacing in SPACINGS.values() for size in offered]
        goals = _JOISTS.run(
            q.values,
            {
                "joist_stock": np.array([s for s, _ in tried])[:, np.newaxis, np.newaxis],
                "joist_spacing_in": np.array([x for _, x in tried])[:, np.newaxis, np.newaxis],
            },
        )
        for option in options:
            _put_joists(q, answer, option, tried, goals)
    for key, value in answer.items():
        if value.dtype == object:
            answer[key] = as_texts(value)
    return answer


def _put_joists(
    q: Reads,
    answer: dict[str, Any],
    option: int,
    tried: Sequence[tuple[str, float]],
    goals: Mapping[str, Values],
) -> None:
    fails = _fails(goals)[:, option]
    best: tuple[float, str] = (math.inf, "")
    for name, spacing in SPACINGS.items():
        at = next((i for i, t in enumerate(tried) if t[1] == spacing and not fails[i]), None)
        if spacing > q.number("sheet_span_in", option):
            answer[f"suggest_joist_{name}"][option] = "past the sheet's rating"
            continue
        if at is None:
            answer[f"suggest_joist_{name}"][option] = NONE
            continue
        size = tried[at][0]
        cost = _cost(
            q,
            size,
            [
                (
                    _one(goals, "joist_length_in", at, option),
                    _one(goals, "joists_in_all", at, option),
                ),
                (q.number("building_length_ft") * IN_PER_FT, 2),
            ],
        )
        answer[f"suggest_joist_{name}"][option] = size
        answer[f"suggest_use_{name}"][option] = max(
            _one(goals, key, at, option) for key in ("joist_use", "overhang_use", "joist_rest_use")
        )
        answer[f"suggest_cost_{name}"][option] = cost
        best = min(best, (cost, f"{size} at {spacing:g} in"))
    answer["suggest_cheapest"][option] = best[1] if best[0] > 0 else ""


def _one(goals: Mapping[str, Values], key: str, at: int, option: int) -> float:
    array = np.asarray(goals[key])
    array = array.reshape((1,) * (3 - array.ndim) + array.shape)
    return float(array[min(at, array.shape[0] - 1), min(option, array.shape[1] - 1), 0])


def _is_treated(q: Reads, stock: str) -> str:
    names = [str(n).casefold() for n in q.column("stock_name")]
    return q.text("stock_treated", 0, names.index(stock.casefold()))


def _offered(q: Reads, treated: str) -> list[str]:
    """Stocks of joist thickness that the price book has, smallest first."""
    sold = {
        str(s).casefold()
        for s, c in zip(q.column("item_stock"), q.column("item_category"), strict=True)
        if c == "lumber"
    }
    found = []
    for i, name in enumerate(q.column("stock_name")):
        if str(name).casefold() in sold and q.text("stock_treated", 0, i) == treated:
            depth, width = q.number("stock_depth_in", 0, i), q.number("stock_width_in", 0, i)
            if width < 2 and depth > width:
                found.append((depth, width, str(name)))
    return [name for *_, name in sorted(found)]


def _cost(q: Reads, stock: str, wanted: Sequence[tuple[float, float]]) -> float:
    """Price of pieces (length in, count), each from the one stocked length that does it cheapest.

    Pieces longer than every board are joined in equal parts. 0 where a price is missing.
    """
    kerf, extra = q.number("kerf_in"), q.number("over_length_in") - q.number("end_trim_in")
    boards = [
        (q.number("item_length_ft", 0, i) * IN_PER_FT + extra, q.number("item_price", 0, i))
        for i, name in enumerate(q.column("item_stock"))
        if str(name).casefold() == stock.casefold() and q.text("item_category", 0, i) == "lumber"
    ]
    longest = max(length for length, _ in boards)
    if longest <= 0 or any(price <= 0 for _, price in boards):
        return 0.0
    total = 0.0
    for length, count in wanted:
        parts = max(math.ceil(length / longest - 1e-9), 1)
        each = length / parts
        total += min(
            math.ceil(count * parts / math.floor((board + kerf) / (each + kerf) + 1e-9)) * price
            for board, price in boards
            if board + 1e-9 >= each
        )
    return total


def _skids(q: Reads) -> NDArray[np.float64]:
    fewest = zeros()
    counts = np.array(SKIDS, dtype=float)[:, np.newaxis, np.newaxis]
    fails = _fails(_SKIDS.run(q.values, {"skid_count": counts}))
    for option in q.options():
        if q.number("on_pad", option) > 0:
            fewest[option] = next(
                (n for n, bad in zip(SKIDS, fails[:, option], strict=True) if not bad), 0
            )
    return fewest


def _supports(q: Reads) -> NDArray[np.str_]:
    fewest = blanks()
    grid = np.array(GRID, dtype=float)[:, :, np.newaxis, np.newaxis]
    goals = _SUPPORTS.run(q.values, {"support_rows": grid[:, 0], "supports_per_row": grid[:, 1]})
    fails = _fails(goals)
    for option in q.options():
        if q.text("option_kind", option) not in SUPPORTS:
            continue
        works = [
            (rows * each, rows, each)
            for i, (rows, each) in enumerate(GRID)
            if not fails[i, option]
            and rows * each <= SUPPORTS_MOST
            and _one(goals, "bay_across_ft", i, option) >= LEAST_BAY_FT
        ]
        if works:
            count, rows, each = min(works)
            fewest[option] = f"{count} in {rows} rows of {each}"
        else:
            fewest[option] = NONE
    return as_texts(fewest)
