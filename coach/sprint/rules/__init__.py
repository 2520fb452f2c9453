"""The rules: from a state and a command to events. Every rule of the sprint lives here.

`decide.py` finds the rule of a command, and adds what follows from its events. A rule reads no
clock and writes nothing. The first frame needs none: they are imported with the first command.
"""
