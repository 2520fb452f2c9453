"""The bring-up sheet: what to look at and measure at the first power-on, in order, with what to
expect of it.

Made from one journal (`planning.sheet_of`): the points are those of `points.toml`, by the facts of
the board, and those that its calculations name themselves. Nothing is computed that a record
holds. No screen here; readings are written down by the commands of `coach.sprint`.
"""
