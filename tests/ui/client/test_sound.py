"""The way to the loudspeaker, on a made-up QtMultimedia: what a machine has must not matter."""

import subprocess
import sys
from types import SimpleNamespace
from typing import Any, ClassVar

import numpy as np
import pytest

import ui.client.sound as sound_module
from ui.client.bells import SFREQ
from ui.client.mixer import Mixer
from ui.client.sound import Player, SoundError
from ui.client.sound_probe import sound_available, verdict


class FakeFormat:
    class SampleFormat:
        Float, Int16 = "float", "int16"

    def __init__(self) -> None:
        self.rate = self.channels = 0
        self.kind = ""

    def setSampleRate(self, rate: int) -> None:  # noqa: N802
        self.rate = rate

    def setChannelCount(self, channels: int) -> None:  # noqa: N802
        self.channels = channels

    def setSampleFormat(self, kind: str) -> None:  # noqa: N802
        self.kind = kind

    def channelCount(self) -> int:  # noqa: N802
        return self.channels

    def bytesPerSample(self) -> int:  # noqa: N802
        return 2 if self.kind == "int16" else 4

    def bytesPerFrame(self) -> int:  # noqa: N802
        return self.channels * self.bytesPerSample()

    def bytesForDuration(self, microseconds: int) -> int:  # noqa: N802
        return round(microseconds * self.rate / 1e6) * self.bytesPerFrame()


class FakeDevice:
    def __init__(self, name: str = "speakers", takes: tuple[str, ...] = ("float", "int16")) -> None:
        self.name, self.takes = name, takes

    def isNull(self) -> bool:  # noqa: N802
        return not self.name

    def id(self) -> bytes:
        return self.name.encode()

    def description(self) -> str:
        return self.name

    def isFormatSupported(self, layout: FakeFormat) -> bool:  # noqa: N802
        return layout.kind in self.takes and layout.channels == 2


class FakeSink:
    opened: ClassVar[list["FakeSink"]] = []

    def __init__(self, device: FakeDevice, layout: FakeFormat) -> None:
        self.device, self.layout = device, layout
        self.source: Any = None
        self.fault, self.buffer, self.playing = "none", 0, False
        FakeSink.opened.append(self)

    def setBufferSize(self, size: int) -> None:  # noqa: N802
        self.buffer = size

    def start(self, source: Any) -> None:
        self.source, self.playing = source, True

    def stop(self) -> None:
        self.playing = False

    def error(self) -> str:
        return "fatal" if self.device.name == "broken" else self.fault


@pytest.fixture
def machine(monkeypatch: pytest.MonkeyPatch) -> SimpleNamespace:
    """A machine with loudspeakers; put another device into ``device``."""
    here = SimpleNamespace(device=FakeDevice())
    media = SimpleNamespace(
        QMediaDevices=SimpleNamespace(defaultAudioOutput=lambda: here.device),
        QAudioFormat=FakeFormat,
        QAudioSink=FakeSink,
        QtAudio=SimpleNamespace(Error=SimpleNamespace(NoError="none", UnderrunError="underrun")),
    )
    monkeypatch.setattr(sound_module, "_multimedia", lambda: media)
    monkeypatch.setattr(FakeSink, "opened", [])
    return here


def _chiming() -> Mixer:
    mixer = Mixer(1.0)
    mixer.play("chime")
    return mixer


@pytest.mark.parametrize(("kind", "scale"), [("float", 1.0), ("int16", 32767.0)])
def test_what_the_device_reads_is_what_the_mixer_renders(
    machine: SimpleNamespace, kind: str, scale: float
) -> None:
    machine.device = FakeDevice(takes=(kind,))
    player = Player(Mixer(1.0))
    player.ensure()
    player.mixer.play("chime")
    source = FakeSink.opened[0].source
    frame_bytes = 2 * (4 if kind == "float" else 2)
    parts = [bytes(source.readData(400 * frame_bytes + 3)) for _ in range(5)]
    assert all(len(part) == 400 * frame_bytes for part in parts)
    heard = np.frombuffer(b"".join(parts), np.float32 if kind == "float" else np.int16)
    left, right = heard.astype(np.float64).reshape(-1, 2).T / scale
    np.testing.assert_array_equal(left, right)
    np.testing.assert_allclose(left, _chiming().render(2000), atol=1.1 / 32767)
    assert player.seconds_taken() == 2000 / SFREQ


def test_the_device_is_at_most_60_ms_ahead(machine: SimpleNamespace) -> None:
    Player(Mixer()).ensure()
    sink = FakeSink.opened[0]
    assert sink.buffer / sink.layout.bytesPerFrame() / SFREQ == pytest.approx(0.06)


def test_it_is_opened_once_and_again_when_another_output_is_chosen(
    machine: SimpleNamespace,
) -> None:
    player = Player(Mixer())
    player.ensure()
    player.ensure()
    assert len(FakeSink.opened) == 1
    machine.device = FakeDevice("headphones")
    player.ensure()
    assert [sink.device.name for sink in FakeSink.opened] == ["speakers", "headphones"]
    assert [sink.playing for sink in FakeSink.opened] == [False, True]


def test_an_output_that_fails_is_opened_anew_but_an_underrun_is_no_failure(
    machine: SimpleNamespace,
) -> None:
    player = Player(Mixer())
    player.ensure()
    FakeSink.opened[0].fault = "underrun"
    player.ensure()
    assert len(FakeSink.opened) == 1
    FakeSink.opened[0].fault = "fatal"
    player.ensure()
    assert len(FakeSink.opened) == 2


@pytest.mark.parametrize(
    ("device", "why"),
    [
        (FakeDevice(""), "no sound device is there; connect loudspeakers or headphones"),
        (FakeDevice("broken"), "broken does not play; choose another output"),
        (FakeDevice("modem", takes=()), "modem does not take 48000 Hz; choose another output"),
    ],
)
def test_missing_sound_says_why_and_what_to_do(
    machine: SimpleNamespace, device: FakeDevice, why: str
) -> None:
    machine.device = device
    with pytest.raises(SoundError, match=f"^{why}$"):
        Player(Mixer()).ensure()


def test_a_device_that_comes_back_does_not_play_what_was_missed(machine: SimpleNamespace) -> None:
    player = Player(_chiming())
    player.ensure()
    assert not any(FakeSink.opened[0].source.readData(8000))


@pytest.mark.parametrize(
    ("status", "said", "answer"),
    [
        (0, "sound\n", (True, "")),
        (
            1,
            "no sound device is there; connect one\n",
            (False, "no sound device is there; connect one"),
        ),
        (-11, "", (False, "the sound system cannot be loaded; install libpulse0 (Linux)")),
        (0, "", (False, "the sound system cannot be loaded; install libpulse0 (Linux)")),
    ],
)
def test_the_verdict_on_a_probe(status: int, said: str, answer: tuple[bool, str]) -> None:
    assert verdict(status, said) == answer


def test_this_machine_is_probed_in_a_process_of_its_own() -> None:
    available, why = sound_available()
    assert (available and not why) or "; " in why  # the reason, and what to do


def test_a_host_may_ask_without_loading_qt() -> None:
    check = "import sys, ui.client.sound_probe; assert not any('PyQt' in m for m in sys.modules)"
    subprocess.run([sys.executable, "-c", check], check=True)


def test_a_probe_that_cannot_be_started_is_no_sound() -> None:
    available, why = sound_available(python="/nowhere/python")
    assert not available and "cannot be tried" in why
