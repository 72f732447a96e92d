"""The settings that a nudge may change, under the keys that they have everywhere."""

import math

import pytest

from engine.errors import ConfigError
from engine.settings import Settings

SETTINGS = Settings(("theta", "smr"), (7.0, 2.2), (0.24, 0.1), 0.5, 1.0)

KEYS = ("theta.threshold", "smr.threshold", "hold", "quiet", "theta.averaging", "smr.averaging")


def test_every_setting_has_one_key() -> None:
    assert SETTINGS.keys == KEYS
    assert [SETTINGS.value(key) for key in KEYS] == [7.0, 2.2, 0.5, 1.0, 0.24, 0.1]


@pytest.mark.parametrize("key", KEYS)
def test_a_change_changes_its_own_setting_and_no_other(key: str) -> None:
    changed = SETTINGS.changed(key, 0.75)
    for other in KEYS:
        assert changed.value(other) == (0.75 if other == key else SETTINGS.value(other))


@pytest.mark.parametrize(
    ("key", "low", "high", "unit"),
    [
        ("theta.threshold", 0.05, 1000, "µV"),
        ("hold", 0.02, 10, "s"),
        ("quiet", 0, 30, "s"),
        ("smr.averaging", 0, 1, "s"),
    ],
)
def test_a_value_out_of_range_is_refused_with_the_range(
    key: str, low: float, high: float, unit: str
) -> None:
    for value in (low, high):
        assert SETTINGS.changed(key, value).value(key) == value
    for value in (low - 0.01, high + 0.01, math.nan, math.inf):
        with pytest.raises(ConfigError) as refused:
            SETTINGS.changed(key, value)
        said = f"{key} is {value!r}, but {low:g} to {high:g} {unit} is accepted; choose a value"
        assert str(refused.value).startswith(said)


@pytest.mark.parametrize("key", ["", "thresholds", "alpha.threshold", "smr", "smr.delay", "hold.s"])
def test_an_unknown_key_is_answered_with_the_known_ones(key: str) -> None:
    for use in (SETTINGS.value, SETTINGS.limits, lambda k: SETTINGS.changed(k, 1.0)):
        with pytest.raises(ConfigError, match=r"one of theta\.threshold, smr\.threshold, hold, "):
            use(key)
