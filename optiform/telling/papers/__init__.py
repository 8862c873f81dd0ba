"""Documents to print."""
