"""The few words that a client may read, the same in every scene."""

WAITING = "waiting"
"""The phase of a display that hears nothing (yet, or any more) from its desk."""
TRAINING, CHECK, BASELINE = "training", "check", "baseline"

WORDS = {
    WAITING: "waiting for the desk",
    "ready": "settle in",
    TRAINING: "",
    CHECK: "signal check",
    BASELINE: "sit quietly",
    "rest": "rest",
    "ended": "thank you",
}
PROMPT_WORDS = {
    "rest": "sit still",
    "clench": "clench your jaw",
    "blink": "blink a few times",
    "baseline": "eyes open, just rest",
    "baseline closed": "eyes closed, just rest",
}
"""What the client is asked for in a check or a baseline: it stays while it is to be done."""
HIDDEN_WORDS = "signal hidden: sit easy"
CHECK_HIDDEN_WORDS = "hidden for a moment"
"""In the signal check the client clenches or blinks on purpose; nothing is to be mended."""
SCENE_NAMES = {"shore": "shore at dusk", "bowl": "bowl with fish", "still": "a still stone"}
"""What the desk calls each scene of `engine.protocol.SCENES`."""
NO_SOUND = "no sound"
