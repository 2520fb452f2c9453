"""The team exercise: a facilitator, several benches, injects between them.

Each bench runs its own sprint and journal; what crosses the wire is news, never the record.
May import `coach.sprint` and `phases`. No screen, no debrief.
"""
