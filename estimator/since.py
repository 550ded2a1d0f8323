"""What a refill changed in money: what each option cost, kept, read again and compared."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from estimator.report import money_sign, not_priced
from estimator.rows import OPTION_KEYS, USED

LARGEST: Final = 3
"""Groups of cost that are told one by one."""
LEAST: Final = 0.005
"""Money below which nothing is said: half a cent."""
_PARTS, _IS = "; ", " = "
_KIND, _CHEAPEST, _TOTAL = "kind", "cheapest", "total"


@dataclass(frozen=True, slots=True)
class OptionCost:
    """What an option cost at a refill.

    Args:
        kind: Its kind.
        total: In the money of the job.
        cheapest: Whether it was the cheapest that passes.
        groups: Cost of every group of cost that is not 0.
    """

    kind: str
    total: float
    cheapest: bool
    groups: Mapping[str, float]

    @property
    def text(self) -> str:
        """The cost as a cell keeps it."""
        parts = [
            f"{_KIND}{_IS}{self.kind}",
            f"{_CHEAPEST}{_IS}{'yes' if self.cheapest else 'no'}",
            f"{_TOTAL}{_IS}{self.total:.2f}",
        ]
        parts += [f"{name}{_IS}{cost:.2f}" for name, cost in self.groups.items()]
        return _PARTS.join(parts)


def read_cost(text: object) -> OptionCost | None:
    """The cost in a cell; None where there is none, or what stands there is not one."""
    pairs = [part.split(_IS) for part in str(text or "").split(_PARTS)]
    if any(len(pair) != 2 for pair in pairs):
        return None
    found = {pair[0]: pair[1] for pair in pairs}
    try:
        kind, cheapest = found.pop(_KIND), found.pop(_CHEAPEST) == "yes"
        total = float(found.pop(_TOTAL))
        groups = {name: float(value) for name, value in found.items()}
    except (KeyError, ValueError):
        return None
    return OptionCost(kind, total, cheapest, groups)


def option_costs(values: Mapping[str, Any]) -> tuple[OptionCost | None, ...]:
    """The cost of each option; None for one that is not in use or has no total."""
    if "total_cost" not in values:
        return (None,) * len(OPTION_KEYS)
    return tuple(_option_cost(values, option) for option in range(len(OPTION_KEYS)))


def _option_cost(values: Mapping[str, Any], option: int) -> OptionCost | None:
    total = float(np.asarray(values["total_cost"])[option, 0])
    if not np.asarray(values[USED])[option, 0] > 0 or not math.isfinite(total):
        return None
    names = np.asarray(values["group_name"])[0]
    costs = np.asarray(values["group_cost"])[option]
    groups = {str(n): float(c) for n, c in zip(names, costs, strict=True) if abs(c) >= LEAST}
    kind = str(np.asarray(values["option_kind"])[option, 0])
    cheapest = float(np.asarray(values["cheapest_no"]).flat[0]) == option + 1
    return OptionCost(kind, total, cheapest, groups)


def told(
    before: Sequence[OptionCost | None], values: Mapping[str, Any], *, reasons: bool = True
) -> list[str]:
    """Sentences on what changed in money since the last refill; none where nothing is known.

    Args:
        before: What each option cost then.
        values: Every quantity now.
        reasons: Whether to say which groups of cost it comes from.
    """
    now, sign = option_costs(values), money_sign(values)
    if not any(before) or not any(now):
        return []
    pairs = list(zip(OPTION_KEYS, before, now, strict=True))
    lacking = {OPTION_KEYS[option] for option in not_priced(values)}
    each = [_told(key, old, new, sign, reasons, key in lacking) for key, old, new in pairs]
    found = [text for text in each if text]
    was = next((key for key, old, _ in pairs if old and old.cheapest), "")
    is_now = next((key for key, _, new in pairs if new and new.cheapest), "")
    if was != is_now:
        found.append(_cheapest(was, is_now))
    if not found:
        found = ["no total has changed"]
    return found


def _cheapest(was: str, is_now: str) -> str:
    if not is_now:
        return f"no option passes any more; {was} was the cheapest that did"
    return f"the cheapest that passes is {is_now}" + (f", and was {was}" if was else "")


def _told(
    key: str,
    old: OptionCost | None,
    new: OptionCost | None,
    sign: str,
    reasons: bool,
    lacks: bool,
) -> str:
    if old is None and new is None:
        return ""
    if old is None and new is not None:
        return f"{key} is new, {new.kind}: {sign}{new.total:,.2f}"
    if new is None or old is None:
        return f"{key} is no longer {'priced' if lacks else 'in use'}"
    change = new.total - old.total
    kind = f" ({old.kind} before)" if old.kind != new.kind else ""
    if abs(change) < LEAST:
        return f"{key} costs as much as before{kind}" if kind else ""
    why = f" ({_reasons(old, new, sign)})" if reasons else ""
    return f"{key}{kind} costs {_more(change, sign)}, {sign}{new.total:,.2f} in all{why}"


def _reasons(old: OptionCost, new: OptionCost, sign: str) -> str:
    """The largest changes of groups, and what is left, which add up to the change."""
    names = dict.fromkeys((*new.groups, *old.groups))
    changes = {n: new.groups.get(n, 0.0) - old.groups.get(n, 0.0) for n in names}
    changes = {n: change for n, change in changes.items() if abs(change) >= LEAST}
    largest = sorted(changes, key=lambda name: -abs(changes[name]))[:LARGEST]
    rest = new.total - old.total - sum(changes[name] for name in largest)
    others = "other groups, " if len(changes) > len(largest) else ""
    parts = [f"{name} {_more(changes[name], sign)}" for name in largest]
    if abs(rest) >= LEAST:
        parts.append(f"{others}tax, contingency, overhead and profit {_more(rest, sign)}")
    return "; ".join(parts)


def _more(change: float, sign: str) -> str:
    return f"{sign}{abs(change):,.2f} {'more' if change > 0 else 'less'}"
