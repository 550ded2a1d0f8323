"""Of the sheet Lumber: every piece wanted before cutting, of all assemblies."""

from __future__ import annotations

from estimator.model.adds import Piece, PieceList
from estimator.rows import Chapter
from estimator.vocabulary import Q

PIECES = Chapter()


@PIECES.gathers(
    "Pieces wanted: stock", Piece, stack="piece_stock", suffix="stock", word="stock", kind="text"
)
def wanted_stock(stock: Q) -> Q:
    return stock


@PIECES.gathers(
    "Pieces wanted: length",
    Piece,
    stack="piece_length",
    suffix="length_in",
    word="length",
    unit="in",
    fmt="0.0",
)
def wanted_length_in(length: Q) -> Q:
    return length


@PIECES.gathers(
    "Pieces wanted: count",
    Piece,
    stack="piece_count",
    suffix="count",
    word="count",
    unit="pieces",
    fmt="0",
)
def wanted_count(count: Q) -> Q:
    return count


@PIECES.gathers(
    "Lists of pieces wanted: stock",
    PieceList,
    stack="list_stock",
    suffix="stock",
    word="stock",
    kind="text",
)
def wanted_list(stock: Q) -> Q:
    return stock
