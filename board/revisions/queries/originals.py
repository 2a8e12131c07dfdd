"""The file as it was sent: who may have it, and where."""

from accounts.models import Person
from board.books.queries import roles_of
from board.errors import NotPermitted
from board.permits import Act, may, require
from board.repro.grants import grant_original
from board.revisions.models import Revision
from board.revisions.queries import scope_of

WHOLE_SHEET = (
    "This picture is a frame of a storyboard sheet. The original shows the whole sheet, "
    "so it stays with its illustrator; ask for the frame as a file of its own."
)


def has_original(revision: Revision, person: Person) -> bool:
    """Whether this person may have the original.

    A frame's is the whole storyboard sheet, with frames that nobody sent up; it stays
    with the illustrators.
    """
    act = Act.UPLOAD if revision.storyboard_id else Act.DOWNLOAD_ORIGINAL
    return may(act, roles_of(person, revision.item.book))


def original_of(revision: Revision, person: Person) -> str:
    """The address of the original, only for those who may download it."""
    book = revision.item.book
    require(Act.DOWNLOAD_ORIGINAL, roles_of(person, book))
    if not has_original(revision, person):
        raise NotPermitted(WHOLE_SHEET)
    return grant_original(revision.sha256, revision.filename, scope_of(book, person))
