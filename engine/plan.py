"""Everything about a protocol on a stream that is known before the first sample."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from engine.channels import match_channel, parse_montage
from engine.chunk import Floats
from engine.errors import ConfigError, bad_value
from engine.protocol import SCALES, ClearnessLimits, Condition, Protocol
from engine.settings import Settings
from engine.signal.amplitude import Estimator, analytic_fir
from engine.signal.butterworth import butterworth
from engine.signal.clearness import Clearness, clearness_for
from engine.signal.decimate import PASS_SHARE, Decimator
from engine.signal.design import BandGoal
from engine.signal.grid import Grid, grid_for
from engine.signal.guard import Tail, tail_of

Design = Callable[[Grid, tuple[BandGoal, ...]], Estimator]

DESIGNS: dict[str, Design] = {
    "analytic-fir": analytic_fir,
    "tuned": analytic_fir,  # until there is signal enough to tune it to
    "butterworth": butterworth,
}


@dataclass(frozen=True, eq=False)
class Plan:
    """Frozen settings of a pipeline.

    Attributes
    ----------
    signals : names of the derived signals; the first ``n_trained`` are trained, the others
        (frontal channels) only watched for blinks.
    montage : (n_signals, n_channels), weights of the channels in each signal.
    places : for each condition, (band, signal) in what the estimator returns.
    """

    protocol: Protocol
    grid: Grid
    signals: tuple[str, ...]
    n_trained: int
    montage: Floats
    estimator: Estimator
    clearness: Clearness
    places: tuple[tuple[int, int], ...]

    @property
    def sfreq(self) -> float:
        return self.grid.sfreq

    @property
    def sfreq_decimated(self) -> float:
        return self.grid.sfreq_decimated

    @property
    def tick_s(self) -> float:
        return self.grid.tick_s

    @property
    def scale_factor(self) -> float:
        return float(SCALES[self.protocol.scale])

    @property
    def decimator(self) -> Decimator:
        return self.estimator.decimator

    def with_limits(self, limits: ClearnessLimits) -> Plan:
        """Return the plan with other limits of clearness: nothing of it is designed anew."""
        return replace(
            self,
            protocol=replace(self.protocol, clearness=limits),
            clearness=replace(self.clearness, limits=limits),
        )

    def tails(self, settings: Settings) -> tuple[Tail, ...]:
        """Return what disturbances leave in each condition's averaged amplitude."""
        return tuple(
            tail_of(self.estimator, band, self.grid.averaged_ticks(averaging_s))
            for (band, _), averaging_s in zip(self.places, settings.averaging_s, strict=True)
        )

    def settle_ticks(self, settings: Settings) -> int:
        """Return how many ticks of a segment pass before every amplitude can be trusted."""
        return (
            self.estimator.memory_ticks
            + max(map(self.grid.averaged_ticks, settings.averaging_s))
            - 1
        )

    def delays(self, settings: Settings) -> tuple[tuple[str, float], ...]:
        """Return (what, seconds), the parts of the least delay of the slowest condition."""
        filters = [self.estimator.delays_s[band] for band, _ in self.places]
        means = [
            (self.grid.averaged_ticks(averaging_s) - 1) / 2 * self.tick_s
            for averaging_s in settings.averaging_s
        ]
        slowest = max(range(len(filters)), key=lambda i: filters[i] + means[i])
        return (("filter", filters[slowest]), ("averaging", means[slowest]))

    def delay_s(self, settings: Settings) -> float:
        """Return the least delay from sensor to scene, before the hold, in seconds."""
        return sum(seconds for _, seconds in self.delays(settings))

    def gain(self, condition: int, freqs_hz: Floats) -> Floats:
        """Return what a sine of 1 µV at each frequency reads on a condition, peak scale."""
        return self.estimator.gain(self.places[condition][0], freqs_hz)


def plan_for(protocol: Protocol, ch_names: tuple[str, ...], sfreq: float) -> Plan:
    """Lay out a protocol on a stream's channels and rate.

    Raises ConfigError where a channel is missing or ambiguous, the rate is out of range, or a
    band lies above what the rate can hold.
    """
    grid = grid_for(sfreq)
    top = PASS_SHARE * grid.sfreq_decimated
    for condition in protocol.conditions:
        if condition.high_hz > top:
            raise bad_value(
                f"{condition.band}.high_hz",
                condition.high_hz,
                f"at most {top:.1f} Hz at {sfreq:g} Hz",
                "lower the band or raise the amplifier's sampling rate",
            )
    trained = list(dict.fromkeys(c.channel or protocol.site for c in protocol.conditions))
    watched = [name for name in protocol.clearness.blink_channels if _has(name, ch_names)]
    signals = tuple(trained + [name for name in watched if name not in trained])
    wanted = [BandGoal(c.low_hz, c.high_hz, _delay(c, protocol)) for c in protocol.conditions]
    goals = tuple(dict.fromkeys(wanted))
    places = tuple(
        (goals.index(goal), signals.index(c.channel or protocol.site))
        for goal, c in zip(wanted, protocol.conditions, strict=True)
    )
    return Plan(
        protocol=protocol,
        grid=grid,
        signals=signals,
        n_trained=len(trained),
        montage=np.stack([parse_montage(name, ch_names) for name in signals]),
        estimator=DESIGNS[protocol.estimator](grid, goals),
        clearness=clearness_for(grid, protocol.clearness),
        places=places,
    )


def _delay(condition: Condition, protocol: Protocol) -> float:
    return protocol.delay_s if condition.delay_s is None else condition.delay_s


def _has(name: str, ch_names: tuple[str, ...]) -> bool:
    try:
        match_channel(name, ch_names)
    except ConfigError:
        return False
    return True
