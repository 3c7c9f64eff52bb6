"""Measurements of the solver's speed and accuracy: ``python -m planner.benchmark``."""
