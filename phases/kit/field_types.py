"""Types for the fields of documents: names, and quantities kept as the text they were given in.

A quantity stays text in a document, so that a journal shows what a person wrote; whether it
can be read in its unit is checked when the document is.
"""

from __future__ import annotations

import re
from typing import Annotated

from pydantic import AfterValidator, Field, StrictInt

from phases.kit.documents import checked
from phases.kit.notation import read_quantity
from phases.kit.refusals import Refusal
from phases.kit.text import Line, name_words

_NAME = re.compile(r"[a-z0-9]+(?:[-_][a-z0-9]+)*")
_LONGEST_NAME = 40


def check_name(name: str) -> None:
    """Refuses what cannot be part of a ledger name such as rail.3v3.voltage."""
    if not name:
        raise Refusal("The name is empty", do="Give it small letters, digits and hyphens")
    if len(name) > _LONGEST_NAME:
        raise Refusal(f"The name has {len(name)} characters", do=f"Give it at most {_LONGEST_NAME}")
    if not _NAME.fullmatch(name):
        near = "-".join(name_words(name))
        raise Refusal(
            f"{name!r} is not a name: small letters, digits and hyphens only",
            do=f"Write it as {near}" if near else "",
        )


Name = Annotated[Line, checked(check_name)]
"""Small letters, digits and hyphens: the id of a subject, the name of a card."""


def readable_in(unit: str) -> AfterValidator:
    """A validator for a text that `phases.kit.notation` reads in `unit`."""

    def check(text: str) -> None:
        read_quantity(text, unit)

    return checked(check)


Volts = Annotated[Line, readable_in("V")]
Amperes = Annotated[Line, readable_in("A")]
Farads = Annotated[Line, readable_in("F")]
Hertz = Annotated[Line, readable_in("Hz")]
Degrees = Annotated[Line, readable_in("°C")]
Millimetres = Annotated[Line, readable_in("mm")]
Micrometres = Annotated[Line, readable_in("µm")]
Ohms = Annotated[Line, readable_in("Ω")]
Watts = Annotated[Line, readable_in("W")]
Seconds = Annotated[Line, readable_in("s")]
Siemens = Annotated[Line, readable_in("S")]
KelvinPerWatt = Annotated[Line, readable_in("K/W")]
BitRate = Annotated[Line, readable_in("bit/s")]
Percent = Annotated[Line, readable_in("%")]
Ppm = Annotated[Line, readable_in("ppm")]

Count = Annotated[StrictInt, Field(ge=0, le=10_000)]
"""How many of something."""
