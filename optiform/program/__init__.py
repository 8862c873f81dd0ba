"""The linear program: build, solve, certify, explain. The only place that knows a solver."""
