from __future__ import annotations

import pytest

from reedpath.errors import SettingsError
from reedpath.wording.plurals import parse_plural_rules


def test_a_rule_of_many_conditions() -> None:
    # the shape of Slavic plurals
    rules = parse_plural_rules({"one": "n % 10 = 1 and n % 100 != 11", "few": "n % 10 = 2..4 and n % 100 != 12..14"})
    forms = {number: rules.form_of(number) for number in (1, 2, 5, 11, 12, 21, 22, 111, 1.5)}
    assert forms == {
        1: "one",
        2: "few",
        5: "other",
        11: "other",
        12: "other",
        21: "one",
        22: "few",
        111: "other",
        1.5: "other",
    }
    assert rules.forms == ("one", "few", "other")


def test_alternatives_lists_and_decimals() -> None:
    rules = parse_plural_rules({"one": "i = 0,1 or n = 7", "two": "v = 2"})
    assert [rules.form_of(number) for number in (0, 1, 2, 7)] == ["one", "one", "other", "one"]
    assert rules.form_of(1.5, decimals=1) == "one"
    assert rules.form_of(3.25, decimals=2) == "two"


def test_a_form_that_only_round_millions_take_may_be_left_out() -> None:
    italian = parse_plural_rules({"one": "i = 1 and v = 0", "many": "i != 0 and i % 1000000 = 0 and v = 0"})
    numbers = (0, 1, 2, 11, 1_000_000, 1_000_001)
    assert [italian.form_of(number) for number in numbers] == ["other", "one", "other", "other", "many", "other"]
    assert (italian.forms, italian.common) == (("one", "many", "other"), ("one", "other"))
    polish = parse_plural_rules({"one": "i = 1 and v = 0", "many": "v = 0 and i % 10 = 0"})
    assert polish.common == ("one", "many", "other")


def test_negative_numbers_take_the_form_of_their_size() -> None:
    assert parse_plural_rules({"one": "n = 1"}).form_of(-1) == "one"


def test_no_rules_is_one_form() -> None:
    assert parse_plural_rules({}).forms == ("other",)


@pytest.mark.parametrize(
    ("rules", "message"),
    [
        ({"some": "n = 1"}, r"^'plural\.some': 'some' is not a plural form"),
        ({"one": "n is 1"}, r"^'plural\.one': 'n is 1' is not a plural rule"),
        ({"one": "n = 1 and x = 2"}, r"^'plural\.one': 'x = 2' is not a plural rule"),
        ({"one": 1}, r"^'plural\.one': '1' is not a plural rule"),
    ],
)
def test_errors_name_form_and_text(rules: dict[str, object], message: str) -> None:
    with pytest.raises(SettingsError, match=message):
        parse_plural_rules(rules)
