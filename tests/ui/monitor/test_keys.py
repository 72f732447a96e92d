from PyQt6.QtCore import QEvent, Qt
from PyQt6.QtGui import QKeyEvent

from ui.monitor.keys import ACTIONS, action_for

Key = Qt.Key
NONE = Qt.KeyboardModifier.NoModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier
CTRL = Qt.KeyboardModifier.ControlModifier
KEYPAD = Qt.KeyboardModifier.KeypadModifier


def pressed(
    key: Key, modifier: Qt.KeyboardModifier = NONE, again: bool = False
) -> tuple[str, int] | None:
    found = action_for(QKeyEvent(QEvent.Type.KeyPress, key, modifier, "", again))
    return (found[0].name, found[1]) if found else None


def test_no_key_does_two_things() -> None:
    pairs = [pair for action in ACTIONS for pair in action.keys]
    assert len(pairs) == len(set(pairs))


def test_one_key_stops_and_it_works_while_typing() -> None:
    stop = next(action for action in ACTIONS if action.name == "stop")
    assert stop.keys == ((Key.Key_Escape, NONE),)
    assert stop.while_typing


def test_no_letter_digit_or_space_starts_anything() -> None:
    for action in ACTIONS:
        if action.name in ("start", "quit"):
            assert all(key >= Key.Key_Escape or mod == CTRL for key, mod in action.keys)


def test_keys_that_work_while_typing_write_nothing() -> None:
    for action in ACTIONS:
        if action.while_typing:
            assert all(key >= Key.Key_Escape or mod == CTRL for key, mod in action.keys)


def test_rows_are_chosen_by_their_number() -> None:
    assert pressed(Key.Key_1) == ("row", 0)
    assert pressed(Key.Key_9, KEYPAD) == ("row", 8)
    assert pressed(Key.Key_0) is None


def test_plus_and_minus_are_found_on_every_keyboard() -> None:
    for key, modifier in ((Key.Key_Plus, NONE), (Key.Key_Plus, SHIFT), (Key.Key_Plus, KEYPAD)):
        assert pressed(key, modifier) == ("more", 0)
    assert pressed(Key.Key_Equal) == ("more", 0)
    assert pressed(Key.Key_Minus, KEYPAD) == ("less", 0)
    assert pressed(Key.Key_Right) == ("more", 0)


def test_a_key_held_down_steps_on_but_starts_only_once() -> None:
    assert pressed(Key.Key_Plus, again=True) == ("more", 0)
    assert pressed(Key.Key_F5, again=True) is None
    assert pressed(Key.Key_M, again=True) is None


def test_unknown_keys_do_nothing() -> None:
    assert pressed(Key.Key_Z) is None
    assert pressed(Key.Key_F5, CTRL) is None
    assert pressed(Key.Key_H, CTRL) is None
