"""How well live amplitudes follow zero-phase envelopes on real EEG that a package carries.

    python -m pip download --no-deps peegy==2.0.4
    python -m tests.benchmarks.study_package peegy-2.0.4-py3-none-any.whl

One channel, 1000 Hz, 401 s, awake, full of natural blinks (Valderrama et al. 2018, in the test
data of `peegy`, MIT). The package is no dependency of the tests: it would bring another Qt and a
great deal besides, and its file is read from the wheel as it is.

For each band: the correlation of the clear ticks' amplitudes, at the stated delay, with the
envelopes of scipy (Butterworth of order 4 both ways, Hilbert) and of MNE (zero-phase FIR,
transitions of 1 Hz, Hilbert); and the share of the time that was clear.
"""

from __future__ import annotations

import argparse
import io
import zipfile
from dataclasses import replace
from pathlib import Path

import mne
import numpy as np
from scipy import io as files
from scipy import signal

from engine.chunk import Floats
from engine.configs_folder import find_protocol
from engine.events import RoundStart
from engine.pipeline import Pipeline
from engine.protocol import load_protocol
from tests.engine.signals import through, ticks_of

INSIDE = "peegy/test/test_data/eog_blinks_valderrama_et_al_2018.mat"
SFREQ = 1000.0


def samples_of(path: Path) -> Floats:
    """Return (n_samples,), µV: the longest array of the package's file."""
    data = zipfile.ZipFile(path).read(INSIDE) if path.suffix == ".whl" else path.read_bytes()
    arrays = [np.ravel(v) for v in files.loadmat(io.BytesIO(data)).values() if np.size(v) > 1]
    return np.asarray(max(arrays, key=np.size), dtype=np.float64)


def envelopes(samples: Floats, low_hz: float, high_hz: float) -> dict[str, Floats]:
    """Return the zero-phase envelope of a band by each library."""
    sos = signal.butter(4, (low_hz, high_hz), "bandpass", fs=SFREQ, output="sos")
    by_mne = mne.filter.filter_data(
        samples, SFREQ, low_hz, high_hz, l_trans_bandwidth=1.0, h_trans_bandwidth=1.0, verbose=False
    )
    return {
        "scipy": np.abs(signal.hilbert(signal.sosfiltfilt(sos, samples))),
        "MNE": np.abs(signal.hilbert(by_mne)),
    }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("file", type=Path, help="the wheel, or the .mat file out of it")
    samples = samples_of(parser.parse_args().file)
    print(f"{samples.size / SFREQ:.0f} s, {samples.std():.1f} µV RMS")
    shipped = load_protocol(find_protocol("smr-up-c4"))
    clearness = replace(shipped.clearness, blink_uv=50.0)
    for estimator, delay_s in (("analytic-fir", 0.2), ("analytic-fir", 0.5), ("butterworth", 0.2)):
        protocol = replace(
            shipped, site="EEG", estimator=estimator, delay_s=delay_s, clearness=clearness
        )
        pipeline = Pipeline(protocol, ("EEG",), SFREQ)
        ticks = ticks_of(through(pipeline, samples[:, np.newaxis], inputs=[RoundStart(0)]))
        clear = np.array([not tick.reasons for tick in ticks])
        times = np.array([tick.time_s for tick in ticks])
        fast = np.array([tick.fast_uv for tick in ticks])
        print(f"\n{estimator}, {delay_s * 1000:.0f} ms, {clear.mean():.0%} clear")
        for i, condition in enumerate(protocol.conditions):
            band, _ = pipeline.plan.places[i]
            late = pipeline.plan.estimator.delays_s[band]
            said = []
            for name, envelope in envelopes(samples, condition.low_hz, condition.high_hz).items():
                then = np.interp(times - late, np.arange(samples.size) / SFREQ, envelope)
                r = np.corrcoef(fast[clear, i], then[clear])[0, 1]
                said.append(
                    f"{name} r {r:.3f}, mean {fast[clear, i].mean() / then[clear].mean():.2f}"
                )
            print(f"  {condition.label:10} at {late * 1000:3.0f} ms: {'; '.join(said)}")


if __name__ == "__main__":
    main()
