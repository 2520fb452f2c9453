"""Will it be done in time: the work that is left, the person's pace, and what follows from both.

Three-point estimates, pace, remaining work, finishing times, forecast, latest starts, what to
drop, and how good forecasts were. From a state and a moment to numbers; no clock, no journal is
written here, no screen. numpy is imported inside functions only.
"""
