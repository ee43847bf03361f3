"""A catalogue: everything the program says in one language."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import date, datetime

from msgspec import Struct
from msgspec.structs import replace

from reedpath.errors import SettingsError
from reedpath.pitch import LETTER_SEMITONES, letter_and_sign, spelling_of, written_fifths
from reedpath.wording.grammar import Grammar, NoteNames
from reedpath.wording.template import Message, fill

# pitch class and sign of the five altered notes that the tables of names spell: Db, Eb, F#, Ab, Bb
_SPELT_IN_TABLES = {(1, -1), (3, -1), (6, 1), (8, -1), (10, -1)}

# signs after which a sentence needs no full stop
_SENTENCE_ENDS = (".", "!", "?", "…", ":")
# the name of a file, by its ending, at the start of a text
_FILE_NAME = re.compile(r"[^\s,:;]+\.[a-z][a-z0-9]{1,8}(?=[,:;\s])")


def _spelling(midi: int, tonic: int | None, spelt: Sequence[int]) -> tuple[int, int] | None:
    """Pitch class of a note's letter and its sign; None where nothing says how it is spelt."""
    written = written_fifths(midi, spelt)
    if written is not None:
        name, sign = letter_and_sign(written)
        return LETTER_SEMITONES[name], sign
    return None if tonic is None else spelling_of(midi, tonic)


def capital(text: str) -> str:
    """A text that begins with a capital letter."""
    return text[:1].upper() + text[1:]


class Catalogue(Struct, frozen=True):
    """The messages and the grammar of one language.

    name : short name, also the file's name ("en").
    grammar : plurals, numbers, lists, note names, typography.
    messages : by dotted key.
    note_style : which of the grammar's ways to name notes is used.
    """

    name: str
    grammar: Grammar
    messages: Mapping[str, Message]
    note_style: str

    @property
    def title(self) -> str:
        """The language's name in itself ("English", "français")."""
        return self.grammar.title

    def has(self, key: str) -> bool:
        """Whether there is a message of that key."""
        return key in self.messages

    def variants(self, key: str) -> int:
        """How many variants a message has."""
        return len(self._message(key).variants)

    def say(self, key: str, /, *, variant: int = 0, **values: str | float) -> str:
        """The message of a key with its gaps filled.

        key : dotted key, as in the catalogue's file.
        variant : which variant of the message, counted round.
        values : one for each gap; numbers are written as the language writes them; ``count`` chooses the form.

        Raises `ValueError`: no such key, or other values than the gaps of the message.
        """
        message = self._message(key)
        if values.keys() != message.gaps:
            raise ValueError(f"message {key!r} needs {sorted(message.gaps)}, not {sorted(values)}")
        count = values.get("count", 0)
        if isinstance(count, str):
            raise ValueError(f"the count of message {key!r} is a number, not {count!r}")
        text = message.form(variant, count, self._form_of)

        def write(name: str, *, spelled: bool) -> str:
            value = values[name]
            if isinstance(value, str):
                return value
            return self.number_word(value) if spelled else self.number(value)

        return fill(text, write, self.grammar.joined)

    def _form_of(self, count: float) -> str:
        return self.grammar.plural.form_of(count, decimals=len(f"{count:g}".partition(".")[2]))

    def _message(self, key: str) -> Message:
        if key not in self.messages:
            raise ValueError(f"the catalogue '{self.name}' has no message {key!r}")
        return self.messages[key]

    def number(self, value: float, *, decimals: int | None = None) -> str:
        """A number in digits, with the language's decimal sign; whole numbers without decimals unless asked."""
        if decimals is None:
            text = f"{value:g}" if abs(value) < 1e6 else f"{value:.0f}"
        else:
            text = f"{value:.{decimals}f}"
        return text.replace(".", self.grammar.decimal).replace("-", "−")

    def day(self, moment: str | date) -> str:
        """The day of a moment (a time with its zone, as ISO 8601 writes it, is told as it is here) in words."""
        if isinstance(moment, str):
            moment = datetime.fromisoformat(moment)
        if isinstance(moment, datetime):
            moment = (moment.astimezone() if moment.tzinfo else moment).date()
        dates = self.grammar.dates
        return self.grammar.typeset(dates.written(moment)) if dates else moment.isoformat()

    def number_word(self, value: float) -> str:
        """A small whole number in words, any other in digits."""
        words = self.grammar.number_words
        whole = float(value).is_integer() and 0 <= value < len(words)
        return words[int(value)] if whole else self.number(value)

    def ordinal(self, number: int) -> str:
        """The number in a row, in digits: "2nd", "2e"."""
        return self.grammar.ordinal_marks[self.grammar.ordinal.form_of(number)].replace("{n}", str(number))

    def ordinal_words(self, kind: str, number: int) -> str:
        """The n-th thing of a kind in words: ``ordinal_words("part", 2)`` is "the second part"."""
        if kind not in self.grammar.ordinal_words or number < 1:
            raise ValueError(f"the catalogue '{self.name}' counts no {kind!r} number {number}")
        words = self.grammar.ordinal_words[kind]
        if number <= len(words):
            return self.grammar.typeset(words[number - 1])
        text = self.grammar.ordinal_beyond[kind].replace("{ordinal}", self.ordinal(number))
        return self.grammar.typeset(text.replace("{n}", str(number)))

    def join(self, things: Sequence[str | int], *, link: str = "and") -> str:
        """The things in a row: "1, 2 and 3", or with ``link="or"`` "1, 2 or 3"; nothing for none."""
        texts = [thing if isinstance(thing, str) else self.number(thing) for thing in things]
        patterns = self.grammar.lists[link]
        if len(texts) < 2:
            return "".join(texts)
        if len(texts) == 2:
            return self._linked(patterns.two, texts[0], texts[1])
        joined = texts[0]
        for text in texts[1:-1]:
            joined = self._linked(patterns.middle, joined, text)
        return self._linked(patterns.last, joined, texts[-1])

    def _linked(self, pattern: str, one: str, other: str) -> str:
        """Two texts put into a pattern with the gaps {a} and {b}."""

        def write(name: str, *, spelled: bool) -> str:
            del spelled
            return {"a": one, "b": other}.get(name, "")

        return fill(self.grammar.typeset(pattern), write, self.grammar.joined)

    def sentence(self, text: str) -> str:
        """The text with a capital at its start, unless it starts with the name of a file, and a stop at its end."""
        text = text.strip()
        stopped = text if text.endswith(_SENTENCE_ENDS) else f"{text}."
        return stopped if _FILE_NAME.match(stopped) else capital(stopped)

    @property
    def notes(self) -> NoteNames:
        """The way notes are named."""
        return self.grammar.notes[self.note_style]

    @property
    def note_styles(self) -> tuple[str, ...]:
        """The ways this language has to name notes, the customary one first."""
        return tuple(self.grammar.notes)

    def with_notes(self, style: str) -> Catalogue:
        """The same catalogue naming notes in another of the language's ways."""
        if style not in self.grammar.notes:
            raise SettingsError("wording.note_style", language=self.title, style=style, known=self.note_styles)
        return replace(self, note_style=style)

    def note(self, midi: int, *, spoken: bool = False, tonic: int | None = None, spelt: Sequence[int] = ()) -> str:
        """Name of a pitch class or MIDI number, without octave.

        tonic : pitch class of the tonic that it is spelt after; without one it has its usual name.
        spelt : how the notes around it are written, places on the line of fifths; one of its sound says its spelling.
        """
        names = self.notes.spoken if spoken else self.notes.major
        spelling = _spelling(midi, tonic, spelt)
        if spelling is None:
            return names[midi % 12]
        letter, sign = spelling
        if sign == 0 or (letter + sign, sign) in _SPELT_IN_TABLES:
            return names[midi % 12]
        # the sign as this language writes or says it: what F sharp and D flat have beside F and D
        mark = names[6].removeprefix(names[5]) if sign > 0 else names[1].removeprefix(names[2])
        return names[letter] + mark

    def note_with_octave(self, midi: int, *, tonic: int | None = None, spelt: Sequence[int] = ()) -> str:
        """Name of a MIDI number with its octave, as the language tells octaves; the rest as `note`."""
        note = self.note(midi, tonic=tonic, spelt=spelt)
        spelling = _spelling(midi, tonic, spelt)
        # B sharp belongs to the octave of its B, C flat to that of its C
        written = midi if spelling is None else midi - spelling[1]
        if self.notes.octaves is not None:
            return self.notes.octaves[written // 12].replace("{note}", note).replace("{small}", note.lower())
        octave = written // 12 - 1 + self.notes.octave_shift
        return self.notes.octave_mark.replace("{note}", note).replace("{octave}", str(octave))
