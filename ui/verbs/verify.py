"""`nudgeline verify`: a recording fed again, and its points proved or not."""

from __future__ import annotations

from argparse import Namespace
from dataclasses import asdict

from engine.clinic import load_clinic
from engine.session.recording_reader import read_session
from engine.session.shelf import find_recording
from engine.session.verification import Proof, verify
from ui.verbs.passphrase import passphrase_for
from ui.verbs.speech import print_json, say


def run(options: Namespace) -> int:
    """Prove one recording; the status is 0 when it is proved, 1 when not."""
    path = find_recording(load_clinic().recordings, options.id)
    session = read_session(path, passphrase_for(path))
    say(f"Feeding {path} again, {session.n_samples / session.info.sfreq / 60:.1f} min.")
    proof = verify(session)
    if options.json:
        difference = asdict(proof.difference) if proof.difference else None
        print_json(
            {
                "recording": str(path),
                "program": session.program,
                "proved": proof.proved,
                "points": proof.n_points,
                "ticks": proof.n_ticks,
                "filters": proof.n_filters,
                "seconds": proof.seconds,
                "largest_deviation_uv": proof.largest_uv,
                "cut_off": proof.cut_off,
                "difference": difference,
            }
        )
    else:
        for line in lines(proof):
            print(line)
    return 0 if proof.proved else 1


def lines(proof: Proof) -> list[str]:
    """Return the verdict for a person to read."""
    until = " on what is there (the session was cut off)" if proof.cut_off else ""
    counted = (
        f"{proof.n_points} points, {proof.n_ticks} ticks and {proof.n_filters} filters came out "
        "as they were logged"
    )
    first = proof.difference
    if first is None:
        largest = f"amplitudes differ by at most {proof.largest_uv:.1g} µV"
        return [
            f"Proved{until}: from {proof.seconds / 60:.1f} min of signal {counted}.",
            "Amplitudes are the same to the last bit." if not proof.largest_uv else f"{largest}.",
        ]
    return [
        f"Not proved: {first.what} at {first.time_s:.3f} s.",
        f"  logged: {first.logged}",
        f"  came:   {first.came}",
        f"Until then {counted}.",
    ]
