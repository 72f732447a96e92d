"""What a stream says of itself, and what is refused whatever the operator answers."""

from __future__ import annotations

import pytest

from engine.errors import SourceError
from engine.stream.metadata import describe, difference, require_usable
from tests.engine.stream.descriptions import stream, xml_of


def test_a_complete_description_is_read() -> None:
    found = stream(
        kinds=("EEG", "EEG"),
        desc="<reference><label>A1</label></reference><manufacturer>Maker</manufacturer>",
    )
    assert found.labels == ("C3", "C4")
    assert found.units == ("microvolts", "microvolts")
    assert (found.reference, found.manufacturer) == ("A1", "Maker")
    assert (found.n_channels, found.nominal_sfreq) == (2, 250.0)
    require_usable(found)


def test_an_empty_description_leaves_every_channel_without_words() -> None:
    found = stream(labels=(), units=())
    assert found.labels == found.units == found.kinds == ("", "")
    assert found.reference == ""
    require_usable(found)


def test_more_or_fewer_labels_than_channels_do_not_shift_the_others() -> None:
    assert stream(labels=("C3",), units=()).labels == ("C3", "")
    assert stream(labels=("C3", "C4", "Cz")).labels == ("C3", "C4")


def test_a_reference_may_be_written_without_a_label_of_its_own() -> None:
    assert stream(desc="<reference>linked ears</reference>").reference == "linked ears"


@pytest.mark.parametrize("rate", ["0.0", "-1", "nan", "inf", "fast", ""])
def test_a_stream_without_a_regular_rate_is_refused_with_the_reason(rate: str) -> None:
    with pytest.raises(SourceError, match=r"rate of 0 Hz \(irregular\)"):
        require_usable(stream(rate=rate))


def test_a_stream_of_texts_is_refused() -> None:
    with pytest.raises(SourceError, match="carries string values"):
        require_usable(stream(channel_format="string"))


def test_a_stream_without_channels_is_refused() -> None:
    with pytest.raises(SourceError, match="no channels"):
        require_usable(stream(n_channels=0))


def test_labels_that_stand_twice_are_refused_by_name() -> None:
    with pytest.raises(SourceError, match="label 'C3'"):
        require_usable(stream(labels=("C3", " C3 ")))


def test_labels_that_are_missing_twice_are_only_missing() -> None:
    require_usable(stream(labels=("", "")))


def test_what_is_no_xml_is_refused() -> None:
    with pytest.raises(SourceError, match="cannot be read"):
        describe("<info><name>")


def test_a_stream_that_is_unchanged_but_for_its_outlet_may_go_on() -> None:
    assert difference(stream(), stream(uid="uid-2", hostname="room-2")) == ""


def test_each_change_is_named() -> None:
    before = stream()
    assert difference(before, stream(n_channels=3)) == "3 channels instead of 2 channels"
    assert difference(before, stream(rate="500")) == "500 Hz instead of 250 Hz"
    changed = difference(before, stream(channel_format="int16"))
    assert changed == "int16 values instead of float32 values"
    swapped = difference(before, stream(labels=("C4", "C3")))
    assert swapped == "the labels C4 C3 instead of the labels C3 C4"
    assert "the units (none) (none)" in difference(before, stream(units=()))


def test_letters_beyond_ascii_come_through() -> None:
    found = describe(xml_of(name="Verstärker <1>", units=("µV", "μV")))
    assert found.name == "Verstärker <1>"
    assert found.units == ("µV", "μV")
