"""optiform stock: what the workshop owns and the versions of its formulas."""
