"""A name two calculators could give is published by the one that the facts of the subject name."""

from __future__ import annotations

from phases.kit import Calculator, Quantity, judge, output
from phases.kit.arrays import Array
from phases.kit.facts import Knowledge, match
from phases.kit.inputs import Facts, Given
from phases.kit.record import record_of


class Maker(Calculator, name="maker", title="Maker", per="rail", source="a test"):
    """A rail's voltage, if a linear regulator makes it."""

    V = Quantity("V", "voltage", default="3.3 V")

    @output("V", "rail", publishes="rail.{rail}.voltage", when={"regulator": "linear"})
    def V_rail(self) -> Array:
        return self.V

    @output(
        "V",
        "with a divider",
        publishes="rail.{rail}.set",
        when={"regulator": "linear", "output_set": "divider"},
    )
    def V_set(self) -> Array:
        return self.V

    @output("V", "always", publishes="rail.{rail}.always")
    def V_always(self) -> Array:
        return self.V


def facts_of(*known: tuple[str, str, str], rail: str = "3v3") -> Facts:
    knowledge = Knowledge.of(known)
    return lambda when: match((when,), knowledge, rail)


def names(facts: Facts) -> set[str]:
    return set(record_of(judge(Maker(names={"rail": "3v3"}, facts=facts))).published)


ALL = {"rail.3v3.voltage", "rail.3v3.set", "rail.3v3.always"}


def test_what_is_not_known_counts_as_yes() -> None:
    assert set(record_of(judge(Maker(names={"rail": "3v3"}))).published) == ALL
    assert names(facts_of()) == ALL
    assert names(facts_of(("3v3", "regulator", "linear"))) == ALL


def test_facts_that_agree_publish() -> None:
    told = (("3v3", "regulator", "linear"), ("3v3", "output_set", "divider"))
    assert names(facts_of(*told)) == ALL


def test_one_fact_that_says_no_is_enough() -> None:
    assert names(facts_of(("3v3", "output_set", "fixed"))) == ALL - {"rail.3v3.set"}
    assert names(facts_of(("3v3", "regulator", "switching"))) == {"rail.3v3.always"}


def test_facts_are_looked_up_at_the_subject_first_then_at_the_board() -> None:
    assert names(facts_of(("1v8", "regulator", "switching"))) == ALL
    assert names(facts_of(("", "regulator", "switching"))) == {"rail.3v3.always"}
    both = (("", "regulator", "switching"), ("3v3", "regulator", "linear"))
    assert names(facts_of(*both)) == ALL


def test_an_answer_that_is_not_published_is_computed_all_the_same() -> None:
    judged = judge(Maker(names={"rail": "3v3"}, facts=facts_of(("3v3", "regulator", "switching"))))
    assert judged.output("V_rail").typ == 3.3
    assert set(record_of(judged, "3v3").published) == {"rail.3v3.always"}


def test_facts_stay_when_an_input_is_exchanged() -> None:
    facts = facts_of(("3v3", "regulator", "switching"))
    calculation = Maker(names={"rail": "3v3"}, facts=facts).with_given({"V": Given("5 V")})
    assert set(record_of(judge(calculation)).published) == {"rail.3v3.always"}
