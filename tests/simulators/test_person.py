"""The made-up client: the same every time, lively, and near the target zone."""

from __future__ import annotations

import itertools
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import configs
from engine.chunk import chunk_of
from engine.events import PointEarned, RoundStart, SegmentStart, State, Tick
from engine.pipeline import Pipeline
from engine.protocol import load_protocol
from simulators.person import Person, PersonSettings

AWAKE = PersonSettings(seed=1)


@given(st.lists(st.integers(0, 700), min_size=1, max_size=10), st.integers(0, 9000))
def test_any_chunking_reads_the_same_bits(sizes: list[int], start: int) -> None:
    whole = Person(AWAKE).read(start, sum(sizes))
    person = Person(AWAKE)
    places = itertools.accumulate([start, *sizes])
    pieces = [person.read(place, size) for place, size in zip(places, sizes, strict=False)]
    np.testing.assert_array_equal(np.concatenate(pieces), whole)


def test_the_same_seed_is_the_same_person_and_another_is_not() -> None:
    one, same, other = (Person(PersonSettings(seed=s)).read(0, 2500) for s in (1, 1, 2))
    np.testing.assert_array_equal(one, same)
    assert not np.allclose(one, other)


def test_blinks_come_and_show_at_the_front() -> None:
    person = Person(replace(AWAKE, mains_uv=0.0))
    blinks = [h for h in person.happenings(0.0, 120.0) if h.kind == "blink"]
    assert 8 <= len(blinks) <= 24
    still = person.eeg.read(0, 30_000)
    for blink in blinks:
        part = slice(round(blink.onset_s * 250), round((blink.onset_s + blink.duration_s) * 250))
        added = (person.read(0, 30_000) - still)[part]
        front, centre = (added[:, AWAKE.ch_names.index(site)].max() for site in ("Fp1", "C4"))
        assert 95 < front < 500
        assert centre < 0.5 * front


def test_between_its_artifacts_the_person_is_plain_eeg() -> None:
    person = Person(replace(AWAKE, mains_uv=0.0))
    added = np.abs(person.read(0, 15_000) - person.eeg.read(0, 15_000)).max(axis=1)
    times_s = np.arange(15_000) / 250
    apart = np.ones(15_000, dtype=bool)
    for h in person.happenings(0.0, 60.0):
        apart &= (times_s < h.onset_s - 0.01) | (times_s > h.onset_s + h.duration_s + 0.01)
    assert added[~apart].max() > 50
    assert added[apart].max() == 0


def test_eyes_closed_there_is_no_blink_and_more_alpha() -> None:
    person = Person(replace(AWAKE, eyes="closed"))
    assert not [h for h in person.happenings(0.0, 300.0) if h.kind == "blink"]
    o1 = Person(PersonSettings(ch_names=("O1",), eyes="closed", artifacts=False)).read(0, 15_000)
    opened = Person(PersonSettings(ch_names=("O1",), artifacts=False)).read(0, 15_000)
    assert o1.std() > 2 * opened.std()


def test_without_artifacts_nothing_happens() -> None:
    assert Person(replace(AWAKE, artifacts=False)).happenings(0.0, 600.0) == ()


def test_learning_brings_more_smr_with_the_minutes() -> None:
    def share(learning: bool, start_s: float) -> float:
        found = [
            burst.duration_s
            for seed in range(6)
            for burst in Person(PersonSettings(seed, learning=learning)).eeg.bursts(
                start_s, start_s + 300.0
            )
            if burst.rhythm == "smr"
        ]
        return sum(found) / (6 * 300.0)

    assert share(True, 1200.0) > 1.2 * share(True, 0.0)
    assert share(False, 1200.0) < 1.1 * share(False, 0.0)


@pytest.mark.parametrize("seed", [1, 2])
def test_the_default_protocol_gives_this_person_about_10_to_15_points_a_minute(seed: int) -> None:
    folder = Path(configs.__file__).parent / "protocols"
    settings = PersonSettings(seed)
    person = Person(settings)
    pipeline = Pipeline(load_protocol(folder / "smr-up-c4.toml"), settings.ch_names, settings.sfreq)
    pipeline.apply(SegmentStart(0, 0.0))
    pipeline.apply(RoundStart(0))
    outputs = pipeline.feed(chunk_of(person.read(0, 250 * 180), (1.0,) * 8))
    ticks = [output for output in outputs if isinstance(output, Tick)]
    clear = [tick for tick in ticks if tick.state is not State.OBSCURED]
    points = [output for output in outputs if isinstance(output, PointEarned)]
    assert len(clear) > 0.75 * len(ticks)
    assert 9 <= len(points) / (3 * len(clear) / len(ticks)) <= 15
