"""LSL for tests: on this machine alone, private ports, a session ID of this run's own.

``lsl`` is the fixture that every test uses that opens a stream; a test file imports it.
`Outlet` is an amplifier in the same process.
"""

from __future__ import annotations

import weakref
from dataclasses import dataclass, field

import numpy as np
import pylsl
import pytest

from engine.stream import network

SESSION_ID = network.new_session_id()


@pytest.fixture(scope="session")
def lsl() -> str:
    """Put the private configuration in force in this process; return its text."""
    text = network.private_text(SESSION_ID)
    network.configure(text)
    return text


_outlets: weakref.WeakSet[Outlet] = weakref.WeakSet()


def close_outlets() -> None:
    """Close what a test left open: a failed test must not be the next one's twin."""
    for outlet in list(_outlets):
        outlet.close()


@dataclass(eq=False)
class Outlet:
    """An amplifier as a test needs it: it sends when told to, with the stamps it is told."""

    name: str = "Amplifier"
    kind: str = "EEG"
    labels: tuple[str, ...] | None = ("C3", "C4")
    units: tuple[str, ...] | None = ("microvolts", "microvolts")
    n_channels: int = 2
    sfreq: float = 250.0
    source_id: str = "amp-1"
    channel_format: str = "float32"
    reference: str = ""
    sent: int = 0
    clock_s: float = field(default_factory=pylsl.local_clock)

    def __post_init__(self) -> None:
        _outlets.add(self)
        self.open()

    def open(self) -> None:
        """Open the outlet (again): a new one, with another uid."""
        info = pylsl.StreamInfo(
            self.name, self.kind, self.n_channels, self.sfreq, self.channel_format, self.source_id
        )
        if self.labels is not None:
            info.set_channel_labels(list(self.labels))
        if self.units is not None:
            info.set_channel_units(list(self.units))
        if self.reference:
            info.desc().append_child("reference").append_child_value("label", self.reference)
        self.outlet: pylsl.StreamOutlet | None = pylsl.StreamOutlet(info)
        assert self.outlet.get_info().session_id() == SESSION_ID

    @property
    def uid(self) -> str:
        assert self.outlet is not None
        return str(self.outlet.get_info().uid())

    def close(self) -> None:
        self.outlet = None

    def send(self, n_samples: int, value: float | None = None) -> None:
        """Push samples whose stamps follow the last ones at the nominal rate.

        A sine of 20 µV at 10 Hz, or ``value`` in every channel.
        """
        assert self.outlet is not None
        counts = self.sent + np.arange(n_samples)
        rate = self.sfreq or 250.0
        wave = 20 * np.sin(2 * np.pi * 10 * counts / rate) if value is None else value + 0 * counts
        samples = np.repeat(wave[:, np.newaxis], self.n_channels, axis=1).astype(np.float32)
        if self.channel_format == "string":
            self.outlet.push_chunk([["x"] * self.n_channels] * n_samples)
        else:
            last = self.clock_s + (counts[-1] + 1) / rate
            self.outlet.push_chunk(samples, last)
        self.sent += n_samples

    def send_at(self, sfreq: float, n_samples: int) -> None:
        """Push samples whose stamps run at another rate than the stated one."""
        assert self.outlet is not None
        stamps = self.clock_s + np.arange(n_samples) / sfreq
        wave = 20 * np.sin(2 * np.pi * 10 * np.arange(n_samples) / sfreq)
        samples = np.repeat(wave[:, np.newaxis], self.n_channels, axis=1).astype(np.float32)
        for first in range(0, n_samples, 100):
            part = slice(first, first + 100)
            self.outlet.push_chunk(samples[part], stamps[part].tolist())

    def jump(self, seconds: float) -> None:
        """Set the clock of the stamps forwards or backwards; no sample is left out."""
        self.clock_s += seconds

    def skip(self, n_samples: int) -> None:
        """Lose samples on the way: their time passes, they are never sent."""
        self.sent += n_samples
