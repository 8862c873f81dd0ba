"""Making a batch: grams, doses, lots, order of work, keeping and outcome."""
