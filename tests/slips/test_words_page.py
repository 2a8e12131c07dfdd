"""Old and new words beside each other, and whether the new ones fit their box."""

from io import BytesIO

import pytest
from django.test import Client
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st
from reportlab.pdfbase import pdfmetrics

from board.books.models import Box
from board.books.queries import newest_texts
from board.books.rules.typesetting import MM_A_POINT, Face, Setting, broken, fitted
from board.books.rules.wording import IN, KEPT, OUT, compared, counted
from board.errors import NotUnderstood
from board.repro.faces import TEXT, file_of
from board.repro.typefaces import measure_face, stand_in
from board.slips.actions.texts import make_text_version
from board.slips.models import Initial
from tests import make
from tests.slips.conftest import Table

FACE = Face("even", {}, 500.0)  # each letter half the size wide
TEN = Setting(FACE, 10.0, 12.0)


def test_one_word_that_changed_is_told_word_by_word() -> None:
    runs = compared(
        "carried it for forty years, but", "carried it for fifty years, but"
    )
    assert [(run.how, run.words) for run in runs] == [
        (KEPT, "carried it for "),
        (OUT, "forty"),
        (IN, "fifty"),
        (KEPT, " years, but"),
    ]
    assert counted(runs) == (1, 1)


words = st.text(alphabet="ab \n", max_size=40)


@given(words, words)
def test_the_runs_give_back_either_text(old: str, new: str) -> None:
    runs = compared(old, new)
    assert "".join(run.words for run in runs if run.how != IN) == old
    assert "".join(run.words for run in runs if run.how != OUT) == new


def test_lines_break_where_the_next_word_would_run_over() -> None:
    wide = 5 * 5 * MM_A_POINT + 0.01  # five letters of 5 pt each
    assert broken("ab cd ef\ngh", wide, TEN) == ["ab cd", "ef", "gh"]


def test_a_box_holds_its_lines_by_leading_and_the_last_by_size() -> None:
    found = fitted("ab\ncd\nef", (100, 12.0), TEN)
    assert found.lines == 3
    assert found.height_mm == pytest.approx((2 * 12 + 10) * 25.4 / 72)  # 1/72 inch
    assert found.holds
    assert not fitted("ab\ncd\nef\ngh", (100, 12.0), TEN).holds


@given(st.text(alphabet="abc  \n", max_size=60), st.floats(2, 60))
def test_no_line_of_several_words_runs_over(said: str, wide: float) -> None:
    for line in broken(said, wide, TEN):
        assert FACE.width_mm(line, 10.0) <= wide or " " not in line


def test_a_face_is_measured_as_the_pdf_library_sets_it() -> None:
    # Reference: ReportLab's own string width of the same file.
    sent = file_of(TEXT).read_bytes()
    measured = measure_face(sent)
    face = Face(measured.name, measured.widths, measured.usual)
    from reportlab.pdfbase.ttfonts import TTFont  # noqa: PLC0415

    pdfmetrics.registerFont(TTFont("held-against", BytesIO(sent)))
    words = "Twice a day the sea at Pell gets up and leaves."
    points = pdfmetrics.stringWidth(words, "held-against", 18)
    assert face.width_mm(words, 18) == pytest.approx(points * 25.4 / 72, rel=0.002)


@pytest.mark.parametrize(
    "sent", [b"", b"OTTO" + b"\0" * 40, b"\0\1\0\0" + b"\xff" * 90]
)
def test_a_file_that_is_no_face_is_refused_in_words(sent: bytes) -> None:
    with pytest.raises(NotUnderstood, match="TrueType"):
        measure_face(sent)


def test_a_face_stands_in_until_one_is_sent() -> None:
    assert "stands in" in stand_in().name
    assert len(stand_in().widths) > 100


@pytest.fixture
def told(table: Table) -> Table:
    _text(table, "Granna has carried it for forty years.")
    Box.objects.create(
        item=table.item, sort="type", x=0.1, y=0.1, width=0.2, height=0.1
    )
    return table


def _text(table: Table, words: str) -> None:
    make_text_version(
        by=table.cast.editor,
        book=table.book,
        words={table.item.key: words},
        reasons={"reason": "x", "code": "AA", "payer": "none"},
        event=make.event(),
    )


def _post(table: Table, client: Client, **more: object) -> str:
    address = reverse("viewing:words", args=[table.book.key])
    sent = {
        "event": "words-event-1",
        "version": table.book.texts.count(),
        "reason": "The author's aunt did fifty.",
        "asked_by": "the author",
        "code": "AA",
        "payer": "none",
        f"words-{table.item.key}": "Granna has carried it for fifty years.",
        "do": "look",
    }
    answer = client.post(address, sent | more)
    if answer.status_code == 302:
        return "kept"
    return answer.content.decode()


def test_the_page_shows_old_and_new_what_lapses_and_whether_it_fits(
    told: Table, client: Client
) -> None:
    told.initial(told.cast.designer, "fit")
    client.force_login(told.cast.editor)
    page = _post(told, client)
    assert "<del>" in page
    assert "<ins>" in page
    assert "the fit initial of" in page
    assert "Fits: 2 lines" in page
    assert Initial.objects.filter(ended_at=None).count() == 1
    digest = page.split('name="ripple" value="')[1].split('"')[0]
    assert _post(told, client, do="keep", ripple=digest) == "kept"
    assert told.book.texts.get(number=2).asked_by == "the author"
    assert not Initial.objects.filter(ended_at=None).exists()
    version = reverse("viewing:text", args=[told.book.key, 2])
    for who in (told.cast.author, told.cast.illustrator):
        client.force_login(who)
        assert "fifty" in client.get(version).content.decode()


def test_a_lost_race_shows_both_texts_and_overwrites_nothing(
    told: Table, client: Client
) -> None:
    client.force_login(told.cast.editor)
    first = _post(told, client)
    digest = first.split('name="ripple" value="')[1].split('"')[0]
    _text(told, "Granna has carried it for sixty years.")
    page = _post(told, client, do="keep", ripple=digest, version=1)
    assert "sixty years" in page  # theirs
    assert "for fifty years" in page  # what was typed
    assert told.book.texts.count() == 2


def test_without_a_reason_nothing_is_kept_and_nothing_typed_is_lost(
    told: Table, client: Client
) -> None:
    client.force_login(told.cast.editor)
    page = _post(told, client, reason="")
    assert "for fifty years" in page
    assert told.book.texts.count() == 1


def test_line_ends_of_a_browser_are_no_change_and_hints_stay(
    table: Table, client: Client
) -> None:
    _text(table, "Forty years.\nSeven letters, Otti. [The badge says 40.]")
    client.force_login(table.cast.editor)
    key = f"words-{table.item.key}"
    same = {key: "Forty years.\r\nSeven letters, Otti."}
    assert _post(table, client, do="keep", ripple="made up", **same) != "kept"
    assert table.book.texts.count() == 1
    other = {key: "Fifty years.\r\nSeven letters, Otti."}
    digest = _post(table, client, **other).split('name="ripple" value="')[1]
    kept = {"do": "keep", "ripple": digest.split('"')[0]} | other
    assert _post(table, client, **kept) == "kept"
    assert newest_texts(table.book)[table.item.key].art_note == "The badge says 40."
