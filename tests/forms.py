"""Every form that a row may take, over the world of ``three_readings``."""

from __future__ import annotations

import numpy as np
from three_readings import Function

from estimator.vocabulary import (
    across,
    as_text,
    count_starting,
    count_up_to,
    first_starting,
    join,
    lookup,
    most_if,
    nth,
    nth_largest,
    option_where,
    pick,
    position,
    rounded,
    sum_if,
    sum_up_to,
)

ARITHMETIC: dict[str, Function] = {
    "a difference of a difference": lambda q: q["width"] - (q["debt"] - q["count"]),
    "differences from the left": lambda q: q["width"] - q["debt"] - q["count"],
    "a quotient of a product": lambda q: q["width"] / (q["count"] * q["share"]),
    "a quotient of a quotient": lambda q: q["width"] / (q["count"] / q["share"]),
    "a product of a quotient": lambda q: q["width"] * (q["count"] / q["share"]),
    "a sum times a sum": lambda q: (q["width"] + q["debt"]) * (q["count"] - q["share"]),
    "a negated square": lambda q: -(q["width"] ** 2),
    "the square of a negated": lambda q: (-q["width"]) ** 2,
    "a negated np.square": lambda q: -np.square(q["debt"]),
    "np.square of a sum": lambda q: np.square(q["debt"] + q["share"]),
    "np.square of np.square": lambda q: np.square(np.square(q["debt"])),
    "a negative base": lambda q: (-2.0) ** q["count"],
    "a negative exponent": lambda q: q["width"] ** -2,
    "an exponent that is negated": lambda q: q["count"] ** -q["third"],
    "power to the right": lambda q: q["count"] ** (q["third"] ** q["share"]),
    "power to the left": lambda q: (q["count"] ** q["third"]) ** q["share"],
    "a product with a negated power": lambda q: q["width"] * -(q["count"] ** 2),
    "a difference of a negated power": lambda q: q["width"] - -(q["count"] ** 2),
    "a negative number subtracted": lambda q: q["width"] - -2.5,
    "a negative number multiplied": lambda q: q["width"] * -2.5,
    "a number minus": lambda q: 1 - q["share"],
    "twice negated": lambda q: -(-q["debt"]),  # noqa: B002
    "a negated sum": lambda q: -(q["width"] + q["debt"]),
    "a negated product": lambda q: -(q["width"] * q["debt"]),
    "a negated round-up": lambda q: -np.ceil(q["width"]),
    "a round-up squared": lambda q: np.ceil(q["width"]) ** 2,
    "a round-up below a line": lambda q: q["width"] / np.ceil(q["width"]),
    "a plus sign": lambda q: +q["debt"] * 2,
    "very small and very large": lambda q: q["width"] * 1e-7 + 1e15 * q["share"],
    "pi": lambda q: np.pi * np.square(q["count"]) / 4,
    "a root": lambda q: np.sqrt(np.square(q["width"]) + np.square(q["debt"])),
    "a slope turned": lambda q: q["width"] * np.cos(q["share"]) - q["debt"] * np.sin(q["share"]),
    "a magnitude": lambda q: np.abs(q["debt"]) - abs(q["width"]),
    "a comparison counted": lambda q: (q["width"] > 3) + (q["debt"] < 0) + 1,
    "a comparison subtracted": lambda q: 2 - (q["width"] >= q["count"]),
    "a comparison times a number": lambda q: (q["width"] != q["count"]) * q["width"],
    "a comparison negated": lambda q: -(q["width"] == 12.5),
    "two comparisons compared": lambda q: (q["width"] > 3) == (q["debt"] > 3),
    "any in a sum": lambda q: np.any(q["part_size"] > 3) + 1,
    "all times a number": lambda q: np.all(q["part_rank"] > 0) * q["width"],
    "any compared with all": lambda q: np.any(q["part_size"] > 3) == np.all(q["part_size"] > 3),
    "a round-up of dust": lambda q: np.ceil(q["count"] + 1e-13),
    "a round-up of a negative": lambda q: np.ceil(q["debt"] / 2),
    "a round-down of dust": lambda q: np.floor(q["count"] - 1e-13),
    "a round-down of a negative": lambda q: np.floor(q["debt"] / 2),
    "the greater": lambda q: np.maximum(q["debt"], -q["count"]),
    "the lesser of a blank": lambda q: np.minimum(q["part_size"], 5),
    "the greater of a blank": lambda q: np.maximum(q["part_size"], -1),
    "the lesser of a truth": lambda q: np.minimum(q["width"] > 3, 0.5),
    "the greater of a looked-up blank": lambda q: np.maximum(
        nth(q["part_size"], q["count"] + 1), -1
    ),
}
CHOICES: dict[str, Function] = {
    "a choice of numbers": lambda q: np.where(q["width"] > q["count"], q["width"], q["debt"]) * 2,
    "a choice of texts": lambda q: np.where(q["wood"] == "PINE", "soft", "hard"),
    "a choice of choices": lambda q: np.where(
        q["debt"] > 0, 1, np.where(q["style"] == "pad", q["cost"], -q["drop"])
    ),
    "a choice of a truth or 0": lambda q: np.where(q["width"] > 3, q["debt"] < 0, 0) + 1,
    "a choice of truths": lambda q: np.where(q["width"] > 3, q["debt"] < 0, True),
    "and, or, not": lambda q: (
        ~((q["width"] > 3) & (q["debt"] > 0)) | (q["wood"] == "oak") & (q["count"] != 4)
    ),
    "a truth kept as 1 or 0": lambda q: q["none"] | (q["count"] == 4),
    "a text that is not": lambda q: (q["style"] != "pad") & (q["wood"] != ""),
    "a blank text is empty": lambda q: q["part_note"] == "",
    "a blank text stays a text": lambda q: q["part_note"],
    "a blank text chosen": lambda q: np.where(q["part_size"] > 0, q["part_note"], "x"),
    "joined texts compared": lambda q: join(q["wood"], "-", q["count"]) == "pine-4",
    "equal but for dust": lambda q: q["count"] == q["third"] + 1 + 1e-12,
    "not greater by dust": lambda q: q["count"] + 1e-12 > q["count"],
    "at least but for dust": lambda q: q["count"] >= q["count"] + 1e-12,
}
SUMS: dict[str, Function] = {
    "a sum": lambda q: np.sum(q["part_size"]),
    "a sum an option": lambda q: np.sum(q["part_need"]),
    "a sum of products": lambda q: np.sum(q["part_need"] * q["part_size"]) / q["count"],
    "a sum of differences": lambda q: np.sum(q["part_size"] - (q["part_rise"] - q["width"])),
    "a sum of negated squares": lambda q: np.sum(-(q["part_rise"] ** 2)),
    "a sum of quotients": lambda q: np.sum(q["part_size"] / (q["part_rank"] * q["count"])),
    "a count": lambda q: np.sum(q["part_size"] > 2.5),
    "a count but for dust": lambda q: np.sum(q["part_size"] >= 2.5 + 1e-12),
    "a count of equals": lambda q: np.sum(q["part_size"] == 4 + 1e-12),
    "a count of others": lambda q: np.sum(q["part_size"] != 4),
    "a count of lesser": lambda q: np.sum((q["part_rise"] < 0.5) + (q["part_rise"] <= 0.5)),
    "a sum where a text is": lambda q: np.sum(np.where(q["part_note"] == "wet", q["part_size"], 0)),
    "a sum of either": lambda q: np.sum(
        np.where(q["part_size"] > 3, q["part_size"], q["part_rise"])
    ),
    "a sum of a choice of the job": lambda q: np.sum(
        np.where(q["width"] > 3, q["part_size"], q["part_rise"])
    ),
    "a sum of the greater": lambda q: np.sum(np.maximum(q["part_size"], q["part_rise"] + 3)),
    "a sum of the lesser": lambda q: np.sum(2 * np.minimum(q["part_rise"], 0)),
    "a sum of both tests": lambda q: np.sum(
        ((q["part_size"] > 1) & (q["part_rise"] < 0)) * q["part_rank"]
    ),
    "a sum of either test": lambda q: np.sum(
        ((q["part_size"] > 1) | (q["part_rise"] < 0)) * q["part_rank"]
    ),
    "a sum of what is not": lambda q: np.sum(~(q["part_note"] == "wet") * q["part_rank"]),
    "a sum with a job's number": lambda q: np.sum(
        q["part_size"] * np.ceil(q["width"]) - lookup("Pine", q["bin_name"], q["bin_price"])
    ),
    "a share of a sum": lambda q: q["part_rank"] / np.sum(q["part_rank"]),
    "a sum of what is above the mean": lambda q: np.sum(
        q["part_rank"] > np.sum(q["part_rank"]) / 5
    ),
    "any": lambda q: np.any(q["part_size"] > 11.9),
    "any number": lambda q: np.any(q["part_rise"] + 1.5),
    "all": lambda q: np.all(q["part_size"] < 11.9),
    "all numbers": lambda q: np.all(q["part_rank"] - 3),
    "no one": lambda q: ~np.any(q["part_note"] == "frozen"),
    "the least of a column": lambda q: np.min(q["part_rise"]) * 2,
    "the greatest of a column": lambda q: np.max(q["part_need"]),
}
LOOKS: dict[str, Function] = {
    "a price": lambda q: lookup("STONE", q["bin_name"], q["bin_price"]),
    "a price of a line": lambda q: lookup(q["part_name"], q["bin_name"], q["bin_price"], -1),
    "no price": lambda q: lookup(q["part_name"], q["bin_name"], q["bin_price"]),
    "a text of a line": lambda q: lookup(q["part_name"], q["bin_name"], q["bin_word"], "none"),
    "a blank text found": lambda q: lookup("sand", q["bin_name"], q["bin_word"], "none"),
    "a blank text found, no other": lambda q: lookup("sand", q["bin_name"], q["bin_word"]),
    "a number looked up": lambda q: lookup(q["third"] - 1, q["part_rank"], q["part_size"]),
    "a joined key": lambda q: lookup(join(q["wood"], ""), q["bin_name"], q["bin_price"], 0),
    "a sum by key": lambda q: sum_if(q["part_size"], q["part_note"], "WET"),
    "a sum by a line's key": lambda q: sum_if(q["bin_price"], q["bin_name"], q["part_name"]),
    "a sum by a blank key": lambda q: sum_if(q["part_rise"], q["part_note"], q["part_note"]),
    "a sum by an empty text": lambda q: (
        2 * sum_if(q["part_rise"], q["part_note"], np.where(q["width"] > 3, "", "wet"))
    ),
    "a sum by number": lambda q: sum_if(q["part_size"], q["part_rank"], q["count"] + 1),
    "a sum of what is worked out, by a line's key": lambda q: sum_if(
        np.maximum(q["bin_price"] - 2, 0), q["bin_name"], q["part_name"]
    ),
    "a sum of what is worked out, by number": lambda q: sum_if(
        np.where(q["part_note"] == "wet", q["part_size"], 0), q["part_rank"], q["count"] + 1
    ),
    "the most by key": lambda q: most_if(q["part_size"], q["part_note"], "WET"),
    "the most by a line's key": lambda q: most_if(
        np.maximum(q["bin_price"] - 2, 0), q["bin_name"], q["part_name"]
    ),
    "the most by number": lambda q: most_if(
        np.where(q["part_note"] == "wet", q["part_size"], 0), q["part_rank"], q["count"] + 1
    ),
    "the most of nothing": lambda q: most_if(q["part_size"], q["part_note"], "gold"),
    "how many up to a number": lambda q: count_up_to(q["part_rank"], q["count"] - 1),
    "how many up to a line's": lambda q: count_up_to(q["part_rank"], q["part_rank"] - 1),
    "a running sum": lambda q: sum_up_to(q["part_rise"], q["part_rank"]),
    "an entry": lambda q: nth(q["part_size"], q["third"]),
    "an entry of a line": lambda q: nth(q["bin_price"], np.minimum(q["part_rank"], 3)),
    "an entry that is not there": lambda q: nth(q["part_size"], 6),
    "a text entry": lambda q: nth(q["part_note"], q["part_rank"]),
    "a place": lambda q: position("stone", q["bin_name"]) * 10,
    "a place of a line": lambda q: position(q["part_name"], q["bin_name"]),
    "an entry at a place that is not": lambda q: nth(
        q["bin_price"], position("gold", q["bin_name"])
    ),
    "the largest": lambda q: nth_largest(q["part_rise"], 1),
    "the second largest an option": lambda q: nth_largest(q["part_need"], 2),
    "ranked": lambda q: nth_largest(q["part_rise"], q["part_rank"]),
    "how many begin": lambda q: count_starting(q["part_name"], "PINE") + 1,
    "the first that begins": lambda q: first_starting(q["part_name"], "st"),
    "none that begins": lambda q: join("<", first_starting(q["part_name"], "ash"), ">"),
}
ACROSS: dict[str, Function] = {
    "the least": lambda q: across("MIN", q["cost"]) - 1,
    "the greatest": lambda q: across("MAX", q["drop"]),
    "the sum": lambda q: across("SUM", q["cost"]),
    "how many": lambda q: across("COUNT", q["cost"]),
    "the least of a line": lambda q: across("MIN", q["part_need"]),
    "above the least": lambda q: q["cost"] - across("MIN", q["cost"]),
    "the chosen": lambda q: pick(q["cost"], q["third"] - 1),
    "the chosen style": lambda q: join(pick(q["style"], 1), "!"),
    "an entry of the chosen": lambda q: pick(q["part_need"], 2, q["third"]),
    "an entry of the chosen, line by line": lambda q: pick(
        q["part_need"], q["third"] - 1, np.minimum(q["part_rank"], 3)
    ),
    "the chosen line": lambda q: pick(q["part_need"], 2) * q["part_size"],
    "the option with the least": lambda q: option_where(q["cost"], across("MIN", q["cost"])),
    "the option of that name": lambda q: option_where(q["style"], pick(q["style"], 2)),
    "no option with it": lambda q: option_where(q["cost"], -1),
    "no such option": lambda q: pick(q["cost"], q["count"]),
}
TEXTS: dict[str, Function] = {
    "to the cent": lambda q: rounded(q["cost"] * q["share"] + 0.0025, 2),
    "1.005": lambda q: rounded(q["none"] + 1.005, 2),
    "2.675": lambda q: rounded(q["none"] + 2.675, 2),
    "12.345": lambda q: rounded(q["none"] + 12.345, 2),
    "-1.005": lambda q: rounded(q["none"] - 1.005, 2),
    "a whole number and a half": lambda q: rounded(q["width"], 0),
    "a negative half": lambda q: rounded(q["drop"], 0),
    "a rounded line": lambda q: rounded(q["part_size"] / 3, 1) * 3,
    "a joined number": lambda q: join(q["wood"], " ", np.ceil(q["width"]), "x", q["count"]),
    "a joined truth": lambda q: join("is ", q["width"] > 3),
    "a joined blank": lambda q: join(q["part_note"], "/", q["part_rank"]),
    "a joined sum": lambda q: join("n ", q["count"] + 1),
    "whole": lambda q: as_text(q["width"], "0"),
    "whole, negative": lambda q: as_text(q["drop"] * 3, "0"),
    "one digit": lambda q: as_text(q["part_size"] / 3, "0.0"),
    "two digits": lambda q: as_text(q["none"] + 1.005, "0.00"),
    "thousands": lambda q: as_text(q["cost"] * 1000, "#,##0"),
    "thousands and cents": lambda q: as_text(q["cost"] * 1000.0005, "#,##0.00"),
    "quotes": lambda q: join('6" of ', q["wood"], ' "wet"'),
}
FORMS: dict[str, Function] = {
    f"{name}: {label}": form
    for name, forms in {
        "arithmetic": ARITHMETIC,
        "choices": CHOICES,
        "sums": SUMS,
        "look-ups": LOOKS,
        "across": ACROSS,
        "texts": TEXTS,
    }.items()
    for label, form in forms.items()
}
