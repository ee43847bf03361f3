"""Fret tab: systems, strings and tunings, heading, parts, repeats, and what stands around the tab."""

from fractions import Fraction as F

import pytest

from reedpath.errors import Place, ReadError, SettingsError
from reedpath.phrase import Metre, Part, Phrase, Repeat, Tempo
from reedpath.pitch import Key
from reedpath.readers import find_reader, read_phrase
from reedpath.readers.fret_tab.layout import StringLine, _size_of
from reedpath.readers.fret_tab.signs import parse_signs
from reedpath.readers.fret_tab.stringing import parse_stringings, stringing_of_words
from support.read_phrases import pitches


def read(text: str, **options: str | int | bool) -> Phrase:
    return read_phrase(text.encode(), format="fret-tab", options=options)


def strings(labels: str, *, edge: str = "|") -> str:
    """One note on each string, fret 0, one after another."""
    lines = []
    for index, label in enumerate(labels.split()):
        body = "".join("0---" if index == place else "----" for place in range(len(labels.split())))
        lines.append(f"{'' if label == '.' else label}{edge}{body}{edge}")
    return "\n".join(lines)


@pytest.mark.parametrize(
    ("labels", "midis"),
    [
        ("e B G D A E", [64, 59, 55, 50, 45, 40]),
        ("E B G D A E", [64, 59, 55, 50, 45, 40]),
        (". . . . . .", [64, 59, 55, 50, 45, 40]),
        ("e B G D A D", [64, 59, 55, 50, 45, 38]),
        ("d A F C G C", [62, 57, 53, 48, 43, 36]),
        ("D A G D A D", [62, 57, 55, 50, 45, 38]),
        ("eb Bb Gb Db Ab Eb", [63, 58, 54, 49, 44, 39]),
        ("e H G D A E", [64, 59, 55, 50, 45, 40]),
        ("E A D G B e", [40, 45, 50, 55, 59, 64]),
        ("G D A E", [43, 38, 33, 28]),
        ("E A D G", [76, 69, 62, 55]),
        ("A E C G", [69, 64, 60, 67]),
        ("G D A E B", [43, 38, 33, 28, 23]),
        ("D B G D g", [62, 59, 55, 50, 67]),
        ("e B G D A E B", [64, 59, 55, 50, 45, 40, 35]),
        ("e B G D A E B F#", [64, 59, 55, 50, 45, 40, 35, 30]),
        ("E5 B3 G3 D3 A2 E2", [76, 59, 55, 50, 45, 40]),
    ],
)
def test_strings_by_the_letters_before_them(labels, midis):
    assert pitches(read(strings(labels))) == midis


@pytest.mark.parametrize(
    ("heading", "lowest"),
    [
        ("tuning: drop D", 38),
        ("Tuning = Drop D (DADGBE)", 38),
        ("tuning: D A D G A D", 38),
        ("tuning: DADGAD", 38),
        ("tuning: half step down", 39),
        ("tuning: standard", 40),
        ("tuning: E2 A2 D3 G3 B3 E4", 40),
        ("capo: 2", 42),
        ("Capo 2nd fret", 42),
        ("capo: none", 40),
    ],
)
def test_tuning_and_capo_in_the_heading(heading, lowest):
    assert pitches(read(f"{heading}\n\n{strings('. . . . . .')}"))[-1] == lowest


def test_options_win_over_the_file():
    text = f"tuning: drop D\ncapo: 5\n\n{strings('. . . . . .')}"
    assert pitches(read(text, tuning="standard", capo=0))[-1] == 40
    assert pitches(read(strings("E A D G"), high_string_on_top="no"))[0] == 28
    assert pitches(read(strings(". . . . . ."), high_string_on_top=False))[0] == 40
    # letters from low to high turn the tab over, but not where it is said which string is on top
    assert pitches(read(strings("E A D G B E")))[0] == 40
    upright = pitches(read(strings("E A D G B E"), high_string_on_top="yes"))
    assert (upright[0], upright[-1]) == (64, 40)


@pytest.mark.parametrize(
    ("text", "options", "message"),
    [
        ("tuning: purple", {}, r"line 1: 'purple' is not a tuning for 6 strings"),
        ("capo: 99", {}, "line 1: '99' is not a fret for a capo"),
        ("tempo: slow", {}, "line 1: 'slow' is not a tempo"),
        ("tempo: 5000", {}, "line 1: '5000' is not a tempo"),
        ("tempo: -20", {}, "line 1: '-20' is not a tempo"),
        ("tempo: 120-130", {}, "line 1: '120-130' is not a tempo"),
        ("tempo: 96 to 104", {}, "line 1: '96 to 104' is not a tempo"),
        ("120-130 bpm", {}, "line 1: '120-130' is not a tempo"),
        ("key: E\nkey: H#", {}, "line 2: 'H#' is not a key"),
        ("key: H#", {}, "line 1: 'H#' is not a key"),
        ("metre: 4/5", {}, "line 1: '4/5' is not a metre"),
        ("swing: purple", {}, "line 1: 'purple' is not a kind of swing"),
        ("pickup: 99", {}, "line 1: '99' is not a pickup"),
        ("", {"capo": "x"}, "'x' is not a fret"),
        ("", {"high_string_on_top": "maybe"}, "high_string_on_top is yes or no"),
        ("", {"tuning": "E A"}, "'E A' is not a tuning for 6 strings"),
    ],
)
def test_a_heading_or_option_that_means_nothing(text, options, message):
    with pytest.raises(ReadError, match=message):
        read(f"{text}\n\n{strings('. . . . . .')}", **options)


def test_the_heading():
    text = (
        "Title: An invented line\nTempo: q = 96\nKey: E blues\nTime: 3/4\nFeel: shuffle\n"
        "Length: 3:45\nNotes: none of this matters\n\n"
        + strings("e B G D A E")
    )  # fmt: skip
    phrase = read(text)
    assert phrase.title == "An invented line"
    assert phrase.tempos == (Tempo(F(0), 96.0),)
    assert phrase.key == Key(4)
    assert phrase.metres == (Metre(F(0), 3, 4),)
    assert phrase.swing == 2


@pytest.mark.parametrize("line", ["tempo: 110", "Tempo 110", "110 bpm", "tempo 110 bpm", "Tempo: 110 - lively"])
def test_a_tempo_may_stand_without_a_colon(line):
    assert read(f"{line}\n\n{strings('e B G D A E')}").tempos == (Tempo(F(0), 110.0),)


def test_a_heading_that_changes_further_down_is_said():
    text = f"tempo: 96\nkey: E\n\n{BAR}\n\ntempo: 120\nkey: A\nswing: shuffle\n\n{BAR}\n\ntempo: 96\n\n{BAR}"
    phrase = read(text)
    assert (phrase.tempos, phrase.key) == ((Tempo(F(0), 96.0),), Key(4))
    told = [(one.what, one.place) for one in phrase.left_out][:2]
    assert told == [("a tempo of 120", Place(line=11)), ("key changes", Place(line=12))]


def test_how_long_it_lasts_is_no_metre():
    assert read(f"time: 3:45\n\n{strings('e B G D A E')}").metres == (Metre(F(0), 4, 4),)


BAR = "\n".join(f"{name}|{'-5---7---5---8---' if name == 'G' else '-' * 17}|" for name in "eBGDAE")


def test_wrapped_systems_follow_on_with_or_without_an_empty_line():
    for gap in ("\n\n", "\nla la la\n", "\n"):
        phrase = read(BAR + gap + BAR + gap + BAR)
        assert phrase.end == 12
        assert len(phrase.events) == 12


def test_words_chords_and_comments_around_the_tab_are_skipped():
    text = f"This is mine - all of it.\n\nE7        A7\n{BAR}\nI woke up - this morning\n\n# the end\n"
    phrase = read(text)
    assert len(phrase.events) == 4
    assert [one.what for one in phrase.left_out][:1] == ["line of chord names"]


def test_palm_mute_accents_and_vibrato_over_the_strings():
    phrase = read(f"  P.M.------|\n   >       >\n           ~~~\n{BAR}")
    assert [event.ornaments.accent for event in phrase.events] == [True, False, True, False]
    assert [event.ornaments.vibrato for event in phrase.events] == [False, False, True, False]
    assert phrase.left_out[0].what == "palm mute"


def test_parts_named_over_a_system_and_apart():
    two = "\n".join(a + b[2:] for a, b in zip(BAR.splitlines(), BAR.splitlines(), strict=True))
    text = f"[Call]              [Answer]\n{two}\n\n[Turnaround]\n\n{BAR}"
    assert read(text).parts == (
        Part("Call", F(0), F(4)), Part("Answer", F(4), F(8)), Part("Turnaround", F(8), F(12))
    )  # fmt: skip


def test_a_part_may_begin_inside_a_bar():
    assert read(f"[Call]     [Answer]\n{BAR}").parts == (Part("Call", F(0), F(2)), Part("Answer", F(2), F(4)))


def dotted(start: str, end: str, tail: str = "") -> str:
    lines = []
    for name in "eBGDAE":
        dots = name in "GD"
        body = "-5---7---5---8---" if name == "G" else "-" * 17
        left = start if dots else start.replace("o", "-").replace("*", "-").replace(":", "-")
        right = end if dots else end.replace("o", "-").replace("*", "-").replace(":", "-")
        lines.append(f"{name}{left}{body}{right}{tail if name == 'e' else ''}")
    return "\n".join(lines)


@pytest.mark.parametrize(("start", "end"), [("||o", "o||"), ("|:", ":|"), ("||*", "*||"), ("|", ":|")])
def test_repeat_signs(start, end):
    phrase = read(dotted(start, end))
    assert phrase.repeats == (Repeat(F(0), F(4)),)
    assert len(phrase.events) == 4


def test_how_often_a_repeat_is_played():
    assert read(dotted("||o", "o||", " x3")).repeats == (Repeat(F(0), F(4), 3),)
    assert read(dotted("|", "|", "  (x4)")).repeats == (Repeat(F(0), F(4), 4),)
    assert read(dotted("|", "|", "  play 3 times")).repeats == (Repeat(F(0), F(4), 3),)


def test_endings_are_written_out():
    row = {"G": "-5---7---5---8---|-5-------5-------:|-7-------7-------|"}
    rest = "-" * 17 + "|" + "-" * 17 + "-|" + "-" * 17 + "|"
    lines = "\n".join(f"{name}|{row.get(name, rest)}" for name in "eBGDAE")
    phrase = read("                    1.________________  2._____________\n" + lines)
    assert [event.midi[0] - 55 for event in phrase.events] == [5, 7, 5, 8, 5, 5, 5, 7, 5, 8, 7, 7]


def test_double_bar_lines_are_no_empty_bars():
    text = "\n".join(line.replace("|", "||") for line in BAR.splitlines())
    assert read(text).end == 4


def test_look_alike_characters_and_other_line_ends():
    drawn = BAR.replace("-", "─").replace("|", "│").replace("\n", "\r\n").replace("e│", "e┃")
    assert read(drawn).events == read(BAR).events
    wide = BAR.replace("5", "５").replace("-", "–")
    assert [event.midi for event in read(wide).events] == [event.midi for event in read(BAR).events]
    assert [event.midi for event in read(BAR.replace("-", "—").replace("\n", "\r")).events] == [
        event.midi for event in read(BAR).events
    ]
    tabbed = "\n".join("\t" + line for line in BAR.splitlines())
    assert [event.onset for event in read(tabbed).events] == [0, 1, 2, 3]


@pytest.mark.parametrize(
    "row", ["G|-5---7---5--8---|", "G|-5---7---5---8-----|", "G|--5---7---5---8--|", "G|-5---7---5---8|"]
)
def test_bar_lines_that_do_not_stand_under_the_others_are_counted(row):
    text = BAR.replace("G|-5---7---5---8---|", row)
    phrase = read(f"{text}\n\n{BAR}")
    assert [event.midi for event in phrase.events] == [event.midi for event in read(f"{BAR}\n\n{BAR}").events]
    assert phrase.end == 8
    moved = [one for one in phrase.left_out if one.kind == "moved-bar-lines"]
    assert len(moved) == (row != "G|--5---7---5---8--|")
    assert all(one.place.line == 3 for one in moved)


@pytest.mark.parametrize("words", ["(repeat)", "x2", "(x2)", "2x", "bis", "Play twice.", "repeat x2", "(répéter)"])
@pytest.mark.parametrize("under", [False, True])
def test_a_repeat_in_words_after_or_under_a_system_is_played(words, under):
    lines = BAR.splitlines()
    text = "\n".join([*lines, words] if under else [f"{lines[0]} {words}", *lines[1:]])
    phrase = read(text)
    assert phrase.repeats == (Repeat(F(0), F(4), 2),)
    assert "repeats-in-words" not in [one.kind for one in phrase.left_out]


@pytest.mark.parametrize(
    "text",
    [f"[Riff x2]\n{BAR}", f"{BAR}\n\nrepeat the first line\n", f"Riff (3x)\n{BAR}", f"{BAR}\n\n(repeat)\n\n{BAR}"],
)
def test_a_repeat_in_words_that_is_not_clear_is_told(text):
    phrase = read(text)
    assert phrase.repeats == ()
    (told,) = [one for one in phrase.left_out if one.kind == "repeats-in-words"]
    assert "in words" in told.what
    assert told.place.line is not None


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "the source is empty"),
        ("only words here\n", "no tab in the source"),
        ("e|--5--|\nB|--5--|\nG|--5--|\n", "line 1: 3 string lines together; 4 to 8"),
        ("e|--5--|\n\nB|--5--|\n\n", "line 1: 1 string line together"),
        ("e|--5--|\n" * 9, "line 1: 9 string lines together"),
        (BAR.replace("G|-5---7---5---8---|", "G|-5---7-|-5--8---|"), "line 3, column 10: there is a bar line here"),
        (BAR.replace("D|-----------------|", "D|-----------------"), "line 4, column 20: there is no bar line here"),
        (BAR.replace("D|-", "D-"), "line 4, column 2: this string does not begin like the others"),
        (f"{BAR}\n\n" + BAR.replace("E|", "D|"), "line 8: the letters before the strings differ"),
        (f"{BAR}\n\n" + "\n".join(BAR.splitlines()[:4]), "line 8: a system of 4 strings among systems of 6"),
        (BAR.replace("e|-----------------|", "e|-----------------| x99"), "line 1: repeated 99 times"),
    ],
)
def test_broken_layouts_name_their_line(text, message):
    with pytest.raises(ReadError, match=message):
        read(text)


def test_the_format_is_told_by_its_content():
    assert find_reader(BAR.encode()).name == "fret-tab"
    assert find_reader(b"e|--5--|\nB|--5--|\n", name="x.txt").name == "fret-tab"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("[signs]\n", r"signs\.toml, 'brackets': this is missing"),
        (
            "harmonics = []\n[signs]\n'~' = 'shake'\n[brackets]\n[legend]\n",
            r"signs\.toml, 'signs\[...\]': 'shake' is not one of the words known here",
        ),
        ("[", r"signs\.toml: not TOML"),
    ],
)
def test_a_wrong_table_of_signs_says_where(text, message):
    with pytest.raises(SettingsError, match=message):
        parse_signs(text)


@pytest.mark.parametrize("text", ["[lute]\ntitle = 'lute'\n", "[lute]\ntitle = 'lute'\nstrings = ['Q9']\n"])
def test_a_wrong_table_of_stringings_says_where(text):
    with pytest.raises(SettingsError, match=r"stringings\.toml, 'lute"):
        parse_stringings(text)


@pytest.mark.parametrize(
    ("labels", "size"),
    [
        ("e B G D A E", 6),
        ("e B G D A E " * 2, 6),
        ("e B G D A E " * 3, 6),
        ("G D A E", 4),
        ("G D A E " * 2, 4),
        ("G D A E " * 3, 4),
        ("e B G D A E B F#", 8),
        ("G D A E B " * 2, 5),
        ("G D A E G", 5),
        ("e B G D A E B " * 2, 7),
        ("e B G D A E B F# " * 2, 8),
        (". " * 6, 6),
        (". " * 12, 6),
        (". " * 8, 8),
        (". " * 9, 0),
        ("e B G D A E " + ". " * 6, 0),
        ("G D A", 0),
    ],
)
def test_strings_without_a_gap_between_systems_are_parted_where_their_letters_come_back(labels, size):
    lines = [StringLine(number, label.strip("."), 0, "|---|") for number, label in enumerate(labels.split())]
    assert _size_of(lines) == size


@pytest.mark.parametrize(
    ("words", "midis"),
    [
        ("e a d g b e", (64, 59, 55, 50, 45, 40)),
        ("EADGBE", (64, 59, 55, 50, 45, 40)),
        ("d a d g b e", (64, 59, 55, 50, 45, 38)),
        ("D, A, D, G, B, E", (64, 59, 55, 50, 45, 38)),
        ("Eb Ab Db Gb Bb Eb", (63, 58, 54, 49, 44, 39)),
        ("C#-F#-B-E-G#-C#", (61, 56, 52, 47, 42, 37)),
        ("e2 a2 d3 g3 b3 e4", (64, 59, 55, 50, 45, 40)),
        ("Standard tuning", (64, 59, 55, 50, 45, 40)),
        ("Drop D (low string down)", (64, 59, 55, 50, 45, 38)),
    ],
)
def test_a_tuning_of_strings_is_said_by_name_or_by_letters_however_they_are_written(words, midis):
    """The usual tuning is E2 A2 D3 G3 B3 E4, MIDI 40 to 64; a flat is a semitone lower."""
    assert stringing_of_words(words, 6) == midis


@pytest.mark.parametrize("words", ["E A D G B", "E A D G B x", "E A D G B E!", "no such"])
def test_what_names_no_tuning_of_strings_is_told(words):
    with pytest.raises(ReadError) as told:
        stringing_of_words(words, 6)
    assert told.value.key == "tab.tuning_of_strings"


@pytest.mark.parametrize(("said", "repeats"), [("x1", ()), ("x64", (Repeat(F(0), F(4), 64),))])
def test_a_system_may_be_said_to_be_played_once(said, repeats):
    assert read(BAR.replace("e|-----------------|", f"e|-----------------| {said}")).repeats == repeats


@pytest.mark.parametrize("said", ["x0", "x65"])
def test_what_can_not_be_played_so_often_is_told(said):
    with pytest.raises(ReadError, match=f"line 1: repeated {said[1:]} times"):
        read(BAR.replace("e|-----------------|", f"e|-----------------| {said}"))
