"""Whether a forecast holds: from the first 90 s of a recording, the rate of the next 90 s.

    python -m tests.benchmarks.study_forecast RECORDING.edf ... [--channel C4 --channel Cz]
                                              [--picture OUT.png]

Thresholds are started from the first 90 s for a target rate, at holds of 0.25, 0.5 and 0.75 s.
Coverage: share of cases in which the 80 % interval holds the rate that came, per clear minute
both; error: the mean absolute difference. Then the tracking check: minute by minute, thresholds
left alone against thresholds that follow the advice, and the share of minutes in the zone.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from engine.plan import Plan, plan_for
from engine.protocol import load_protocol
from engine.reward.advice import advise
from engine.reward.baseline import starting_thresholds
from engine.reward.forecast import Forecast, Forecaster
from engine.reward.recent import Window
from engine.settings import Settings
from engine.signal.grid import grid_for
from simulators.person import Person as Client
from simulators.person import PersonSettings
from tests.benchmarks.recordings import Channel, channels, live

PROTOCOL = Path(__file__).parents[2] / "configs" / "protocols" / "smr-up-c4.toml"
ABOVE = (False, True, False)
SHARES = {"theta": 0.8, "high_beta": 0.9}
HOLDS_S = (0.25, 0.5, 0.75)
TARGETS = (6.0, 12.0, 18.0)
HALF_S = 90.0
MINUTE_S = 60.0
SIMULATED_S = 900.0


@dataclass(frozen=True, eq=False)
class Person:
    """A recording as a window of ticks, settled."""

    name: str
    window: Window
    plan: Plan


def person_of(channel: Channel) -> Person:
    """Run the protocol's estimator over a recording."""
    plan = plan_for(load_protocol(PROTOCOL), ("C4",), channel.grid.sfreq)
    rows = live(plan.estimator, channel.samples)
    fast = rows[:, [band for band, _ in plan.places]][plan.estimator.memory_ticks :]
    return Person(channel.name, Window(fast, np.ones(len(fast), bool), plan.tick_s), plan)


def simulated(n_clients: int) -> list[Person]:
    """Return simulated clients of a quarter of an hour, whose bands drift and who learn."""
    people = []
    for seed in range(n_clients):
        client = Client(PersonSettings(seed=seed, ch_names=("C4",), artifacts=False))
        samples = client.read(0, round(SIMULATED_S * client.sfreq))[:, 0]
        people.append(person_of(Channel(f"seed {seed}", grid_for(client.sfreq), samples)))
    return people


def piece(window: Window, start_s: float, length_s: float) -> Window:
    """Return a stretch of a window."""
    first, n = round(start_s / window.tick_s), round(length_s / window.tick_s)
    part = slice(first, first + n)
    return Window(window.fast_uv[part], window.clear[part], window.tick_s)


def started(forecaster: Forecaster, plan: Plan, hold_s: float, target: float) -> Settings:
    """Return settings that start at a target rate with a hold."""
    settings = plan.protocol.settings.changed("hold", hold_s)
    return starting_thresholds(forecaster, settings, ABOVE, target, SHARES).settings


def cases(people: list[Person]) -> list[tuple[float, float, Forecast, float]]:
    """Return (hold, target, forecast from the first half, rate of the second)."""
    found = []
    for person in people:
        half_s = min(HALF_S, person.window.clear_s / 2)
        first = Forecaster(piece(person.window, 0, half_s), person.plan.grid, ABOVE)
        second = Forecaster(piece(person.window, half_s, half_s), person.plan.grid, ABOVE)
        for hold_s in HOLDS_S:
            for target in TARGETS:
                settings = started(first, person.plan, hold_s, target)
                forecast = first.forecast(settings, half_s)
                found.append((hold_s, target, forecast, second.rate(settings)))
    return found


def share_in_zone(people: list[Person], follow: bool) -> float:
    """Return the share of minutes inside the zone after the first, with or without advice."""
    inside = []
    for person in people:
        protocol = person.plan.protocol
        first = Forecaster(piece(person.window, 0, MINUTE_S), person.plan.grid, ABOVE)
        settings = started(first, person.plan, protocol.hold_s, sum(protocol.zone) / 2)
        steps = {k: protocol.step(k) for k in settings.keys if not k.endswith(".averaging")}
        minute_s = MINUTE_S
        while minute_s + MINUTE_S <= person.window.clear_s:
            now = Forecaster(piece(person.window, minute_s, MINUTE_S), person.plan.grid, ABOVE)
            rate = now.rate(settings)
            inside.append(protocol.zone[0] <= rate <= protocol.zone[1])
            minute_s += MINUTE_S
            if follow:
                since = piece(person.window, max(0, minute_s - 3 * MINUTE_S), minute_s)
                ahead = Forecaster(since, person.plan.grid, ABOVE)
                change = advise(ahead, settings, steps, protocol.zone, ABOVE).change
                if change is not None:
                    settings = settings.changed(change.key, change.value)
    return float(np.mean(inside))


def draw(found: list[tuple[float, float, Forecast, float]], path: Path) -> None:
    """Draw what came against what was forecast, with the intervals (matplotlib)."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(6, 5))
    axes = figure.add_subplot()
    for _, _, forecast, rate in found:
        held = forecast.low <= rate <= forecast.high
        colour = "#0072B2" if held else "#D55E00"
        axes.plot([forecast.rate] * 2, [forecast.low, forecast.high], colour, alpha=0.25)
        axes.plot(forecast.rate, rate, "o" if held else "x", color=colour, markersize=4)
    top = max(rate for *_, rate in found) + 3
    axes.plot([0, top], [0, top], "k--", linewidth=0.8)
    axes.set_xlabel("forecast, points a clear minute (bar: 80 % interval)")
    axes.set_ylabel("what came, points a clear minute")
    figure.savefig(path, dpi=120)


def main() -> None:
    """Print the tables."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("files", nargs="+", type=Path)
    options.add_argument("--channel", action="append")
    options.add_argument("--picture", type=Path)
    options.add_argument("--simulated", type=int, default=0, metavar="N", help="clients too")
    chosen = options.parse_args()
    people = [
        person_of(channel)
        for wanted in chosen.channel or ["C4"]
        for channel in channels(chosen.files, wanted)
    ]
    found = cases(people)
    print(f"{len(people)} recordings; coverage of the 80 % interval, mean absolute error, bias")
    print("hold    " + "".join(f"{f'target {target:g}':>22}" for target in TARGETS))
    for hold_s in HOLDS_S:
        row = f"{hold_s:4.2f} s  "
        for target in TARGETS:
            some = [(f, rate) for h, t, f, rate in found if (h, t) == (hold_s, target)]
            held = np.mean([f.low <= rate <= f.high for f, rate in some])
            away = np.array([rate - f.rate for f, rate in some])
            row += f"{held:9.0%} {np.abs(away).mean():6.2f} {away.mean():+5.2f}"
        print(row)
    held = np.mean([f.low <= rate <= f.high for _, _, f, rate in found])
    print(f"all: coverage {held:.0%}")
    groups = {"recordings": people, "simulated": simulated(chosen.simulated)}
    for name, group in groups.items():
        for follow in (False, True) if group else ():
            what = "following the advice" if follow else "thresholds left alone"
            print(f"minutes in the zone, {name}, {what}: {share_in_zone(group, follow):.0%}")
    if chosen.picture:
        draw(found, chosen.picture)


if __name__ == "__main__":
    main()
