"""A recording replayed: every sample, stamped at the file's own rate, at any speed."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from engine.chunk import Floats, StreamInfo
from engine.errors import ConfigError
from engine.stream.files import Recorded, RecordedSegment
from simulators.replay import ReplaySettings, replay_steps, shortened
from simulators.steps import Close, Open, Push

SETTINGS = ReplaySettings(Path("HERON-07.edf"))
FAST = ReplaySettings(Path("HERON-07.edf"), speed=7.0)


def recorded(*starts_s: float, sfreq: float = 160.0, n_samples: int = 320) -> Recorded:
    info = StreamInfo(
        name="HERON-07", kind="EEG", source_id="", uid="", hostname="", ch_names=("C4..", "Cz.."),
        units=("uV", "uV"), to_uv=(1.0, 1.0), nominal_sfreq=sfreq, sfreq=sfreq, reference="A1",
    )  # fmt: skip
    noise = np.random.default_rng(0).normal(size=(len(starts_s) * n_samples, 2))
    parts = np.split(noise, len(starts_s))
    segments = [RecordedSegment(s, part) for s, part in zip(starts_s, parts, strict=True)]
    return Recorded(info, tuple(segments))


def pushes(source: Recorded, settings: ReplaySettings = SETTINGS) -> list[Push]:
    return [step for step in replay_steps(source, settings) if isinstance(step, Push)]


def stamps(sent: list[Push]) -> Floats:
    return np.concatenate([push.stamps_s for push in sent if push.stamps_s is not None])


@pytest.mark.parametrize("settings", [SETTINGS, FAST])
def test_every_sample_is_sent_once_with_the_files_own_stamps(settings: ReplaySettings) -> None:
    source = recorded(0.0)
    sent = pushes(source, settings)
    np.testing.assert_array_equal(
        np.concatenate([push.samples for push in sent]), source.segments[0].raw
    )
    np.testing.assert_allclose(stamps(sent), np.arange(320) / 160.0, atol=1e-9)


def test_stamps_advance_at_the_true_rate_where_the_nominal_one_is_another() -> None:
    info = replace(recorded(0.0).info, nominal_sfreq=250.0)
    source = Recorded(info, recorded(0.0).segments)
    np.testing.assert_allclose(stamps(pushes(source)), np.arange(320) / 160.0, atol=1e-9)
    first = next(iter(replay_steps(source, SETTINGS)))
    assert isinstance(first, Open) and first.described.sfreq == 250.0


def test_speed_scales_arrival_alone() -> None:
    slow, fast = pushes(recorded(0.0)), pushes(recorded(0.0), FAST)
    assert slow[-1].at_s == pytest.approx(2.0)
    assert fast[-1].at_s == pytest.approx(2.0 / 7.0)
    assert stamps(slow)[-1] == pytest.approx(stamps(fast)[-1])


def test_no_sample_is_sent_before_its_time() -> None:
    for push in pushes(recorded(0.0, 5.0), FAST):
        assert push.at_s * 7.0 >= stamps([push])[-1]


def test_a_hole_lasts_as_long_as_in_the_file() -> None:
    sent = pushes(recorded(0.0, 30.0))
    np.testing.assert_allclose(stamps(sent)[320:], 30.0 + np.arange(320) / 160.0)
    assert sent[-1].at_s == pytest.approx(32.0)
    assert shortened(recorded(0.0, 30.0), SETTINGS) == ""


def test_a_long_hole_is_shortened_when_told_and_said() -> None:
    settings = ReplaySettings(Path("a.edf"), longest_hole_s=5.0)
    sent = pushes(recorded(0.0, 30.0, 34.0), settings)
    expected = np.concatenate([s + np.arange(320) / 160.0 for s in (0.0, 7.0, 11.0)])
    np.testing.assert_allclose(stamps(sent), expected)
    said = shortened(recorded(0.0, 30.0, 34.0), settings)
    assert said == "Holes shortened to 5 s: 28 s at 2.0 s."


def test_the_stream_says_what_the_file_says_but_not_its_name() -> None:
    steps = list(replay_steps(recorded(0.0), SETTINGS))
    first = steps[0]
    assert isinstance(first, Open)
    assert first.described.ch_names == ("C4..", "Cz..")
    assert first.described.units == ("uV", "uV")
    assert first.described.reference == "A1"
    assert first.described.channel_format == "double64"
    assert "HERON" not in str(first.described)


def test_the_same_recording_has_the_same_source_id_and_another_has_another() -> None:
    def source_id(source: Recorded) -> str:
        first = next(iter(replay_steps(source, SETTINGS)))
        assert isinstance(first, Open)
        return first.described.source_id

    assert source_id(recorded(0.0)) == source_id(recorded(0.0))
    assert source_id(recorded(0.0)) != source_id(recorded(0.0, 9.0))


def test_the_stream_ends_with_the_file() -> None:
    last = list(replay_steps(recorded(0.0, 30.0), FAST))[-1]
    assert isinstance(last, Close)
    assert last.at_s == pytest.approx(32.0 / 7.0)


@pytest.mark.parametrize("speed", [0.0, -1.0, float("nan"), 1000.0])
def test_a_speed_out_of_range_is_refused(speed: float) -> None:
    with pytest.raises(ConfigError, match=r"--speed is .*0.1 to 100"):
        replay_steps(recorded(0.0), ReplaySettings(Path("a.edf"), speed=speed))
