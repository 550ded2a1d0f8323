"""The file: zip parts, cells and formulas of any workbook. Knows nothing of this product."""
