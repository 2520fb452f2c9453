"""What every event is."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict


class Event(BaseModel):
    """Frozen, and strict about its keys."""

    # Built at first use: a sprint uses few kinds before its first frame.
    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)
