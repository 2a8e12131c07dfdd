"""The line of a sitting: every message, what is withheld, and what a bad line misses.

The same tests run on the in-memory layer and, where a Redis is given, on Redis pub/sub.
"""

import os
from collections.abc import AsyncIterator
from typing import Any

import pytest
import pytest_asyncio
from asgiref.sync import sync_to_async

from board.books.actions import credits
from board.books.models import Credit
from board.permits import Role
from board.sittings.consumers import line
from board.sittings.queries import sitting_for
from board.slips.actions import announcing, notes, sheets
from board.slips.consumers import hub
from board.slips.queries.events import events_for
from tests import make
from tests.sittings.conftest import Sat
from tests.sittings.lines import Page, Told

pytestmark = pytest.mark.django_db(transaction=True)
REDIS = os.environ.get("BOARD_TEST_REDIS_URL", "")
PUBSUB = "channels_redis.pubsub.RedisPubSubChannelLayer"


@pytest.fixture(
    params=["memory", pytest.param("redis", marks=pytest.mark.services)], autouse=True
)
def layer(request: pytest.FixtureRequest, settings: Any) -> str:
    """Each test on both layers."""
    if request.param == "redis":
        if not REDIS:
            pytest.skip("BOARD_TEST_REDIS_URL names no Redis")
        settings.CHANNEL_LAYERS = {
            "default": {"BACKEND": PUBSUB, "CONFIG": {"hosts": [REDIS]}}
        }
    return str(request.param)


@pytest_asyncio.fixture
async def opened(sat: Sat) -> AsyncIterator[Sat]:
    await sync_to_async(sat.open)()
    yield sat


async def test_only_who_is_on_the_book_sits_in(opened: Sat) -> None:
    for who, code in ((None, 4401), (opened.cast.stranger, 4404)):
        page = Page(opened.sitting, who)
        await page.ask()
        assert await page.hear() == {"type": "close", "code": code}


async def test_the_state_tells_where_the_sitting_is_and_who_sits_there(
    opened: Sat,
) -> None:
    head = await Page(opened.sitting, opened.cast.art_director).open()
    author = await Page(opened.sitting, opened.cast.author).open()
    assert author.state["fresh"]
    assert author.state["turn"]["item"] == opened.first.key
    seats = (await head.until("seats"))["seats"]
    while len(seats) < 2:
        seats = (await head.until("seats"))["seats"]
    assert [one["key"] for one in seats] == [
        opened.cast.art_director.key,
        opened.cast.author.key,
    ]
    await author.hang_up()
    while len(seats) > 1:
        seats = (await head.until("seats"))["seats"]
    await head.hang_up()


async def test_a_note_reaches_those_who_may_see_it_under_their_own_next_number(
    opened: Sat,
) -> None:
    editor = await Page(opened.sitting, opened.cast.editor).open()
    artist = await Page(opened.sitting, opened.cast.illustrator).open()
    await sync_to_async(opened.note)(opened.cast.author, "Marzipan gull.")
    told = await editor.until("event")
    assert told["number"] == editor.state["number"] + 1
    assert told["note"]["words"] == "Marzipan gull."
    assert await artist.hears_no("event")
    await sync_to_async(opened.decide)("hold", remark="Wait.")
    told = await artist.until("event")
    assert told["number"] == artist.state["number"] + 1  # no gap tells of the note
    assert (told["word"], told["remark"]) == ("hold", "Wait.")
    await editor.hang_up()
    await artist.hang_up()


async def test_a_withheld_note_shows_by_no_event_number_or_gap_until_it_is_issued(
    opened: Sat,
) -> None:
    cast = opened.cast
    artist = await Page(opened.sitting, cast.illustrator).open()
    begun = artist.state["number"]

    def play() -> None:
        waits = opened.note(cast.author, "Marzipan gull.", sort="query")
        opened.note(cast.art_director, "Walnut lantern.")
        opened.decide("return")
        notes.decline(by=cast.editor, note=waits, reason="No.", event=make.event())
        opened.decide("hold")

    await sync_to_async(play)()
    told = await artist.events(2)
    assert [one["number"] for one in told] == [begun + 1, begun + 2]
    assert "Marzipan" not in str(told)
    assert "Walnut" not in str(told)
    issue = sync_to_async(sheets.issue_sheet)
    await issue(by=cast.art_director, item=opened.first, event=make.event())
    heard: list[Told] = []
    while not any("note sheet" in one["kind"] for one in heard):
        heard.append(await artist.until("event"))
    numbers = [one["number"] for one in heard]
    assert numbers == list(range(begun + 3, begun + 3 + len(heard)))
    assert "Walnut lantern." in str(heard)
    assert "Marzipan" not in str(heard)
    await artist.hang_up()


async def test_who_was_away_gets_what_was_missed_once_and_in_order(opened: Sat) -> None:
    cast = opened.cast
    page = await Page(opened.sitting, cast.designer).open()
    number, sight = page.state["number"], page.state["sight"]
    await page.hang_up()
    for word in ("hold", "return", "OK"):
        await sync_to_async(opened.decide)(word)
    back = await Page(opened.sitting, cast.designer, since=number, sight=sight).open()
    assert not back.state["fresh"]
    told = await back.events(3)
    assert [one["number"] for one in told] == [number + 1, number + 2, number + 3]
    assert [one["word"] for one in told] == ["hold", "return", "OK"]
    await back.say(type="missed", since=number + 2)
    await back.until("state")
    assert [one["number"] for one in await back.events(1)] == [number + 3]
    assert await back.hears_no("event")
    await back.hang_up()


async def test_a_long_absence_and_another_sight_get_the_whole_state_anew(
    opened: Sat, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("board.sittings.queries.state.MOST_MISSED", 2)
    cast = opened.cast
    first = await Page(opened.sitting, cast.designer).open()
    sight = first.state["sight"]
    await first.hang_up()
    long_ago = await Page(opened.sitting, cast.designer, since=0, sight=sight).open()
    assert long_ago.state["fresh"]
    assert long_ago.state["number"] == first.state["number"]
    await long_ago.hang_up()
    other = await Page(opened.sitting, cast.designer, since=1, sight="another").open()
    assert other.state["fresh"]
    await other.hang_up()


async def test_the_chairs_look_is_kept_and_seen_by_everybody(opened: Sat) -> None:
    head = await Page(opened.sitting, opened.cast.art_director).open()
    author = await Page(opened.sitting, opened.cast.author).open()
    await head.say(
        type="look", view="lay-over", over=30, x=0.2, y=0.4, wide=0.5, high=0.5
    )
    told = await author.until("look")
    assert told["look"]["view"] == "lay-over"
    assert told["look"]["over"] == 30
    await author.say(type="look", view="sheet")
    assert (await author.until("refused"))["status"] == 403
    kept = await sync_to_async(sitting_for)(opened.cast.author, opened.sitting.key)
    assert kept.look["over"] == 30  # a server that comes back takes it from here
    await head.hang_up()
    await author.hang_up()


async def test_a_pencil_tip_is_seen_by_the_others_at_most_ten_times_a_second(
    opened: Sat,
) -> None:
    head = await Page(opened.sitting, opened.cast.art_director).open()
    author = await Page(opened.sitting, opened.cast.author).open()
    for step in range(14):
        await head.say(type="pointer", item=opened.first.key, x=step / 20, y=0.5)
    seen = 0
    while not await author.hears_no("pointer"):
        seen += 1
    assert 10 <= seen <= 12
    assert await head.hears_no("pointer")
    await head.hang_up()
    await author.hang_up()


async def test_who_looks_alone_is_told_to_everybody(opened: Sat) -> None:
    head = await Page(opened.sitting, opened.cast.art_director).open()
    await head.say(type="follow", on=False)
    seats = (await head.until("seats"))["seats"]
    while seats[0]["follows"]:
        seats = (await head.until("seats"))["seats"]
    await head.hang_up()


@pytest.mark.parametrize(
    "text",
    [
        "{{{",
        "[]",
        "[" * 3000,
        '{"type":"dance"}',
        '{"type":"pointer","item":"x","x":"left","y":0}',
        '{"type":"pointer","item":7,"x":0,"y":0}',
        '{"type":"look","view":"sideways"}',
        '{"type":"missed","since":-4}',
        '{"type":"missed","since":true}',
    ],
)
async def test_what_is_not_understood_is_refused_in_words(
    opened: Sat, text: str
) -> None:
    head = await Page(opened.sitting, opened.cast.art_director).open()
    await head.send(text)
    assert (await head.until("refused"))["status"] == 422
    for _ in range(line.UNREAD):
        await head.send("{}")
    assert (await head.until("close"))["code"] == 4422
    await head.hang_up()


async def test_a_message_that_is_too_long_shuts_the_line(opened: Sat) -> None:
    head = await Page(opened.sitting, opened.cast.art_director).open()
    await head.say(type="look", view="x" * 5000)
    assert (await head.until("close"))["code"] == 4413
    await head.hang_up()


async def test_a_page_that_says_too_much_is_shut_out(opened: Sat) -> None:
    head = await Page(opened.sitting, opened.cast.art_director).open()
    for _ in range(80):
        await head.say(type="pointer", item=opened.first.key, x=0.5, y=0.5)
    assert (await head.until("close"))["code"] == 4429
    await head.hang_up()


async def test_who_loses_the_credit_is_dropped_at_once(opened: Sat) -> None:
    page = await Page(opened.sitting, opened.cast.designer).open()
    credit = await Credit.objects.aget(person=opened.cast.designer)
    end = sync_to_async(credits.end_credit)
    await end(credit, by=opened.cast.editor, event=make.event())
    assert (await page.until("close"))["code"] == 4403
    await page.hang_up()


async def test_another_credit_gives_another_sight_and_a_fresh_count(
    opened: Sat,
) -> None:
    cast = opened.cast
    await sync_to_async(opened.note)(cast.author, "Marzipan gull.")
    page = await Page(opened.sitting, cast.designer).open()
    give = sync_to_async(credits.give_credit)
    await give(book=opened.book, person=cast.designer, role=Role.EDITOR, by=cast.editor)
    told = await page.until("state")
    assert told["fresh"]
    assert told["sight"] != page.state["sight"]
    assert told["number"] == page.state["number"] + 2  # the note, and the credit
    await page.hang_up()


async def test_what_nobody_rings_for_arrives_all_the_same(
    opened: Sat, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A worker's rings never cross from its process on the in-memory layer."""
    monkeypatch.setattr(hub, "LOOK_EVERY_S", 0.1)
    page = await Page(opened.sitting, opened.cast.designer).open()
    monkeypatch.setattr(announcing, "_send", lambda group, message: None)
    await sync_to_async(opened.decide)("hold")
    assert (await page.until("event"))["word"] == "hold"
    await page.hang_up()


async def test_what_the_line_tells_is_what_the_record_counts(opened: Sat) -> None:
    """Told one by one or counted whole, every reader has the same numbers."""
    cast = opened.cast
    readers = (cast.illustrator, cast.author, cast.editor, cast.designer)
    pages = [await Page(opened.sitting, who).open() for who in readers]

    def play() -> None:
        waits = opened.note(cast.author, "Marzipan gull.", sort="query")
        opened.decide("hold")
        opened.note(cast.designer, "Clear the type.")
        notes.pass_on(by=cast.editor, note=waits, words="", event=make.event())
        opened.decide("return")
        sheets.issue_sheet(by=cast.art_director, item=opened.first, event=make.event())

    await sync_to_async(play)()
    for who, page in zip(readers, pages, strict=True):
        begun = page.state["number"]
        whole, total = await sync_to_async(events_for)(
            who, opened.book, since=begun, limit=500
        )
        told = await page.events(total - begun)
        assert [(one["number"], one["sentence"]) for one in told] == [
            (one.number, one.sentence) for one in whole
        ]
        assert await page.hears_no("event")
        await page.hang_up()
