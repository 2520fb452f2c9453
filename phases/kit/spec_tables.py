"""Values that standards and data sheets print, as the tables of shared/tables; each has its source.

They are data, not code: a calculator asks for its table when it first needs a figure.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import tomli

from phases.kit.refusals import Refusal
from phases.kit.shared_data import shared_dir


@lru_cache
def spec_table(name: str) -> dict[str, Any]:
    """The table of that bare name ("usb-type-c"), read once. Not to be changed by who asks.

    Raises Refusal where it is missing or torn: the installation is then not whole.
    """
    path = shared_dir() / "tables" / f"{name}.toml"
    try:
        with path.open("rb") as file:
            return tomli.load(file)
    except (OSError, ValueError) as fault:
        raise Refusal(
            f"The table {name!r} cannot be read: {fault}", where=str(path), do="Install again"
        ) from None
