"""Reading and writing without a line: nothing is lost, nothing is done twice."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import House, Looker
from tests.browser.cutting import cutting

pytestmark = pytest.mark.browser

LookIn = Callable[..., Looker]
PHONE = {"viewport": {"width": 360, "height": 740}, "has_touch": True}
NO_LINE = ("Failed to load", "ERR_", "WebSocket", "net::", "fetching the script")
KEPT = """async (path) => {
  await navigator.serviceWorker.ready;
  for (let tries = 0; tries < 300; tries += 1) {
    const page = await caches.match(path, { ignoreSearch: true });
    const list = await caches.match("/waiting/");
    const names = await caches.keys();
    const pocket = await caches.open(names.find((n) => n.startsWith("pocket:")) ?? "-");
    const pictures = (await pocket.keys()).filter((one) => one.url.endsWith(".picture"));
    if (page && list && pictures.length) return true;
    await new Promise((then) => setTimeout(then, 100));
  }
  return false;
}"""
POCKETS = """async () => {
  const names = (await caches.keys()).filter((name) => name.startsWith("pocket:"));
  const all = await Promise.all(
    names.map(async (name) => (await (await caches.open(name)).keys()).length));
  return all.reduce((sum, one) => sum + one, 0);
}"""


def room_of(who: Looker, house: House, key: str, base: str = "") -> Page:
    page = who.page
    page.goto(f"{base or house.address}/rooms/{key}/")
    expect(page.locator("board-picture[data-standing]")).to_be_visible()
    page.locator("html[data-started]").wait_for()  # the outbox too is there
    return page


def kept(page: Page, key: str) -> None:
    assert page.evaluate(KEPT, f"/rooms/{key}/"), "the page was not kept"


def write(page: Page, words: str, sort: str = "comment") -> None:
    fold = page.locator("[data-new-note]")
    if fold.get_attribute("open") is None:
        fold.locator("> summary").click()
    fold.locator(f"[name=sort][value={sort}]").check()
    fold.locator("textarea").fill(words)
    page.get_by_role("button", name="Pin the note").click()


def in_all(page: Page, words: str) -> None:
    """The note is in the room, once, open or ended."""
    expect(page.locator(".note", has_text=words)).to_have_count(1)


def waiting(page: Page) -> int:
    return page.locator("[data-waiting-list] > li").count()


def test_the_author_reads_writes_and_initials_on_the_ferry(
    house: House, looker: LookIn
) -> None:
    author = looker("author", is_mobile=True, **PHONE)
    author.expects = NO_LINE
    page = room_of(author, house, house.agreed)
    kept(page, house.agreed)

    author.context.set_offline(True)
    page.goto(house.url(f"/rooms/{house.agreed}/"))
    strip = page.locator("board-line")
    expect(strip).to_contain_text("As of")
    expect(strip).to_contain_text("offline")
    still = page.locator(".picture-still")
    assert still.evaluate("(one) => one.decode().then(() => one.naturalWidth)") > 100
    write(page, "The lamp is the sea's own.")
    expect(page.locator("[data-notice]")).to_contain_text("waits on this device")
    page.get_by_role("button", name="Initial: OK").click()
    expect(strip).to_contain_text("2 waiting to be sent")
    page.get_by_role("button", name="Initial: OK").click()
    expect(page.locator("board-waiting [data-waiting-list] > li")).to_have_count(2)
    author.see_no_violation()
    page.close()

    page = author.page = author.context.new_page()
    page.goto(house.url("/waiting/"))
    rows = page.locator("[data-waiting-list] > li")
    expect(rows).to_have_count(2)
    expect(rows.nth(1)).to_contain_text("initial: OK, words, on sketch, revision 1")
    rows.first.locator("summary").click()
    rows.first.locator("textarea").fill("The lamp is the sea itself, I think.")
    rows.first.get_by_role("button", name="Keep and send").click()
    expect(rows.first.locator(".waiting-words")).to_contain_text("I think")
    author.see_no_violation()

    author.context.set_offline(False)
    expect(page.locator("[data-waiting-none]")).to_be_visible()
    editor = looker("editor")
    page = room_of(editor, house, house.agreed)
    page.locator("#ended-notes > summary").or_(
        page.locator(".notes-head")
    ).first.click()
    in_all(page, "The lamp is the sea itself, I think.")
    expect(page.locator("#line-words .initial-box").first).not_to_be_empty()
    daybook = editor.into(house.url(f"/rooms/{house.agreed}/daybook/"))
    expect(
        daybook.locator(".daybook-entry", has_text="initialled words")
    ).to_have_count(1)


def test_an_answer_that_was_lost_on_the_way_is_on_record_once(
    house: House, looker: LookIn
) -> None:
    designer = looker("designer")
    designer.expects = (*NO_LINE, "404", "501", "400", "Unexpected response")
    with cutting(house.address) as line:
        page = room_of(designer, house, house.hung, base=line.address)
        line.cuts = 1
        write(page, "Said into a storm.")
        expect(page.locator("[data-notice]")).to_contain_text("waits on this device")
        for _ in range(200):
            if len(line.acts) > 1:
                break
            page.wait_for_timeout(100)
        expect(page.locator("board-line")).not_to_contain_text("waiting to be sent")
        # Sent twice, as one act: the board did it once and answered the same.
        assert [act.split()[-1] for act in line.acts] == ["200", "200"]
        page = room_of(designer, house, house.hung)
        in_all(page, "Said into a storm.")
        page.goto("about:blank")


def test_two_tabs_send_in_order_and_once(house: House, looker: LookIn) -> None:
    editor = looker("editor")
    editor.expects = NO_LINE
    one = room_of(editor, house, house.hung)
    other = editor.context.new_page()
    other.goto(house.url(f"/rooms/{house.hung}/"))
    editor.context.set_offline(True)
    for page, words in ((one, "First of two tabs."), (other, "Second of two tabs.")):
        write(page, words)
    expect(one.locator("board-line")).to_contain_text("2 waiting to be sent")
    expect(other.locator("board-line")).to_contain_text("2 waiting to be sent")
    editor.context.set_offline(False)
    for page in (one, other):
        expect(page.locator("board-line")).not_to_contain_text("waiting to be sent")
    page = room_of(editor, house, house.hung)
    for words in ("First of two tabs.", "Second of two tabs."):
        in_all(page, words)
    record = editor.into(house.url(f"/rooms/{house.hung}/daybook/"))
    expect(record.locator("main")).to_contain_text("note")


def test_a_note_waits_out_an_ended_session_and_is_hidden_from_the_next_person(
    house: House, looker: LookIn
) -> None:
    rights = looker("rights")
    rights.expects = (*NO_LINE, "401", "403")
    page = room_of(rights, house, house.hung)
    mine = rights.context.cookies()
    rights.context.clear_cookies()
    write(page, "Whose map is that?")
    expect(page.locator("[data-notice]")).to_contain_text("You are signed out")
    expect(page.locator("board-line")).to_contain_text("Sign in")

    # Somebody else comes in on the same device.
    page.goto(house.url(house.ways_in["publisher"]))
    page.locator("main form button").first.click()
    page.wait_for_url(lambda url: "/people/" not in url)
    page.goto(house.url("/waiting/"))
    expect(page.locator("[data-waiting-none]")).to_be_visible()
    assert waiting(page) == 0
    page = room_of(rights, house, house.hung)
    expect(page.locator(".note", has_text="Whose map")).to_have_count(0)
    expect(page.locator("[data-new-note] textarea")).to_have_value("")

    rights.context.clear_cookies()
    rights.context.add_cookies(mine)  # type: ignore[arg-type]  # playwright's own
    page = room_of(rights, house, house.hung)
    in_all(page, "Whose map is that?")


def test_what_the_board_will_not_take_comes_back_with_every_reason(
    house: House, looker: LookIn
) -> None:
    editor = looker("editor")
    editor.expects = NO_LINE
    page = room_of(editor, house, house.hung)
    editor.context.set_offline(True)
    write(page, "The hill is too near.", sort="direction")
    page.get_by_role("button", name="Initial: OK", exact=True).click()
    expect(page.locator("board-line")).to_contain_text("2 waiting")
    editor.context.set_offline(False)
    expect(page.locator("board-line")).to_contain_text("1 came back")
    in_all(page, "The hill is too near.")
    page.goto(house.url("/waiting/"))
    row = page.locator("[data-waiting-list] > li")
    expect(row).to_have_count(1)
    expect(row).to_contain_text("came back")
    expect(row.locator(".why-not-list li").first).to_contain_text("your own direction")
    editor.see_no_violation()
    row.get_by_role("button", name="take it out").click()
    expect(page.locator("[data-waiting-none]")).to_be_visible()


def test_signing_out_empties_the_pocket_and_keeps_what_waits(
    house: House, looker: LookIn
) -> None:
    who = looker("illustrator")
    who.expects = NO_LINE
    page = room_of(who, house, house.hung)
    kept(page, house.hung)
    assert page.evaluate(POCKETS) > 0
    left = looker("illustrator")
    other = room_of(left, house, house.hung)
    page.goto(house.url(f"/rooms/{house.hung}/"))
    page.get_by_role("button", name="Sign out").click()
    expect(page.locator("main")).to_contain_text("You are signed out")
    assert page.evaluate(POCKETS) == 0
    who.context.set_offline(True)
    page.goto(house.url(f"/rooms/{house.hung}/"))
    expect(page.locator("main")).to_contain_text("The line is down")
    expect(page.locator("main")).to_contain_text("nothing yet")
    who.context.set_offline(False)
    # The same session was open elsewhere: its live line is shut, its picture gone.
    expect(other.locator("board-picture.is-blank")).to_have_count(1)
    house.signed_in.pop("illustrator")


def test_what_was_kept_goes_when_the_credit_ends(house: House, looker: LookIn) -> None:
    designer, editor = looker("designer"), looker("editor")
    designer.expects = (*NO_LINE, "404")
    page = room_of(designer, house, house.agreed)
    kept(page, house.agreed)
    page.goto(house.url("/people/me/"))
    people = editor.into(house.url(f"/books/{house.book}/people/"))
    people.get_by_role("link", name="End this credit of Lena Abara").click()
    people.locator("main form button").first.click()
    page.reload()
    page.wait_for_function("() => caches.match('/rooms/').then(() => true)")
    for _ in range(50):
        if not page.evaluate(
            "(path) => caches.match(path).then(Boolean)", f"/rooms/{house.agreed}/"
        ):
            break
        page.wait_for_timeout(100)
    left = page.evaluate("""async () => { const out = [];
      for (const n of await caches.keys()) if (n.startsWith('pocket:'))
        for (const r of await (await caches.open(n)).keys()) out.push(r.url);
      return out; }""")
    assert not [one for one in left if "/rooms/" in one or one.endswith(".picture")], (
        left
    )
