"""`measure`: what it prints, exactly as the contract says, and how it refuses."""

import json
from typing import Any

import pytest

from ui.command_line import main

THREE = ("--nasion-inion", "36", "--preauricular", "34", "--circumference", "56")


def said(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    status = main(["measure", *arguments])
    out, err = capsys.readouterr()
    return status, out, err


def sites(capsys: pytest.CaptureFixture[str], *arguments: str) -> dict[str, dict[str, Any]]:
    status, out, _ = said(capsys, *arguments, "--json")
    assert status == 0
    assert out.count("\n") == 1
    return {site["site"]: site for site in json.loads(out)["sites"]}


def test_the_json_holds_21_sites_as_the_contract_names_them(
    capsys: pytest.CaptureFixture[str],
) -> None:
    found = sites(capsys, *THREE, "--unit", "cm")
    names = "Fp1 Fp2 F7 F3 Fz F4 F8 T3 C3 Cz C4 T4 T5 P3 Pz P4 T6 O1 O2 A1 A2"
    assert set(found) == set(names.split())
    assert all({"site", "also", "line", "from", "distance"} <= set(s) for s in found.values())
    also = {name: site["also"] for name, site in found.items() if site["also"]}
    assert also == {"T3": "T7", "T4": "T8", "T5": "P7", "T6": "P8", "A1": "M1", "A2": "M2"}
    starts = {name: site["from"] for name, site in found.items()}
    assert {starts[name] for name in ("C3", "C4", "T3", "T4")} == {"Cz"}
    assert {starts[name] for name in ["Fp1", "Fp2", "F7", "F8", "T5", "T6", "O1", "O2"]} == {"Fpz"}
    assert {starts[name] for name in ("Fz", "Cz", "Pz")} == {"nasion"}
    nothing = {name for name, site in found.items() if site["distance"] is None}
    assert nothing == {"A1", "A2", "F3", "F4", "P3", "P4"}
    assert (found["Cz"]["distance"], found["C4"]["distance"]) == (18.0, 6.8)
    assert (found["Fp1"]["distance"], found["O2"]["distance"]) == (2.8, 25.2)
    assert "measure Fz to F7 and C3 to Fp1" in found["F3"]["text"]


def test_distances_are_in_the_unit_asked_for(capsys: pytest.CaptureFixture[str]) -> None:
    inches = ("--nasion-inion", "14", "--preauricular", "13.5", "--circumference", "22")
    found = sites(capsys, *inches, "--unit", "in")
    assert (found["Cz"]["distance"], found["C4"]["distance"]) == (7.0, 2.7)
    assert found["T5"]["distance"] == 7.7


def test_measured_spans_give_the_midways(capsys: pytest.CaptureFixture[str]) -> None:
    spans = ("--span", "F7-Fz=11", "--span", "Fp1-C3=12,6", "--apart", "F3=0.6")
    found = sites(capsys, *THREE, "--unit", "cm", *spans)
    assert found["F3"]["distance"] == 5.5
    assert found["F3"]["second"] == {"from": "C3", "distance": 6.3}
    assert found["F3"]["apart"] == 0.6
    assert found["F4"]["distance"] is None


def test_without_a_unit_it_ends_and_names_the_option(capsys: pytest.CaptureFixture[str]) -> None:
    status, out, err = said(capsys, *THREE, "--json")
    assert (status, out) == (2, "")
    assert "--unit" in err and "cm or in" in err


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (THREE[:4], "--circumference"),
        ((*THREE, "--unit", "mm"), "--unit is 'mm'"),
        ((*THREE[:5], "wide", "--unit", "cm"), "a number is accepted"),
        ((*THREE[:5], "-56", "--unit", "cm"), "circumference is -56.0, but a length above 0"),
        ((*THREE[:5], "nan", "--unit", "cm"), "circumference is nan"),
        ((*THREE, "--unit", "cm", "--span", "F7=3"), "span is 'F7'"),
        ((*THREE, "--unit", "cm", "--span", "F7-Fz"), "--span is 'F7-Fz'"),
        ((*THREE, "--unit", "cm", "--apart", "C3=1"), "apart is 'C3'"),
        ((*THREE, "--unit", "cm", "--apart", "F3=0", "--apart", "F3=1"), "given twice"),
    ],
)
def test_a_wrong_input_ends_with_one_sentence(
    capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...], words: str
) -> None:
    status, out, err = said(capsys, *arguments)
    assert (status, out) == (2, "")
    assert words in err and err.count("\n") == 1


def test_an_unlikely_length_is_questioned_and_computed_all_the_same(
    capsys: pytest.CaptureFixture[str],
) -> None:
    status, out, err = said(capsys, *THREE[:5], "76", "--unit", "cm", "--json")
    assert status == 0
    assert "around the head is 76.0 cm" in err
    assert len(json.loads(out)["questions"]) == 1


def test_the_table_is_in_the_order_of_the_hands(capsys: pytest.CaptureFixture[str]) -> None:
    halves = ("--preauricular-halves", "17.2", "16.8")
    status, out, err = said(capsys, *THREE, "--unit", "cm", *halves)
    assert (status, err) == (0, "")
    rows = [line.split()[0] for line in out.splitlines() if line.startswith("  ")]
    assert rows[:7] == ["Fpz", "Fz", "Cz", "Pz", "Oz", "C3", "C4"]
    assert len(rows) == 23
    assert "6.8 cm to the right of Cz on the line between the ears" in out
    assert "the left is 0.4 cm longer" in out
