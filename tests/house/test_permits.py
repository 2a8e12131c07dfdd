"""The one table of roles and acts (common practice, no source)."""

import pytest

from board.errors import NotPermitted
from board.permits import (
    MAY,
    Act,
    Facet,
    Role,
    acting_roles,
    facets_of,
    may,
    may_see_note,
    require,
)

R = Role


def test_every_act_has_somebody_who_may() -> None:
    assert set(MAY) == set(Act)
    assert all(MAY.values())


def test_a_refusal_names_who_may() -> None:
    with pytest.raises(NotPermitted, match="art director"):
        require(Act.ISSUE_SHEET, {R.EDITOR})


@pytest.mark.parametrize("role", list(Role))
def test_only_the_illustrator_uploads_and_sends_up(role: Role) -> None:
    assert may(Act.UPLOAD, {role}) == (role is R.ILLUSTRATOR)
    assert may(Act.SEND_UP, {role}) == (role is R.ILLUSTRATOR)


def test_an_author_who_illustrates_keeps_the_words_line_only() -> None:
    roles = {R.ILLUSTRATOR, R.AUTHOR, R.ART_DIRECTOR}
    assert facets_of(roles, studio=False) == (Facet.WORDS,)


def test_in_a_studio_an_illustrator_initials_anything_but_art() -> None:
    roles = {R.ILLUSTRATOR, R.ART_DIRECTOR, R.PRODUCTION}
    owned = facets_of(acting_roles(roles, studio=True), studio=True)
    assert Facet.ART not in owned
    assert Facet.PRESS in owned


def test_in_a_studio_the_author_takes_the_editors_duties() -> None:
    acting = acting_roles({R.AUTHOR}, studio=True)
    assert may(Act.PASS_ON, acting)
    assert facets_of(acting, studio=True) == (Facet.WORDS, Facet.STORY, Facet.FIT)


@pytest.mark.parametrize("role", [role for role in Role if role is not R.EDITOR])
def test_an_authors_waiting_note_exists_for_the_editor_only(role: Role) -> None:
    seen = may_see_note({role}, own=False, waiting=True, passed=True, issued=False)
    assert not seen


def test_a_house_note_reaches_the_artist_with_its_sheet() -> None:
    before = may_see_note(
        {R.ILLUSTRATOR}, own=False, waiting=False, passed=True, issued=False
    )
    after = may_see_note(
        {R.ILLUSTRATOR}, own=False, waiting=False, passed=True, issued=True
    )
    assert (before, after) == (False, True)


def test_the_author_does_not_read_house_notes() -> None:
    seen = may_see_note({R.AUTHOR}, own=False, waiting=False, passed=True, issued=True)
    assert not seen
