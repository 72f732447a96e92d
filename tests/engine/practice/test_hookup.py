import pytest

from engine.practice.hookup import halved, sites_meant


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("C4", ("C4",)),
        ("C4 - A2", ("C4",)),
        ("A1+A2", ("A1", "A2")),
        ("C3 and c4", ("C3", "C4")),
        ("T7", ("T3",)),
        ("M2", ("M2",)),
        ("linked ears", ("A1", "A2")),
        ("left ear lobe", ("A1",)),
        ("right mastoid", ("M2",)),
        ("Fpz", ("Fpz",)),
        ("", ()),
        ("the nearest wall", ()),
        ("a heart", ()),
    ],
)
def test_the_words_of_a_protocol_name_sites(text: str, meant: tuple[str, ...]) -> None:
    assert sites_meant(text) == meant


def test_the_sites_between_are_halved_on_two_spans() -> None:
    assert halved("F3") == ("Fz-F7", "C3-Fp1")
    assert halved("C4") is None
