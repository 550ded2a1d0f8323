"""Inputs read from a workbook of ours, everything solved, the answers written back."""
