"""Sessions as looking across them sees them: of nobody, with a sine's worth of numbers."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from engine.lookback.sessions_seen import BandSeen, RoundSeen, SessionSeen

SMR = BandSeen("smr", "SMR", "above", 12.0, 15.0, "C4", 3.5, 4.0, 3.9, 4.1)


def seen(number: int, smr_uv: float | None = 4.0, **given: Any) -> SessionSeen:
    values: dict[str, Any] = {
        "id": f"session {number}",
        "began_utc": f"2026-10-{number + 1:02d}T09:00:00+00:00",
        "protocol": "smr-up-c4",
        "site": "C4",
        "reference": "A2",
        "scale": "peak",
        "clear_s": 900.0,
        "bands": (replace(SMR, mean_uv=smr_uv),),
    }
    return SessionSeen(**(values | given))


def rising(n: int, per_session: float = 0.2) -> list[SessionSeen]:
    noise = np.random.default_rng(4).normal(size=n) * 0.1
    return [seen(i, 4.0 + per_session * i + noise[i]) for i in range(n)]


def rounds_of(*means: float | None, clear_s: float = 180.0) -> tuple[RoundSeen, ...]:
    return tuple(RoundSeen(n, clear_s, (("smr", uv),)) for n, uv in enumerate(means, start=1))
