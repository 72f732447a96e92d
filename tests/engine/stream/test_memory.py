"""Answers about an amplifier are kept, and only for that amplifier."""

from __future__ import annotations

from pathlib import Path

import pytest

from engine.stream.memory import AmplifierMemory, Remembered

ANSWERS = Remembered(2, ("C3", "C4"), "µV", 180.2)


@pytest.fixture
def memory(tmp_path: Path) -> AmplifierMemory:
    return AmplifierMemory(tmp_path / "data" / "amplifiers.json")


def test_answers_come_back_in_another_session(memory: AmplifierMemory) -> None:
    memory.remember("amp-1", ANSWERS)
    memory.remember("amp-2", Remembered(1, unit="0.0224 µV"))
    again = AmplifierMemory(memory.path)
    assert again.recall("amp-1", 2) == ANSWERS
    assert again.recall("amp-2", 1).unit == "0.0224 µV"


def test_another_amplifier_or_another_number_of_channels_knows_nothing(
    memory: AmplifierMemory,
) -> None:
    memory.remember("amp-1", ANSWERS)
    assert memory.recall("amp-9", 2) == Remembered(2)
    assert memory.recall("amp-1", 8) == Remembered(8)


def test_an_amplifier_without_an_id_is_never_remembered(memory: AmplifierMemory) -> None:
    memory.remember("", ANSWERS)
    assert not memory.path.exists()
    assert memory.recall("", 2) == Remembered(2)


@pytest.mark.parametrize(
    "text", ["", "{", "[]", '{"amp-1": 3}', '{"amp-1": {"n_channels": "x"}}', '"\\ud800"']
)
def test_a_damaged_file_counts_as_empty_and_is_written_anew(
    memory: AmplifierMemory, text: str
) -> None:
    memory.path.parent.mkdir()
    memory.path.write_text(text, encoding="utf-8")
    assert memory.recall("amp-1", 2) == Remembered(2)
    memory.remember("amp-1", ANSWERS)
    assert memory.recall("amp-1", 2) == ANSWERS
