"""The coach: time, gates, journal and screens around the engineering in `phases`.

Here live the command line (cli) and its rooms: sprint, terminal, debrief, exercise.
Nothing here computes engineering: values, verdicts and parts come from `phases`.
"""

from __future__ import annotations

__version__ = "0.1.0"
