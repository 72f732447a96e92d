"""The hookup checklist: in the order of the hands, with the protocol's own sites in it."""

from engine.practice.checklist import hookup_steps


def test_every_step_has_a_key_of_its_own_and_one_sentence() -> None:
    steps = hookup_steps("C4", "A2", "A1")
    assert len({step.key for step in steps}) == len(steps) == 10
    assert all(step.text.endswith(".") and step.text.count(". ") == 0 for step in steps)


def test_hands_ask_first_find_the_site_before_skin_before_paste_and_wait_at_the_end() -> None:
    keys = [step.key for step in hookup_steps("C4", "A2", "A1")]
    wanted = ["asked", "site", "skin", "paste", "others", "leads", "wait"]
    assert [key for key in keys if key in wanted] == wanted


def test_site_reference_and_ground_are_named_where_the_protocol_names_them() -> None:
    text = " ".join(step.text for step in hookup_steps("C4", "A2", "A1"))
    assert "the reference (A2) and the ground (A1)" in text
    alone = hookup_steps("Cz")
    assert "others" not in [step.key for step in alone]
    assert not any("reference" in step.text or "()" in step.text for step in alone)
