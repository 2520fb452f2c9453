"""Briefs: what the board must do and by when, and what a team adds to what boards need.

`document` reads one, `checks` its sense; `new` asks seven questions and `new_text` writes the
answers down; `folder` finds briefs; `house_rules` reads a team's own items, `house_making` makes
one of a late finding.
"""
