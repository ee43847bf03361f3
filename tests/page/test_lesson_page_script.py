"""The lesson page's script and style: small, whole modules without a build, and no rule of music in them."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from reedpath.page.web.assets import format_inks, joined_script, module_names, module_text

# the budget of all our script in a page, bytes, and of one module, lines (docs/house.md)
BUDGET, LINES = 60_000, 300
WEB = Path(__file__).parents[2] / "src" / "reedpath" / "page" / "web"


def test_the_script_keeps_to_its_budget():
    assert len(joined_script().encode()) <= BUDGET
    assert {
        name: module_text(name).count("\n") for name in module_names() if module_text(name).count("\n") > LINES
    } == {}


def test_every_module_is_in_the_page_once_and_in_order():
    script = joined_script()
    for name in module_names():
        first = module_text(name).splitlines()[0]
        assert first.startswith("// ")
        assert script.count(first) == 1
    assert (
        script.index("function lastUntil") < script.index("function makeDeck") < script.index("function startPlayer")
    )


def test_what_is_left_is_one_module_without_imports():
    assert re.findall(r"^\s*(import|export)\b.*", joined_script(), re.MULTILINE) == []
    assert "import(" not in joined_script()


def test_no_two_modules_share_a_name():
    pattern = re.compile(r"^(?:export )?(?:async )?(?:function|const|let|class) (\w+)", re.MULTILINE)
    names = [name for module in module_names() for name in pattern.findall(module_text(module))]
    assert len(names) > 15
    assert sorted(names) == sorted(set(names))


@pytest.mark.parametrize("name", module_names())
def test_no_musical_rule_and_no_sentence_stands_in_a_module(name):
    text = re.sub(r"//.*|/\*.*?\*/", "", module_text(name))
    strings = re.findall(r"\"([^\"\n]*)\"|'([^'\n]*)'", text)
    words = [one or other for one, other in strings]
    music = re.compile(r"^([A-G][#♯b♭]?\d?|blow|draw|bend|sharp|flat|major|minor|overblow|overdraw)$")
    assert [word for word in words if music.match(word)] == []
    assert [word for word in words if re.search(r"[A-Za-z]{2,} [a-z]{2,} [a-z]{2,}", word)] == []
    assert re.findall(r"\b(440|midi|semitone|cents|bpm|hertz|quarter)\b", text, re.IGNORECASE) == []


@pytest.mark.parametrize("name", module_names())
def test_no_module_reaches_out_or_writes_markup(name):
    outside = (
        r"\bfetch\(|XMLHttpRequest|WebSocket|sendBeacon|innerHTML|outerHTML|insertAdjacentHTML|document\.write|eval\("
    )
    assert re.findall(outside, module_text(name)) == []


def test_every_role_of_the_drawing_is_inked_by_variables():
    style = format_inks()
    for palette in ("#0f5257", "#7fd0cf", "#1a1a1a"):  # blow on paper, at night, in print
        assert f"--blow:{palette};" in style
    assert "path.blow,text.blow,rect.blow{fill:var(--blow);stroke:var(--blow);}" in style
    assert style.count("{") == style.count("}")


def test_the_style_uses_the_palettes_inks_alone():
    style = "".join((WEB / name).read_text(encoding="utf-8") for name in ("controls.css", "page.css"))
    assert re.findall(r"#[0-9a-f]{3,8}\b|rgba?\(|hsl", re.sub(r"^#[\w-]+", "", style, flags=re.MULTILINE)) == []
    used = set(re.findall(r"var\((--[a-z-]+)\)", style))
    known = set(re.findall(r"(--[a-z-]+):", format_inks() + style))
    assert used - known == {"--rows", "--comb-rows", "--strip-rows", "--lead-rows", "--head-rows"}
