"""An account as a report: Markdown, and one HTML file with its charts.

`sections` turns an account into titles, sentences and tables, the same for every show; `figures`
says numbers; `paper` what fits on two printed pages. The terminal uses `sections` too.
matplotlib and jinja2 are imported in here alone, and late.
"""
