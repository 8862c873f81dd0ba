"""From a brief to formulas: the best one, cheaper ones, substitutes, firmer and softer ones."""
