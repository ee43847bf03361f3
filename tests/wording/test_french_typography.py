"""French as it is set: spaces before high signs, guillemets, apostrophes, accents on capitals."""

from __future__ import annotations

import re

import pytest

from reedpath.wording import load_studio_catalogue

NARROW = "\u202f"
FRENCH, ENGLISH = load_studio_catalogue("fr"), load_studio_catalogue("en")
TEXTS = sorted(
    (key, re.sub(r"\{[^}]*\}", "{}", text))
    for key, message in FRENCH.messages.items()
    for forms in message.variants
    for text in forms.values()
)
RULES = {
    "straight apostrophe": r"'",
    "straight quotation mark": r'"',
    "three stops for an ellipsis": r"\.\.\.",
    "no narrow space before a high sign": rf"[^{NARROW}][;:!?»]",
    "no narrow space after a guillemet": rf"«(?!{NARROW})",
    "an ordinary space where none belongs": r" [;:!?»,.]|« |  |^ | $",
    "no accent on a capital": r"^A (?=travailler|jouer|essayer)|\b(Etat|Echelle|Ecriture|Ecarts?|Eleve)\b",
    "tu or vous": r"\b([Vv]ous|[Vv]otre|[Vv]os|[Tt]u|[Tt]oi|[Tt]es)\b|\bTon\b",
}


@pytest.mark.parametrize("rule", RULES)
def test_every_french_text_holds_to_the_rule(rule: str) -> None:
    assert [(key, text) for key, text in TEXTS if re.search(RULES[rule], text)] == []


def test_guillemets_stand_in_pairs() -> None:
    assert [key for key, text in TEXTS if text.count("«") != text.count("»")] == []


def test_english_has_no_straight_apostrophe_either() -> None:
    for key, message in ENGLISH.messages.items():
        for forms in message.variants:
            for text in forms.values():
                assert "'" not in text, key
                assert '"' not in text, key


def test_no_french_message_was_left_in_english() -> None:
    # words that are the same in both languages
    same = {key for key, message in FRENCH.messages.items() if message.variants == ENGLISH.messages[key].variants}
    words = {text for key in same for forms in FRENCH.messages[key].variants for text in forms.values()}
    allowed = {
        "overblow",
        "overdraw",
        "overblows",
        "overdraws",
        "{holes} overblow",
        "{holes} overdraw",
        "vibrato",
        "position",
        "Position",
        "Positions",
        "effort",
        "Effort",
        "Overblows",
        "Overdraws",
        "total",
        "octave",
        "facile",
        "Tempo",
        "Tempos",
        "phrygien",
        "♩ = {bpm}",
        "{a}, {b}",
        "{ordinal} ({label})",
        "{harp} ({tuning})",
        "{technique} ({move})",
        "Techniques",
        "points",
        "{reed} {shift}",
        "Hz",
        "{count} cent",
        "{count} cents",
        "Page {page} / {pages}",
        "{count:word}",
        "{count} point",
        "{count} points",
        "accent",
        "cents",
        "note",
        "{first} ({place})",
        "{from_first} {to_last} ({place})",
        "{what} ({place})",
        "{number} s",
        "{count} annotation",
        "{count} annotations",
        "{count} macro",
        "{count} macros",
        "{count} phrase",
        "{count} phrases",
        "{count} version",
        "{count} versions",
    }
    assert words <= allowed
