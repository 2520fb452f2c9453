"""The name under which other screens know the questions."""

from coach.terminal.screens.prompts import AskChoice as AskChoice
from coach.terminal.screens.prompts import AskLine as AskLine
