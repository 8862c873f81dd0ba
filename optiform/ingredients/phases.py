"""The phases of making. Alone in a file, so that what only names them loads no tables."""

PHASES = ("water phase", "oil phase", "cool-down", "grains")
