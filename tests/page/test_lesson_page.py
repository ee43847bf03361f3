"""The lesson page as a file: one document, nothing from outside, every text a text."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from fractions import Fraction
from pathlib import Path

import pytest
from lxml import html

from reedpath.arrange import Change, ChangeKind, Spot
from reedpath.data import replace
from reedpath.errors import PageError, SettingsError
from reedpath.lesson import Drill, Lesson, Rung, make_lesson, part_groups
from reedpath.page import CountInBeat, PageSound, encode_lesson_page
from reedpath.page.web.document import KEYS
from reedpath.page.web.words import stretches_of
from reedpath.phrase import timing_of
from reedpath.wording import load_catalogue
from support.built_routes import built_route
from support.drawn_routes import alphabet_route, empty_route, graces_route, long_note_route, one_note_route
from support.routes import choose, lesson_of

RUNGS = (Rung("slow", 0.5, 50.0), Rung("full", 1.0, 100.0))
PARTS = (("A", 0, 3, None), ("B", 4, 5, None), ("A", 6, 9, 0))
HOSTILE = "</script><script>sting()</script>\"'><img src=x onerror=sting()>]]>--><!--\x00\u2028{$title}\ud800&amp;"


def small_lesson(**fields: object) -> Lesson:
    """Two parts, the first of them twice, and a spot; our own invention."""
    route = built_route("2d:1 3d':1/2 4b:1/2 4d:1 2d 1d 2d:1 3d':1/2 4b:1/2 4d:1", key="A")
    lesson = lesson_of(route, title="Gravel", parts=PARTS)
    return replace(lesson, **({"drills": (Drill(Spot(1, 2, 3.0, ("move",)), 5, RUNGS),)} | fields))


def sound_of(lesson: Lesson, rung: Rung = RUNGS[0], *, data: bytes = b"no true sound") -> PageSound:
    """A sound's times by the phrase's own tempo, a second of count-in before it."""
    timing = timing_of(lesson.route.phrase).scaled(rung.factor)
    events = [one.event for one in lesson.route.events]
    return PageSound(
        rung,
        "audio/mpeg",
        data,
        starts=tuple(1.0 + timing.seconds_at(event.onset) for event in events),
        ends=tuple(1.0 + timing.seconds_at(event.end) for event in events),
        bar_end_seconds=1.0 + timing.seconds_at(lesson.route.phrase.end + 1),
        counts=(CountInBeat(0.1, 1), CountInBeat(0.55, 2)),
    )


def page_of(lesson: Lesson, **fields: object) -> html.HtmlElement:
    sounds = [sound_of(lesson, rung) for rung in RUNGS]
    return html.document_fromstring(encode_lesson_page(lesson, **({"sounds": sounds} | fields)))  # type: ignore[arg-type]


def data_of(page: html.HtmlElement) -> dict:
    return json.loads(page.xpath("//script[@type='application/json']/text()")[0])


LESSONS = {
    "small": small_lesson(),
    "alphabet": lesson_of(alphabet_route(), title="Every sign"),
    "graces": lesson_of(graces_route(), title="Small change"),
    "long note": lesson_of(long_note_route(), title="Long way home"),
    "one note": lesson_of(one_note_route(), title="One"),
}


# --------------------------------------------------------------------------------------------------- the document


@pytest.mark.parametrize("name", LESSONS)
def test_every_name_in_the_document_is_there_once_and_leads_somewhere(name):
    page = page_of(LESSONS[name])
    names = page.xpath("//@id")
    assert len(names) == len(set(names))
    led_to = [*page.xpath("//@for"), *page.xpath("//@aria-labelledby"), *(one[1:] for one in page.xpath("//@href"))]
    assert led_to
    assert [one for one in led_to if one not in names and one] == []


def test_nothing_comes_from_outside():
    text = encode_lesson_page(small_lesson(), sounds=[sound_of(small_lesson())]).decode()
    without_names = text.replace("http://www.w3.org/2000/svg", "")
    assert re.findall(r"https?:|//[a-z]+\.[a-z]", without_names) == []
    page = html.document_fromstring(text.encode())
    assert page.xpath("//link | //iframe | //img | //object | //form | //@style") == []
    assert {one.split(",")[0] for one in page.xpath("//@src")} == {"data:audio/mpeg;base64"}
    assert [name for name in page.xpath("//@*") if getattr(name, "attrname", "").startswith("on")] == []


def test_only_its_own_script_and_style_may_run():
    page = page_of(small_lesson())
    policy = page.xpath("//meta[@http-equiv='Content-Security-Policy']/@content")[0]
    rules = dict(one.split(" ", 1) for one in policy.split("; "))
    assert rules["default-src"] == "'none'"
    assert rules["media-src"] == "data: blob:"

    def signed(text: str) -> str:
        return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"

    assert rules["script-src"] == signed(page.xpath("//script[@type='module']")[0].text)
    assert rules["style-src"] == signed(page.xpath("//style")[0].text)


def test_the_sounds_are_in_it():
    lesson = small_lesson()
    page = page_of(lesson, sounds=[sound_of(lesson, data=b"one"), sound_of(lesson, RUNGS[1], data=b"two")])
    held = [base64.b64decode(one.split(",")[1]) for one in page.xpath("//audio/@src")]
    assert held == [b"one", b"two"]
    assert page.xpath("//input[@name='rung']/@value") == ["0", "1"]


def test_the_same_lesson_gives_the_same_bytes():
    lesson = small_lesson()
    assert len({encode_lesson_page(lesson, sounds=[sound_of(lesson)]) for _ in range(2)}) == 1


def test_steps_and_cautions_are_told_in_every_language():
    page = page_of(small_lesson())
    for name, step, is_hidden in (("en", "2 draw", False), ("fr", "2 aspiré", True)):
        told = [one for one in page.xpath(f"//div[@class='told'][@lang='{name}']") if step in one.text_content()]
        assert told
        assert all(("hidden" in one.attrib) == is_hidden for one in told)
        everything = " ".join(page.xpath(f"//div[@class='told'][@lang='{name}']//text()"))
        for caution in ("dizzy", "lungs", "pain", "ears", "sharing", "reeds", "law"):
            assert load_catalogue(name).say(f"caution.{caution}") in everything


def test_what_differs_from_the_source_is_told_in_every_language():
    lesson = small_lesson()
    other = choose(lesson.route, 1, changes=(Change(ChangeKind.OCTAVE, (82,), (70,), 0.5),))
    page = page_of(replace(lesson, route=other), languages=("en", "fr"))
    for name, note in (("en", "B♭5 is played as B♭4"), ("fr", "si♭")):
        told = page.xpath(f"//section[@class='changes']//div[@class='told'][@lang='{name}']")
        assert any(note in one.text_content() for one in told), [one.text_content() for one in told]


def test_languages_are_the_lessons_own_unless_others_are_asked_for():
    french = page_of(small_lesson(), languages=["fr"])
    assert french.get("lang") == "fr"
    assert french.xpath("//*[@class='languages']/button") == []
    assert list(data_of(french)["words"]) == ["fr"]
    assert "Jouer avec" in french.text_content()
    both = page_of(small_lesson(), languages=["fr", "en"])
    assert both.get("lang") == "fr"
    pressed = {one.get("lang"): one.get("aria-pressed") for one in both.xpath("//*[@class='languages']/button")}
    assert pressed == {"fr": "true", "en": "false"}


def test_tab_stands_in_the_lessons_notation():
    arrows = page_of(small_lesson(notation="arrow"))
    signs = page_of(small_lesson(notation="sign"))
    assert "↓" in "".join(arrows.xpath("//symbol//text()"))
    assert "↓" not in "".join(signs.xpath("//symbol//text()"))
    assert "↓" in "".join(arrows.xpath("//pre//text()"))


def test_steps_know_the_events_they_speak_of():
    page = page_of(small_lesson())
    spans = {(int(one.get("data-first")), int(one.get("data-last"))) for one in page.xpath("//button[@class='step']")}
    assert {(0, 0), (1, 1), (4, 4), (6, 9)} <= spans
    chosen = [
        (one.get("data-first"), one.get("data-last")) for one in page.xpath("//button[contains(@class, 'practise')]")
    ]
    assert {("0", "3"), ("4", "5"), ("6", "9"), ("1", "2")} <= set(chosen)


def test_what_speaks_of_more_than_the_playing_is_not_marked_while_it_sounds():
    page = page_of(small_lesson())
    around = [
        (int(one.get("data-first")), int(one.get("data-last")))
        for one in page.xpath("//button[@class='step around']")
    ]
    # all of it from the start, and how its parts join
    assert {(0, 9), (3, 4), (5, 6)} <= set(around)
    titles = page.xpath("//section[@class='block'][.//button[@class='step around'][@data-last='9']]//h3")
    assert {title.text_content().strip() for title in titles} == {
        "All of it, from the start",
        "Le tout, depuis le début",
    }
    script = page.xpath("//script[not(@type='application/json')]")[0].text
    assert ".step:not(.around)" in script


def test_the_spots_on_the_ribbon_are_those_to_practise_under_their_numbers():
    drills = (Drill(Spot(4, 5, 9.0, ("move",)), 5, RUNGS), Drill(Spot(1, 2, 3.0, ("move",)), 5, RUNGS))
    route = replace(small_lesson().route, spots=(Spot(8, 9, 1.0, ("move",)),))
    page = page_of(small_lesson(route=route, drills=drills))
    numbers = page.xpath("//*[@class='run']//text[@class='spot_text']/text()")
    assert sorted(numbers) == ["1", "2"]
    assert [one.text_content() for one in page.xpath("//label[starts-with(@for, 'stretch-')]/span")][-3:-1] == [
        "Spot 1", "Spot 2",
    ]  # fmt: skip


def test_all_of_it_its_parts_where_it_has_several_and_its_spots_are_stretches():
    lesson = small_lesson()
    for count, parts in ((1, []), (2, ["part", "part"]), (3, ["part"] * 3)):
        found = stretches_of(replace(lesson, parts=lesson.parts[:count]))
        assert [one.kind for one in found] == ["whole", *parts, "spot"]
        assert (found[0].first, found[0].last) == (0, 9)
    assert [(one.first, one.last) for one in found[1:-1]] == [(one.first, one.last) for one in lesson.parts]


@pytest.mark.slow
def test_many_parts_are_folded_by_their_groups_and_a_long_title_is_short_at_first():
    phrase = "2d:1 3d:1/2 4d:1/2 4b:1 4d:1 5d:1 4d:1/2 4b:1/2 3d:1 2d:1 3d:1 4d:1 5d:1 6b:1 5d:1 4d:1 2d:2"
    lesson = make_lesson(built_route(" ".join([phrase] * 10), bpm=112), title="Long " * 30)
    found, groups = stretches_of(lesson), part_groups(lesson)
    kinds = [one.kind for one in found]
    assert len(lesson.parts) > 8
    assert kinds == sorted(kinds, key=["whole", "group", "spot", "part"].index)
    assert kinds.count("group") == len(groups)
    page = page_of(lesson)
    folded = page.xpath("//details[@class='all-parts']//input/@id")
    assert folded == [f"stretch-{index}" for index, one in enumerate(found) if one.kind == "part"]
    assert len(page.xpath("//details[@class='part-group']")) == len(lesson.languages) * len(groups)
    blocks = page.xpath("//section[@class='block'][ancestor::details[@class='part-group']]//button[@data-first]")
    assert max(int(one.get("data-last")) for one in blocks) == len(lesson.route.events) - 1
    assert page.xpath("//details[@class='title']/summary/h1/text()") == [("Long " * 30).strip()]
    assert not page_of(LESSONS["small"]).xpath(
        "//details[@class='all-parts' or @class='part-group' or @class='title']"
    )


def test_every_move_that_comes_has_a_sign_and_lights_its_holes():
    lesson = LESSONS["alphabet"]
    page, data = page_of(lesson), data_of(page_of(lesson))
    assert len(data["signs"]) == len(lesson.route.events)
    assert set(data["signs"]) == set(range(len(page.xpath("//symbol[starts-with(@id, 'sign-')]"))))
    for event, sign in zip(lesson.route.events, data["signs"], strict=True):
        lit = page.xpath(f"//*[@class='harp']//*[@class='lit'][@data-sign='{sign}']")
        holes = event.choice.move.holes if event.choice.move else ()
        assert len(lit) == bool(holes)
        if holes:
            shown = lit[0].xpath(".//text/text()")
            assert shown == [str(hole) for hole in holes]


# ------------------------------------------------------------------------------------------------- little or much


def test_an_empty_lesson_is_a_page_that_says_so():
    lesson = lesson_of(empty_route(), title="Nothing", parts=(("A", 0, -1, None),))
    lesson = replace(lesson, parts=(), drills=())
    page = html.document_fromstring(encode_lesson_page(lesson, sounds=[]))
    assert "There is nothing to play." in page.text_content()
    assert page.xpath("//*[@id='player']") == []
    assert data_of(page)["sounds"] == []


def test_a_page_without_sound_is_a_page_to_read():
    page = page_of(small_lesson(), sounds=[])
    assert page.xpath("//*[@id='player'] | //audio | //kbd") == []
    assert len(page.xpath("//*[@class='systems']/svg")) >= 1


def test_an_untitled_lesson_is_called_by_its_harp():
    page = page_of(small_lesson(title=" \x00 "))
    assert page.xpath("//head/title/text()") == page.xpath("//h1/text()") == ["A harp"]


@pytest.mark.slow
def test_a_long_lesson_stays_small():
    text = "2d:1/2 3d' 4b 4d 2d 1d 3d 2d'' " * 40
    lesson = lesson_of(built_route(text), title="Long")
    page = encode_lesson_page(lesson, sounds=[sound_of(lesson)])
    assert len(lesson.route.events) == 320
    assert len(page) < 1_600_000


# ------------------------------------------------------------------------------------------------------- mistrust


def test_hostile_names_stay_text_everywhere():
    lesson = small_lesson(title=HOSTILE)
    parts = tuple(replace(part, label=HOSTILE) for part in lesson.parts)
    lesson = replace(
        lesson, parts=parts, route=replace(lesson.route, phrase=replace(lesson.route.phrase, title=HOSTILE))
    )
    page = page_of(lesson)
    assert len(page.xpath("//script")) == 2
    assert page.xpath("//img") == []
    assert page.xpath("//head/title/text()") == page.xpath("//h1/text()")
    assert "</script><script>sting()</script>" in page.xpath("//head/title/text()")[0]
    assert data_of(page)["words"]["en"]["stretches"][1]["name"].startswith("</script><script>")
    assert len(page.xpath("//section")) == len(page_of(small_lesson()).xpath("//section"))


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"starts": (1.0,)}, r"sound at 50 a minute: 1 starts and 10 ends for 10 events"),
        ({"media_type": 'audio/x" onplay="sting()'}, r"is not a type of sound"),
        ({"starts": (5.0, 4.0, *range(6, 14))}, r"event 1 starts at 4 s, before the one before it"),
    ],
)
def test_sounds_that_do_not_fit_are_refused(changed, says):
    lesson = small_lesson()
    with pytest.raises(PageError, match=says):
        encode_lesson_page(lesson, sounds=[replace(sound_of(lesson), **changed)])


def test_languages_that_are_not_there_are_refused():
    with pytest.raises(PageError, match="needs a language"):
        encode_lesson_page(small_lesson(), sounds=[], languages=[])
    with pytest.raises(SettingsError, match="there is no language named 'xx'"):
        encode_lesson_page(small_lesson(), sounds=[], languages=["xx"])


def test_tempos_are_told_in_the_beats_that_are_counted():
    from reedpath.phrase import Metre

    route = built_route("2d:1/2 3d' 4b " * 4, metres=[Metre(Fraction(0), 6, 8)], bpm=90.0)
    lesson = lesson_of(route, title="Jig")
    data = data_of(page_of(lesson))
    assert data["words"]["en"]["rungs"][1]["tempos"][0] == "♩. = 66.7"
    assert data["words"]["fr"]["rungs"][1]["tempos"][0] == "♩. = 66,7"
    assert data["words"]["fr"]["percents"][0] == "100\u202f%"
    assert data["words"]["en"]["percents"][0] == "100%"


def test_the_document_knows_every_key():
    text = (Path(__file__).parents[2] / "docs" / "lesson-page.md").read_text(encoding="utf-8")
    english = load_catalogue("en")
    assert [name for _, name in KEYS if f"| {english.say(f'web.key_{name}')} |" not in text] == []
    told = page_of(small_lesson()).xpath("//dl[@class='keys']/dd/text()")
    assert told == [english.say(f"web.key_{name}") for _, name in KEYS]
