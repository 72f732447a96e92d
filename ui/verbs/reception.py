"""What a desk is given to receive clients with, and how it is served."""

from __future__ import annotations

from engine.clinic import Clinic
from engine.configs_folder import find_protocol, protocol_names
from engine.errors import ConfigError
from engine.protocol import Protocol, load_protocol
from engine.records.opening import records_path
from engine.session.messages import Reception
from engine.session.shelf import cut_off
from engine.stream.labels import wanted_label
from ui.client.sound_probe import sound_available
from ui.verbs.choices import chosen_protocol
from ui.verbs.speech import say


def chosen_at_the_desk(name: str, site: str) -> Protocol:
    """Find a protocol that the desk asks for; ConfigError where it is not there, or not usable."""
    protocol = chosen_protocol(name, wanted_label(site) if site else None, None)
    if protocol.eyes == "closed":
        require_sound(protocol)
    return protocol


def reception_for(clinic: Clinic, passphrase: str, demo: bool, *, waiting: bool) -> Reception:
    """Gather what a desk needs to receive a client; a protocol that is not usable is said."""
    usable = []
    for name in protocol_names():
        try:
            usable.append(load_protocol(find_protocol(name)))
        except ConfigError as error:
            say(str(error))
    return Reception(
        protocols=tuple(usable),
        records=str(records_path(clinic)),
        passphrase=passphrase,
        waiting=waiting,
        cut_off=cut_off(clinic.recordings, passphrase),
        demo=demo,
    )


def require_sound(protocol: Protocol) -> None:
    """ConfigError where there is no sound for a protocol with eyes closed."""
    available, why = sound_available()
    if not available:
        raise ConfigError(
            f"{protocol.slug}: eyes is 'closed', but that needs sound, and there is none here "
            f"({why}); connect a loudspeaker or choose a protocol with eyes open."
        )
