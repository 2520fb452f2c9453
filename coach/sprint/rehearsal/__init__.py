"""The simulated engineer: works through a whole sprint by the commands a person gives.

`ground_truth` is what is so of that engineer and of the board, known to nothing else; `engineer`
acts on it, `calculations` does the sums, `rehearse` runs one sprint and `many` a thousand.
"""
