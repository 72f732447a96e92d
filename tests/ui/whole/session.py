"""`nudgeline run` with a desk that works itself; its arguments are those of the verb."""

from __future__ import annotations

import sys

from engine.session.window_process import Window
from ui.command_line import main
from ui.verbs import live

if __name__ == "__main__":
    desk, *displays = live.WINDOWS
    worked = Window(desk.name, "tests.ui.whole.visit:main", needed=desk.needed, two_way=True)
    vars(live)["WINDOWS"] = (worked, *displays)
    sys.exit(main(["run", *sys.argv[1:]]))
