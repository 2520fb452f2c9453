"""The sprint to be made by hand, for the rooms here."""

from __future__ import annotations

from tests.sprint.conftest import begin, bench  # noqa: F401  # fixtures
