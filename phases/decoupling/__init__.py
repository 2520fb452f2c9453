"""Decoupling: charge at the pins that need it, on each rail.

Here live its items (phase.toml) and its calculators, one short file each: which capacitor
at which pin, what is left of it in use, what the supply looks like against frequency.
Not here: a regulator's own capacitors, tracks and vias, and anything of another phase.
"""

from phases.kit.catalogue import exports

__getattr__ = exports(__name__)
