"""Labelling: what the board tells whoever holds it.

Here live its items (phase.toml) and its calculators, one short file each: what must be
printed and whether it can be read and made, and the indicators with their resistors.
Not here: the files for the order (closing.toml), and anything of another phase.
"""

from phases.kit.catalogue import exports

__getattr__ = exports(__name__)
