"""The ring buffer against a plain list of everything that was ever written."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.chunk import Floats
from engine.signal.ring import Ring


def numbered(start: int, n: int) -> Floats:
    return np.asarray(np.arange(start, start + n, dtype=float)[:, np.newaxis] + [0.0, 0.5])


def test_a_reader_gets_what_was_written_after_its_cursor() -> None:
    ring = Ring(10, 2)
    ring.append(numbered(0, 4))
    samples, cursor, lost = ring.since(0)
    np.testing.assert_array_equal(samples, numbered(0, 4))
    assert (cursor, lost) == (4, 0)
    ring.append(numbered(4, 3))
    np.testing.assert_array_equal(ring.since(cursor).samples, numbered(4, 3))


def test_a_reader_that_falls_behind_is_told_how_many_samples_it_lost() -> None:
    ring = Ring(10, 2)
    ring.append(numbered(0, 25))
    samples, cursor, lost = ring.since(3)
    np.testing.assert_array_equal(samples, numbered(15, 10))
    assert (cursor, lost) == (25, 12)


def test_a_reader_that_wants_only_the_future_starts_at_the_ring_s_own_cursor() -> None:
    ring = Ring(10, 2)
    ring.append(numbered(0, 7))
    assert ring.since(ring.cursor).samples.shape == (0, 2)


def test_reading_changes_nothing_for_another_reader() -> None:
    ring = Ring(10, 2)
    ring.append(numbered(0, 8))
    first = ring.since(0)
    first.samples[:] = np.nan
    np.testing.assert_array_equal(ring.since(0).samples, numbered(0, 8))


def test_what_was_read_is_not_written_over_later() -> None:
    ring = Ring(4, 2)
    ring.append(numbered(0, 4))
    read = ring.since(0).samples
    ring.append(numbered(4, 4))
    np.testing.assert_array_equal(read, numbered(0, 4))


def test_the_ring_keeps_its_own_copy_of_what_it_is_given() -> None:
    ring = Ring(10, 2)
    given_samples = numbered(0, 3)
    ring.append(given_samples)
    given_samples[:] = 99.0
    np.testing.assert_array_equal(ring.since(0).samples, numbered(0, 3))


@pytest.mark.parametrize("cursor", [-3, 1000])
def test_a_cursor_from_elsewhere_reads_no_more_than_there_is(cursor: int) -> None:
    ring = Ring(10, 2)
    ring.append(numbered(0, 5))
    samples, after, lost = ring.since(cursor)
    assert (after, lost) == (5, 0)
    assert samples.shape[0] == (5 if cursor < 0 else 0)


@given(
    capacity=st.integers(1, 12),
    pieces=st.lists(st.tuples(st.integers(0, 30), st.booleans()), max_size=20),
)
def test_any_pieces_and_any_reader_read_like_a_list(
    capacity: int, pieces: list[tuple[int, bool]]
) -> None:
    ring, written, cursor = Ring(capacity, 2), 0, 0
    for n, reads in pieces:
        ring.append(numbered(written, n))
        written += n
        if reads:
            samples, after, lost = ring.since(cursor)
            assert lost == max(0, written - capacity - cursor)
            np.testing.assert_array_equal(samples, numbered(cursor + lost, written - cursor - lost))
            cursor = after
            assert cursor == written
