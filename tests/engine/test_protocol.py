"""Protocols: the shipped ones load, and every mistake is one sentence that says what to do."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

import pytest

from engine.errors import ConfigError
from engine.plan import plan_for
from engine.protocol import Protocol, load_protocol, protocol_from, with_settings
from tests.engine.signals import RATES, SHIPPED

FILES = sorted(SHIPPED.glob("*.toml"))
SITES = ("Fp1", "Fp2", "C3", "C4", "Cz", "Pz", "A1", "A2")


def values() -> dict[str, Any]:
    """Return the values of a protocol without a mistake, as read from TOML."""
    return tomllib.loads((SHIPPED / "smr-up-c4.toml").read_text(encoding="utf-8"))


def mistakes_of(wrong: dict[str, Any]) -> list[str]:
    with pytest.raises(ConfigError) as refused:
        protocol_from(wrong, "mine", "mine.toml")
    return str(refused.value).splitlines()


def test_the_three_protocols_are_shipped() -> None:
    assert [path.stem for path in FILES] == [
        "alpha-up-pz-eyes-closed",
        "smr-up-c4",
        "theta-down-beta-up-cz",
    ]


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_shipped_protocol_loads_and_carries_what_a_session_needs(path: Path) -> None:
    protocol = load_protocol(path)
    assert protocol.slug == path.stem
    assert len(protocol.cautions) >= 3
    assert protocol.zone == (10.0, 15.0)
    assert protocol.rounds.count > 0
    assert {c.direction for c in protocol.conditions} == {"above", "below"}
    for condition in protocol.conditions:
        assert 0 < condition.step_uv < condition.threshold_uv / 3


@pytest.mark.parametrize("sfreq", RATES)
@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_shipped_protocol_can_be_trained_at_every_rate(path: Path, sfreq: int) -> None:
    plan = plan_for(load_protocol(path), SITES, sfreq)
    assert plan.delay_s(load_protocol(path).settings) <= 0.35


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_every_key_of_a_shipped_protocol_has_a_comment_with_its_range(path: Path) -> None:
    for line in path.read_text(encoding="utf-8").splitlines():
        key = re.match(r"(\w+_(?:uv|s|hz)) = [\d.]+", line)
        if key:
            first = next(
                other
                for file in FILES
                for other in file.read_text(encoding="utf-8").splitlines()
                if other.startswith(f"{key[1]} = ") and "#" in other
            )
            assert re.search(r"\d", first.split("#")[1]), f"{key[1]} has no range"


def test_a_protocol_with_its_defaults_needs_a_name_a_site_and_a_condition() -> None:
    condition = {
        "band": "smr", "low_hz": 12, "high_hz": 15, "direction": "above", "threshold_uv": 2,
    }  # fmt: skip
    least = protocol_from({"name": "n", "site": "C4", "condition": [condition]}, "n", "n.toml")
    assert (least.hold_s, least.quiet_s, least.delay_s) == (0.5, 1.0, 0.2)
    assert (least.scale, least.estimator, least.eyes) == ("peak", "analytic-fir", "open")
    assert least.conditions[0].averaging_s == 0.24
    assert least.clearness.guard_s == 0.3


MISTAKES: list[tuple[str, str, Any, str]] = [
    # where, key, value, what the sentence says of it
    ("", "name", "", "name is '', but a text of 1 to 400 characters is accepted"),
    ("", "site", 7, "site is 7, but a text"),
    ("", "scale", "loud", "scale is 'loud', but one of 'peak', 'rms', 'peak-to-peak'"),
    ("", "estimator", "fft", "estimator is 'fft', but one of 'analytic-fir'"),
    ("", "delay_s", 3, "delay_s is 3, but a number from 0.04 to 1 s"),
    ("", "hold_s", "0.5", "hold_s is '0.5', but a number from 0.02 to 10 s"),
    ("", "quiet_s", -1, "quiet_s is -1, but a number from 0 to 30 s"),
    ("", "agreement", 1.5, "agreement is 1.5, but a number from 0.3 to 0.95"),
    ("", "cautions", "none", "cautions is 'none', but a list of texts"),
    ("", "hold", 0.5, "hold is not a known key, but only"),
    ("zone", "high", 5, "zone.high is 5.0, but a number above low (10)"),
    ("clearness", "limit_uv", True, "clearness.limit_uv is True, but a number from 20 to 1000 µV"),
    ("clearness", "guard_s", 0.1, "clearness.guard_s is 0.1, but a number from 0.3 to 5 s"),
    ("steps", "hold_s", 0.5, "steps.hold_s is 0.5, but a number from 0.01 to 0.05 s"),
    ("rounds", "count", 2.5, "rounds.count is 2.5, but a whole number from 1 to 60"),
    ("client", "scene", "casino", "client.scene is 'casino', but one of 'shore'"),
    ("client", "tone", "yes", "client.tone is 'yes', but true or false"),
    ("condition[1]", "band", "High Beta", "condition[1].band is 'High Beta', but a name of a-z"),
    ("condition[1]", "threshold_uv", float("nan"), "condition[1].threshold_uv is nan, but a "),
    ("condition[1]", "direction", "up", "condition[1].direction is 'up', but one of 'above', "),
    ("condition[2]", "high_hz", 12.5, "condition[2].high_hz is 12.5, but a number at least 1 Hz"),
    ("condition[3]", "averaging_s", 2, "condition[3].averaging_s is 2, but a number from 0 to 1 s"),
    ("condition[3]", "colour", "red", "condition[3].colour is not a known key"),
]


def put(into: dict[str, Any], where: str, key: str, value: Any) -> None:
    match = re.fullmatch(r"condition\[(\d)\]", where)
    if match:
        into["condition"][int(match[1]) - 1][key] = value
    elif where:
        into[where][key] = value
    else:
        into[key] = value


@pytest.mark.parametrize(("where", "key", "value", "said"), MISTAKES)
def test_one_mistake_is_one_sentence(where: str, key: str, value: Any, said: str) -> None:
    wrong = values()
    put(wrong, where, key, value)
    (sentence,) = mistakes_of(wrong)
    assert sentence.startswith(f"mine.toml: {said}")
    assert re.search(r"; \w.*\.$", sentence), "the next action ends the sentence"


def test_twenty_mistakes_are_twenty_sentences_each_with_file_key_value_range_and_action() -> None:
    wrong = values()
    for where, key, value, _ in MISTAKES:
        put(wrong, where, key, value)
    sentences = mistakes_of(wrong)
    assert len(sentences) == len(MISTAKES) >= 20
    for _, _, _, said in MISTAKES:
        (sentence,) = [s for s in sentences if s.startswith(f"mine.toml: {said}")]
        assert re.fullmatch(r"mine\.toml: \S+ is .*, but .* (is|are) accepted; .*\.", sentence)


@pytest.mark.parametrize(
    ("where", "key"),
    [("", "name"), ("", "site"), ("condition[1]", "band"), ("condition[2]", "low_hz"),
     ("condition[2]", "high_hz"), ("condition[2]", "direction"), ("condition[3]", "threshold_uv")],
)  # fmt: skip
def test_what_is_missing_is_named_once(where: str, key: str) -> None:
    wrong = values()
    table = wrong["condition"][int(where[10]) - 1] if where else wrong
    del table[key]
    (sentence,) = mistakes_of(wrong)
    assert f"{where + '.' if where else ''}{key} is missing" in sentence
    assert f"add a line `{key} = ...`" in sentence


@pytest.mark.parametrize("conditions", [[], "smr", [1, 2], {"band": "smr"}])
def test_a_protocol_without_a_list_of_conditions_is_refused(conditions: Any) -> None:
    (sentence,) = mistakes_of(values() | {"condition": conditions})
    assert "condition" in sentence and "[[condition]]" in sentence


def test_a_table_that_is_not_one_is_named() -> None:
    (sentence,) = mistakes_of(values() | {"clearness": 3})
    assert sentence == (
        "mine.toml: clearness is 3, but a table is accepted; write it as a section [clearness]."
    )


def test_two_conditions_of_one_name_are_refused() -> None:
    wrong = values()
    wrong["condition"][1]["band"] = "theta"
    (sentence,) = mistakes_of(wrong)
    assert "condition[2].band is 'theta', but a name that no other condition has" in sentence


def test_eyes_closed_without_a_tone_is_refused_since_sound_alone_carries_the_session() -> None:
    (sentence,) = mistakes_of(values() | {"eyes": "closed"})
    assert sentence.endswith("set client.tone = true.")


def test_the_least_delay_cannot_be_looked_for_where_the_delay_is_what_it_is() -> None:
    (sentence,) = mistakes_of(values() | {"estimator": "butterworth", "agreement": 0.7})
    assert 'agreement is 0.7, but no share where estimator is "butterworth"' in sentence


def test_a_band_above_what_the_rate_holds_is_refused_with_the_limit() -> None:
    wrong = values()
    wrong["condition"][2] |= {"low_hz": 50, "high_hz": 70}
    protocol = protocol_from(wrong, "mine", "mine.toml")
    with pytest.raises(ConfigError, match=r"high_beta.high_hz is 70.*at most 51.2 Hz at 128 Hz"):
        plan_for(protocol, SITES, 128)
    plan_for(protocol, SITES, 256)


def test_a_file_that_is_not_there_or_no_toml_is_told_in_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(ConfigError, match=r"does not exist, but a TOML file is needed; check"):
        load_protocol(tmp_path / "none.toml")
    broken = tmp_path / "broken.toml"
    broken.write_text("name = \n", encoding="utf-8")
    with pytest.raises(ConfigError, match=r"broken.toml is not valid TOML \(.*line 1"):
        load_protocol(broken)
    broken.write_bytes(b"name = '\xff'\n")
    with pytest.raises(ConfigError, match=r"broken.toml is not valid TOML"):
        load_protocol(broken)
    with pytest.raises(ConfigError, match=r"cannot be read|does not exist"):
        load_protocol(tmp_path)


def test_a_file_saved_with_a_byte_order_mark_loads(tmp_path: Path) -> None:
    marked = tmp_path / "smr-up-c4.toml"
    marked.write_bytes(b"\xef\xbb\xbf" + (SHIPPED / "smr-up-c4.toml").read_bytes())
    assert load_protocol(marked) == load_protocol(SHIPPED / "smr-up-c4.toml")


def shipped() -> Protocol:
    return load_protocol(SHIPPED / "smr-up-c4.toml")


def test_a_protocol_can_start_at_other_settings() -> None:
    changes = {"theta.threshold": 7.5, "smr.averaging": 0.0, "hold": 0.75, "quiet": 1.5}
    changed = with_settings(shipped(), changes)
    for key in shipped().settings.keys:
        assert changed.settings.value(key) == changes.get(key, shipped().settings.value(key))
    with pytest.raises(ConfigError, match=r"alpha\.threshold"):
        with_settings(shipped(), {"alpha.threshold": 3.0})


def test_every_setting_has_a_step_of_its_own() -> None:
    steps = {key: shipped().step(key) for key in shipped().settings.keys}
    assert steps["hold"] <= 0.05
    assert steps["smr.threshold"] == 0.1
    assert min(steps.values()) > 0
