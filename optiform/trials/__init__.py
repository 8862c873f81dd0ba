"""Trials: readings, the fit to them, forecasts, and the next one."""
