"""Ingredients, the catalogue of them, a table of one's own, and formulas."""
