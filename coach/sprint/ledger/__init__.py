"""What values and calculations a sprint has: by name, to look at, to draw, as proof of items.

`brief_values` are given, `ledger` joins what saved calculations publish; `to_draw` and `proof` read
their records. Reads a state; runs calculators, and saves nothing.
"""
