import json
from dataclasses import replace

import pytest

from engine.protocol import (
    ClearnessLimits,
    ClientScene,
    Condition,
    Protocol,
    Rounds,
    Steps,
    protocol_from,
)
from engine.session.protocol_values import values_of
from tests.engine.session.examples import PROTOCOL

EVERYTHING_ELSE = replace(
    PROTOCOL,
    scale="peak-to-peak",
    estimator="butterworth",
    eyes="closed",
    hold_s=0.1 + 0.2,
    zone=(8.0, 11.5),
    conditions=(Condition("alpha", "alpha", 8.0, 12.0, "above", 7.7, 0.1, 0.3, "Pz - A1"),),
    cautions=("Stop on dizziness.", "Ask about sleep."),
    clearness=ClearnessLimits(limit_uv=87.5, guard_s=0.4, blink_channels=("Fp1", "Fp2")),
    steps=Steps(hold_s=0.02),
    rounds=Rounds(count=3, length_s=100.5, rest_s=0.0),
    client=ClientScene(closeness=False, tone=True, volume=0.125),
)


@pytest.mark.parametrize("protocol", [PROTOCOL, EVERYTHING_ELSE])
def test_a_protocol_survives_the_way_through_json(protocol: Protocol) -> None:
    text = json.dumps(values_of(protocol))
    assert protocol_from(json.loads(text), protocol.slug, "recording") == protocol
