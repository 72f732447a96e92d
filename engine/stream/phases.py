"""What a client frame may say of the session's phase, and of what the client is to do now."""

from __future__ import annotations

PHASES = ("ready", "training", "rest", "ended", "check", "baseline")
"""In ``check`` and ``baseline`` nothing is rewarded."""
PROMPTS = ("", "rest", "clench", "blink", "baseline", "baseline closed")
"""What the client is asked for in a signal check or a baseline; a scene has the words for it."""
