"""Charts of a debrief as SVG to be set into a page: timeline, margins, forecasts, curves.

The only room that imports matplotlib, and late. Same account, same bytes: nothing of the machine,
its settings or the day gets into a chart. Text stays text in the page's own font; colours are
the page's own, by role, so that a chart is light where the page is.
"""
