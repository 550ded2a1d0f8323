"""Of the sheet Lumber: every piece wanted before cutting, of all assemblies."""

from __future__ import annotations

import numpy as np

from estimator.model.adds import Piece, PieceList
from estimator.rows import Chapter
from estimator.vocabulary import Q, sum_if

PIECES = Chapter()


@PIECES.gathers(
    "Pieces wanted: stock",
    Piece,
    stack="piece_stock",
    suffix="stock",
    word="stock",
    kind="text",
    shows="stock",
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
    shows="count",
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
    shows="stock",
)
def wanted_list(stock: Q) -> Q:
    return stock


@PIECES.gathers(
    "Pieces wanted: use category",
    Piece,
    PieceList,
    stack="wood_use",
    suffix="use",
    word="treatment",
    kind="text",
)
def wanted_use(use: Q) -> Q:
    return use


@PIECES.gathers(
    "Boards that may be used without a price",
    Piece,
    PieceList,
    stack="wood_unpriced",
    suffix="unpriced",
    word="boards without a price",
    unit="boards",
    fmt="0",
)
def unpriced_boards(stock: Q, count: Q, item_board_unpriced: Q, item_stock: Q) -> Q:
    return np.where(count > 0, sum_if(item_board_unpriced, item_stock, stock), 0)
