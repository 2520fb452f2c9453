"""Everything that happens in a sprint, as facts in the past tense: one class for each.

A class holds what it keeps (its fields), what it does to the state (`applied`) and how it is told
(`told`). It carries all that is needed for both; a rule decides, an event never. One file for each
subject; `event.py` says what an event is, and finds the kinds by themselves.
"""
