"""Clock and boot configuration: that the chip starts, from the right place, at the right pace.

Here live its items (phase.toml) and its calculators, one short file each: straps, reset,
the crystal and its capacitors, dividers, bit timing.
Not here: the connection that programs the chip, and anything of another phase.
"""

from phases.kit.catalogue import exports

__getattr__ = exports(__name__)
