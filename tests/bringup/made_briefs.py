"""Briefs made by the seven questions, for boards of every supply."""

from __future__ import annotations

from coach.sprint.brief.document import Brief
from coach.sprint.brief.loading import parse_brief
from coach.sprint.brief.new import answers_to_brief_text

SUPPLIES = "udlcah"
REGULATORS = "lsn"


def made_brief(title: str = "New board", **answers: str) -> Brief:
    return parse_brief(answers_to_brief_text(answers, title), "made.toml")
