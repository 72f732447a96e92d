"""What is asked before a stream is used, in which order, and what is never asked twice."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pytest

from engine.chunk import Floats
from engine.errors import ConfigError, SourceError
from engine.stream.memory import Remembered
from engine.stream.messages import Opened, Question
from engine.stream.metadata import Description
from engine.stream.opening import Opening, Pulled, unanswered
from tests.engine.stream.descriptions import stream
from tests.engine.stream.stamps import even, stamped_on_arrival, without


def eeg(stamps_s: Floats, scale: float = 1.0, n_channels: int = 2) -> Pulled:
    """A 10 Hz sine of 20 µV (times ``scale``) at the given stamps."""
    wave = 20 * scale * np.sin(2 * np.pi * 10 * np.arange(stamps_s.size) / 250)
    raw = np.repeat(wave[:, np.newaxis], n_channels, axis=1).astype(np.float32)
    return Pulled(raw, stamps_s, float(stamps_s[-1]) if stamps_s.size else 0.0)


def opening_of(
    about: Description,
    seconds: float = 3.0,
    given: Mapping[str, str] | None = None,
    remembered: Remembered | None = None,
    scale: float = 1.0,
    sfreq: float = 250.0,
) -> Opening:
    opening = Opening(about, given, remembered)
    stamps = even(round(seconds * sfreq), sfreq)
    for part in np.array_split(stamps, max(1, stamps.size // 10)):
        opening.feed(eeg(part, scale, about.n_channels))
    return opening


def opened(opening: Opening) -> Opened:
    step = opening.step()
    assert isinstance(step, Opened)
    return step


def asked(opening: Opening) -> Question:
    step = opening.step()
    assert isinstance(step, Question)
    return step


def test_a_complete_stream_opens_after_two_seconds_without_a_question() -> None:
    assert opening_of(stream(), 1.9).step() is None
    found = opened(opening_of(stream(), 2.0))
    assert found.info.ch_names == ("C3", "C4")
    assert found.info.to_uv == (1.0, 1.0)
    assert found.info.sfreq == found.info.nominal_sfreq == 250.0
    assert found.measured_sfreq == pytest.approx(250.0)


def test_everything_collected_is_kept_for_the_session() -> None:
    opening = opening_of(stream(), 3.0)
    assert sum(pulled.stamps_s.size for pulled in opening.collected) == 750
    assert opening.dropped_s == 0.0


def test_missing_labels_are_asked_at_once_and_the_answer_is_learnt() -> None:
    opening = opening_of(stream(labels=()), 0.0)
    assert asked(opening).key == "channel"
    with pytest.raises(ConfigError, match="2 different labels"):
        opening.answer("channel", "C4")
    assert asked(opening).key == "channel"
    opening.answer("channel", "C3, C4")
    opening.feed(eeg(even(600, 250.0)))
    assert opened(opening).info.ch_names == ("C3", "C4")
    assert opening.learnt == Remembered(2, ("C3", "C4"))


def test_a_missing_unit_is_asked_when_the_size_of_the_signal_is_known() -> None:
    about = stream(units=())
    assert opening_of(about, 1.0).step() is None
    opening = opening_of(about, 3.0, scale=1e-3)
    assert asked(opening).suggestion == "mV"
    opening.answer("unit", "mV")
    found = opened(opening)
    assert found.info.to_uv == (1e3, 1e3)
    assert found.info.units == ("mV", "mV")
    assert opening.learnt == Remembered(2, (), "mV")


def test_nothing_is_opened_while_a_question_is_open_and_a_minute_is_kept() -> None:
    opening = opening_of(stream(units=()), 90.0)
    assert asked(opening).key == "unit"
    assert opening.dropped_s == pytest.approx(30, abs=0.1)
    opening.answer("unit", "µV")
    assert isinstance(opening.step(), Opened)


def test_answers_given_beforehand_leave_nothing_to_ask() -> None:
    given = {"unit": "µV", "channel": "C4=2"}
    opening = opening_of(stream(labels=(), units=()), 3.0, given)
    found = opened(opening)
    assert found.info.ch_names == ("1", "C4")
    assert found.info.units == ("µV", "µV")


def test_an_answer_given_beforehand_that_does_not_fit_is_an_error_of_the_operator() -> None:
    with pytest.raises(ConfigError, match="channel is 'C4'"):
        opening_of(stream(labels=()), 3.0, {"channel": "C4"}).step()
    with pytest.raises(ConfigError, match="unit is 'lots'"):
        opening_of(stream(units=()), 3.0, {"unit": "lots"}).step()


def test_answers_of_earlier_sessions_are_taken_and_said() -> None:
    before = Remembered(2, ("C3", "C4"), "µV")
    opening = opening_of(stream(labels=(), units=()), 3.0, remembered=before)
    assert opened(opening).info.ch_names == ("C3", "C4")
    assert len(opening.notes) == 2
    assert all("answered for this amplifier before" in note for note in opening.notes)
    assert opening.learnt == before


@pytest.mark.parametrize("site", ["C4", "C4 - C3"])
def test_a_site_among_remembered_labels_names_none_anew(site: str) -> None:
    before = Remembered(2, ("C3", "C4"))
    chosen = opening_of(stream(labels=()), 3.0, {"channel": site}, before)
    assert opened(chosen).info.ch_names == ("C3", "C4")
    assert chosen.learnt == before
    renamed = opening_of(stream(labels=()), 3.0, {"channel": "Cz, Pz"}, before)
    assert opened(renamed).info.ch_names == ("Cz", "Pz")
    assert renamed.learnt.labels == ("Cz", "Pz")


def test_a_unit_given_in_vain_is_not_remembered() -> None:
    opening = opening_of(stream(), 3.0, {"unit": "V"})
    assert opened(opening).info.to_uv == (1.0, 1.0)
    assert opening.learnt == Remembered(2)


def test_a_rate_accepted_in_vain_is_neither_used_nor_remembered() -> None:
    opening = opening_of(stream(), 3.0, {"accept-rate": "180"})
    assert opened(opening).info.sfreq == 250.0
    assert opening.learnt == Remembered(2)


def test_a_rate_more_than_one_per_cent_off_is_asked_after_ten_seconds_and_not_before() -> None:
    for seconds in (3.0, 9.8):
        assert opening_of(stream(), seconds, sfreq=180.0).step() is None
    question = asked(opening_of(stream(), 10.2, sfreq=180.0))
    assert question.key == "accept-rate"
    assert question.choices == ("180.00",)
    assert "states 250 Hz but runs at 180.00 Hz" in question.text


@pytest.mark.parametrize(("answer", "sfreq"), [("180.00", 180.0), ("181 Hz", 181.0), ("yes", 180)])
def test_the_accepted_rate_is_the_one_to_design_at(answer: str, sfreq: float) -> None:
    opening = opening_of(stream(), 12.0, sfreq=180.0)
    assert asked(opening).key == "accept-rate"
    opening.answer("accept-rate", answer)
    found = opened(opening)
    assert found.info.sfreq == sfreq
    assert found.info.nominal_sfreq == 250.0
    assert found.measured_sfreq == pytest.approx(180.0)
    assert opening.learnt.accepted_sfreq == sfreq


@pytest.mark.parametrize("answer", ["250", "170", "", "no", "-180", "inf", "nan"])
def test_only_the_measured_rate_can_be_accepted(answer: str) -> None:
    opening = opening_of(stream(), 12.0, sfreq=180.0)
    assert asked(opening).key == "accept-rate"
    with pytest.raises(ConfigError, match="within 1 % of 180"):
        opening.answer("accept-rate", answer)


def test_a_rate_accepted_before_holds_while_it_is_still_the_true_one() -> None:
    before = Remembered(2, accepted_sfreq=180.5)
    assert opened(opening_of(stream(), 12.0, remembered=before, sfreq=180.0)).info.sfreq == 180.5
    assert asked(opening_of(stream(), 12.0, remembered=before, sfreq=190.0)).key == "accept-rate"
    assert opened(opening_of(stream(), 3.0, remembered=before)).info.sfreq == 250.0


def test_a_real_board_with_holes_and_backward_stamps_is_measured_all_the_same() -> None:
    stamps = stamped_on_arrival(180 * 14, 180.0, seed=4, spaced_at=250.0)
    for hole in range(2200, 200, -400):
        stamps = without(stamps, hole, 70)
    opening = Opening(stream())
    opening.feed(eeg(stamps))
    assert asked(opening).key == "accept-rate"
    assert float(asked(opening).suggestion) == pytest.approx(180.0, rel=0.01)


def test_jitter_makes_a_good_rate_wait_but_never_be_asked_about() -> None:
    opening = Opening(stream())
    stamps = stamped_on_arrival(250 * 11, 250.0, seed=5, late_s=0.01)
    opening.feed(eeg(stamps))
    assert opened(opening).info.sfreq == 250.0


def test_stamps_that_stand_still_are_refused() -> None:
    opening = Opening(stream())
    opening.feed(eeg(np.full(2600, 7.0)))
    with pytest.raises(SourceError, match="do not advance"):
        opening.step()


def test_a_channel_that_is_no_voltage_is_named() -> None:
    about = stream(labels=("C3", "Trigger"), units=("µV", "none"), kinds=("EEG", "Markers"))
    opening = opening_of(about, 3.0)
    assert opened(opening).info.to_uv == (1.0, 1.0)
    assert opening.notes == ("Channel 'Trigger' holds no voltage and is kept in its own unit.",)


def test_where_nobody_can_answer_the_option_is_named_in_one_sentence() -> None:
    for key, opening in (
        ("--unit", opening_of(stream(units=()), 3.0)),
        ("--channel", opening_of(stream(labels=()), 0.0)),
        ("--accept-rate", opening_of(stream(), 12.0, sfreq=180.0)),
    ):
        error = unanswered(asked(opening))
        assert error.exit_status == 2
        assert str(error).endswith(f"(with {key}).")
        assert str(error).count(";") == 1


def test_a_question_that_nobody_asked_takes_no_answer() -> None:
    with pytest.raises(ConfigError, match="one of channel, unit, accept-rate"):
        Opening(stream()).answer("colour", "blue")
