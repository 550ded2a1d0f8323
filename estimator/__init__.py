"""Prices the base of a small outbuilding on a sloping lot."""
