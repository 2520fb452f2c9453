"""The engineering: quantities, calculators, facts and items, phase by phase.

A library of its own: `from phases.regulation import LinearRegulator` works in a notebook.
Here live the kit and the seven phases, each with its items (phase.toml) and its calculators.
Nothing here knows the time, a screen, a journal or the coach, and no phase imports another.
"""
