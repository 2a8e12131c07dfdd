"""The record, its photographs, the credit page and the log."""

import csv
import io
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from PIL import Image
from pypdf import PdfReader

from accounts.models import Person
from board.clippings.actions.records import change_source
from board.clippings.forms import UseForm
from board.clippings.models import ClippingPhoto
from board.clippings.queries import use_area
from board.clippings.queries.log import as_pdf
from board.clippings.rules import CAUTION
from board.errors import NotPermitted, Stale
from board.repro.store import checksum, original_path, picture_folder
from board.repro.unlaid import glimpse_key
from tests import make
from tests.clippings.conftest import Desk


def client(person: Person) -> Client:
    found = Client()
    found.force_login(person)
    return found


@pytest.fixture
def folder(tmp_path: Path, settings: Any) -> Path:
    settings.BOARD_FOLDER = tmp_path
    settings.BOARD_DISK_RESERVE = 0
    return tmp_path


def test_the_caution_stands_on_every_page_of_sources(desk: Desk) -> None:
    source = desk.enter()
    rights = client(desk.cast.rights)
    for name, keys in (
        ("sources:list", [desk.book.key]),
        ("sources:new", [desk.book.key]),
        ("sources:credits", [desk.book.key]),
        ("sources:source", [source.key]),
        ("sources:record", [source.key]),
        ("sources:mark", [source.key, desk.item.key]),
    ):
        assert CAUTION in rights.get(reverse(name, args=keys)).content.decode()


def test_no_form_offers_a_percentage_or_fair_use_as_an_answer(desk: Desk) -> None:
    page = client(desk.cast.rights).get(reverse("sources:new", args=[desk.book.key]))
    words = page.content.decode().lower()
    assert "fair use" not in words
    assert "fair dealing" not in words
    assert 'type="checkbox"' not in words


def test_a_source_is_entered_changed_and_marked_without_scripts(desk: Desk) -> None:
    rights = client(desk.cast.rights)
    typed = {
        "event": make.event(),
        "code": "C02",
        "what": "Tide table",
        "kind": "public domain",
        "has_maps": "no",
    }
    answer = rights.post(reverse("sources:new", args=[desk.book.key]), typed)
    made = desk.book.clippings.get(code="C02")
    assert answer["Location"] == reverse("sources:source", args=[made.key])
    assert made.matters == {"maps": "no"}
    box = {"event": make.event(), "x": "10", "y": "10", "width": "10", "height": "10"}
    rights.post(reverse("judging:use", args=[made.key, desk.item.key]), box)
    page = rights.get(reverse("sources:source", args=[made.key])).content.decode()
    assert "12.9 cm²" in page
    assert "If it is refused, 1 item must change" in page
    # A tenth of 508 x 254 mm each way: 50.8 x 25.4 mm, 1290 mm2.
    assert "Largest piece: 1290 mm², 51 " in page


def test_a_loop_is_marked_by_typing_its_corners(desk: Desk) -> None:
    source = desk.enter()
    address = reverse("judging:use", args=[source.key, desk.item.key])
    loop = {"event": make.event(), "loop": "10,10 30.5,10 20,40"}
    assert client(desk.cast.rights).post(address, loop).status_code == 302
    use = source.uses.get()
    assert (use.mark, use.points) == ("loop", [[0.1, 0.1], [0.305, 0.1], [0.2, 0.4]])
    # Half of 104.14 x 76.2 mm.
    assert use_area(use, desk.item) == pytest.approx(39.68, abs=0.01)


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"loop": "10,10 20,20"}, "three corners or more"),
        ({"loop": "10,10 20 30,30"}, "not understood"),
        ({"loop": "a,b c,d e,f"}, "not understood"),
        ({"loop": "nan,1 2,2 3,3"}, "not understood"),
        ({"loop": "10,10 20,20 900,30"}, "not understood"),
        ({"x": "10", "y": "10", "width": "5"}, "all four sides"),
        ({"x": "10", "y": "10", "width": "-5", "height": "5"}, "all four sides"),
        (
            {"x": "1", "y": "1", "width": "5", "height": "5", "loop": "1,1 2,2 3,1"},
            "box or a loop",
        ),
    ],
)
def test_a_place_that_is_not_understood_is_told_in_words(
    typed: dict[str, str], says: str
) -> None:
    form = UseForm(typed)
    assert not form.is_valid()
    assert says in " ".join(str(wrong[0]) for wrong in form.errors.values())


def test_the_author_reads_the_list_without_reasons_or_records(desk: Desk) -> None:
    source = desk.enter()
    desk.judge(source, "refused", because="The holder is Ms Marlpit.")
    author = client(desk.cast.author)
    page = author.get(reverse("sources:list", args=[desk.book.key])).content.decode()
    assert "C05" in page
    assert "Marlpit" not in page
    assert author.get(reverse("sources:source", args=[source.key])).status_code == 403


def test_only_rights_writes_what_a_grant_says(desk: Desk) -> None:
    source = desk.enter()
    with pytest.raises(NotPermitted):
        change_source(
            by=desk.cast.illustrator,
            source=source,
            draft={"territory": "world"},
            version=source.version,
            event=make.event(),
        )
    with pytest.raises(Stale):
        change_source(
            by=desk.cast.rights,
            source=source,
            draft={"territory": "world"},
            version=source.version + 1,
            event=make.event(),
        )


def test_the_credit_page_holds_the_wording_of_granted_sources_in_use(
    desk: Desk,
) -> None:
    source = desk.enter(credit_wording="Map by kind leave of Fennel Atlas Co.")
    desk.mark(source)
    rights = client(desk.cast.rights)
    address = reverse("sources:credits", args=[desk.book.key])
    assert "Fennel" not in rights.get(address).content.decode()
    desk.judge(source, "granted", because="")
    assert (
        "Map by kind leave of Fennel Atlas Co." in rights.get(address).content.decode()
    )


def test_the_log_as_csv_runs_no_formula(desk: Desk) -> None:
    desk.enter(code="=C9", maker="+cmd|' /C calc'!A0", remark="two\nlines")
    answer = client(desk.cast.rights).get(
        reverse("sources:log-csv", args=[desk.book.key])
    )
    rows = list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"))))
    assert rows[0]["source"] == "'=C9"
    assert rows[0]["maker"].startswith("'+")
    assert rows[0]["remark"] == "two\nlines"


def test_the_log_as_pdf_reads_back_with_its_caution_on_each_page(desk: Desk) -> None:
    for number in range(30):
        desk.enter(f"C{number:02}", maker="Gorse & <b>Sons</b>", place="Pell Żółć")
    read = PdfReader(io.BytesIO(as_pdf(desk.book, make.NOW)))
    pages = [page.extract_text() for page in read.pages]
    assert len(pages) > 1
    assert all("not legal advice" in page for page in pages)
    assert "C29" in "".join(pages)
    assert "Gorse & <b>Sons</b>" in "".join(pages)


def _png() -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (400, 300), (224, 165, 38)).save(out, "PNG")
    return out.getvalue()


def test_a_photograph_is_taken_in_like_any_picture(desk: Desk, folder: Path) -> None:
    source = desk.enter()
    rights = client(desk.cast.rights)
    sent = {
        "event": make.event(),
        "side": "uncut",
        "picture": SimpleUploadedFile("map.png", _png()),
    }
    answer = rights.post(reverse("sources:photographs", args=[source.key]), sent)
    assert answer.status_code == 302
    photo = ClippingPhoto.objects.get()
    assert (photo.side, photo.width, photo.height) == ("uncut", 400, 300)
    assert checksum(original_path(photo.sha256)) == photo.sha256
    assert (picture_folder(glimpse_key(photo.key)) / "medium.jpg").exists()
    page = rights.get(reverse("sources:source", args=[source.key])).content.decode()
    assert f"/{glimpse_key(photo.key)}/medium.jpg" in page


def test_a_photograph_that_is_none_is_refused_in_words(
    desk: Desk, folder: Path
) -> None:
    source = desk.enter()
    sent = {
        "event": make.event(),
        "side": "front",
        "picture": SimpleUploadedFile("map.png", b"<svg onload='alert(1)'/>"),
    }
    answer = client(desk.cast.rights).post(
        reverse("sources:photographs", args=[source.key]), sent
    )
    assert answer.status_code == 422
    assert not ClippingPhoto.objects.exists()
