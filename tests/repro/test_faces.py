"""Faces for PDFs, and words that run from right to left."""

from io import BytesIO

from PIL import Image

from board.repro import faces


def test_the_face_has_the_letters_that_names_need() -> None:
    face = faces.file_of(faces.PLAIN)
    assert face.name == "DejaVuSans.ttf"
    assert faces.registered() == "DejaVuSans"


def test_words_from_right_to_left_are_told_apart() -> None:
    assert faces.runs_right_to_left("שבעה מכתבים")
    assert faces.runs_right_to_left("see: رسالة")
    assert not faces.runs_right_to_left("Łucja Ōkami, día")


def test_words_from_right_to_left_are_drawn_flush_right_within_their_width() -> None:
    png, width, height = faces.drawn("שבעה מכתבים לפני הגאות " * 6, 12, 150)
    picture = Image.open(BytesIO(png))
    assert width == 150
    assert height > 40
    ink = picture.point(lambda level: 255 - level).getbbox()
    assert ink is not None
    assert ink[2] >= picture.width - 6
