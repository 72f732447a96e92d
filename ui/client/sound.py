"""The way from the mixer to the loudspeaker, and whether there is one at all.

QtMultimedia is imported late: without its system library (libpulse on Linux) or without an
audio device the client display goes on in silence and says so.
"""

from __future__ import annotations

import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import numpy as np
from PyQt6.QtCore import QIODevice, qInstallMessageHandler

from ui.client.bells import SFREQ
from ui.client.mixer import Mixer

BUFFER_S = 0.06
"""How far the device may be ahead of what is heard."""


class SoundError(Exception):
    """There is nothing to play on; the text says why, and what to do."""


class Player:
    """Plays what a mixer renders, on the system's default output, following it when it changes."""

    def __init__(self, mixer: Mixer) -> None:
        self._mixer = mixer
        self._lock = threading.Lock()
        self._sink: Any = None
        self._source: _Source | None = None
        self._device_id = b""

    @property
    def mixer(self) -> Mixer:
        """The mixer; touch it only while holding `lock`."""
        return self._mixer

    @property
    def lock(self) -> threading.Lock:
        return self._lock

    def ensure(self) -> None:
        """Open the default output unless it is open; raises `SoundError`.

        To be called at first and then now and again: an output may be plugged in, or out.
        """
        with _qt_silent():
            media = _multimedia()
            device = media.QMediaDevices.defaultAudioOutput()
        if device.isNull():
            self.close()
            raise SoundError("no sound device is there; connect loudspeakers or headphones")
        device_id = bytes(device.id())
        failed = self._sink is not None and self._sink.error() not in _harmless(media)
        if self._sink is not None and device_id == self._device_id and not failed:
            return
        self.close()
        self._open(media, device)
        self._device_id = device_id

    def seconds_taken(self) -> float:
        """Return how much the device has asked for since it was opened."""
        return self._source.taken / SFREQ if self._source is not None else 0.0

    def close(self) -> None:
        """Stop playing."""
        if self._sink is not None:
            self._sink.stop()
            self._sink = None
        self._source = None

    def _open(self, media: Any, device: Any) -> None:
        layout = _supported_format(media, device)
        with self._lock:
            self._mixer.hush()
        self._source = _Source(self._mixer, self._lock, layout)
        self._source.open(QIODevice.OpenModeFlag.ReadOnly)
        self._sink = media.QAudioSink(device, layout)
        self._sink.setBufferSize(layout.bytesForDuration(round(BUFFER_S * 1e6)))
        self._sink.start(self._source)
        if self._sink.error() not in _harmless(media):
            self.close()
            raise SoundError(f"{device.description()} does not play; choose another output")


class _Source(QIODevice):
    """What the device reads from, on whatever thread it likes."""

    def __init__(self, mixer: Mixer, lock: threading.Lock, layout: Any) -> None:
        super().__init__()
        self._mixer = mixer
        self._lock = lock
        self._channels = layout.channelCount()
        self._frame_bytes = layout.bytesPerFrame()
        self._whole_numbers = layout.bytesPerSample() == 2
        self.taken = 0

    def isSequential(self) -> bool:
        return True

    def bytesAvailable(self) -> int:
        return int(SFREQ * self._frame_bytes)

    def readData(self, most: int) -> bytes:
        n_samples = min(most, SFREQ * self._frame_bytes) // self._frame_bytes
        with self._lock:
            mono = self._mixer.render(n_samples)
        self.taken += n_samples
        block = np.repeat(mono, self._channels)
        if self._whole_numbers:
            return (block * 32767).astype(np.int16).tobytes()
        return block.tobytes()

    def writeData(self, data: Any) -> int:
        return -1


@contextmanager
def _qt_silent() -> Iterator[None]:
    """Keep Qt's remarks about sound servers from the operator, who gets one sentence instead."""
    before = qInstallMessageHandler(lambda *_: None)
    try:
        yield
    finally:
        qInstallMessageHandler(before)


def _multimedia() -> Any:
    try:
        from PyQt6 import QtMultimedia
    except ImportError as error:
        need = "install libpulse0" if sys.platform.startswith("linux") else "install PyQt6 again"
        raise SoundError(f"sound cannot be loaded ({error}); {need}") from error
    return QtMultimedia


def _harmless(media: Any) -> tuple[Any, ...]:
    errors = media.QtAudio.Error if hasattr(media, "QtAudio") else media.QAudio.Error
    return errors.NoError, errors.UnderrunError


def _supported_format(media: Any, device: Any) -> Any:
    kinds = media.QAudioFormat.SampleFormat
    for channels in (2, 1):
        for kind in (kinds.Float, kinds.Int16):
            layout = media.QAudioFormat()
            layout.setSampleRate(SFREQ)
            layout.setChannelCount(channels)
            layout.setSampleFormat(kind)
            if device.isFormatSupported(layout):
                return layout
    raise SoundError(f"{device.description()} does not take {SFREQ} Hz; choose another output")
