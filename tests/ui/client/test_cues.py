from engine.session.messages import ClientControl
from tests.ui.client.drawing import frame
from ui.client.cues import HIDDEN_AGAIN_S, Cues
from ui.client.mixer import Mixer
from ui.client.words import WAITING


class NotingMixer(Mixer):
    def __init__(self) -> None:
        super().__init__()
        self.played: list[str] = []
        self.tone: float | None = None
        self.loudness = (0.0, False)

    def play(self, name: str) -> None:
        self.played.append(name)

    def set_tone(self, closeness: float | None) -> None:
        self.tone = closeness

    def set_volume(self, volume: float, muted: bool = False) -> None:
        self.loudness = (volume, muted)


def _hearing(tone: bool = False) -> tuple[Cues, NotingMixer]:
    mixer = NotingMixer()
    cues = Cues(mixer)
    cues.control(ClientControl(tone=tone))
    return cues, mixer


def test_every_point_chimes_once() -> None:
    cues, mixer = _hearing()
    for points in (3, 3, 4, 4, 5, 7, 7):
        cues.frame(frame(points=points))
    assert mixer.played == ["chime", "chime", "chime"]


def test_points_that_were_there_before_do_not_chime() -> None:
    cues, mixer = _hearing()
    cues.frame(frame(points=57))
    cues.frame(frame(points=57, phase=WAITING))
    cues.frame(frame(points=61))
    assert mixer.played == []


def test_start_rest_and_end_are_heard() -> None:
    cues, mixer = _hearing()
    for phase in ("ready", "training", "training", "rest", "training", "ended"):
        cues.frame(frame(phase=phase))
    assert mixer.played == ["start", "rest", "start", "ended"]


def test_a_baseline_is_heard_to_begin_and_to_end_for_eyes_that_are_closed() -> None:
    cues, mixer = _hearing()
    for phase in ("ready", "baseline", "baseline", "ready", "check", "ready"):
        cues.frame(frame(phase=phase))
    assert mixer.played == ["start", "rest"]


def test_the_tone_follows_closeness_in_a_round_while_the_signal_is_clear() -> None:
    cues, mixer = _hearing(tone=True)
    for told, tone in (
        (frame(closeness=0.3, phase="ready"), None),
        (frame(closeness=0.3), 0.3),
        (frame(closeness=0.9), 0.9),
        (frame(closeness=0.9, clear=False), None),
        (frame(closeness=0.8), 0.8),
        (frame(closeness=0.8, phase="rest"), None),
    ):
        cues.frame(told)
        assert mixer.tone == tone


def test_there_is_no_tone_unless_it_is_asked_for() -> None:
    cues, mixer = _hearing(tone=False)
    cues.frame(frame(closeness=0.9))
    assert mixer.tone is None
    cues.control(ClientControl(tone=True))
    assert mixer.tone == 0.9


def test_a_blink_is_not_announced_but_a_hidden_signal_is_once() -> None:
    cues, mixer = _hearing(tone=True)
    cues.frame(frame(clear=False))
    cues.passed(0.4)
    assert mixer.played == []
    for _ in range(10):
        cues.passed(0.2)
    assert mixer.played == ["hidden"]


def test_a_signal_that_is_hidden_again_and_again_does_not_nag() -> None:
    cues, mixer = _hearing(tone=True)
    for _ in range(10):
        cues.frame(frame(clear=False))
        cues.passed(0.6)
        cues.frame(frame(clear=True))
        cues.passed(0.2)
    assert mixer.played == ["hidden"]
    cues.frame(frame(clear=False))
    for _ in range(round(HIDDEN_AGAIN_S / 0.5)):
        cues.passed(0.5)
    assert mixer.played == ["hidden", "hidden"]


def test_with_eyes_open_a_hidden_signal_is_seen_not_heard() -> None:
    cues, mixer = _hearing(tone=False)
    cues.frame(frame(clear=False))
    cues.passed(5.0)
    assert mixer.played == []


def test_volume_and_mute_reach_the_mixer() -> None:
    cues, mixer = _hearing()
    cues.control(ClientControl(volume=0.7, muted=True))
    assert mixer.loudness == (0.7, True)
