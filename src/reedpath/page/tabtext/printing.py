"""Tab as text: a lesson in a monospace face, tab aligned under counted beats."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction
from itertools import groupby

from reedpath.arrange import Route
from reedpath.lesson import Lesson, in_language
from reedpath.page.score.elements import clean_text
from reedpath.page.score.sheet import Sheet, left_out_of, sheet_of
from reedpath.page.score.tab_legend import Sign, legend_of_sheets
from reedpath.page.score.tab_signs import marks_for
from reedpath.page.tabtext.columns import Section, columns_of, folded, part_label
from reedpath.page.tabtext.systems import MARGIN, columns_of_text, padded, set_systems, set_versions, wrapped
from reedpath.phrase import Metre, PrintedBar, timing_of
from reedpath.pitch import key_name
from reedpath.wording import (
    Catalogue,
    counted_bpm,
    full_harp_words,
    key_words,
    left_out_blocks,
    load_catalogue,
    named_words,
    position_words,
    tempo_unit,
    tempo_words,
)

# columns between two signs of the legend
BETWEEN = 3
# between the fields that a reader needs
FIELDS_APART = "  "
# columns of a page of plain text, and blanks before a line; common practice, no source
PAGE_WIDTH = 80
INDENT = 2
# quarter notes of what is counted in 6/8, 9/8 and 12/8
DOTTED_QUARTER = Fraction(3, 2)


def _facts(sheet: Sheet, catalogue: Catalogue) -> list[str]:
    """What a player needs to know before playing, in a few words each."""
    route = sheet.route
    facts = [full_harp_words(route.harp, catalogue)]
    if route.position:
        facts.append(position_words(route.position, catalogue))
    facts.append(key_words(route.phrase.key, catalogue))
    bpm = timing_of(route.phrase).tempos[0].bpm
    tempo = tempo_words(bpm, sheet.bars[0].metre, catalogue, decimals=0)
    facts.append(tempo if route.phrase.swing == 1 else f"{tempo}, {catalogue.say('tempo.swing')}")
    metre = sheet.bars[0].metre
    facts.append(metre.name)
    return facts


def _tempo_field(bpm: float, metre: Metre) -> str:
    """
    A tempo as the reader takes it: in dotted quarters where these are counted and say it exactly, else in quarters.

    >>> [_tempo_field(bpm, Metre(Fraction(0), 12, 8)) for bpm in (84.0, 85.0)]
    ['q. = 56', 'q = 85']
    """
    if tempo_unit(metre) != DOTTED_QUARTER:
        return f"{bpm:.6g}"
    counted = f"{counted_bpm(bpm, metre):.6g}"
    return f"q. = {counted}" if float(counted) * float(DOTTED_QUARTER) == bpm else f"q = {bpm:.6g}"


def _fields(sheet: Sheet) -> str:
    """What the words above leave to a reader of them, as the reader of harmonica tab knows it."""
    harp, phrase = sheet.route.harp, sheet.route.phrase
    metre = sheet.bars[0].metre
    fields = {
        "harp": harp.name if harp.tuning.name == "standard" else f"{harp.name} {harp.tuning.name}",
        "notation": sheet.notation,
        "metre": metre.name,
        "tempo": _tempo_field(timing_of(phrase).tempos[0].bpm, metre),
    }
    if phrase.key is not None:
        fields["key"] = key_name(phrase.key)
    if phrase.swing != 1:
        fields["swing"] = f"{phrase.swing.numerator}:{phrase.swing.denominator}"
    if harp.name.endswith("B") or fields.get("key", "") in ("B", "Bm"):
        fields["names"] = "English"
    return FIELDS_APART.join(f"{name}: {value}" for name, value in fields.items())


def _bars_shown(sections: Iterable[Section]) -> list[PrintedBar]:
    """The bars of sections that are not only named."""
    columns = (column for section in sections if not section.as_label for column in section.columns)
    return [column.starts_bar.printed for column in columns if column.starts_bar]


def _bar_signs(sections: Iterable[Section], catalogue: Catalogue) -> list[Sign]:
    """What the number of a bar that is played again means, by the first that is shown."""
    again = next((bar for bar in _bars_shown(sections) if bar.turn > 1 and bar.mark), None)
    if again is None:
        return []
    from reedpath.wording import bars_words  # most tabs have no such bar

    return [Sign(again.mark, bars_words([again], catalogue))]


def _table(signs: Iterable[Sign], width: int) -> list[str]:
    """Signs and their words in as many columns as fit."""
    rows = [(sign.sign, sign.words) for sign in signs]
    left = max(columns_of_text(sign) for sign, _ in rows) + 2
    right = max(columns_of_text(words) for _, words in rows) + BETWEEN
    across = max(1, (width + BETWEEN) // (left + right))
    down = -(-len(rows) // across)
    lines = []
    for line in range(down):
        cells = [padded(sign, left) + padded(words, right) for sign, words in rows[line::down]]
        lines.append("".join(cells).rstrip())
    return lines


def _header(
    sheet: Sheet, sections: Iterable[Section], catalogue: Catalogue, *, width: int, ascii_only: bool
) -> list[str]:
    """The lines of the header."""
    title = clean_text(sheet.title)
    lines = wrapped(title, width)
    if lines:
        lines.append("=" * max(columns_of_text(line) for line in lines))
    lines += wrapped(", ".join(_facts(sheet, catalogue)), width)
    marks = marks_for(ascii_only=ascii_only)
    signs = legend_of_sheets([sheet], catalogue, ascii_only=ascii_only, points_back=True)
    if sheet.notes:
        held = Sign(marks.hold, catalogue.say("tab.hold"))
        notation = named_words("notation", sheet.notation, catalogue)
        signs = (*signs, held, *_bar_signs(sections, catalogue))
        lines += ["", f"{catalogue.say('sheet.notation')} ({notation})", *_table(signs, width), "", _fields(sheet)]
    return lines


def _again(section: Section, catalogue: Catalogue, breath: str) -> str:
    """The line that stands for a part printed before."""
    from reedpath.wording import bars_words

    bars = bars_words(section.as_bars, catalogue)
    like = part_label(section.as_label)[1:-1]
    words = f"{part_label(section.label)} {catalogue.say('tab.again', label=like)} ({bars})"
    return f"{words} {breath}" if section.breathes_after else words


def format_tab(
    source: Lesson | Route,
    *,
    notation: str | None = None,
    catalogue: Catalogue | None = None,
    note_names: bool = False,
    fold_repeats: bool = True,
    width: int = PAGE_WIDTH,
    ascii_only: bool = False,
) -> str:
    """A lesson or a route as tab text.

    A header says title, harp, position, key, tempo and the signs used; then come systems of a few bars, the
    count above, the tab below, each token under the moment it starts. A note that goes on is shown at each
    counted place, a rest is left blank.

    notation : name of the tab notation; the lesson's own where none is given.
    catalogue : language of the words in it, English where none is given.
    note_names : whether a row under the tab names the notes.
    fold_repeats : whether a part that repeats an earlier one bar for bar is only named.
    width : columns of the page; a token longer than that is left to stick out.
    ascii_only : whether only ASCII signs stand in the tab.

    Raises `PageError` where the rhythm or metre cannot be written.
    """
    language = catalogue or load_catalogue("en")
    source = in_language(source, language.name) if isinstance(source, Lesson) else source
    sheet = sheet_of(source, notation=notation)
    if not sheet.notes:
        return "\n".join(
            [*_header(sheet, (), language, width=width, ascii_only=ascii_only), "", language.say("route.empty"), ""]
        )
    columns = columns_of(sheet, names_in=language if note_names else None, ascii_only=ascii_only)
    marks = marks_for(ascii_only=ascii_only)
    sections = folded(sheet, columns) if fold_repeats else [Section(columns)]
    lines = _header(sheet, sections, language, width=width, ascii_only=ascii_only)
    margin = max(MARGIN, 1 + max(len(bar.mark) for bar in _bars_shown(sections)))
    for is_printed, group in groupby(sections, key=lambda section: not section.as_label):
        if not is_printed:
            lines += ["", *(" " * margin + _again(section, language, marks.breath) for section in group)]
            continue
        printed = [column for section in group for column in section.columns]
        for system in set_systems(printed, width=width, marks=marks, margin=margin):
            lines += ["", *system]
    return "\n".join(lines) + "\n"


def format_versions(versions: Mapping[str, Lesson], *, catalogue: Catalogue) -> str:
    """Several lessons of one phrase as one tab text, below one another by bar and counted once.

    versions : by the names that stand before their lines; they have the same bars, and notes.

    Raises `PageError` where the rhythm or metre cannot be written.
    """
    sheets = {name: sheet_of(lesson) for name, lesson in versions.items()}
    alone = {name: columns_of(sheet) for name, sheet in sheets.items()}
    shown = {column.beats for columns in alone.values() for column in columns}
    columns = {name: columns_of(sheet, shown=shown) for name, sheet in sheets.items()}
    first = next(iter(sheets.values()))
    title = wrapped(clean_text(first.title), PAGE_WIDTH)
    lines = [*title, "=" * max(map(columns_of_text, title))] if title else []
    for name, sheet in sheets.items():
        lines += wrapped(", ".join([name, *_facts(sheet, catalogue)]), PAGE_WIDTH)
    marks = marks_for(ascii_only=False)
    signs = [
        *legend_of_sheets(list(sheets.values()), catalogue, points_back=True),
        Sign(marks.hold, catalogue.say("tab.hold")),
    ]
    notation = named_words("notation", first.notation, catalogue)
    lines += ["", f"{catalogue.say('sheet.notation')} ({notation})", *_table(signs, PAGE_WIDTH)]
    for system in set_versions(columns, width=PAGE_WIDTH, marks=marks):
        lines += ["", *system]
    return "\n".join(lines) + "\n"


def format_left_out(source: Lesson | Route, *, catalogue: Catalogue, width: int = PAGE_WIDTH) -> str:
    """What was left out and what was guessed, a blank line before each heading; empty for nothing.

    width : columns of the page; longer lines are wrapped.
    """
    lines = []
    for block in left_out_blocks(left_out_of(sheet_of(source)), catalogue):
        lines += ["", *wrapped(block.title, width)]
        for told in block.lines:
            first, *more = wrapped(told, width - 2 * INDENT)
            lines += [" " * INDENT + first, *(" " * 2 * INDENT + one for one in more)]
    return "".join(f"{line}\n" for line in lines)
