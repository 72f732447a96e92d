"""The few words that a client may read, the same in every scene."""

WAITING = "waiting"
"""The phase of a display that hears nothing (yet, or any more) from its desk."""

WORDS = {
    WAITING: "waiting for the desk",
    "ready": "settle in",
    "training": "",
    "rest": "rest",
    "ended": "thank you",
}
HIDDEN_WORDS = "signal hidden: sit easy"
NO_SOUND = "no sound"
