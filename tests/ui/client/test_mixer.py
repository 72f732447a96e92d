import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ui.client.bells import SFREQ, Sound, sound
from ui.client.mixer import Mixer

LENGTH = SFREQ // 2


def _eventful(chunks: list[int]) -> Sound:
    """Render half a second in which much happens at fixed samples, in the given chunks."""
    events = {
        1000: lambda mixer: mixer.play("chime"),
        3000: lambda mixer: mixer.set_tone(0.8),
        9000: lambda mixer: mixer.play("hidden"),
        12000: lambda mixer: mixer.set_volume(0.9),
        15000: lambda mixer: mixer.set_tone(None),
        20000: lambda mixer: mixer.set_volume(0.9, muted=True),
    }
    mixer, parts, position = Mixer(0.5), [], 0
    for length in [*chunks, LENGTH]:
        end = min(position + length, LENGTH)
        while position < end:
            if position in events:
                events[position](mixer)
            stop = min([at for at in events if at > position] + [end])
            parts.append(mixer.render(min(stop, end) - position))
            position = min(stop, end)
    return np.concatenate(parts)


@given(st.lists(st.integers(0, 4000), max_size=40))
def test_the_output_does_not_depend_on_the_chunks(chunks: list[int]) -> None:
    np.testing.assert_allclose(_eventful(chunks), _eventful([]), rtol=0, atol=1e-6)


@given(st.lists(st.sampled_from(["chime", "hidden", "rest", "ended"]), max_size=20))
def test_the_output_stays_within_bounds_whatever_is_played(names: list[str]) -> None:
    mixer = Mixer(1.0)
    mixer.set_tone(1.0)
    mixer.render(SFREQ)
    for name in names:
        mixer.play(name)
    assert np.abs(mixer.render(SFREQ)).max() <= 1.0


def test_nothing_clicks_when_much_changes_at_once() -> None:
    mixer = Mixer(1.0)
    heard = []
    for n in range(60):
        mixer.set_tone(n % 2 if n % 7 else None)
        mixer.set_volume(0.2 + 0.8 * (n % 3) / 2, muted=n % 11 == 10)
        if n % 5 == 0:
            mixer.play("chime")
        heard.append(mixer.render(960))
    assert np.abs(np.diff(np.concatenate(heard))).max() < 0.12


def test_it_is_silent_until_something_is_played_and_after_it_has_rung() -> None:
    mixer = Mixer(0.5)
    assert not mixer.render(2000).any()
    mixer.play("chime")
    assert mixer.render(sound("chime").size).any()
    assert not mixer.render(2000).any()


def test_it_is_silent_when_muted() -> None:
    mixer = Mixer(0.5, muted=True)
    mixer.play("chime")
    mixer.set_tone(1.0)
    assert not mixer.render(SFREQ).any()


def test_mute_takes_effect_within_a_fifth_of_a_second_to_the_last_bit() -> None:
    mixer = Mixer(1.0)
    mixer.set_tone(1.0)
    assert mixer.render(SFREQ).any()
    mixer.set_volume(1.0, muted=True)
    mixer.render(SFREQ // 5)
    assert not mixer.render(SFREQ).any()


def test_half_the_volume_is_half_the_sound() -> None:
    loud, soft = Mixer(0.8), Mixer(0.4)
    for mixer in (loud, soft):
        mixer.play("chime")
    np.testing.assert_allclose(soft.render(9000), loud.render(9000) / 2, atol=1e-7)


def test_the_tone_opens_upwards_with_closeness() -> None:
    loudness, colour = [], []
    for closeness in (0.0, 0.3, 0.6, 1.0):
        mixer = Mixer(1.0)
        mixer.set_tone(closeness)
        mixer.render(2 * SFREQ)
        heard = mixer.render(SFREQ)
        spectrum = np.abs(np.fft.rfft(heard)) ** 2
        loudness.append(float(np.sqrt((heard**2).mean())))
        colour.append(float((spectrum * np.arange(spectrum.size)).sum() / spectrum.sum()))
    assert loudness == sorted(loudness) and loudness[0] > 0.005
    assert colour == sorted(colour)


def test_a_tone_that_may_not_sound_fades_away() -> None:
    mixer = Mixer(1.0)
    mixer.set_tone(0.7)
    mixer.render(SFREQ)
    mixer.set_tone(None)
    fading = np.abs(mixer.render(SFREQ // 2))
    assert fading[:2000].max() > fading[-2000:].max() > 0
    mixer.render(3 * SFREQ)
    assert not mixer.render(SFREQ).any()


def test_a_point_chimes_at_once() -> None:
    mixer = Mixer(1.0)
    mixer.play("chime")
    heard = np.abs(mixer.render(SFREQ // 10))
    assert np.argmax(heard > 0.1) / SFREQ < 0.01


def test_a_storm_of_sounds_is_limited_and_can_be_hushed() -> None:
    mixer = Mixer(1.0)
    for _ in range(100):
        mixer.play("chime")
    once = Mixer(1.0)
    once.play("chime")
    assert np.abs(mixer.render(4000)).max() < 8 * np.abs(once.render(4000)).max()
    mixer.hush()
    assert not mixer.render(4000).any()


def test_no_samples_asked_are_no_samples() -> None:
    assert Mixer().render(0).shape == (0,)


def test_volume_beyond_its_range_is_held_to_it() -> None:
    high, full = Mixer(1.0), Mixer(1.0)
    high.set_volume(7.0)
    for mixer in (high, full):
        mixer.play("chime")
    np.testing.assert_array_equal(high.render(5000), full.render(5000))
    high.set_volume(-1.0)
    high.render(SFREQ)
    high.play("chime")
    assert high.render(5000) == pytest.approx(0.0, abs=0)
