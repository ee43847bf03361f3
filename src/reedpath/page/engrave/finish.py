"""Finishing touches on an engraved SVG: a size in millimetres, faces that every renderer has, a name."""

from __future__ import annotations

import re
from xml.sax.saxutils import escape, quoteattr

from reedpath.errors import PageError
from reedpath.page.score.elements import clean_text

__all__ = ["FACES", "finished_svg"]

# faces for the tab and the words: the hand-out's own, then what systems have
FACES = "'Libertinus Serif', 'Times New Roman', 'Liberation Serif', Times, serif"
# notes within text stand in the private area of music faces (SMuFL 1.4, metronome marks); plain Unicode
# shows in every renderer
PLAIN_NOTES = {"\ueca5": "♩", "\ueca7": "♪", "\ueca9": "♬", "\uecb7": "."}
# how much lower the tab is set than the engraver puts it, in its hundredths of a millimetre before scaling:
# faces of systems are taller than the one it measures with, and would touch low beams; from trial
TAB_DROP = 110

_ROOT = re.compile(r'<svg viewBox="0 0 (\d+) (\d+)"')
_TEMPO = re.compile(r'(<g id="[^"]*" class="tempo"[^>]*><text [^>]*>)(.*?)(</text>)')
_TSPAN = re.compile(r'<tspan font-size="(\d+)px">')
_TAG = re.compile(r"<[^>]*>")
_PLACEHOLDER = re.compile(r'(<g [^>]*class="[^"]*placeholder[^"]*"[^>]*>)<ellipse [^>]*/>')
_UNUSED_STYLE = re.compile(r"#\w+ g\.(?:cursor|cursor\.chord|placeholder) \{[^}]*\}")
_TAB = re.compile(r'(class="syl"><text x="\d+" y=")(\d+)(")')


def _plain_tempo(match: re.Match[str]) -> str:
    """A tempo in one run of text, its note a plain sign, so that no renderer loses a space or a glyph."""
    size = _TSPAN.search(match[2])
    text = _TAG.sub("", match[2]).replace("\xa0", " ")
    text = "".join(PLAIN_NOTES.get(sign, sign) for sign in text).strip()
    text = text.replace(" .", ".")
    height = size[1] if size else "400"
    return f'{match[1]}<tspan font-size="{height}px" xml:space="preserve">{text}</tspan>{match[3]}'


def finished_svg(svg: str, *, width_mm: float, title: str) -> str:
    """The SVG with its size, its faces and its title set.

    width_mm : width of the picture; the height follows.
    title : what it is called; empty for no title.
    """
    root = _ROOT.match(svg)
    if root is None:
        raise PageError("the engraver gave no picture")
    width, height = int(root[1]), int(root[2])
    name = clean_text(title)
    size = f'width="{width_mm:g}mm" height="{width_mm * height / width:.2f}mm"'
    label = f" aria-label={quoteattr(name)}" if name else ""
    svg = _ROOT.sub(f'<svg role="img"{label} {size} viewBox="0 0 {width} {height}"', svg, count=1)
    svg = re.sub(r"<desc>.*?</desc>", lambda _: f"<title>{escape(name)}</title>" if name else "", svg, count=1)
    svg = svg.replace('font-family="Times, serif"', f'font-family="{FACES}"')
    svg = _PLACEHOLDER.sub(r"\1", _UNUSED_STYLE.sub("", svg))
    svg = _TAB.sub(lambda match: f"{match[1]}{int(match[2]) + TAB_DROP}{match[3]}", svg)
    return _TEMPO.sub(_plain_tempo, svg)
