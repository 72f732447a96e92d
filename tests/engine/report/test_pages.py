"""Both reports: whole HTML, no text of a person let through as markup, numbers that agree."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from html.parser import HTMLParser
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pytest

from engine.events import Entry, Note
from engine.lookback.course import Course
from engine.report.client_page import client_page
from engine.report.crednf import items, open_items
from engine.report.facts import Facts, course_facts
from engine.report.facts import facts_of as facts_of_recording
from engine.report.full_page import full_page
from engine.report.svg import ticks
from engine.report.words import interval
from engine.report.writing import write_reports
from engine.session.recording_reader import read_session
from tests.engine.lookback.courses import made_course, nudged
from tests.engine.session.recorded import recorded_session

MADE = datetime(2026, 11, 26, 12, 0, tzinfo=UTC)
N = 1200
EVIL = '<script>alert("x")</script> & "more"'
VOID = {"meta", "br", "img"}


def course_of(words: str = "calm", rise: float = 0.0) -> Course:
    """Return twenty minutes with baselines, three rounds, a nudge and all that is said."""
    rng = np.random.default_rng(3)
    levels = np.array([8.0, 4.4, 5.0]) + rng.normal(size=(N, 3)) * 0.4
    levels[:, 1] += np.linspace(0, rise, N)
    points = np.zeros(N, dtype=np.int64)
    points[140:1000:5] = 1

    def entry(topic: str, **values: Any) -> Entry:
        return Entry(0, 0.0, topic, values, "MK")

    course = made_course(
        levels,
        points=points,
        rounds=((130.0, 400.0), (430.0, 700.0), (730.0, 1000.0)),
        baselines=(("baseline before", 0.0, 120.0), ("baseline after", 1020.0, 1140.0)),
        changes=(nudged(500.0, "smr.threshold", 4.0, 4.2),),
        entries=(
            entry("visit", client="HERON-07", number=4, operator=words, today={"sleep": words}),
            entry("rating", rating=0, words=words),
            entry("plan", next=words),
        ),
    )
    return replace(course, notes=(Note(0, 10.0, words, "MK"),))


def facts_of(**given: Any) -> Facts:
    return course_facts(course_of(**given), MADE, "0.1.0")


class Tags(HTMLParser):
    """Fails on a tag that is not closed in its order."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.seen: list[str] = []
        self.text = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen.append(tag)
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.text += data


def read(html: str) -> Tags:
    tags = Tags()
    tags.feed(html)
    tags.close()
    assert tags.open == []
    return tags


@pytest.mark.parametrize("make", [client_page, full_page])
def test_a_page_is_whole_and_stands_alone(make: Any) -> None:
    html = make(facts_of())
    assert html.startswith("<!DOCTYPE html>\n")
    tags = read(html)
    assert tags.seen.count("html") == tags.seen.count("head") == tags.seen.count("h1") == 1
    # XHTML's stricter rules hold too, but for the void elements of HTML (W3C HTML 5.2, 8.1.2).
    body = html.split("</head>\n")[1].removesuffix("</html>\n")
    assert ElementTree.fromstring(body).tag == "body"
    assert "http://" not in html.replace("http://www.w3.org/2000/svg", "") and "src=" not in html


@pytest.mark.parametrize("make", [client_page, full_page])
def test_what_a_person_wrote_is_never_markup(make: Any) -> None:
    html = make(facts_of(words=EVIL))
    tags = read(html)
    assert "script" not in tags.seen
    assert EVIL in tags.text


def test_the_numbers_are_those_of_the_review() -> None:
    facts = facts_of()
    text = read(full_page(facts)).text
    whole = facts.review.whole
    assert f"{whole.points} points, {whole.rate:.1f} a clear minute as earned" in text
    assert "SMR threshold, µV" in text and "4 → 4.2" in text
    assert "At the first round: theta 4–8 Hz at or below 9 µV, averaged over 0.24 s" in text


def test_a_rise_is_found_and_noise_is_not() -> None:
    grown, flat = (facts_of(rise=rise).changes[1].within.verdict for rise in (2.0, 0.0))
    assert (grown, flat) == ("rise", "no clear change")
    assert "SMR: rise" in full_page(facts_of(rise=2.0))
    assert "became stronger while you trained" in client_page(facts_of(rise=2.0))
    assert "stayed about the same" in client_page(facts_of())


def test_every_item_of_the_checklist_is_answered_or_listed_as_open() -> None:
    found = items(facts_of())
    assert len({item.code for item in found}) == len(found) == 23
    text = read(full_page(facts_of())).text
    assert f"Not, or not wholly, answered: {len(open_items(found))} of 23." in text
    assert all(item.why for item in open_items(found))


def test_cautions_stand_under_both() -> None:
    for html in (client_page(facts_of()), full_page(facts_of())):
        assert "makes no diagnosis and promises no effect" in html
        assert "licensed practitioner" in html


def test_a_session_without_a_round_has_a_report_too() -> None:
    facts = course_facts(made_course(np.full((30, 3), 5.0), rounds=()), MADE)
    assert "There was no training yet today." in client_page(facts)
    assert "No round was trained in this session." in full_page(facts)


def test_time_met_has_no_verdict_where_its_threshold_was_changed() -> None:
    rows = full_page(facts_of()).split("<tr>")
    met = [row for row in rows if "time met, percentage points" in row]
    assert ["setting changed" in row for row in met] == [False, True, False]


def test_a_change_that_rounds_to_nothing_has_no_sign_of_its_own() -> None:
    change = facts_of().changes[1].within
    assert (
        interval(replace(change, change=-0.001, low=-1.0, high=0.004)) == "+0.00 (-1.00 to +0.00)"
    )


def test_figures_and_numbers_of_the_signal_are_in_the_full_report(tmp_path: Path) -> None:
    facts = facts_of_recording(read_session(recorded_session(tmp_path)), MADE)
    html = full_page(facts)
    text = read(html).text
    assert "Power spectrum" in text and "How often each amplitude was there" in text
    assert html.count("<svg ") == 2 + 1 + 1 + 2
    (period,) = facts.signal.periods if facts.signal else ()
    theta = period.relative[0]
    assert f"{theta.value * 100:.1f} %" in text
    assert "Power spectrum" not in read(full_page(replace(facts, signal=None))).text


def test_axes_carry_round_numbers() -> None:
    assert ticks(0.0, 26.4, 8) == [0.0, 5.0, 10.0, 15.0, 20.0, 25.0]
    assert ticks(0.0, 3.3, 4) == [0.0, 1.0, 2.0, 3.0]


def test_a_recording_s_reports_are_private_files(tmp_path: Path) -> None:
    path = recorded_session(tmp_path)
    written = write_reports(path, tmp_path / "reports", MADE)
    assert [report.kind for report in written] == ["client", "full"]
    for report in written:
        assert report.path.read_text(encoding="utf-8") == report.html
        assert report.path.stat().st_mode & 0o777 == 0o600
