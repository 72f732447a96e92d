import pytest

from engine.practice.care import CLEAN, DISCONNECT, SensorSet, effect_missing, wear_words


def test_every_step_has_a_key_of_its_own() -> None:
    keys = [step.key for step in (*DISCONNECT, *CLEAN)]
    assert len(set(keys)) == len(keys)
    assert all(step.text.endswith(".") for step in (*DISCONNECT, *CLEAN))


@pytest.mark.parametrize(
    ("served", "said"),
    [
        (0, "this is session 1 of about 100."),
        (88, "this is session 89 of about 100."),
        (89, "this is session 90 of about 100. Get a new set ready."),
        (98, "Get a new set ready."),
        (99, "this is session 100 of about 100. Change the set before the next client."),
        (140, "Change the set"),
    ],
)
def test_wear_is_counted_by_session_and_a_change_is_asked_for_in_time(
    served: int, said: str
) -> None:
    assert said in wear_words(SensorSet("gold A", served))


def test_a_set_wears_by_one_session() -> None:
    new = SensorSet("gold B", 99, "2026-02-01")
    assert not new.worn and new.nearly
    assert new.used() == SensorSet("gold B", 100, "2026-02-01")
    assert new.used().worn and not new.used().nearly


def test_an_adverse_effect_is_complete_or_says_what_it_lacks() -> None:
    assert effect_missing("headache", "right after", "mild", "rest and water") == ""
    assert effect_missing("headache", "right after", "mild", " ") == "Still to say: what was done."
    assert effect_missing("", "", "", "") == (
        "Still to say: what it was, when it was noticed, how severe it was and what was done."
    )
