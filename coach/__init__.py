"""The coach: time, gates, journal and screens around the engineering in `phases`.

Here live the command line (cli) and its rooms: sprint, history, report, bringup, pages, terminal.
Nothing here computes engineering: values, verdicts and parts come from `phases`.
"""

from __future__ import annotations

import os

# pydantic would read the metadata of every installed package to find plug-ins, and let them take
# part in reading briefs and journals.
os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")

__version__ = "0.1.0"
