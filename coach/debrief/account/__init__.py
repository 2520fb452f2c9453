"""The account of one sprint, from its journal alone.

`data` is all of it as plain data: the contract between who makes it and who shows it. `telling`
makes it, one room for each part: items, phases, margins, calls, findings, the forecasts' honesty,
what is changeable, why things differ, what to do differently, three sentences. No show in here.
"""
