"""Charts of a report as SVG to be set into its page: timeline, margins, forecasts, curves.

Written element by element: the same figures give the same bytes on every machine. Text is in the
page's own font, colours are the page's own by role, so that a chart is light where the page is.
"""
