"""Collage sources, the continuity sheet and the reading, as the files tell them."""

from datetime import timedelta

from board.books.models import Item
from board.clippings.actions import UseDraft
from board.clippings.actions.records import change_source, enter_source
from board.clippings.models import Clipping, Use
from board.continuity.actions import enter_thing, enter_values, mark_place
from board.daybook.actions import replayed_at, this_moment
from board.management.demo.story import Facts, Story
from board.readings.actions import begin_reading, hold_reading
from board.revisions.models import Revision
from board.slips.actions.clearances import change_clearance, mark_use, take_off_use

KINDS = {
    "C01": "own painted paper",
    "C02": "public domain",
    "C03": "permitted",
    "C04": "own photocopy",
    "C05": "licensed",
    "C06": "family paper",
    "C07": "orphan",
    "C08": "other",
    "C09": "orphan",
    "C10": "bought pattern paper",
}
GRANTS = {
    "C03": {"credit_wording": "Ledger pages by kind leave of the shopkeeper's family."},
    "C05": {"credit_wording": "School map by Fennel Atlas Co.", "territory": "world"},
    "C06": {"credit_wording": "With thanks to the family who kept the letter."},
    "C10": {"territory": "world", "document": "maker's licence, in the rights file"},
}
STEADY = {
    "strap over shoulder": "She is home: the bag hangs on its hook.",
    "heron": "It has come as far as the step.",
    "Granna's bandage": "",
    "Otti's coat": "It hangs by the door.",
    "Granna's shawl": "",
}
FIRST_FINAL = "fa1"
TOOK = timedelta(minutes=6, seconds=40)


def enter_all(story: Story) -> None:
    """Day 0: every source that the artist knows, judged as far as rights can."""
    for row in _rows(story):
        if row["clearance"][0]["day"] == 0:
            _enter(story, row)
    _follow_things(story)


def _rows(story: Story) -> list[Facts]:
    return list(story.sources)


def _enter(story: Story, row: Facts) -> Clipping:
    book, artist = story.the_book(), story.people["TOV"]
    draft = {
        "code": row["id"],
        "what": row["what"],
        "kind": KINDS.get(row["id"], "own painted paper"),
        "remark": row["remark"] if _is_known(row) else "",
    }
    made = enter_source(by=artist, book=book, draft=draft, event=story.event())
    first = row["clearance"][0]
    if first["state"] != "unknown":
        _judge(story, row, made, first["state"])
    for label in row["used_on"]:
        if label not in row.get("only_in", {}):
            _mark(story, made, story.items[label], None)
    return made


def _is_known(row: Facts) -> bool:
    """Whether nothing about the source is found out later."""
    return len(row["clearance"]) == 1 and "only_in" not in row


def _because(row: Facts, state: str) -> str:
    if state == "asked":
        return ""
    basis, remark = str(row["basis"]), str(row["remark"])
    return basis.partition("(")[2].rstrip(")") or remark


def _judge(story: Story, row: Facts, source: Clipping, state: str) -> None:
    rights = story.people["PH"]
    change_clearance(
        by=rights,
        clipping=source,
        clearance=state,
        because=_because(row, state),
        event=story.event(),
    )
    if state == "granted" and row["id"] in GRANTS:
        source.refresh_from_db()
        change_source(
            by=rights,
            source=source,
            draft=GRANTS[row["id"]],
            version=source.version,
            event=story.event(),
        )


def _mark(
    story: Story,
    source: Clipping,
    item: Item,
    first: Revision | None,
    loop: list[list[float]] | None = None,
) -> Use:
    return mark_use(
        by=story.people["TOV"],
        clipping=source,
        item=story.fresh(item),
        draft=UseDraft("loop" if loop else "", loop or [], first),
        event=story.event(),
    )


def clearance(story: Story, event: Facts) -> None:
    """Rights judges a source on this day."""
    row = next(row for row in _rows(story) if row["id"] == event["source"])
    source = story.the_book().clippings.get(code=event["source"])
    _judge(story, row, source, event["state"])


def turn(story: Story, revision: Revision, name: str) -> None:
    """Before a picture goes up: say which sources come with it and which are gone."""
    label = revision.item.label
    if name == FIRST_FINAL:
        _follow_places(story, revision.item)
    for row in _rows(story):
        only = row.get("only_in", {}).get(label)
        loop = row.get("places", {}).get(label)
        if only is None:
            if loop and name == FIRST_FINAL:
                source = story.the_book().clippings.get(code=row["id"])
                _mark(story, source, revision.item, None, loop)
            continue
        known = story.the_book().clippings.filter(code=row["id"]).first()
        there = known and known.uses.filter(item=revision.item, gone_from=None).first()
        if name in only and not there:
            _mark(story, known or _enter(story, row), revision.item, revision, loop)
        if name not in only and there:
            take_off_use(
                by=story.people["TOV"],
                use=there,
                gone_from=revision,
                event=story.event(),
            )


def _follow_places(story: Story, item: Item) -> None:
    """With the first final, the artist draws where the followed things are on it."""
    for name, places in story.facts["continuity_places"].items():
        if item.label in places:
            mark_place(
                by=story.people["TOV"],
                thing=story.the_book().things.get(name=name),
                item=story.fresh(item),
                points=places[item.label],
                event=story.event(),
            )


def _follow_things(story: Story) -> None:
    editor = story.people["DC"]
    for name, values in story.facts["continuity"].items():
        thing = enter_thing(
            by=editor,
            book=story.the_book(),
            name=name,
            steady=name in STEADY,
            event=story.event(),
        )
        typed = {
            story.items[label].key: (
                value,
                STEADY.get(name, "") if label == "28-29" else "",
            )
            for label, value in values.items()
            if value
        }
        enter_values(by=editor, thing=thing, values=typed, event=story.event())


def reading(story: Story, event: Facts) -> None:
    """A read-through, begun some minutes before it is recorded."""
    by, book = story.people[event["by"]], story.the_book()
    with replayed_at(this_moment() - TOOK):
        word = begin_reading(by=by, book=book)
    hold_reading(by=by, book=book, word=word, event=story.event())
