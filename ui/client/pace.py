"""How often to draw: as smoothly as a modest share of one processor core allows."""

from __future__ import annotations

SHORTEST_MS, LONGEST_MS = 20, 33
"""50 to 30 frames a second."""
BUSY = 0.20
"""Share of one core that drawing may take."""


def next_interval_ms(interval_ms: int, busy: float) -> int:
    """Return the time between frames, after ``busy`` (share of a core) at ``interval_ms``."""
    wanted = interval_ms * busy / BUSY
    calmer = round(0.5 * interval_ms + 0.5 * wanted)
    return min(max(calmer, SHORTEST_MS), LONGEST_MS)
