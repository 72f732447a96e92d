import numpy as np
import pytest

from ui.client.bells import CUES, SFREQ, sound

NAMES = ["chime", *CUES]


@pytest.mark.parametrize("name", NAMES)
def test_a_sound_begins_and_ends_at_zero_without_a_click(name: str) -> None:
    samples = sound(name)
    assert samples[0] == 0.0 and abs(samples[-1]) < 1e-6
    edge = round(0.002 * SFREQ)
    assert np.abs(samples[:edge]).max() < 0.15 * np.abs(samples).max()
    assert np.abs(samples[-edge:]).max() < 0.01 * np.abs(samples).max()
    assert np.abs(np.diff(samples)).max() < 0.08


@pytest.mark.parametrize("name", NAMES)
def test_a_sound_is_soft_and_has_no_offset(name: str) -> None:
    samples = sound(name)
    assert 0.1 < np.abs(samples).max() < 0.5
    assert abs(samples.mean()) < 1e-3


def test_the_chime_lasts_600_ms_and_is_an_e5() -> None:
    samples = sound("chime")
    assert samples.size == round(0.6 * SFREQ)
    spectrum = np.abs(np.fft.rfft(samples, 4 * SFREQ))
    assert np.argmax(spectrum) / 4 == pytest.approx(659.26, abs=1.0)  # ISO 16, A4 = 440 Hz


def test_no_cue_sounds_like_another_or_like_a_point() -> None:
    for one in NAMES:
        for other in NAMES:
            if one < other:
                n = min(sound(one).size, sound(other).size)
                a, b = sound(one)[:n], sound(other)[:n]
                assert abs(np.corrcoef(a, b)[0, 1]) < 0.8


def test_a_sound_is_made_once_and_cannot_be_changed() -> None:
    assert sound("rest") is sound("rest")
    with pytest.raises(ValueError, match="read-only"):
        sound("rest")[0] = 1.0
