"""Layout: placement, tracks, vias, copper and gaps.

Here live its items (phase.toml) and its calculators, one short file each: widths, vias,
impedances, spacing, heat in copper, held against what the fabricator can make.
Not here: what is printed on the board, choosing parts, and anything of another phase.
"""

from phases.kit.catalogue import exports

__getattr__ = exports(__name__)
