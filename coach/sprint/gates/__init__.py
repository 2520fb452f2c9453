"""This board's items as a person works with them: gates, walks, what is forgotten, the next thing.

`gates` says what is open and what was skipped, `walks` what is asked when; `advice` what to do
about one row, `next_thing` what to do now. Reads a state and writes nothing.
"""
