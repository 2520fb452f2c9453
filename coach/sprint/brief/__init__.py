"""Briefs: what the board must do and by when, and what a team adds to what boards need.

`document` says what one holds, `checks` what makes sense, `loading` reads it; `new` asks seven
questions and `new_text` writes the answers down; `folder` finds briefs; `house_rules` reads a
team's own items.
"""
