"""Sprints that are over, or lie closed: listed, read, described, counted.

`listing` takes what a list shows, `ended` the figures a sprint was summed up to, `read_sprint` all
of its journal. `habits`, `brought_along` and `trends` count over many of them. No screen, and no
journal is written here.
"""
