"""One sprint told from its journal: what is still changeable, three sentences, and all the rest.

`account.py` holds what the journal shows, a file for each subject puts it into sections,
`report.py` puts these in order. The terminal, Markdown and HTML draw the same sections and decide
nothing. No calculation is run again, no motive is guessed, nobody is blamed. Knows no screen.
"""
