"""All that a person owns carried into another workbook: next job, upgrade, restore."""
