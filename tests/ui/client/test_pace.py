from ui.client.pace import BUSY, LONGEST_MS, SHORTEST_MS, next_interval_ms


def _settled(cost_ms: float) -> int:
    interval_ms = SHORTEST_MS
    for _ in range(20):
        interval_ms = next_interval_ms(interval_ms, busy=cost_ms / interval_ms)
    return interval_ms


def test_a_fast_machine_draws_50_frames_a_second() -> None:
    assert _settled(cost_ms=2.0) == SHORTEST_MS == 20


def test_a_slower_one_settles_where_drawing_takes_its_modest_share() -> None:
    interval_ms = _settled(cost_ms=5.0)
    assert abs(5.0 / interval_ms - BUSY) < 0.01


def test_the_slowest_still_draws_30_frames_a_second() -> None:
    assert _settled(cost_ms=25.0) == LONGEST_MS == 33
