"""Every key of the desk, in one table: the window obeys it and the help page prints it.

Starting takes a key that nobody hits by accident; stopping takes one key, always the same.
"""

from __future__ import annotations

from dataclasses import dataclass

from PyQt6.QtCore import Qt
from PyQt6.QtGui import QKeyEvent

Key = Qt.Key
_CTRL = Qt.KeyboardModifier.ControlModifier
_SHIFT = Qt.KeyboardModifier.ShiftModifier
_NONE = Qt.KeyboardModifier.NoModifier


@dataclass(frozen=True)
class Action:
    """Something a key does. ``cap`` is what is printed on or beside the thing it works.

    ``anywhere``: on every page, not on the training's alone; ``while_typing``: there too.
    """

    name: str
    cap: str
    words: str
    group: str
    keys: tuple[tuple[Key, Qt.KeyboardModifier], ...]
    while_typing: bool = False
    repeats: bool = False
    anywhere: bool = False


def _plain(*keys: Key) -> tuple[tuple[Key, Qt.KeyboardModifier], ...]:
    return tuple((key, _NONE) for key in keys)


ACTIONS: tuple[Action, ...] = (
    Action(
        "start",
        "F5",
        "start the round (also Ctrl+Enter)",
        "Round",
        (*_plain(Key.Key_F5), (Key.Key_Return, _CTRL), (Key.Key_Enter, _CTRL)),
        while_typing=True,
    ),
    Action("rest", "F6", "rest", "Round", _plain(Key.Key_F6), while_typing=True),
    Action("stop", "Esc", "stop the round, always", "Round", _plain(Key.Key_Escape), True),
    Action("step", "Ctrl+1–8", "a step of the visit", "Visit", (), while_typing=True),
    Action(
        "adverse",
        "F12",
        "adverse effect: stop, write it down",
        "Visit",
        _plain(Key.Key_F12),
        while_typing=True,
    ),
    Action("drowsy", "D", "mark drowsiness", "Visit", _plain(Key.Key_D), anywhere=True),
    Action("row", "1–9", "choose a condition", "Settings", ()),
    Action("hold", "H", "choose the hold", "Settings", _plain(Key.Key_H)),
    Action("quiet", "Q", "choose the quiet time", "Settings", _plain(Key.Key_Q)),
    Action("averaging", "A", "between threshold and averaging", "Settings", _plain(Key.Key_A)),
    Action("up", "↑", "the row above", "Settings", _plain(Key.Key_Up), repeats=True),
    Action("down", "↓", "the row below", "Settings", _plain(Key.Key_Down), repeats=True),
    Action(
        "less",
        "−",
        "one step less (also ←)",
        "Settings",
        _plain(Key.Key_Minus, Key.Key_Underscore, Key.Key_Left),
        repeats=True,
    ),
    Action(
        "more",
        "+",
        "one step more (also →)",
        "Settings",
        _plain(Key.Key_Plus, Key.Key_Equal, Key.Key_Right),
        repeats=True,
    ),
    Action("advised", "N", "nudge as advised", "Settings", _plain(Key.Key_N)),
    Action("undo", "Ctrl+Z", "take the last nudge back", "Settings", ((Key.Key_Z, _CTRL),)),
    Action("again", "L", "the last minute again, as set", "Settings", _plain(Key.Key_L)),
    Action("note", "F2", "write a note; Enter keeps it", "Desk", _plain(Key.Key_F2), True),
    Action("help", "F1", "these keys", "Desk", _plain(Key.Key_F1), True),
    Action("response", "F3", "what each filter lets through", "Desk", _plain(Key.Key_F3), True),
    Action("theme", "F4", "dark or light", "Desk", _plain(Key.Key_F4), True),
    Action("map", "F7", "a map of rates, or their course", "Desk", _plain(Key.Key_F7), True),
    Action("pause", "F8", "hold the pictures still", "Desk", _plain(Key.Key_F8), True),
    Action("desk_full", "F11", "this window full screen", "Desk", _plain(Key.Key_F11), True),
    Action("quit", "Ctrl+Q", "close the session (asks)", "Desk", ((Key.Key_Q, _CTRL),), True),
    Action("client_full", "F9", "full screen", "Client", _plain(Key.Key_F9), True),
    Action("client_screen", "S", "the next screen", "Client", _plain(Key.Key_S)),
    Action("softer", "[", "softer", "Client", _plain(Key.Key_BracketLeft), repeats=True),
    Action("louder", "]", "louder", "Client", _plain(Key.Key_BracketRight), repeats=True),
    Action("mute", "M", "sound on or off", "Client", _plain(Key.Key_M)),
    Action("scene", "V", "the next scene", "Client", _plain(Key.Key_V)),
    Action("closeness", "C", "scene follows closeness", "Client", _plain(Key.Key_C)),
    Action("tone", "T", "continuous tone", "Client", _plain(Key.Key_T)),
)

CAPS = {action.name: action.cap for action in ACTIONS}

_BY_KEY = {pair: action for action in ACTIONS for pair in action.keys}


def action_for(event: QKeyEvent) -> tuple[Action, int] | None:
    """Return the action under a key press, and for ``row`` the row's index (else 0)."""
    modifiers = event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
    try:
        key = Key(event.key())
    except ValueError:
        return None
    if Key.Key_1 <= key <= Key.Key_9 and modifiers == _NONE:
        row = next(action for action in ACTIONS if action.name == "row")
        return row, int(key) - int(Key.Key_1)
    if Key.Key_1 <= key <= Key.Key_8 and modifiers == _CTRL:
        step = next(action for action in ACTIONS if action.name == "step")
        return step, int(key) - int(Key.Key_1)
    if modifiers & _SHIFT and key in (Key.Key_Plus, Key.Key_Underscore):
        modifiers &= ~_SHIFT
    action = _BY_KEY.get((key, modifiers))
    if action is None or (event.isAutoRepeat() and not action.repeats):
        return None
    return action, 0
