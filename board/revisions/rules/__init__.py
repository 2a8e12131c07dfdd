"""Which item a file belongs to, told from its name; and the words for how it is laid."""

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from pathlib import PurePath

from board.books.rules import DRAWN, Kind, Stage
from board.errors import NotUnderstood, PictureRefused, TooLarge


class Declared(StrEnum):
    """What the artist says that a picture shows."""

    BLED = "bled"
    TRIMMED = "trimmed"
    CORNERS = "corners"


UNSURE = 0.5  # of a registration's confidence
DOUBT_MM = 1.0  # on the printed page (common practice, no source)
DECLARATIONS = {
    Declared.BLED: "the whole bled sheet, edge to edge",
    Declared.TRIMMED: "cut exactly to the trim",
    Declared.CORNERS: "more than the sheet: I tap the four corners of the trim",
}
REGISTERED = "registered"
PAIRS = "pairs"
Points = list[dict[str, list[float]]]
STEPS = ("received", "checked", "developed", "laid", "ready")
STEP_WORDS = {
    "": "Waiting for its turn.",
    "received": "Received. Checking what the file is.",
    "checked": "Checked. Developing the picture.",
    "developed": "Developed. Laying it on the sheet.",
    "laid": "Laid. Cutting it for the screen.",
    "ready": "Ready in the folder.",
    "unlaid": "In the folder, not laid.",
}


@dataclass(frozen=True)
class Place:
    """An item a file may belong to: its key and pages (0 outside the pages)."""

    key: str
    kind: Kind
    first: int
    last: int
    story: bool = False


@dataclass(frozen=True)
class Guess:
    """The item a name speaks of, or an empty key; the reason is for people."""

    key: str
    reason: str


@dataclass(frozen=True)
class Laying:
    """How the artist wants a revision laid: registered, by its word, or by pairs.

    points : for corners four places `here`, from the trim's top left clockwise; for
        pairs 2 to 4 places on the picture (`here`) and the same on the sheet (`there`);
        `here` in fractions of the picture, `there` of the trimmed sheet.
    """

    how: str
    points: Points = field(default_factory=list)


DATES = re.compile(r"(?<!\d)(?:19|20)\d\d[-_. ]?\d\d[-_. ]?\d\d(?!\d)")
CAMERA = re.compile(
    r"\b(?:img|dsc[nf]?|dcim|pict|pxl|scan|photo|image|screenshot)[ _-]*\d+"
)
# Numbers that count something else: revisions, resolutions, copies, sheets of paper.
COUNTED = re.compile(
    r"\b(?:rev|revision|version|v|r|sk|sketch|th|thumb|thumbs|wa|wash|washes|fa|fin"
    r"|final|take|copy|a)[ _.]*\d{1,2}\b"
    r"|\b\d+ ?(?:dpi|ppi|px|mm|cm|in|k|mb|bit)\b|\(\d+\)"
)
SPREAD = re.compile(r"\b(?:spread|spr|sp)[ .#]*0*(\d{1,2})\b")
PAIR = re.compile(
    r"(?<!\d)0{0,2}(\d{1,3}) ?(?:-|\+|&|to|and|und|et|,| ) ?(?:pp?\.? ?)?"
    r"0{0,2}(\d{1,3})(?!\d)"
)
GLUED = re.compile(r"(?<!\d)(\d\d)(\d\d)(?!\d)")
PAGE = re.compile(r"\b(?:p|pp|pg|page|s)[ .#]*0*(\d{1,3})\b")
NUMBER = re.compile(r"(?<!\d)0*(\d{1,3})(?!\d)")
NAMED: tuple[tuple[str, Kind], ...] = (
    (r"pastedowns?|paste downs?", Kind.PASTEDOWN),
    (r"ends|endpapers?|end papers?|eps?|endsheets?", Kind.ENDS),
    (r"title|titles|title page", Kind.TITLE),
    (r"jacket|dust jacket|cover|covers", Kind.JACKET),
    (r"case|case cover|plc", Kind.CASE),
)
BACK = re.compile(r"\b(?:back|rear|last|closing|end of book)\b")
FRONT = re.compile(r"\b(?:front|first|opening)\b")
STAGE_WORDS: tuple[tuple[str, Stage], ...] = (
    (r"th\d*|thumbs?|thumbnails?", Stage.THUMBNAILS),
    (r"sk\d*|sketch(?:es)?\d*|roughs?|pencils?", Stage.SKETCH),
    (r"wa\d*|wash(?:es)?\d*|colou?r ?roughs?|samples?", Stage.WASHES),
    (r"fa\d*|finals?\d*|finish(?:ed)?|final art", Stage.FINAL),
)


def guess_item(filename: str, places: Sequence[Place]) -> Guess:
    """Tell from page numbers or words in a file's name which item it is for."""
    name = _plain(filename)
    for ask in (_by_word, _by_spread, _by_pair, _by_page):
        found, why = ask(name, places)
        keys = list(dict.fromkeys(place.key for place in found))
        if len(keys) == 1:
            return Guess(keys[0], why)
        if keys:
            names = " or ".join(_called(place) for place in _once(found))
            return Guess("", f"The name could mean {names}. Choose which.")
    return Guess("", "The name says no page. Choose the item.")


def guess_stage(filename: str) -> Stage | None:
    """Tell which stage a file's name speaks of, if it does."""
    name = _plain(filename)
    found = [
        stage for words, stage in STAGE_WORDS if re.search(rf"\b(?:{words})\b", name)
    ]
    return found[0] if len(found) == 1 else None


def _plain(filename: str) -> str:
    """Lower case, one kind of dash, no extension, no dates and no camera's numbers."""
    name = unicodedata.normalize("NFKC", PurePath(filename).stem).casefold()
    name = re.sub(r"[\u2010-\u2015\u2212~]", "-", name)
    name = CAMERA.sub(" ", DATES.sub(" ", name))
    return re.sub(r"[_.\s]+", " ", name).strip()


def _by_word(name: str, places: Sequence[Place]) -> tuple[list[Place], str]:
    for words, kind in NAMED:
        if not re.search(rf"\b(?:{words})\b", name):
            continue
        of_kind = [place for place in places if place.kind is kind]
        return _front_or_back(name, of_kind), f"The name says \u201c{kind}\u201d."
    return [], ""


def _front_or_back(name: str, places: list[Place]) -> list[Place]:
    ordered = sorted(places, key=lambda place: place.first)
    if BACK.search(name):
        return ordered[-1:]
    return ordered[:1] if FRONT.search(name) else ordered


def _by_spread(name: str, places: Sequence[Place]) -> tuple[list[Place], str]:
    """A spread's number counts story spreads from the first, as manuscripts do."""
    numbers = {int(found) for found in SPREAD.findall(name)}
    story = sorted(
        (place for place in places if place.story), key=lambda place: place.first
    )
    hits = [story[n - 1] for n in sorted(numbers) if 1 <= n <= len(story)]
    if len(hits) != 1:
        return hits, ""
    number = min(numbers)
    return hits, f"Story spread {number}, counted from the first; check that."


def _by_pair(name: str, places: Sequence[Place]) -> tuple[list[Place], str]:
    bare = COUNTED.sub(" ", name)
    by_pages = {(place.first, place.last): place for place in places if place.first}
    pairs = [(int(a), int(b)) for a, b in PAIR.findall(bare) + GLUED.findall(bare)]
    hits = [by_pages[pair] for pair in pairs if pair in by_pages and _next_to(pair)]
    return hits, f"The name says pages {_called(hits[0])}." if hits else ""


def _next_to(pair: tuple[int, int]) -> bool:
    return pair[1] == pair[0] + 1


def _by_page(name: str, places: Sequence[Place]) -> tuple[list[Place], str]:
    bare = COUNTED.sub(" ", name)
    numbers = PAGE.findall(bare) or NUMBER.findall(bare)
    pages = {int(found) for found in numbers}
    hits = [
        place for place in places for page in pages if place.first <= page <= place.last
    ]
    hits = [place for place in hits if place.first]
    if not hits:
        return [], ""
    page = min(page for page in pages if hits[0].first <= page <= hits[0].last)
    if hits[0].last == hits[0].first:
        return hits, f"The name says page {page}."
    return hits, f"Page {page} lies on {_called(hits[0])}."


def _once(places: Sequence[Place]) -> list[Place]:
    return list({place.key: place for place in places}.values())


def _called(place: Place) -> str:
    if place.first == 0:
        return f"the {place.kind}"
    pages = f"{place.first}-{place.last}" if place.last > place.first else place.first
    return f"{pages}" if place.kind is Kind.SPREAD else f"the {place.kind} {pages}"


def across_manners(one: Stage, other: Stage) -> bool:
    """Whether one picture is drawn and the other painted."""
    return (one in DRAWN) is not (other in DRAWN)


def in_mb(count: int) -> str:
    """A number of bytes as people say it, the same on the page and in its script."""
    mb = count / 1e6
    return f"{mb:.1f} MB" if mb < 10 else f"{mb:,.0f} MB"


def shape_doubt(declared: str, off_mm: float) -> str:
    """What to ask when a picture's shape is not the shape that was declared."""
    if off_mm < DOUBT_MM:
        return ""
    what = "the whole bled sheet" if declared == "bled" else "cut to the trim"
    return (
        f"Its shape is {off_mm:.1f} mm off: is it really {what}? "
        "If not, lay it again by its four corners."
    )


def how_sure(confidence: float | None) -> str:
    """A word for a confidence from 0 to 1."""
    if confidence is None:
        return "not measured"
    if confidence >= 0.75:
        return "sure"
    return "fairly sure" if confidence >= UNSURE else "not very sure: look closely"


def require_lawful(filename: str, length: int, most_bytes: int) -> None:
    """Raise, in words, when a file of this name and size cannot be taken in."""
    if not filename.strip() or "\x00" in filename:
        raise NotUnderstood("The file has no name. Name it, then send it again.")
    if length <= 0:
        raise PictureRefused(
            "The file is empty. Look whether it opens, then resend it."
        )
    if length > most_bytes:
        raise TooLarge(
            f"{filename} has {length / 1e6:,.0f} MB; the board takes up to "
            f"{most_bytes / 1e6:,.0f} MB. Send it flattened or compressed."
        )


def require_points(laying: Laying) -> None:
    """Raise, in words, when the way to lay is unknown or its points do not fit it."""
    many = {Declared.CORNERS: (4, 4), PAIRS: (2, 4)}.get(laying.how, (0, 0))
    if laying.how not in {REGISTERED, PAIRS, *Declared}:
        raise NotUnderstood("Say how to lay it: by registration, its word or points.")
    if not many[0] <= len(laying.points) <= many[1]:
        wanted = "all four corners" if many[0] == 4 else "2 to 4 pairs of points"
        raise NotUnderstood(f"Mark {wanted}, then lay it.")
    sides = {"here", "there"} if laying.how == PAIRS else {"here"}
    for point in laying.points:
        values = [value for side in sides for value in point.get(side, [])]
        if len(values) != 2 * len(sides):
            raise NotUnderstood("A point lacks one of its two numbers. Mark it again.")
        if not all(-1 <= value <= 2 for value in values):
            raise NotUnderstood("A point lies far outside the picture. Move it.")
