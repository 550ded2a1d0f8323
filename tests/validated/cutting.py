"""Cutting: instances of known optimum, as boards to be cut from one stock."""

from __future__ import annotations

from functools import cache, partial

from estimator.solve.cutting import CutPlan, Piece, Saw, Stock, cut
from validated.case import CUTTING, Case, Group

PAPER_ROLLS = {
    1380: 22, 1520: 25, 1560: 12, 1710: 14, 1820: 18, 1880: 18, 1930: 20, 2000: 10, 2050: 12,
    2100: 14, 2140: 16, 2150: 18, 2200: 20,
}  # fmt: skip
U120_00 = """98:3 96:2 94:1 93:2 92:1 91:2 90:1 87:1 86:1 85:2 84:5 83:2 82:2 81:1 80:3 79:2 78:4
76:1 74:2 73:4 72:1 71:1 70:3 69:3 67:1 66:1 64:1 62:2 60:2 59:1 58:3 57:4 55:3 50:1 49:3 47:1
46:2 45:2 44:2 43:4 42:5 41:3 39:2 38:3 37:1 36:3 35:1 33:3 32:2 30:3 29:1 28:1 27:2 26:1 25:2
24:1 23:2 20:1"""
U120_08 = """100 22 25 51 95 58 97 30 79 23 53 80 20 65 64 21 26 100 81 98 70 85 92 97 86 71 91 29
63 34 67 23 33 89 94 47 100 37 40 58 73 39 49 79 54 57 98 69 67 49 38 34 96 27 92 82 69 45 69 20
75 97 51 70 29 91 98 77 48 45 43 61 36 82 89 94 26 35 58 58 57 46 44 91 49 52 65 42 33 60 37 57 91
52 95 84 72 75 89 81 67 74 87 60 32 76 85 59 62 39 64 52 88 45 29 88 85 54 40 57"""
U120_19 = """49 95 38 62 63 97 42 62 100 43 44 77 97 94 68 23 50 36 89 58 97 27 64 65 54 58 24 35 33
63 32 50 58 90 44 50 48 21 72 75 21 74 28 95 77 69 96 24 57 85 72 96 50 83 65 62 99 93 23 77 94 31
50 33 79 73 23 55 44 78 84 66 31 59 97 95 22 76 90 66 29 100 90 92 50 49 47 43 37 40 60 52 54 99 34
46 88 97 85 39 32 51 95 54 99 86 48 90 28 25 86 39 74 26 38 60 41 67 80 33"""
T120_00 = """497 497 495 485 480 478 474 473 472 470 466 450 446 445 445 444 439 434 430 420 419 414
412 410 407 405 400 397 395 376 372 370 366 366 366 366 366 363 363 362 361 357 357 356 356 355 352
351 350 350 350 347 336 333 329 325 320 315 314 313 307 303 302 301 299 298 298 298 295 294 292 290
288 287 283 282 282 276 275 275 274 273 273 272 272 271 271 269 269 268 267 267 266 263 263 262 262
261 260 259 259 259 258 256 255 254 254 254 253 253 253 253 252 252 252 252 251 251 250 250"""
INSTANCES = {
    "u120_00": (U120_00, 150, 48),
    "u120_08": (U120_08, 150, 50),
    "u120_19": (U120_19, 150, 49),
    "t120_00": (T120_00, 1000, 40),
}
"""Sizes of 120 items, room of a bin, fewest bins."""


def read(text: str) -> dict[int, int]:
    """How many pieces of each size an instance has."""
    if ":" in text:
        return {int(w): int(n) for w, n in (pair.split(":") for pair in text.split())}
    items = [int(w) for w in text.split()]
    return {w: items.count(w) for w in items}


def plan(capacity: int, demand: dict[int, int]) -> CutPlan:
    """The instance as a cutting job: no kerf, every bin costs 1."""
    return cut(
        [Piece(str(w), w, n) for w, n in demand.items()],
        [Stock("bin", capacity, 1.0)],
        Saw(kerf_in=0),
    )


@cache
def paper() -> CutPlan:
    return plan(5600, PAPER_ROLLS)


@cache
def instance(name: str) -> CutPlan:
    text, capacity, _ = INSTANCES[name]
    return plan(capacity, read(text))


PLANS = {"paper rolls": paper, **{name: partial(instance, name) for name in INSTANCES}}
"""Each plan by the name of its instance, for what else must hold of it."""


GROUPS = (
    Group(
        CUTTING,
        "Bin packing, uniform and triplet classes",
        "E. Falkenauer, A hybrid grouping genetic algorithm for bin packing, Journal of Heuristics"
        " 2 (1996); OR-Library",
        "read in copies of the instances in public repositories under the MIT licence",
        "bins",
        (0, 0),
        tuple(
            Case(name, fewest, lambda name=name: len(instance(name).boards))
            for name, (_, _, fewest) in INSTANCES.items()
        ),
        places=0,
        note="The file of the instances gives 51 and 50 for u120_08 and u120_19; later published "
        "optima, used here, are 50 and 49.",
    ),
    Group(
        CUTTING,
        "A paper mill's order",
        "Rolls of 5600 mm, thirteen widths; 407,160 mm are wanted, 72.7 rolls",
        "from memory, the instance; that 73 is the least follows from its length",
        "rolls",
        (0, 0),
        (Case("parent rolls", 73, lambda: len(paper().boards)),),
        places=0,
    ),
)
