"""`python -m coach`: the command line, where the `coach` command is not on the path."""

from __future__ import annotations

import sys

from coach.cli import main

if __name__ == "__main__":
    sys.exit(main())
