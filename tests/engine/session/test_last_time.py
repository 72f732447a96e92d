import pytest

from engine.session.last_time import LastTime, as_it_was, rescaled

LAST = LastTime(
    "20261120-101500-smr-up-c4",
    (("theta.threshold", 8.0), ("smr.threshold", 4.0), ("hold", 0.5)),
    (("theta", 10.0), ("smr", 3.0)),
    rate=11.2,
    clear_share=0.8,
)


def test_each_threshold_moves_as_its_baseline_moved_and_times_stay() -> None:
    found = rescaled(LAST, {"theta": 11.0, "smr": 2.7}, "peak")
    assert found == (("theta.threshold", 8.8), ("smr.threshold", 3.6), ("hold", 0.5))


def test_a_band_without_a_baseline_stays_as_it_was() -> None:
    found = rescaled(LAST, {"theta": 11.0, "smr": float("nan")}, "peak")
    assert found == (("theta.threshold", 8.8), ("smr.threshold", 4.0), ("hold", 0.5))


@pytest.mark.parametrize("today", [{}, {"alpha": 9.0}, {"smr": 0.0}])
def test_without_any_baseline_nothing_can_be_rescaled(today: dict[str, float]) -> None:
    assert rescaled(LAST, today, "peak") is None


def test_a_session_on_another_scale_is_converted_first() -> None:
    """1 µV peak of a sine is 2 peak to peak."""
    assert as_it_was(LAST, "peak-to-peak") == (
        ("theta.threshold", 16.0), ("smr.threshold", 8.0), ("hold", 0.5),
    )  # fmt: skip
    found = rescaled(LAST, {"theta": 22.0, "smr": 6.0}, "peak-to-peak")
    assert found == (("theta.threshold", 17.6), ("smr.threshold", 8.0), ("hold", 0.5))
