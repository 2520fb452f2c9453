"""The name under which other screens know copying out."""

from coach.terminal.screens.one_list import copy_out as copy_out
