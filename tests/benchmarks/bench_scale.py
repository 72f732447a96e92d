"""How much faster than a plain script the signal path is, and whether its memory stays flat.

    python -m tests.benchmarks.bench_scale [--seconds 20] [--hours 4]

The signal path: 64 channels at 2048 Hz in chunks of 20 ms, five bands: decimation, amplitudes and
clearness, once a tick, on one core. The plain script is what a user would write with scipy: for
every chunk a band-pass of third order on all channels for each band, and the RMS of the last
0.25 s. All run in turns in the same process, and the best of each counts. Beside them stand the
amplitudes without clearness, which the plain script has not either, and its filters without RMS.

Memory: a pipeline of three conditions at 250 Hz with a frontal channel watched, and the meter of
the rate, fed for so many hours of the stream; growth is counted from the first ten minutes on.
"""
# ruff: noqa: E402 - the number of threads must be set before numpy is imported

from __future__ import annotations

import os

for variable in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[variable] = "1"

import argparse
import gc
import time
from collections.abc import Callable, Iterator
from functools import partial

import numpy as np
import psutil
from scipy import signal

from engine.chunk import Floats, chunk_of
from engine.events import RoundStart
from engine.pipeline import Pipeline
from engine.protocol import ClearnessLimits
from engine.reward.rate import RateMeter
from engine.signal.amplitude import analytic_fir
from engine.signal.clearness import clearness_for
from engine.signal.grid import grid_for
from simulators.eeg import Eeg
from tests.engine.signals import BANDS, goals, smr_protocol

SFREQ, N_CHANNELS = 2048, 64
CHUNK = round(0.02 * SFREQ)
EDGES = tuple(BANDS.values())
RMS_S = 0.25
TURNS = 5


def chunks(samples: Floats) -> Iterator[Floats]:
    for start in range(0, samples.shape[0] - CHUNK + 1, CHUNK):
        yield samples[start : start + CHUNK]


def ours(samples: Floats, with_clearness: bool = True) -> int:
    """Run the engine's signal path; return the number of ticks."""
    grid = grid_for(SFREQ)
    estimator, clearness = analytic_fir(grid, goals()), clearness_for(grid, ClearnessLimits())
    decimator, n_signals = estimator.decimator, samples.shape[1]
    recent, state = decimator.start(samples[0]), estimator.start(samples[0])
    seen, rest, n_ticks = clearness.start(n_signals), samples[:0], 0
    for chunk in chunks(samples):
        waiting = np.concatenate([rest, chunk])
        while waiting.shape[0] >= grid.block:
            block, waiting = waiting[: grid.block], waiting[grid.block :]
            recent, decimated = decimator.step(recent, block)
            state, _ = estimator.step(state, decimated)
            if with_clearness:
                seen, _ = clearness.step(seen, block, decimated)
            n_ticks += 1
        rest = waiting
    return n_ticks


def plain(samples: Floats, with_rms: bool = True) -> int:
    """Run the plain script; return the number of chunks."""
    filters = [signal.butter(3, edges, "bandpass", fs=SFREQ, output="sos") for edges in EDGES]
    states = [np.zeros((sos.shape[0], 2, samples.shape[1])) for sos in filters]
    recent = [np.zeros((round(RMS_S * SFREQ), samples.shape[1])) for _ in filters]
    n_chunks = 0
    for chunk in chunks(samples):
        for i, sos in enumerate(filters):
            band, states[i] = signal.sosfilt(sos, chunk, axis=0, zi=states[i])
            if with_rms:
                recent[i] = np.concatenate([recent[i][band.shape[0] :], band])
                np.sqrt(np.mean(np.square(recent[i]), axis=0))
        n_chunks += 1
    return n_chunks


def seconds_of(run: Callable[[Floats], int], samples: Floats) -> float:
    start = time.process_time()
    assert run(samples) > 0
    return time.process_time() - start


def scale(seconds: float) -> None:
    rng = np.random.default_rng(0)
    samples = 10 * rng.standard_normal((round(seconds * SFREQ), N_CHANNELS))
    runs: dict[str, Callable[[Floats], int]] = {
        "ours": ours,
        "plain": plain,
        "ours, amplitudes alone": partial(ours, with_clearness=False),
        "plain, filters alone": partial(plain, with_rms=False),
    }
    best = dict.fromkeys(runs, np.inf)
    for _ in range(TURNS):
        for name, run in runs.items():
            best[name] = min(best[name], seconds_of(run, samples))
    print(f"{N_CHANNELS} channels, {SFREQ} Hz, {len(BANDS)} bands, chunks of {CHUNK} samples")
    for name, time_s in best.items():
        print(f"  {name:23} {time_s:6.2f} s for {seconds:g} s: {seconds / time_s:4.0f} x real time")
    print(f"  ratio {best['plain'] / best['ours']:.1f} (at least 3 is wanted)")


def memory(hours: float) -> None:
    sfreq, minute = 250, 60 * 250
    samples = Eeg(sfreq, ("C4", "Fp1"), seed=1).read(0, minute)
    pipeline = Pipeline(smr_protocol(), ("C4", "Fp1"), sfreq)
    pipeline.apply(RoundStart(0))
    meter = RateMeter(pipeline.plan.tick_s, 3)
    process, after_ten = psutil.Process(), 0
    for n in range(round(hours * 60)):
        for start in range(0, minute, 5 * sfreq):
            for output in pipeline.feed(chunk_of(samples[start : start + 5 * sfreq], (1.0, 1.0))):
                meter.add(output)
        if n == 9:
            gc.collect()
            after_ten = process.memory_info().rss
    gc.collect()
    grown = process.memory_info().rss - after_ten
    print(f"{hours:g} hours at {sfreq} Hz: {grown / 1e6:+.1f} MB after the first ten minutes")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seconds", type=float, default=20.0, help="length of the scaled signal")
    parser.add_argument("--hours", type=float, default=4.0, help="length of the stream for memory")
    options = parser.parse_args()
    scale(options.seconds)
    memory(options.hours)


if __name__ == "__main__":
    main()
