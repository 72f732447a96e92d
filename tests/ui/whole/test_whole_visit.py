"""A whole visit in the real windows, by real keys and clicks, on a replayed simulated client."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from engine.events import Entry, LimitSet, Note, Nudge, StretchStop
from engine.protocol import LIMITS
from engine.records.opening import NAME, open_records
from engine.records.sessions import sessions
from engine.session.recording_reader import read_session
from engine.session.shelf import recordings
from engine.session.verification import verify
from tests.ui.recordings import write_edf
from tests.ui.test_live_verbs import ROOT, environment
from tests.ui.whole.client import SAID
from tests.ui.whole.hands import FAULT

SPEED = "6"


def test_a_visit_from_the_client_to_the_care(tmp_path: Path) -> None:
    fault = tmp_path / "fault.txt"
    env = {**environment(tmp_path), FAULT: str(fault), SAID: str(tmp_path / "said.txt")}
    edf = write_edf(tmp_path / "client.edf", 900)
    client = subprocess.Popen(
        [sys.executable, "-m", "tests.ui.whole.client", str(edf), SPEED], cwd=ROOT, env=env
    )
    try:
        done = subprocess.run(
            [sys.executable, "-m", "tests.ui.whole.session"],
            cwd=ROOT,
            env=env | {"QT_QPA_PLATFORM": os.environ.get("QT_QPA_PLATFORM", "offscreen")},
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            encoding="utf-8",
            timeout=240,
        )
    finally:
        client.terminate()
        client.wait(timeout=20)
    assert not fault.exists(), fault.read_text()
    assert done.returncode == 0, done.stdout
    (path,) = recordings(tmp_path / "Nudgeline")
    session = read_session(path)
    assert verify(session).proved
    events = list(session.events())
    stretches = [event.what for event in events if isinstance(event, StretchStop)]
    assert stretches == ["rest", "clench", "blink", "baseline before", "baseline after"]
    limits = [event for event in events if isinstance(event, LimitSet)]
    assert limits and {event.key for event in limits} <= set(LIMITS)
    (contact,) = [e.values for e in events if isinstance(e, Entry) and e.topic == "contact"]
    assert list(contact["kohm"].values()) == [4.2, 4.6, 3.9] and contact["fit"]
    assert [e.how for e in events if isinstance(e, Nudge)][-1] == "key"
    assert [e.text for e in events if isinstance(e, Note)] == ["calm from the third minute on"]
    topics = {event.topic for event in events if isinstance(event, Entry)}
    assert topics >= {"visit", "head", "check", "baseline", "drowsy", "rating", "care", "plan"}
    (kept,) = sessions(open_records(tmp_path / "Nudgeline" / NAME))
    assert (kept.id, kept.client, kept.number, kept.operator) == (path.stem, "HERON-07", 1, "MK")
    assert kept.points == len(session.points()) and kept.bands[0].before_uv
