"""What follows from extent and ends: items, spreads, stages. Plain values."""

import re
from dataclasses import dataclass
from enum import StrEnum

from board.errors import NotUnderstood, WrongMove


class InvitationClosed(WrongMove):
    """An invitation that was used, withdrawn or ran out."""

    status = 410
    says = (
        "This invitation is not open any more: it was used, taken back, or its time "
        "ran out. If you came in before, sign in; else ask whoever invited you for a "
        "new one."
    )


class Stage(StrEnum):
    """A step of the work; drawn before painted."""

    THUMBNAILS = "thumbnails"
    SKETCH = "sketch"
    WASHES = "washes"
    FINAL = "final"


STAGES = tuple(Stage)
DRAWN = frozenset({Stage.THUMBNAILS, Stage.SKETCH})
PAINTED = frozenset({Stage.WASHES, Stage.FINAL})


class Standing(StrEnum):
    """Where an item stands at a stage."""

    SHUT = "shut"
    AT_THE_TABLE = "at the table"
    HUNG = "hung"
    RETURNED = "returned"
    OK_AS_CORRECTED = "OK as corrected"
    OK = "OK"
    HANDED_OVER = "handed over"


class Ends(StrEnum):
    SELF = "self-ended"
    SEPARATE = "separate ends"


class Kind(StrEnum):
    SPREAD = "spread"
    SINGLE = "single page"
    PASTEDOWN = "pastedown"
    ENDS = "ends"
    TITLE = "title"
    JACKET = "jacket"
    CASE = "case"


@dataclass(frozen=True)
class ItemPlan:
    """An item that a book of this extent has: kind, pages (0 outside), story or not."""

    kind: Kind
    first: int
    last: int
    story: bool = False

    @property
    def label(self) -> str:
        if self.first == 0:
            return str(self.kind)
        return (
            f"{self.first}-{self.last}" if self.last > self.first else f"{self.first}"
        )


def spread_of(k: int) -> tuple[int, int]:
    """The pages of spread k: 2k and 2k + 1 (page 1 is a lone recto)."""
    return 2 * k, 2 * k + 1


def items_of(extent: int, ends: Ends) -> list[ItemPlan]:
    """Every item of the book in page order, jacket and case last.

    Page 1 is a lone recto, the last page a lone verso (common practice: extent tables
    of picture-book printers; 32 pages give 12 story spreads self-ended, 14 separate).
    """
    if extent % 4 or not 8 <= extent <= 96:
        raise NotUnderstood(
            f"An extent of {extent} pages cannot be folded. "
            "Use a multiple of 4 from 8 to 96; 24, 32, 40 and 48 are usual."
        )
    plans = _self_ended(extent) if ends is Ends.SELF else _separate(extent)
    return [*plans, ItemPlan(Kind.JACKET, 0, 0), ItemPlan(Kind.CASE, 0, 0)]


def _self_ended(extent: int) -> list[ItemPlan]:
    front = [
        ItemPlan(Kind.PASTEDOWN, 1, 1),
        ItemPlan(Kind.ENDS, 2, 3),
        ItemPlan(Kind.TITLE, 4, 5),
    ]
    story = [
        ItemPlan(Kind.SPREAD, page, page + 1, story=True)
        for page in range(6, extent - 2, 2)
    ]
    back = [
        ItemPlan(Kind.ENDS, extent - 2, extent - 1),
        ItemPlan(Kind.PASTEDOWN, extent, extent),
    ]
    return front + story + back


def _separate(extent: int) -> list[ItemPlan]:
    front = [ItemPlan(Kind.SINGLE, 1, 1), ItemPlan(Kind.TITLE, 2, 3)]
    story = [
        ItemPlan(Kind.SPREAD, page, page + 1, story=True)
        for page in range(4, extent, 2)
    ]
    return [*front, *story, ItemPlan(Kind.SINGLE, extent, extent)]


def story_spreads(extent: int, ends: Ends) -> int:
    """How many spreads carry the story."""
    return sum(plan.story for plan in items_of(extent, ends))


def extent_table(
    extents: tuple[int, ...] = (24, 32, 36, 40, 48),
) -> list[tuple[int, int, int]]:
    """Story spreads by extent: self-ended, separate ends."""
    return [
        (pages, story_spreads(pages, Ends.SELF), story_spreads(pages, Ends.SEPARATE))
        for pages in extents
    ]


def natural_spreads(extent: int, *, signature: int = 16) -> list[tuple[int, int]]:
    """Spreads printed side by side at each signature's centre (ask the printer first)."""
    middles = range(signature // 2, extent, signature)
    return [(page, page + 1) for page in middles]


def split_manuscript(pasted: str, spreads: int) -> list[str]:
    """Share a pasted manuscript over the story spreads.

    Parts are divided by lines that hold only a number, a rule of dashes or "spread n";
    without such lines by blank lines. Too many parts: the last spread takes the rest.
    """
    lines = pasted.replace("\r\n", "\n").strip().split("\n")
    marked = any(_is_break(line) for line in lines)
    parts: list[list[str]] = [[]]
    for line in lines:
        if _is_break(line) if marked else not line.strip():
            parts.append([])
        else:
            parts[-1].append(line.strip())
    texts = [" ".join(part).strip() for part in parts]
    texts = [text for text in texts if text]
    if len(texts) > spreads:
        texts = [*texts[: spreads - 1], "\n\n".join(texts[spreads - 1 :])]
    return texts + [""] * (spreads - len(texts))


def take_out_art_notes(text: str) -> tuple[str, str]:
    """The words to be read, and the author's bracketed hints to the artist."""
    hints = [hint.strip() for hint in re.findall(r"\[([^\[\]]*)\]", text)]
    lines = re.sub(r"\[[^\[\]]*\]", " ", text).split("\n")
    words = "\n".join(" ".join(line.split()) for line in lines).strip()
    return words, " ".join(hint for hint in hints if hint)


def count_words(text: str) -> int:
    """Words as a reader counts them: whatever stands between spaces and says something."""
    return sum(any(sign.isalnum() for sign in part) for part in text.split())


def reading_minutes(words: int, spreads: int, *, words_a_minute: int) -> float:
    """Aloud on a lap: the words, and 8 s of looking a spread (from practice)."""
    return words / words_a_minute + spreads * 8 / 60


def _is_break(line: str) -> bool:
    bare = line.strip().lower().rstrip(".:")
    if not bare:
        return False
    if set(bare) <= set("-*_ "):
        return len(bare) >= 3
    return bare.removeprefix("spread").strip().isdigit()
