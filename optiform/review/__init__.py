"""What one formula is: measured, judged, warned of, compared."""
