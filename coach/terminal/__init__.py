"""The screens: the Textual app, its screens and widgets, the look by role in one stylesheet.

A widget shows state and sends commands; rules, time and engineering are asked for in
`coach.sprint` and `phases`, never worked out here. Texts are never read as markup.
Imported by the command line alone, and only when a screen is opened.
"""
