"""The simulated engineer: works through a whole sprint by the commands a person gives.

`ground_truth` is what is so of that engineer and of the board, known to nothing else; `engineer`
works by it, `acting` gives its commands, `calculating` meets what is calculated; `rehearse` runs
one sprint and `many` a thousand.
"""
