"""Whether a check fails, as an expression without the words that it says.

A check is a text; most of working it out is writing numbers into words that nobody reads where
thousands of candidates are tried. What is left here are the tests alone.
"""

from __future__ import annotations

from estimator.expression import Node

FAIL = "FAIL"
"""What the text of a check that fails begins with."""
_YES = Node("num", (), 1.0, "flag")
_NO = Node("num", (), 0.0, "flag")


def verdict(check: Node) -> Node:
    """An expression that is 1 where the text of a check begins with ``FAIL``, else 0.

    Args:
        check: The expression of a check, a text.
    """
    if check.op == "text":
        return _YES if str(check.value).startswith(FAIL) else _NO
    if check.op == "if":
        test, yes, no = check.args
        return _either(test, verdict(yes), verdict(no))
    if check.op == "&" and _tells(check.args[0]):
        return verdict(check.args[0])
    return Node("count_starting", (check, Node("text", (), FAIL, "text")), None, "number")


def _tells(first: Node) -> bool:
    """Whether the first part of joined texts is enough to tell."""
    if first.op == "text":
        return len(str(first.value)) >= len(FAIL)
    return first.op == "&" and _tells(first.args[0])


def _either(test: Node, yes: Node, no: Node) -> Node:
    if yes == no:
        return yes
    return Node("if", (test, yes, no), None, "number", None, True)
