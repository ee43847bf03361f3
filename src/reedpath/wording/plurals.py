"""Plural rules: which form of a word a number takes, written as data.

The rules are those of Unicode Technical Standard 35, part 3 ("Language Plural Rules"), in the part of their
syntax that whole and decimal numbers need: operands ``n`` (the value), ``i`` (its whole part) and ``v`` (how
many decimals are shown); ``%``; ``=`` and ``!=`` with lists and ranges; ``and``, ``or``. A rule reads
``n % 10 = 2..4 and n % 100 != 12..14``. The form ``other`` is what no rule claims.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache

from msgspec import Struct

from reedpath.errors import Place, SettingsError

# whole numbers among which every form is met but that of round millions ("un milione di note"); CLDR 44
_COMMON = range(201)
# names of plural forms; UTS 35
FORMS = ("zero", "one", "two", "few", "many", "other")

_RELATION = re.compile(r"([niv])(?:\s*%\s*(\d+))?\s*(!?=)\s*(\d+(?:\.\.\d+)?(?:\s*,\s*\d+(?:\.\.\d+)?)*)")


class _Relation(Struct, frozen=True):
    """One comparison: operand, modulus (0 for none), whether it must hold, and the ranges it is held against."""

    operand: str
    modulus: int
    holds: bool
    ranges: tuple[tuple[int, int], ...]

    def is_true(self, operands: Mapping[str, float]) -> bool:
        value = operands[self.operand]
        value = value % self.modulus if self.modulus else value
        inside = any(value == int(value) and low <= value <= high for low, high in self.ranges)
        return inside is self.holds


class PluralRules(Struct, frozen=True):
    """The plural rules of a language.

    rules : for each form but ``other``, alternatives ("or") of relations that must all hold ("and").
    """

    rules: tuple[tuple[str, tuple[tuple[_Relation, ...], ...]], ...]

    @property
    def forms(self) -> tuple[str, ...]:
        """The forms that the language tells apart, ``other`` last."""
        return (*(form for form, _ in self.rules), "other")

    @property
    def common(self) -> tuple[str, ...]:
        """The forms but those that only round millions take, which nothing that is told here comes to."""
        return _common_forms(self)

    def form_of(self, number: float, *, decimals: int = 0) -> str:
        """
        Form of a word beside a number shown with so many decimals.

        >>> english = parse_plural_rules({"one": "i = 1 and v = 0"})
        >>> english.form_of(1), english.form_of(2), english.form_of(1.5, decimals=1)
        ('one', 'other', 'other')
        """
        value = abs(number)
        operands = {"n": value, "i": float(int(value)), "v": float(decimals)}
        for form, alternatives in self.rules:
            if any(all(one.is_true(operands) for one in relations) for relations in alternatives):
                return form
        return "other"


@cache
def _common_forms(rules: PluralRules) -> tuple[str, ...]:
    met = {rules.form_of(number) for number in _COMMON}
    return tuple(form for form in rules.forms if form != "many" or form in met)


def _relation(text: str, where: Place) -> _Relation:
    match = _RELATION.fullmatch(text.strip())
    if match is None:
        raise SettingsError("wording.plural_rule", where=where, text=text.strip())
    operand, modulus, sign, listed = match.groups()
    ranges = []
    for part in listed.split(","):
        low, _, high = part.strip().partition("..")
        ranges.append((int(low), int(high or low)))
    return _Relation(operand, int(modulus or 0), sign == "=", tuple(ranges))


def parse_plural_rules(rules: Mapping[str, object], *, field: str = "plural") -> PluralRules:
    """Read plural rules from a table of forms; errors name the form and the text."""
    parsed = []
    for form, text in rules.items():
        place = Place(field=f"{field}.{form}")
        if form not in FORMS[:-1]:
            raise SettingsError("wording.plural_form", where=place, form=form, known=FORMS[:-1])
        if not isinstance(text, str):
            raise SettingsError("wording.plural_rule", where=place, text=str(text))
        alternatives = tuple(
            tuple(_relation(part, place) for part in alternative.split(" and ")) for alternative in text.split(" or ")
        )
        parsed.append((form, alternatives))
    return PluralRules(tuple(parsed))
