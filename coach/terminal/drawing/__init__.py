"""What the screens show, as lines of words with roles: pure functions from state to lines.

No Textual and no terminal in here, so that every line can be read in a test. A line is a row of
spans; a span has a text and a role (due, next, done, doubt, hazard, quiet ..), never a colour.
"""
