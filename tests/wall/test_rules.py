"""Counts and captions in words."""

from board.wall.rules import Count, counted, first_words

ORDER = ["direction", "suggestion", "comment", "keep", "query"]


def test_open_notes_are_counted_by_class_in_the_trades_order() -> None:
    sorts = ["query", "direction", "query", "direction", "suggestion"]
    assert counted(sorts, ORDER) == (
        Count(2, "directions"),
        Count(1, "suggestion"),
        Count(2, "queries"),
    )
    assert counted([], ORDER) == ()


def test_a_caption_is_the_beginning_of_the_words() -> None:
    assert first_words("Seven\nletters,  Otti.") == "Seven letters, Otti."
    assert first_words("word " * 13).endswith("word …")
    assert first_words("") == ""
