"""The verbs of `import optiform as of`: each takes briefs, formulas, answers and paths, and gives an answer."""
