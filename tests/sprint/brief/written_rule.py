"""A house rule as a person writes it by hand."""

from __future__ import annotations

RULE = """
[[item]]
id = "{id}"
phase = "{phase}"
statement = "The series resistor of the lamp is one kiloohm"
why = "The lamp stays dark on the first board"
severity = "{severity}"
{more}
stage = "schematic"
per = "board"
met_by = ["inspected"]
confirm_s = 6
left_out_min = 12
reopened_by = []
source = "our own bench"
"""


def rule(
    name: str = "house-lamp",
    phase: str = "regulation",
    severity: str = "dead board",
    more: str = "",
) -> str:
    return RULE.format(id=name, phase=phase, severity=severity, more=more)
