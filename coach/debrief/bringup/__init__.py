"""The bring-up sheet: what to look at and measure at the first power-on, in order, with what to
expect of it.

Made from one journal (`planning.sheet_of`), from its brief and the records of its calculations;
nothing is computed anew that a record holds. `printing` shows it; what is measured is written
down by the commands of `coach.sprint`. No screen here.
"""
