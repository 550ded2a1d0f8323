"""The model as sheets: where everything stands, what is written there, how it looks."""
