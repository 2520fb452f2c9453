"""Regulation: one rail made from another, and what the rails have to carry.

Here live its items (phase.toml) and its calculators, one short file each: the load of each
rail, headroom and heat of a regulator, the parts around it, switches for a load.
Not here: how the board is fed, capacitors at the chips' pins, and anything of another phase.
"""

from phases.kit.catalogue import exports

__getattr__ = exports(__name__)
