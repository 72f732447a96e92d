import multiprocessing
import threading

from engine.session.asks import AskNote, Heartbeat
from engine.session.foresight import Foresight
from engine.session.messages import Batch
from tests.ui.monitor.fake_host import FakeHost
from ui.monitor.link import Gone, Incoming, Link


def arrived(link: Link, n: int) -> list[Incoming]:
    """Wait until ``n`` messages are in the inbox, then take them."""
    give_up = threading.Event()
    while len(link._inbox) < n and not give_up.wait(0.005):
        pass
    return link.take()


def test_a_busy_window_gets_joined_batches_and_the_newest_status_and_every_event() -> None:
    ours, theirs = multiprocessing.Pipe()
    link = Link(theirs)
    link.start()
    host = FakeHost()
    first, second = host.advance(0.1), host.advance(0.1)
    host.ask(AskNote("breathes slower"))
    third = host.advance(0.1)
    for message in (first[0], second[0], first[1], second[1], *third):
        ours.send(message)
    taken = arrived(link, 4 + len(third))
    kinds = [type(message).__name__ for message in taken]
    assert kinds == ["Batch", "Status", "Note", "Batch", "Status"]
    joined = taken[0]
    assert isinstance(joined, Batch)
    assert [tick.tick for tick in joined.ticks] == list(range(1, 11))
    assert joined.trace_uv.shape[0] == 50
    ours.close()
    assert arrived(link, 1) == [Gone()]
    link.stop()


def test_of_several_forecasts_the_newest_is_kept() -> None:
    ours, theirs = multiprocessing.Pipe()
    link = Link(theirs)
    link.start()
    host = FakeHost()
    host.advance(1.0)
    first = host.foresight()
    host.settings = host.settings.changed("hold", 0.7)
    for message in (first, host.foresight()):
        ours.send(message)
    (kept,) = arrived(link, 2)
    assert isinstance(kept, Foresight)
    assert kept.settings.hold_s == 0.7
    ours.close()
    link.stop()


def test_asks_leave_in_order_and_the_last_one_before_the_end_too() -> None:
    ours, theirs = multiprocessing.Pipe()
    link = Link(theirs)
    link.start()
    for beat in range(5):
        link.send(Heartbeat(float(beat)))
    link.stop()
    assert [ours.recv() for _ in range(5)] == [Heartbeat(float(beat)) for beat in range(5)]
    ours.close()
