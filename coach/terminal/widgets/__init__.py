"""Widgets: each shows lines or asks for a line, and does nothing else."""
