"""What many sprints say together: how often each item was forgotten, pace, calibration.

`line.py` makes a line of figures of one sprint, `reading.py` reads many journals in a few seconds,
`counting.py` counts over the lines, `learning.py` says whether it gets better, `show.py` and
`tables.py` show it. Counts always; nothing here claims that somebody got better or worse under
ten sprints. No screen, and no journal is written.
"""
