"""One step of the check with the client: what to say, what the trace shows, and a big button."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from PyQt6.QtWidgets import QSizePolicy

from engine.session.stretches import COMPLETE, StretchResult, StretchView
from ui.monitor.pages.form import Button, Card, Said
from ui.monitor.pages.stretch_bar import Bar
from ui.monitor.parts import Words
from ui.theme import BODY, LARGE


@dataclass(frozen=True)
class Guided:
    """A step as data: ``what`` is one of `engine.events.STRETCHES`."""

    what: str
    seconds: float
    say: str
    shows: str


def guided(eyes: str) -> tuple[Guided, ...]:
    """Return the steps in their order; the client rests with the eyes as in training."""
    return (
        Guided(
            "rest",
            8.0,
            f"“Sit comfortably, eyes {eyes}, jaw and shoulders loose. Just look, and do nothing.”",
            "Even small waves around the middle. Where it swings wide, look after the contact.",
        ),
        Guided(
            "clench",
            4.0,
            "“Now bite your teeth together, firmly, and hold it until I say stop.”",
            "A thick, dense band as long as the jaw is tense, marked as muscle.",
        ),
        Guided(
            "blink",
            6.0,
            "“Let the jaw go. Now blink firmly, about once a second.”",
            "A large, slow hill with every blink: tall at the forehead, small at the centre.",
        ),
    )


class StepCard(Card):
    """``press`` is called to begin, or to stop, the step; it may be done again."""

    def __init__(self, place: int, step: Guided, press: Callable[[], object]):
        super().__init__(f"{place}  {step.what.capitalize()}, {step.seconds:g} s")
        self.step = step
        self.view: StretchView | None = None
        self.result: StretchResult | None = None
        self.button = Button("", press, LARGE)
        self.button.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.bar = Bar()
        self.state = Words("", BODY, "muted")
        self.column.addWidget(Words("Say to the client", BODY, "muted"))
        self.column.addWidget(Said(step.say, BODY + 2))
        self.column.addWidget(Words("The trace shows", BODY, "muted"))
        self.column.addWidget(Said(step.shows))
        self.column.addStretch(1)
        for part in (self.state, self.bar, self.button):
            self.column.addWidget(part)

    def fit(self) -> None:
        super().fit()
        self.button.setFixedHeight(self.look.px(44))

    @property
    def done(self) -> bool:
        """Whether it was done to its end."""
        return self.result is not None and self.result.why == COMPLETE

    def show_state(self, *, due: bool, may: bool) -> None:
        """Show how far it is; ``due`` marks it as the next one, ``may`` lets it begin."""
        name, view = self.step.what.capitalize(), self.view
        self.button.setEnabled(may or view is not None)
        if view is not None:
            self.button.say("Stop", "focus")
            self.bar.show_share(view.progress)
            self.state.say(f"{view.counted_s:.0f} of {view.wanted_s:.0f} s", "text")
            return
        again = f"{name} again" if self.result is not None else f"Begin {self.step.what}"
        self.button.say(again, "focus" if due else "")
        self.bar.show_share(1.0 if self.done else 0.0)
        if self.result is None:
            self.state.say("not done yet", "muted")
        elif self.done:
            self.state.say("✓ done", "zone")
        else:
            short = f"broken off after {self.result.elapsed_s:.0f} s: do it again"
            self.state.say(short, "lost")
