"""What a recording and the desk are told of the program: its version, times and filters."""

from __future__ import annotations

from dataclasses import fields
from importlib.metadata import PackageNotFoundError, version
from typing import Any

import numpy as np
from numpy.typing import NDArray

from engine.plan import Plan
from engine.session.messages import BandResponse
from engine.settings import Settings


def program_version() -> str:
    """Return the installed version; from a bare checkout, say so."""
    try:
        return version("nudgeline")
    except PackageNotFoundError:
        return "not installed"


def plan_values(plan: Plan, settings: Settings) -> dict[str, Any]:
    """Return the times and signals of a plan, as plain values."""
    return {
        "sfreq": plan.sfreq,
        "sfreq_decimated": plan.sfreq_decimated,
        "decimation": plan.grid.factor,
        "tick_s": plan.tick_s,
        "tick_samples": plan.grid.block,
        "estimator": plan.estimator.name,
        "signals": list(plan.signals),
        "n_trained": plan.n_trained,
        "montage": plan.montage.tolist(),
        "delays": [list(delay) for delay in plan.delays(settings)],
        "delay_s": plan.delay_s(settings),
    }


def responses_of(plan: Plan) -> tuple[BandResponse, ...]:
    """Return the picture of every condition's filter, from 0 to 60 Hz."""
    freqs_hz = np.linspace(0.0, 60.0, 601)
    return tuple(
        BandResponse(c.label, c.low_hz, c.high_hz, freqs_hz, plan.gain(i, freqs_hz))
        for i, c in enumerate(plan.protocol.conditions)
    )


def filters_of(plan: Plan) -> dict[str, NDArray[np.generic]]:
    """Return every filter's taps or second-order sections, under its owner's name."""
    owners = {
        "decimator": plan.decimator,
        "estimator": plan.estimator,
        "clearness": plan.clearness,
    }
    found: dict[str, NDArray[np.generic]] = {}
    for owner, holder in owners.items():
        for name in (field.name for field in fields(holder)):  # type: ignore[arg-type]
            value = getattr(holder, name)
            if not name.endswith(("taps", "sos")):
                continue
            if isinstance(value, np.ndarray):
                found[f"{owner}.{name}"] = value
            else:
                found |= {f"{owner}.{name}.{i}": part for i, part in enumerate(value)}
    return found
