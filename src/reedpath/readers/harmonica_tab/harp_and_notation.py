"""Which harp a tab is for and in which notation it is typed: by its heading, options included, or by its looks."""

from __future__ import annotations

import re
from collections.abc import Sequence

from reedpath.errors import ReadError, ReedpathError
from reedpath.harp import (
    Harp,
    Move,
    Notation,
    Tuning,
    guess_notation,
    harp_name_and_rest,
    load_notation,
    load_tuning,
    make_harp,
    notation_names,
    tokenize_tab,
    tuning_names,
)
from reedpath.pitch import Key
from reedpath.readers.omissions import Omissions
from reedpath.readers.typed_tab.heading import FieldName, TypedHeading

# share of the best notation's score from which another is as likely; ours
_AS_LIKELY = 0.95
# a flat in capitals, at the start of what names a harp
_CAPITAL_FLAT = re.compile(r"(?i:(?:low|high)[\s-]*)?[A-G](B)(?![^\W\d_])")
_FILLER = re.compile(
    r"\b(harp|harmonica|mundharmonika|armónica|armonica|diatonic|diatonique|tuning|in)\b|[(),]", re.IGNORECASE
)
_BEFORE_NAME = re.compile(r"(?i:(?:harmonica|mundharmonika|armónica|armonica|harp)\s+(?:en|in)\s+)")
# B alone, the letter and not the sign of a flat
_GERMAN_FLAT = re.compile(r"(?i:\bB\b(?![♭♯#]))")
_GERMAN = re.compile(r"german|deutsch|allemand", re.IGNORECASE)


def _tuning_named(text: str, heading: TypedHeading, field: FieldName) -> Tuning:
    name = re.sub(r"[\s_]+", "-", _FILLER.sub(" ", text.lower()).strip())
    names = [name] if name in tuning_names() else []
    names = names or [one for one in tuning_names() if load_tuning(one).title.lower() == text.strip().lower()]
    if not names:
        raise ReadError("harp.unknown_tuning", where=heading.where(field), name=text[:40], known=tuning_names())
    return load_tuning(names[0])


def choose_tuning(heading: TypedHeading) -> Tuning:
    """The tuning named, also after the key of the harp ("harp: A natural-minor"); the standard one else."""
    text = heading.texts.get("tuning")
    if text is not None:
        return _tuning_named(text, heading, "tuning")
    found = _harp_named(heading.texts.get("harp", ""))
    rest = _FILLER.sub(" ", found[1]).strip() if found else ""
    return _tuning_named(rest, heading, "harp") if rest else load_tuning("standard")


def _harp_named(text: str) -> tuple[str, str] | None:
    """Name of the harp that a heading names first, and what follows."""
    plain = text[:80].strip()
    match = _CAPITAL_FLAT.match(plain)
    if match is not None:
        plain = plain[: match.start(1)] + "b" + plain[match.end(1) :]
    return harp_name_and_rest(_BEFORE_NAME.sub("", plain))


def _is_german(heading: TypedHeading, notation: Notation) -> bool:
    named = heading.texts.get("names")
    return bool(_GERMAN.search(named)) if named is not None else heading.german or notation.languages == ("de",)


def key_of(heading: TypedHeading, notation: Notation) -> Key | None:
    """The key of the music that the heading names; B is B flat where names are German."""
    key = heading.key
    is_plain = key is not None and key.tonic == 11 and re.match(r"B(?![b♭#♯])", heading.texts["key"])
    if key is not None and is_plain and _is_german(heading, notation):
        return key.moved(-1)
    return key


def choose_harp(heading: TypedHeading, *, tuning: Tuning, notation: Notation, omissions: Omissions) -> Harp:
    """
    The harp that a tab is for.

    In German B is B flat: so it is read where the user or the heading says that names are German, where the heading's
    words or other names in it are, or the notation is the German one (Blasen and Ziehen). Which was taken is told.

    Raises `ReadError` when the words name no harp.
    """
    text = heading.texts.get("harp")
    if text is None:
        omissions.note("assumed-harp")
        return make_harp("C", tuning)
    where = heading.where("harp")
    found = _harp_named(text)
    if found is None:
        raise ReadError("harp.unknown_harp", where=where, name=text[:40])
    name = found[0]
    if name.endswith("B") and _GERMAN_FLAT.search(text):
        if _is_german(heading, notation):
            name += "b"
            omissions.note("german-b", where)
        elif "names" not in heading.texts:
            omissions.note("english-b", where)
    try:
        return make_harp(name, tuning)
    except ReedpathError as error:
        raise ReadError.like(error).inside(where) from error


def _moves(lines: Sequence[str], notation: str, tuning: Tuning) -> list[Move]:
    return [token.move for line in lines for token in tokenize_tab(line, notation, tuning=tuning) if token.move]


def _notations_named(text: str, heading: TypedHeading) -> tuple[str, ...]:
    name = re.sub(r"[\s_]+", "-", text.strip().lower())
    names = tuple(one for one in notation_names() if one == name) or tuple(
        one for one in notation_names() if one.startswith(name.rstrip("s"))
    )
    if not names:
        where = heading.where("notation")
        raise ReadError("harp.unknown_notation", where=where, name=text[:40], known=notation_names())
    return names


def choose_notation(lines: Sequence[str], heading: TypedHeading, *, tuning: Tuning) -> Notation | None:
    """
    The notation that lines of tab are typed in: the one named, or the likeliest; None where none reads a move.

    A name such as "letters" leaves the choice to the looks among those that begin so.

    Raises `ReadError` when the name is unknown, or two notations fit as well and would mean other moves.
    """
    text = heading.texts.get("notation")
    names = notation_names() if text is None else _notations_named(text, heading)
    if text is not None and len(names) == 1:
        return load_notation(names[0])
    guesses = [guess for guess in guess_notation("\n".join(lines), tuning=tuning) if guess.name in names]
    if not guesses:
        return None
    likely = [guess.name for guess in guesses if guess.score >= _AS_LIKELY * guesses[0].score]
    if len({tuple(_moves(lines, name, tuning)) for name in likely}) > 1:
        raise ReadError("tab.notation_unsure", likely=likely, first=likely[0])
    return load_notation(likely[0])
