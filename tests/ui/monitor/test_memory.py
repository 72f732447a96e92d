from dataclasses import replace

from engine.events import Note, PointEarned, SettingChanged
from engine.session.messages import ClientControl
from tests.ui.monitor.fake_host import FakeHost
from ui.monitor.memory import Change, Memory


def changed(onset_s: float, key: str, old: float, new: float) -> SettingChanged:
    return SettingChanged(0, 0, onset_s, key, old, new, "operator", "key")


def test_quick_steps_of_one_setting_are_one_change() -> None:
    memory = Memory(FakeHost().hello())
    for event in (
        changed(1.0, "smr.threshold", 4.1, 4.2),
        changed(2.0, "smr.threshold", 4.2, 4.3),
        changed(3.0, "hold", 0.5, 0.55),
        changed(30.0, "hold", 0.55, 0.6),
    ):
        memory.take(event)
    assert memory.changes == [
        Change(2.0, "smr.threshold", 4.1, 4.3),
        Change(3.0, "hold", 0.5, 0.55),
        Change(30.0, "hold", 0.55, 0.6),
    ]
    assert memory.settings.value("smr.threshold") == 4.3


def test_each_tick_keeps_the_threshold_that_it_was_held_against() -> None:
    host = FakeHost()
    memory = Memory(host.hello())
    for message in host.advance(0.1):
        memory.take(message)
    memory.take(changed(0.1, "smr.threshold", 4.1, 5.0))
    host.settings = host.settings.changed("smr.threshold", 5.0)
    for message in host.advance(0.1):
        memory.take(message)
    assert memory.ticks.thresholds_uv[:, 1].tolist() == [4.1] * 5 + [5.0] * 5


def test_points_and_notes_are_remembered() -> None:
    memory = Memory(FakeHost().hello())
    memory.take(PointEarned(40, 200, 0.8, 1))
    memory.take(Note(0, 0.9, "sits easier"))
    assert (memory.points_s, memory.note, memory.note_s) == ([0.8], "sits easier", 0.9)


def test_a_greeting_of_the_same_session_fits_and_another_does_not() -> None:
    hello = FakeHost().hello()
    memory = Memory(hello)
    settings = hello.settings.changed("hold", 1.0)
    assert memory.fits(replace(hello, settings=settings, client=ClientControl(muted=True)))
    assert not memory.fits(replace(hello, tick_s=3 / 128))
    assert not memory.fits(replace(hello, title="WREN-02"))
