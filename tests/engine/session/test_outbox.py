from typing import Any

import numpy as np

from engine.events import PointEarned, State, Tick
from engine.session.messages import Batch, ClientFrame, Remark
from engine.session.outbox import Outbox


def tick(number: int) -> Tick:
    return Tick(number, number, 0.0, (1.0,), (1.0,), (True,), State.WAITING, (), 0.0, 0.0)


def frame(points: int) -> ClientFrame:
    return ClientFrame(0.0, 0.0, True, points, "training")


def taken(outbox: Outbox) -> list[Any]:
    outbox.close()
    messages = []
    while (message := outbox.take()) is not None:
        messages.append(message)
    return messages


def test_events_are_all_sent_in_their_order_and_before_pictures() -> None:
    outbox = Outbox()
    events = [PointEarned(n, n, n / 50, n) for n in range(100)]
    for event in events:
        outbox.put(frame(event.number))
        outbox.put(event)
    assert taken(outbox) == [*events, frame(99)]


def test_a_newer_picture_takes_the_place_of_an_older_one() -> None:
    outbox = Outbox()
    for points in range(5):
        outbox.put(frame(points))
    assert taken(outbox) == [frame(4)]


def test_batches_are_joined_and_no_tick_is_left_out() -> None:
    outbox = Outbox()
    for n in range(5):
        outbox.put(Batch((tick(n),), np.full((2, 1), float(n)), n / 50, lost_samples=1))
    (batch,) = taken(outbox)
    assert [t.tick for t in batch.ticks] == [0, 1, 2, 3, 4]
    assert batch.trace_uv.ravel().tolist() == [0, 0, 1, 1, 2, 2, 3, 3, 4, 4]
    assert (batch.trace_end_s, batch.lost_samples) == (4 / 50, 5)


def test_every_kind_of_picture_has_its_turn() -> None:
    outbox = Outbox()
    outbox.put(Batch((tick(1),)))
    outbox.put(frame(1))
    first = outbox.take()
    outbox.put(Batch((tick(2),)))
    assert isinstance(first, Batch)
    assert isinstance(outbox.take(), ClientFrame)
    outbox.put(Remark("after"))
    assert outbox.take() == Remark("after")
    assert isinstance(outbox.take(), Batch)
