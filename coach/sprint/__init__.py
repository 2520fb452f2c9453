"""The timed run: brief, commands, rules, events, journal, state, pace, calls.

State is a fold over events; a command is turned into events by the rules, and that is the
only road. The one reader of clocks in the whole program is clock.py.
May import `phases`. Knows no screen, no network, no debrief, no exercise, no command line.
"""
