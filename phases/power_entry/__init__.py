"""Power entry: from the socket, the terminal or the cell to the board's first rail.

Here live its items (phase.toml) and its calculators, one short file each: what the source
gives, what is lost on the way in, what may be plugged in, what protects what is behind.
Not here: whatever makes one rail from another, and anything of another phase.
"""

from phases.kit.catalogue import exports

__getattr__ = exports(__name__)
