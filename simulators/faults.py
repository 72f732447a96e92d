"""A stream that misbehaves on a script: everything that real amplifiers have been seen to do.

Each fault has the second ``at_s`` at which it begins. `with_faults` bends a healthy stream of
steps; what a setting can do alone (a nominal rate that is not the real one, no labels, no
units) is set in `simulators.outlet.OutletSettings`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from engine.chunk import Floats
from simulators.steps import Close, Described, Open, Push, Step


@dataclass(frozen=True)
class Dropout:
    """Samples are lost for a while; stamps and signal go on as if they had been sent."""

    at_s: float
    duration_s: float = 10.0


@dataclass(frozen=True)
class Restart:
    """The outlet goes and comes back with a new uid, perhaps with other channels or rate."""

    at_s: float
    away_s: float = 1.0
    ch_names: tuple[str, ...] | None = None
    sfreq: float | None = None


@dataclass(frozen=True)
class ClockJump:
    """The clock of the stamps jumps, for good; no sample is lost."""

    at_s: float
    by_s: float


@dataclass(frozen=True)
class BackwardStamps:
    """Every other chunk is stamped too early, so that stamps step back."""

    at_s: float
    duration_s: float
    by_s: float = 0.05


@dataclass(frozen=True)
class Burst:
    """Samples are held back and then arrive all at once, stamped on arrival."""

    at_s: float
    duration_s: float = 0.3


@dataclass(frozen=True)
class Missing:
    """NaN instead of samples, on one channel or on all."""

    at_s: float
    duration_s: float
    channel: int | None = None


@dataclass(frozen=True)
class Flat:
    """A channel holds one value, as when its lead is off; all channels if none is named."""

    at_s: float
    duration_s: float
    channel: int | None = None


@dataclass(frozen=True)
class Clip:
    """The amplifier cannot go beyond ``limit``, in the unit of the stream."""

    at_s: float
    duration_s: float
    limit: float = 5.0
    channel: int | None = None


@dataclass(frozen=True)
class Twin:
    """A second outlet with the same name and source_id sends the same."""

    at_s: float
    duration_s: float


Fault = Dropout | Restart | ClockJump | BackwardStamps | Burst | Missing | Flat | Clip | Twin
_Lasting = Dropout | BackwardStamps | Burst | Missing | Flat | Clip | Twin


def with_faults(steps: Iterator[Step], faults: tuple[Fault, ...]) -> Iterator[Step]:
    """Yield the steps of a healthy stream, bent by every fault, in the order of the faults."""
    for fault in faults:
        steps = _bent(steps, fault)
    return steps


def _bent(steps: Iterator[Step], fault: Fault) -> Iterator[Step]:
    match fault:
        case Restart():
            return _restarted(steps, fault)
        case ClockJump():
            return _jumped(steps, fault)
        case Burst():
            return _held_back(steps, fault)
        case Twin():
            return _twinned(steps, fault)
        case _:
            return _damaged(steps, fault)


def _during(step: Step, fault: _Lasting) -> bool:
    return isinstance(step, Push) and fault.at_s <= step.at_s < fault.at_s + fault.duration_s


def _damaged(
    steps: Iterator[Step], fault: Dropout | BackwardStamps | Missing | Flat | Clip
) -> Iterator[Step]:
    """Bend each push by itself."""
    held: Floats | None = None
    for count, step in enumerate(steps):
        if not isinstance(step, Push) or not _during(step, fault):
            yield step
            continue
        samples = np.array(step.samples, dtype=np.float64)
        match fault:
            case Dropout():
                continue
            case BackwardStamps():
                yield replace(step, shift_s=step.shift_s - fault.by_s * (count % 2))
                continue
            case Missing():
                samples[:, _column(fault.channel)] = np.nan
            case Flat():
                held = samples[0] if held is None else held
                samples[:, _column(fault.channel)] = held[_column(fault.channel)]
            case Clip():
                column = _column(fault.channel)
                samples[:, column] = np.clip(samples[:, column], -fault.limit, fault.limit)
        yield replace(step, samples=samples)


def _column(channel: int | None) -> int | slice:
    return slice(None) if channel is None else channel


def _restarted(steps: Iterator[Step], fault: Restart) -> Iterator[Step]:
    back_s = fault.at_s + fault.away_s
    described: Described | None = None
    columns: list[int] | None = None
    gone = back = False
    for step in steps:
        if isinstance(step, Open):
            described = step.described
        if not gone and step.at_s >= fault.at_s:
            gone = True
            yield Close(fault.at_s)
        if gone and step.at_s < back_s:
            continue
        if gone and not back and described is not None:
            back = True
            if fault.ch_names is not None:
                columns = [described.ch_names.index(name) for name in fault.ch_names]
            yield Open(back_s, _changed(described, fault))
        if columns is not None and isinstance(step, Push):
            yield replace(step, samples=step.samples[:, columns])
        else:
            yield step


def _changed(described: Described, fault: Restart) -> Described:
    ch_names = fault.ch_names or described.ch_names
    units = dict(zip(described.ch_names, described.units, strict=True))
    return replace(
        described,
        sfreq=fault.sfreq or described.sfreq,
        ch_names=ch_names,
        units=tuple(units[name] for name in ch_names),
    )


def _jumped(steps: Iterator[Step], fault: ClockJump) -> Iterator[Step]:
    for step in steps:
        if isinstance(step, Push) and step.at_s >= fault.at_s:
            yield replace(step, shift_s=step.shift_s + fault.by_s)
        else:
            yield step


def _held_back(steps: Iterator[Step], fault: Burst) -> Iterator[Step]:
    held: list[Push] = []
    for step in steps:
        if isinstance(step, Push) and _during(step, fault):
            held.append(step)
            continue
        if held:
            samples = np.concatenate([push.samples for push in held])
            yield replace(held[-1], at_s=fault.at_s + fault.duration_s, samples=samples)
            held = []
        yield step


def _twinned(steps: Iterator[Step], fault: Twin) -> Iterator[Step]:
    described: Described | None = None
    there = False
    for step in steps:
        if isinstance(step, Open) and step.key == "main":
            described = step.described
        if described is not None and not there and _during(step, fault):
            there = True
            yield Open(fault.at_s, described, "twin")
        if there and not _during(step, fault):
            there = False
            yield Close(fault.at_s + fault.duration_s, "twin")
        yield step
        if there and isinstance(step, Push):
            yield replace(step, key="twin")
