"""Simulators over real LSL, on this machine alone: as child processes, read to the last sample."""

from __future__ import annotations

import multiprocessing
import subprocess
import sys
import textwrap
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import psutil
import pylsl
import pytest
from edfio import Edf, EdfSignal
from pylsl.util import LostError

from engine.chunk import Floats
from engine.stream.files import open_recording
from simulators import outlet, replay
from simulators.faults import Restart
from simulators.outlet import OutletSettings
from simulators.person import Person, PersonSettings
from simulators.replay import ReplaySettings

SPAWN = multiprocessing.get_context("spawn")


@contextmanager
def child(target: object, text: str, settings: object) -> Iterator[tuple[object, object]]:
    """Start a simulator as the command line does; end it in order."""
    stop, ready = SPAWN.Event(), SPAWN.Event()
    process = SPAWN.Process(target=target, args=(text, settings, stop, ready))  # type: ignore[arg-type]
    process.start()
    try:
        assert ready.wait(15)
        yield process, stop
    finally:
        stop.set()
        process.join(10)
        assert process.exitcode == 0


def opened(name: str) -> pylsl.StreamInlet:
    [info] = pylsl.resolve_byprop("name", name, timeout=5)
    inlet = pylsl.StreamInlet(info, max_buflen=60, recover=False)
    inlet.open_stream(timeout=5)
    return inlet


def pulled(inlet: pylsl.StreamInlet, n_samples: int) -> tuple[Floats, Floats]:
    """Pull samples until there are enough, or none came for three seconds."""
    samples: list[Floats] = []
    stamps: list[Floats] = []
    while sum(part.size for part in stamps) < n_samples:
        chunk, times = inlet.pull_chunk(timeout=3.0, min_samples=1, as_numpy=True)
        if not len(times):
            break
        samples.append(np.asarray(chunk, float))
        stamps.append(np.asarray(times, float))
    return np.concatenate(samples), np.concatenate(stamps)


def test_a_simulated_client_streams_as_an_amplifier_would(lsl: str) -> None:
    settings = OutletSettings(PersonSettings(seed=4), name="Client under test")
    with child(outlet.main, lsl, settings):
        inlet = opened("Client under test")
        info = inlet.info(timeout=5)
        samples, stamps = pulled(inlet, 500)
        now = pylsl.local_clock()
    assert info.get_channel_labels() == list(settings.person.ch_names)
    assert info.get_channel_units() == ["microvolts"] * 8
    assert info.desc().child_value("manufacturer") == "Simulated"
    assert info.desc().child("reference").child_value("label") == "Nz"
    assert info.nominal_srate() == 250
    whole = Person(settings.person).read(0, 5000).astype(np.float32)
    [first] = np.flatnonzero((whole == samples[0]).all(axis=1))
    np.testing.assert_array_equal(samples, whole[first : first + len(samples)])
    assert abs(now - stamps[-1]) < 0.5
    assert (len(stamps) - 1) / (stamps[-1] - stamps[0]) == pytest.approx(250, rel=0.03)


def test_an_outlet_ends_by_itself_when_its_parent_is_killed(lsl: str) -> None:
    script = textwrap.dedent(f"""
        import multiprocessing, time
        from simulators.outlet import OutletSettings, main
        if __name__ == "__main__":
            spawn = multiprocessing.get_context("spawn")
            stop, ready = spawn.Event(), spawn.Event()
            child = spawn.Process(target=main, args=({lsl!r}, OutletSettings(), stop, ready))
            child.start()
            ready.wait(15)
            print(child.pid, flush=True)
            time.sleep(60)
    """)
    root = Path(outlet.__file__).resolve().parent.parent
    parent = subprocess.Popen(
        [sys.executable, "-c", script], cwd=root, stdout=subprocess.PIPE, text=True
    )
    assert parent.stdout is not None
    with parent.stdout:
        orphan = psutil.Process(int(parent.stdout.readline()))
        parent.kill()
        parent.wait()
    gone, _ = psutil.wait_procs([orphan], timeout=5)
    assert gone


def test_a_replayed_file_arrives_from_first_sample_to_last(
    tmp_path: Path,
    lsl: str,
) -> None:
    """Ten seconds at eight times the speed: all samples, the file's own stamps."""
    path = tmp_path / "HERON-07.edf"
    wave = 40 * np.sin(2 * np.pi * 10 * np.arange(1600) / 160)
    Edf([EdfSignal(wave, 160, label="C4", physical_dimension="uV")]).write(path)
    recorded = open_recording(path)
    with child(replay.main, lsl, ReplaySettings(path, speed=8.0, name="Replay under test")):
        inlet = opened("Replay under test")
        samples, stamps = pulled(inlet, 1600)
        with pytest.raises(LostError):
            for _ in range(20):
                inlet.pull_sample(timeout=0.5)
    np.testing.assert_array_equal(samples, recorded.segments[0].raw)
    np.testing.assert_allclose(stamps - stamps[0], np.arange(1600) / 160, atol=1e-6)


def test_a_child_that_cannot_read_its_file_says_so_in_one_sentence(
    tmp_path: Path, lsl: str, capfd: pytest.CaptureFixture[str]
) -> None:
    settings = ReplaySettings(tmp_path / "none.edf")
    stop, ready = SPAWN.Event(), SPAWN.Event()
    process = SPAWN.Process(target=replay.main, args=(lsl, settings, stop, ready))
    process.start()
    process.join(15)
    assert process.exitcode == 2
    said = capfd.readouterr().err
    assert "none.edf does not exist" in said and "Traceback" not in said


def test_a_restarted_outlet_has_another_uid_and_other_channels(lsl: str) -> None:
    person = PersonSettings(ch_names=("C3", "C4"))
    faults = (Restart(0.5, away_s=0.2, ch_names=("C4",)),)
    settings = OutletSettings(person, name="Restarted", seconds=3.0, faults=faults)
    stop, ready = threading.Event(), threading.Event()
    running = threading.Thread(target=outlet.play, args=(settings.steps(), stop, ready))
    running.start()
    assert ready.wait(5)
    [before] = pylsl.resolve_byprop("name", "Restarted", timeout=2)
    [after] = pylsl.resolve_bypred("name='Restarted' and channel_count=1", timeout=2)
    stop.set()
    running.join(5)
    assert before.channel_count() == 2
    assert after.uid() != before.uid()
    assert after.source_id() == before.source_id()


def test_stopping_ends_a_replay_that_nobody_reads(tmp_path: Path, lsl: str) -> None:
    path = tmp_path / "a.edf"
    Edf([EdfSignal(np.zeros(1600), 160, label="C4", physical_dimension="uV")]).write(path)
    stop, ready = threading.Event(), threading.Event()
    settings = ReplaySettings(path, name="Unread")
    running = threading.Thread(
        target=replay.replay, args=(open_recording(path), settings, stop, ready)
    )
    running.start()
    assert ready.wait(5)
    stop.set()
    started = time.monotonic()
    running.join(5)
    assert not running.is_alive() and time.monotonic() - started < 2
