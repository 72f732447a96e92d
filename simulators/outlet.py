"""Plays steps over LSL: the only place where a simulator meets the network and the clock.

`main` is the entry of a child process. It waits on its stop event between pushes, never spins,
ignores Ctrl-C (the parent decides when it ends), and ends by itself when its parent is gone.
"""

from __future__ import annotations

import multiprocessing
import signal
import sys
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
import pylsl

from engine.errors import NudgelineError
from engine.stream import network
from simulators.faults import Fault, with_faults
from simulators.person import Person, PersonSettings
from simulators.steps import Close, Described, Open, Push, Step, live_steps

LOOK_S = 0.5
"""How often a waiting outlet looks whether its parent still lives."""

LINGER_S = 1.0
"""How long the last samples are given to leave before an outlet closes."""


class Event(Protocol):
    """What is used of a `multiprocessing.Event` or a `threading.Event`."""

    def set(self) -> None: ...
    def is_set(self) -> bool: ...
    def wait(self, timeout: float | None = None) -> bool: ...


@dataclass(frozen=True)
class OutletSettings:
    """A simulated client at a simulated amplifier.

    ``declared_sfreq`` is the nominal rate that the stream claims (None: the true one); ``unit``
    may be empty and ``labels`` False, as some amplifiers have it. It ends after ``seconds``.
    """

    person: PersonSettings = field(default_factory=PersonSettings)
    name: str = "Simulated EEG"
    source_id: str = "simulated-eeg"
    declared_sfreq: float | None = None
    labels: bool = True
    unit: str = "microvolts"
    channel_format: str = "float32"
    manufacturer: str = "Simulated"
    reference: str = "Nz"
    seconds: float | None = None
    faults: tuple[Fault, ...] = ()

    @property
    def described(self) -> Described:
        """What the stream says of itself."""
        return Described(
            name=self.name,
            source_id=self.source_id,
            sfreq=self.declared_sfreq or self.person.sfreq,
            ch_names=self.person.ch_names,
            units=(self.unit,) * len(self.person.ch_names),
            labels=self.labels,
            channel_format=self.channel_format,
            manufacturer=self.manufacturer,
            reference=self.reference,
        )

    def steps(self) -> Iterable[Step]:
        """Return everything that the stream does, faults included."""
        healthy = live_steps(Person(self.person), self.described, self.seconds)
        return with_faults(healthy, self.faults)


def main(config_text: str, settings: OutletSettings, stop: Event, ready: Event) -> None:
    """Stream until the steps or the parent end, or ``stop`` is set; ``ready`` once it is open."""
    with entered(config_text):
        play(settings.steps(), stop, ready)


@contextmanager
def entered(config_text: str) -> Iterator[None]:
    """Make a child process ready for LSL; an error ends it with one sentence and its status."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        network.configure(config_text)
        yield
    except NudgelineError as error:
        print(error, file=sys.stderr)
        sys.exit(error.exit_status)


def play(steps: Iterable[Step], stop: Event, ready: Event, wait_for_reader: bool = False) -> None:
    """Do each step at its time on LSL's clock; the network must have been configured.

    With ``wait_for_reader`` time starts when somebody reads the first outlet.
    """
    network.require_configured()
    outlets: dict[str, pylsl.StreamOutlet] = {}
    started_s: float | None = None
    for step in steps:
        if started_s is not None and not _wait_until(started_s + step.at_s, stop):
            return
        if isinstance(step, Open):
            outlets[step.key] = pylsl.StreamOutlet(_info(step.described))
            ready.set()
            if started_s is None:
                if wait_for_reader and not _wait_for_reader(outlets[step.key], stop):
                    return
                started_s = pylsl.local_clock()
        elif isinstance(step, Close):
            outlet = outlets.pop(step.key, None)
            if outlet is not None and outlet.have_consumers():
                _wait_until(pylsl.local_clock() + LINGER_S, stop)
            del outlet  # nothing else holds it: here it closes
        elif step.key in outlets:
            _push(outlets[step.key], step, started_s or 0.0)


def _push(outlet: pylsl.StreamOutlet, step: Push, started_s: float) -> None:
    samples = np.ascontiguousarray(step.samples, outlet.np_dtype)
    if step.stamps_s is None:
        outlet.push_chunk(samples, pylsl.local_clock() + step.shift_s)
    else:
        outlet.push_chunk(samples, (started_s + step.shift_s + step.stamps_s).tolist())


def _wait_until(due_s: float, stop: Event) -> bool:
    """Wait for a time on LSL's clock; False when it is time to end."""
    while (left_s := due_s - pylsl.local_clock()) > 0:
        if stop.wait(min(left_s, LOOK_S)) or _orphaned():
            return False
    return not stop.is_set()


def _wait_for_reader(outlet: pylsl.StreamOutlet, stop: Event) -> bool:
    while not outlet.wait_for_consumers(0.1):
        if stop.is_set() or _orphaned():
            return False
    return True


def _orphaned() -> bool:
    parent = multiprocessing.parent_process()
    return parent is not None and not parent.is_alive()


def _info(described: Described) -> pylsl.StreamInfo:
    """Return the stream's description, in the form that the XDF wiki gives for EEG."""
    info = pylsl.StreamInfo(
        described.name,
        described.kind,
        len(described.ch_names),
        described.sfreq,
        described.channel_format,
        described.source_id,
    )
    desc = info.desc()
    if described.manufacturer:
        desc.append_child_value("manufacturer", described.manufacturer)
    if described.reference:
        desc.append_child("reference").append_child_value("label", described.reference)
    if described.labels:
        info.set_channel_labels(list(described.ch_names))
    if any(described.units):
        info.set_channel_units(list(described.units))
        info.set_channel_types(["EEG"] * len(described.ch_names))
    return info
