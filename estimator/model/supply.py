"""Options that can't be supplied: told of, and left out of what is compared."""

SUPPLY = "supply"
"""The solver that says which they are."""
SAYS = "FAIL: "
"""How the reason begins."""
