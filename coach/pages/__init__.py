"""One HTML file for paper and screen, as the debrief and the bring-up sheet are: it opens offline,
has no script and asks for nothing.

`page.css` is the look by role; what a page says and how it is divided is its own room's business.
"""
