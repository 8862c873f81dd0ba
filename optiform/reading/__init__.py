"""Files, cells, quantities, and the faults found in them."""
