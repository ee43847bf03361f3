"""The measure of how far pictures stand out finds what does not, and nothing else."""

from __future__ import annotations

from support.browsers import NEEDS_BROWSER, started_browser
from support.svg_contrast import BACKINGS, LOST

pytestmark = NEEDS_BROWSER

# #767676 on white is 4.54:1 and #777777 4.48:1; #949494 is 3.03:1 and #969696 2.96:1 (reckoned by the formula of WCAG
# 2.2, definition of contrast ratio)
PICTURE = """<body style="background: #ffffff"><svg width="400" height="200">
<text x="10" y="20" fill="#767676">enough</text><text class="faint" x="90" y="20" fill="#777777">too faint</text>
<line x1="10" x2="390" y1="40" y2="40" stroke="#949494" stroke-width="3"/>
<line class="faint" x1="10" x2="390" y1="60" y2="60" stroke="#969696" stroke-width="3"/>
<rect class="ground" x="10" y="80" width="380" height="60" fill="#222222"/>
<path class="dark" d="M20 100L380 100" stroke="#444444" stroke-width="3"/>
<path d="M20 110L380 110" stroke="#ffffff" stroke-width="3"/>
<circle class="hidden" cx="20" cy="160" r="5" fill="#ffffff" visibility="hidden"/>
<circle class="thin" cx="60" cy="160" r="5" fill="#000000" fill-opacity="0.3"/>
</svg></body>"""


def test_what_does_not_stand_out_is_found_and_nothing_else() -> None:
    with started_browser() as browser:
        page = browser.new_page()
        page.set_content(PICTURE)
        count, lost = page.evaluate(LOST, BACKINGS)
    assert count == 7  # neither the ground nor what is hidden
    assert [name.partition(" in ")[0] for name, _ in lost] == ["text.faint", "line.faint", "path.dark", "circle.thin"]
    assert [said.partition(" / ")[0] for _, said in lost[:2]] == ["4.48", "2.96"]
