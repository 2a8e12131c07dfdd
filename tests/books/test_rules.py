"""What follows from extent and ends, and how pasted words are shared.

The number of story spreads by extent and ends: 32 pages carry 12 spreads self-ended
(24 pages of story, taralazar.com 2009/02 and theindiepages.org on pagination) and 14
with separate ends (wordsandpics.org 2019/04, picture book basics). For 24, 36, 40 and
48 pages: the same rules, common practice, no source.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from board.books.rules import (
    Ends,
    Kind,
    count_words,
    extent_table,
    items_of,
    natural_spreads,
    reading_minutes,
    split_manuscript,
    spread_of,
    take_out_art_notes,
)
from board.errors import NotUnderstood

TABLE = [(24, 8, 10), (32, 12, 14), (36, 14, 16), (40, 16, 18), (48, 20, 22)]


def test_story_spreads_follow_from_extent_and_ends() -> None:
    assert extent_table() == TABLE


def test_32_self_ended_pages_carry_what_the_handbooks_say() -> None:
    plans = {plan.label: plan.kind for plan in items_of(32, Ends.SELF)}
    assert plans["1"] is Kind.PASTEDOWN
    assert plans["2-3"] is Kind.ENDS
    assert plans["4-5"] is Kind.TITLE
    assert plans["30-31"] is Kind.ENDS
    assert plans["32"] is Kind.PASTEDOWN
    story = [plan.label for plan in items_of(32, Ends.SELF) if plan.story]
    assert (story[0], story[-1], len(story)) == ("6-7", "28-29", 12)


def test_32_pages_with_separate_ends_end_on_a_single_page() -> None:
    story = [plan.label for plan in items_of(32, Ends.SEPARATE) if plan.story]
    assert (story[0], story[-1], len(story)) == ("4-5", "30-31", 14)
    assert [plan.label for plan in items_of(32, Ends.SEPARATE)][-3] == "32"


@given(st.integers(2, 24).map(lambda k: 4 * k), st.sampled_from(Ends))
def test_items_cover_every_page_once_verso_even_recto_odd(
    extent: int, ends: Ends
) -> None:
    inside = [plan for plan in items_of(extent, ends) if plan.first]
    pages = [page for plan in inside for page in range(plan.first, plan.last + 1)]
    assert pages == list(range(1, extent + 1))
    assert all(plan.first % 2 == 0 for plan in inside if plan.last > plan.first)


@pytest.mark.parametrize("extent", [0, 4, 30, 33, 100, -8])
def test_an_extent_that_does_not_fold_is_refused(extent: int) -> None:
    with pytest.raises(NotUnderstood, match="multiple of 4"):
        items_of(extent, Ends.SELF)


def test_spreads_and_natural_spreads_of_two_signatures() -> None:
    # spread k is pages 2k and 2k + 1; two 16-page signatures meet naturally at 8-9
    # and 24-25, 16-17 straddles them: common practice, no source
    assert spread_of(4) == (8, 9)
    assert natural_spreads(32) == [(8, 9), (24, 25)]


@pytest.mark.parametrize(
    ("pasted", "parts"),
    [
        ("one\n\ntwo", ["one", "two", ""]),
        ("1\none\n\nstill one\n2\ntwo", ["one  still one", "two", ""]),
        ("Spread 1:\none\nspread 2\ntwo\n---\nthree", ["one", "two", "three"]),
        ("one\r\n\r\ntwo\r\n\r\nthree\r\n\r\nfour", ["one", "two", "three\n\nfour"]),
        ("", ["", "", ""]),
    ],
)
def test_a_pasted_manuscript_is_shared_over_the_spreads(
    pasted: str, parts: list[str]
) -> None:
    assert split_manuscript(pasted, 3) == parts


@given(st.text(max_size=400), st.integers(1, 22))
def test_sharing_loses_no_letter_and_fills_every_spread(
    pasted: str, spreads: int
) -> None:
    parts = split_manuscript(pasted.replace("-", "").replace("_", ""), spreads)
    assert len(parts) == spreads


def test_hints_in_brackets_are_kept_apart_from_the_words() -> None:
    said = "Stay for two. [They do not see\nthe sea.] Far out [We do.] it begins."
    words, hint = take_out_art_notes(said)
    assert "[" not in words
    assert "Stay for two." in words
    assert "We do." in hint
    assert take_out_art_notes("No hint") == ("No hint", "")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", 0),
        ("BONG. Nothing. BONG.", 3),
        ("bootprint by bootprint, hoofprint by hoofprint", 6),
        ("— … —", 0),
        ("Ágnes és a 7 levél", 5),
        ("الرسالة السابعة", 2),
    ],
)
def test_words_are_what_says_something(text: str, words: int) -> None:
    assert count_words(text) == words


def test_a_reading_is_words_at_their_pace_and_looking() -> None:
    # 450 words and 14 spreads take about 5 minutes: computed in trade notes from
    # Brysbaert 2019 (reading aloud) with 150 words a minute for a lap, from practice
    assert reading_minutes(450, 14, words_a_minute=150) == pytest.approx(4.87, abs=0.01)
