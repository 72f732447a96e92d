"""``--scene``: what the client sees, whatever the protocol says."""

import pytest

from engine.errors import ConfigError
from engine.protocol import SCENES
from ui.command_line import main, parser
from ui.verbs.choices import checked_scene, chosen_protocol


@pytest.mark.parametrize("name", SCENES)
def test_a_scene_takes_the_place_of_the_protocols_and_nothing_else_changes(name: str) -> None:
    plain = chosen_protocol("smr-up-c4", None, None)
    chosen = chosen_protocol("smr-up-c4", None, None, name)
    assert chosen.client.scene == name and plain.client.scene == "shore"
    assert chosen.settings == plain.settings and chosen.client.volume == plain.client.volume


def test_without_the_option_the_protocol_decides() -> None:
    assert checked_scene(None) is None
    assert chosen_protocol("smr-up-c4", None, None, None).client.scene == "shore"


def test_an_unknown_scene_is_named_with_those_there_are() -> None:
    with pytest.raises(ConfigError, match="--scene is 'casino', but shore, bowl or still is acc"):
        checked_scene("casino")


@pytest.mark.parametrize(
    "words", ["demo --headless", "run --protocol smr-up-c4 --headless --seconds 10", "client"]
)
def test_every_verb_that_shows_a_scene_refuses_an_unknown_one(
    words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([*words.split(), "--scene", "casino"]) == 2
    said = capsys.readouterr()
    assert "--scene is 'casino'" in said.err and said.out == ""


def test_a_scene_changes_a_protocol_and_wants_one(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["run", "--scene", "bowl"]) == 2
    assert "--scene is given without --protocol" in capsys.readouterr().err


def test_the_help_names_every_scene() -> None:
    verbs = parser()._subparsers
    assert verbs is not None
    for name in SCENES:
        for verb in ("demo", "run", "client"):
            choices = verbs._group_actions[0].choices
            assert isinstance(choices, dict) and name in choices[verb].format_help()
