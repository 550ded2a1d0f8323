"""Refuses a Python that is too old, in syntax that such a Python can still read."""

import sys

MINIMUM = (3, 11)


def refusal(version: tuple) -> str:
    """Give the sentence that refuses a Python of this version, empty when it will do."""
    if tuple(version[:2]) >= MINIMUM:
        return ""
    have = ".".join(str(part) for part in version[:3])
    need = ".".join(str(part) for part in MINIMUM)
    return (
        f"This is Python {have}, and the estimator needs Python {need} or newer: "
        "install a newer Python and run this script with it."
    )


def require() -> None:
    """Leave with exit code 2 and one sentence when the running Python is too old."""
    sentence = refusal(sys.version_info)
    if sentence:
        sys.stderr.write(sentence + "\n")
        sys.exit(2)
