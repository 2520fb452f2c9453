"""Screens: each shows the state as lines and turns keys into commands. No rule lives here."""
