"""The spectrum that weights the design: the shape matters, and two allowances keep it safe."""

import numpy as np

from engine.signal.spectrum import typical_eeg


def test_power_falls_with_the_square_of_the_frequency() -> None:
    two, four = typical_eeg(np.array([2.0, 4.0]))
    assert 2.8 < two / four < 4.0


def test_alpha_stands_above_its_neighbours() -> None:
    seven, ten, fourteen = typical_eeg(np.array([6.0, 10.0, 14.0]))
    assert ten > 1.5 * seven
    assert ten > 5 * fourteen


def test_the_mains_of_either_continent_weigh_more_than_the_band_around_them() -> None:
    fifty, between, sixty = typical_eeg(np.array([50.0, 55.0, 60.0]))
    assert fifty > 5 * between
    assert sixty > 5 * between


def test_nothing_weighs_less_than_the_floor() -> None:
    assert typical_eeg(np.linspace(-2000, 2000, 4001)).min() >= 1e-3


def test_negative_frequencies_weigh_the_same() -> None:
    freqs = np.linspace(0, 100, 201)
    np.testing.assert_array_equal(typical_eeg(-freqs), typical_eeg(freqs))
