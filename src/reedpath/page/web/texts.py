"""What the page tells in one language, as HTML: facts, steps part by part, spots, cautions."""

from __future__ import annotations

from dataclasses import dataclass

from reedpath.lesson import Lesson, PartGroup, StepBlock, StepGroup, part_groups
from reedpath.page.handout.contents import facts_of
from reedpath.page.handout.rows import beside_tables, change_rows, place_of, spot_rows
from reedpath.page.score.sheet import Sheet, left_out_of
from reedpath.page.web.markup import element, text
from reedpath.page.web.symbols import MoveSymbols
from reedpath.wording import CAUTIONS, Catalogue, left_out_blocks


@dataclass(frozen=True, slots=True)
class PageTexts:
    """Tells a lesson in one language.

    lesson, sheet : what is told.
    signs : its moves as symbols.
    words : the language.
    level : of the headings of its sections.
    """

    lesson: Lesson
    sheet: Sheet
    signs: MoveSymbols
    words: Catalogue
    level: int = 2

    # ------------------------------------------------------------------------------------------------- the top

    def facts(self) -> str:
        """What a player must know first."""
        rows = facts_of(self.sheet.route, self.words)
        pairs = "".join(
            element("div", element("dt", text(row["label"]), class_="label") + element("dd", text(row["value"])))
            for row in rows
        )
        return element("dl", pairs, class_="facts")

    # ----------------------------------------------------------------------------------------------- the steps

    def _sign(self, group: StepGroup) -> str:
        """The sign of the move that a row speaks of, where it is one."""
        signs = {self.signs.of_events[index] for index in group.moves}
        return self.signs.picture(signs.pop()) if len(signs) == 1 else ""

    def _row(self, group: StepGroup) -> str:
        """What is said together; it can be tapped to be heard where it speaks of events.

        What says how they are played is lit while they are.
        """
        told = element("span", text(group.text), class_="words")
        if group.first is None:
            return element("li", told)
        content = element("span", self._sign(group), class_="sign", aria_hidden="true") + told
        return element(
            "li",
            element(
                "button",
                content,
                type="button",
                class_="step" if group.is_of_playing else "step around",
                data_first=group.first,
                data_last=group.last,
            ),
        )

    def _heading(self, block: StepBlock) -> str:
        """The heading of a block, with the part's bars and a button to hear it."""
        parts = [self.lesson.parts[index] for index in block.parts]
        if not parts:
            return element(f"h{self.level + 1}", text(block.title))
        first, last = parts[0].first, parts[-1].last
        place = element("small", text(place_of(self.sheet, first, last, self.words)))
        named = text(block.title) if block.is_through else f"{text(block.title)} {place}"
        heading = element(f"h{self.level + 1}", named)
        return element("div", heading + self._hear(block.title, first, last), class_="headed")

    def _hear(self, title: str, first: int, last: int) -> str:
        label = text(self.words.say("web.practise", what=title))
        return element(
            "button",
            '<svg class="icon" aria-hidden="true"><use href="#icon-play"/></svg>'
            + element("span", text(self.words.say("web.practise_short")), aria_hidden="true")
            + f'<span class="unseen">{label}</span>',
            type="button",
            class_="practise control",
            data_first=first,
            data_last=last,
        )

    def _block(self, block: StepBlock) -> str:
        rows = element("ol", "".join(self._row(group) for group in block.groups if group.text))
        return element("section", self._heading(block) + rows, class_="block")

    def steps(self) -> str:
        """What the teacher says, block by block, but for spots and tempos; many parts folded by their groups."""
        blocks = beside_tables(self.lesson, self.words)
        groups = part_groups(self.lesson)
        if not groups:
            return "".join(self._block(block) for block in blocks)
        told: dict[int, list[str]] = {}
        for block in blocks:
            ends = [index for index, one in enumerate(groups) if block.parts and one.last >= block.parts[-1]]
            told.setdefault(ends[0] if ends else -1, []).append(self._block(block))
        folded = [self._fold(groups[index], "".join(told[index]), index) for index in sorted(told) if index >= 0]
        return "".join(told.get(-1, [])) + "".join(folded)

    def _fold(self, group: PartGroup, content: str, index: int) -> str:
        """The steps of a group of parts; those of the first are unfolded."""
        first, last = self.lesson.parts[group.first].first, self.lesson.parts[group.last].last
        place = element("small", text(place_of(self.sheet, first, last, self.words)))
        summary = element("summary", element("b", text(group.name(self.lesson, self.words))) + place)
        return element("details", summary + content, class_="part-group", open=index == 0)

    # ----------------------------------------------------------------------------------------------- the rest

    def spots(self) -> str:
        """The spots to practise apart; empty where there is none."""
        told = []
        for row, drill in zip(spot_rows(self.sheet, self.lesson, self.words), self.lesson.drills, strict=True):
            place = element("small", text(row["place"]))
            heading = element(f"h{self.level + 1}", f"{text(row['title'])} {place}")
            hear = self._hear(row["title"], drill.spot.first, drill.spot.last)
            numbers = self.signs.of_events[drill.spot.first : drill.spot.last + 1]
            moves = element(
                "p", "".join(self.signs.picture(one) for one in numbers), class_="moves", aria_hidden="true"
            )
            headed = element("div", heading + hear, class_="headed")
            told.append(element("section", headed + moves + element("p", text(row["text"])), class_="block"))
        return "".join(told)

    def changes(self) -> str:
        """What differs from the source; empty where nothing does."""
        rows = change_rows(self.sheet, self.words)
        return element("ul", "".join(element("li", text(row)) for row in rows)) if rows else ""

    def left_out(self) -> str:
        """What the lesson does not hold of its source, and what was guessed; empty where there is nothing."""
        return "".join(
            element(f"h{self.level}", text(block.title))
            + element("ul", "".join(element("li", text(line)) for line in block.lines))
            for block in left_out_blocks(left_out_of(self.sheet), self.words)
        )


def cautions(words: Catalogue) -> str:
    """The usual cautions, in a language."""
    items = "".join(element("li", text(words.say(f"caution.{name}"))) for name in CAUTIONS)
    return element("ul", items, class_="cautions")
