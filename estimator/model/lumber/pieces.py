"""Of the sheet Lumber: every piece wanted before cutting, of all assemblies."""

from __future__ import annotations

import numpy as np

from estimator.model.adds import (
    ABOVE_GROUND,
    GROUND_CONTACT,
    OK,
    Piece,
    PieceList,
    check,
    told_apart,
)
from estimator.model.prices import UC3B
from estimator.rows import Chapter
from estimator.vocabulary import Q, lookup, sum_if

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
    order=told_apart,
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
def unpriced_boards(
    stock: Q, count: Q, item_stock: Q, item_category: Q, item_name: Q, item_paid: Q
) -> Q:
    board = (item_name != "") & (item_category == "lumber") & (item_paid <= 0)
    return np.where(count > 0, sum_if(np.where(board, 1, 0), item_stock, stock), 0)


@PIECES.gathers(
    "Boards that are not fit for the use",
    Piece,
    PieceList,
    stack="wood_unfit",
    suffix="unfit",
    word="0 fit, 1 not for above ground, 2 not for ground contact",
    fmt="0",
)
def unfit_boards(stock: Q, count: Q, use: Q, item_stock: Q, item_category: Q, item_use: Q) -> Q:
    board = item_category == "lumber"
    untreated = sum_if(np.where(board & (item_use == ""), 1, 0), item_stock, stock)
    above_alone = sum_if(np.where(board & (item_use == UC3B), 1, 0), item_stock, stock)
    contact = np.where((use == GROUND_CONTACT) & (untreated + above_alone > 0), 2, 0)
    above = np.where((use == ABOVE_GROUND) & (untreated > 0), 1, 0)
    return np.where(count > 0, contact + above, 0)


@check(
    PIECES,
    "Use category of the wood",
    mend="item_use",
    hazard="rot in the ground",
    source="AWPA U1, from memory",
    note="Of every board of a stock that a piece may be cut from, and of the sheets of a skirting: see Prices.",
)
def check_use(wood_unfit: Q, skirt_sheets: Q, skirt_item: Q, item_name: Q, item_use: Q) -> Q:
    sheet = lookup(skirt_item, item_name, item_use, "")
    low = (skirt_sheets > 0) & ((sheet == "") | (sheet == UC3B))
    return np.where(
        low | (np.max(wood_unfit) == 2),
        "FAIL: wood in contact with the ground comes from boards or sheets that Prices does not call fit for it",
        np.where(
            np.max(wood_unfit) == 1,
            "LOOK: wood above ground outdoors is cut from boards that Prices does not call fit for it",
            OK,
        ),
    )
