"""Day 0: the cast, the book with its items and boxes, the words."""

from accounts.models import Person
from board.books import actions as books
from board.books.actions import BookDraft, write_credit, writer
from board.books.actions.boxes import Place, move_box, place_box
from board.books.actions.describing import describe
from board.books.models import Box, Item
from board.books.rules import Ends
from board.checks.actions.press import ConditionDraft, set_condition
from board.management.demo.story import Facts, Story
from board.permits import Role
from board.repro.profiles import stand_in
from board.slips.actions.texts import make_text_version

MM_AN_INCH = 25.4
INK_SOURCE = "common practice for uncoated stock, no source; ask the printer"
FIRST_ESTIMATE = "; a coated profile until the printer sends one"


def make_book(story: Story, event: Facts) -> None:
    """Make everybody, and the book by its editor."""
    facts = story.facts
    for row in facts["cast"]:
        story.people[row["initials"]] = Person.objects.create_person(
            email=row["email"], name=row["name"], initials=row["initials"]
        )
    editor = story.people["DC"]
    Person.objects.filter(pk=editor.pk).update(keeps_house=True)
    editor.refresh_from_db()
    story.book = books.make_book(by=editor, draft=_draft(facts), event=story.event())
    _set_limits(story, editor)
    first = writer(editor, Role.EDITOR)
    for row in facts["cast"]:
        for role in row["roles"]:
            person = story.people[row["initials"]]
            write_credit(story.book, person, Role(role), by=first)
    rows = Item.objects.filter(book=story.book).select_related("book")
    story.items = {item.label: item for item in rows.order_by("position")}
    for row in facts["items"]:
        _place_boxes(story, row)


def set_press(story: Story) -> None:
    """Set the printing condition, with the profile that came with the board."""
    press = story.facts["press"]
    draft = ConditionDraft(
        name=f"{press['process'].capitalize()}{FIRST_ESTIMATE}",
        ink_limit=press["total_ink_limit_percent"],
        ink_source=INK_SOURCE,
        profile=stand_in(),
    )
    set_condition(
        by=story.people["GS"],
        book=story.the_book(),
        draft=draft,
        event=story.event(),
    )


def _draft(facts: Facts) -> BookDraft:
    return BookDraft(
        title=facts["title"],
        house=facts["house"],
        trim_width_mm=facts["trim_mm"][0],
        trim_height_mm=facts["trim_mm"][1],
        roles=[Role.EDITOR],
        extent=facts["extent"],
        ends=Ends(facts["ends"]),
        bleed_mm=facts["bleed_in"] * MM_AN_INCH,
        safe_mm=facts["safe_in"] * MM_AN_INCH,
        gutter_mm=facts["gutter_band_in"] * MM_AN_INCH,
        art_percent=facts["art_percent"],
    )


def _set_limits(story: Story, editor: Person) -> None:
    """The demo's pictures are small, and so are the house's limits of resolution."""
    ppi, book = story.facts["ppi"], story.the_book()
    limits = {"ppi_warn": ppi["warn"], "ppi_stop": ppi["stop"]}
    story.book = books.change_book(book, limits, by=editor, version=book.version)


def _place_boxes(story: Story, row: Facts) -> None:
    item, by = story.items[row["label"]], story.people["DC"]
    if row.get("type_box"):
        _place(story, item, by, Box.Sort.TYPE, "", row["type_box"])
    for focal in row.get("focal_boxes", []):
        region = focal.get("first", focal["region"])
        _place(story, item, by, Box.Sort.FOCAL, focal["name"], region)


def move_boxes(story: Story, item: Item) -> None:
    """A head that was drawn anew takes its focal box along."""
    row = next(row for row in story.facts["items"] if row["label"] == item.label)
    for focal in row.get("focal_boxes", []):
        if "first" in focal:
            box = item.boxes.get(label=focal["name"])
            move_box(
                box,
                Place(*focal["region"]),
                by=story.people["DC"],
                label=box.label,
                version=box.version,
            )


def _place(
    story: Story, item: Item, by: Person, sort: str, label: str, region: list[float]
) -> None:
    place = Place(*region)
    place_box(item, place, by=by, sort=sort, label=label, event=story.event())


def describe_all(story: Story, event: Facts) -> None:
    """Say what each picture shows, for who cannot see it and for the e-book."""
    shows = {row["label"]: row["shows"] for row in story.facts["items"]}
    for item in story.items_of(event):
        describe(
            item,
            shows[item.label],
            by=story.people[event["by"]],
            version=story.fresh(item).version,
            event=story.event(),
        )


def text_version(story: Story, event: Facts) -> None:
    """Keep the words of a version, through the act that lapses what depends on them."""
    wanted = next(
        row for row in story.facts["manuscript"] if row["version"] == event["version"]
    )
    words = {}
    for row in wanted.get("texts", wanted.get("changed", [])):
        note = row.get("art_note", "").strip().strip("[]")
        hint = f"\n[{note}]" if note else ""
        words[story.items[row["item"]].key] = row["text"] + hint
    make_text_version(
        by=story.people[event["by"]],
        book=story.the_book(),
        words=words,
        reasons={
            "reason": wanted.get("why", ""),
            "code": wanted.get("code", ""),
            "payer": wanted.get("payer", ""),
        },
        event=story.event(),
    )
