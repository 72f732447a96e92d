"""`nudgeline forecast`: the rate that other settings would have given on a recording."""

from __future__ import annotations

import math
from argparse import Namespace
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from engine.chunk import Chunk
from engine.errors import bad_value
from engine.events import Input
from engine.pipeline import Pipeline
from engine.reward.advice import Change
from engine.reward.forecast import Forecast, Forecaster
from engine.reward.outlook import Candidate, Outlook, look_ahead
from engine.reward.recent import Recent
from engine.session.split import split
from ui.verbs import starting
from ui.verbs.choices import chosen_protocol
from ui.verbs.score import opened
from ui.verbs.speech import print_json


def run(options: Namespace) -> int:
    """Forecast from a file, or from its first seconds only."""
    first_s = options.first
    if first_s is not None and not (math.isfinite(first_s) and first_s > 0):
        raise bad_value("--first", first_s, "a length above 0 s", "write it in seconds")
    protocol = chosen_protocol(options.protocol, options.channel, options.set)
    wanted = starting.read_wanted(options.target, options.share, protocol)
    info, inputs = opened(Path(options.file).expanduser(), options)
    pipeline = Pipeline(protocol, info.ch_names, info.sfreq)
    longest_s = math.inf if first_s is None else first_s
    recent = Recent(pipeline.plan.tick_s, len(protocol.conditions), longest_s=86400.0)
    for item in _first(inputs, longest_s, info.sfreq):
        if isinstance(item, Chunk):
            for output in pipeline.feed(item):
                recent.add(output)
        else:
            pipeline.apply(item)
    above = protocol.above
    forecaster = Forecaster(recent.window(), pipeline.plan.grid, above)
    settings = pipeline.settings
    steps = {key: protocol.step(key) for key in settings.keys}
    outlook = look_ahead(forecaster, settings, steps, protocol.zone, above)
    start = None if wanted is None else starting.found(wanted, forecaster, protocol)
    if options.json:
        told = None if start is None or wanted is None else starting.values(start, wanted)
        print_json({**values(outlook), "start": told})
    else:
        said = [] if start is None or wanted is None else starting.lines(start, wanted)
        for line in (*lines(outlook, protocol.zone), *said):
            print(line)
    return 0


def _first(
    inputs: Iterator[Chunk | Input], seconds: float, sfreq: float
) -> Iterator[Chunk | Input]:
    """Yield the inputs of the first ``seconds`` of samples."""
    left = None if math.isinf(seconds) else round(seconds * sfreq)
    for item in inputs:
        if not isinstance(item, Chunk) or left is None:
            yield item
            continue
        piece, _ = split(item, min(left, item.n_samples))
        left -= piece.n_samples
        if piece.n_samples:
            yield piece
        if left <= 0:
            return


def values(outlook: Outlook) -> dict[str, Any]:
    """Return the outlook as plain values, as ``--json`` prints it."""
    advice = outlook.advice
    return {
        "window_s": outlook.window_s,
        "clear_s": outlook.clear_s,
        "rate": outlook.now.rate if outlook.now else None,
        "low": outlook.now.low if outlook.now else None,
        "high": outlook.now.high if outlook.now else None,
        "settings": [_candidate(c) for c in (*outlook.one_step, *outlook.sweeps)],
        "advice": None if advice.change is None else _candidate(advice.change),
        "runner_up": None if advice.runner_up is None else _candidate(advice.runner_up),
        "reason": advice.reason,
    }


def _candidate(candidate: Candidate | Change) -> dict[str, Any]:
    return {"change": {candidate.key: candidate.value}, **_numbers(candidate.forecast)}


def _numbers(forecast: Forecast) -> dict[str, float]:
    return {"rate": forecast.rate, "low": forecast.low, "high": forecast.high}


def lines(outlook: Outlook, zone: tuple[float, float]) -> list[str]:
    """Return the outlook for a person to read."""
    if outlook.now is None:
        return [f"No forecast: {outlook.advice.reason}."]
    said = [f"Now {_words(outlook.now)} a minute; the zone is {zone[0]:g}-{zone[1]:g}."]
    said += [f"  {c.key} {c.value:g}: {_words(c.forecast)}" for c in outlook.one_step]
    change = outlook.advice.change
    if change is None:
        return [*said, f"{outlook.advice.reason[:1].upper()}{outlook.advice.reason[1:]}."]
    return [*said, f"Advice: {change.key} to {change.value:g}, for {_words(change.forecast)}."]


def _words(forecast: Forecast) -> str:
    return f"{forecast.rate:.1f} ({forecast.low:.0f}-{forecast.high:.0f})"
