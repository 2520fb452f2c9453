"""Programming and debug access: how the chip is reached, and its signals' way off the board.

Here live its items (phase.toml) and its calculators, one short file each: the debug
connection, pins for the wanted functions, levels, pull-ups and ends of the buses.
Not here: boot straps, reset and the clock, and anything of another phase.
"""

from phases.kit.catalogue import exports

__getattr__ = exports(__name__)
