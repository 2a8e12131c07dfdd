"""What can go wrong, in plain statements that say what to do next."""

from collections.abc import Mapping


class BoardError(Exception):
    """Something the board will not do, with words for the person who asked."""

    status = 400
    says = "The board could not do that."

    def __init__(self, says: str = "", *more: str) -> None:
        self.says = says or type(self).says
        self.reasons: tuple[str, ...] = more or (self.says,)
        super().__init__(self.says)


class NotPermitted(BoardError):
    """The person has a credit on the book, but not for this."""

    status = 403
    says = "Your credit on this book does not cover that."


class NotFound(BoardError):
    """Nothing here that this person may see."""

    status = 404
    says = "There is nothing here, or it is not open to you."


class WrongMove(BoardError):
    """The standing of the item does not allow this now; `reasons` names every guard."""

    status = 409


class Stale(BoardError):
    """Somebody was faster; the newer state is shown, nothing typed is lost."""

    status = 412
    says = (
        "This changed while you were writing. Look at the newer one, then send again."
    )

    def __init__(self, says: str = "", *, now: Mapping[str, str] | None = None) -> None:
        super().__init__(says)
        self.now = dict(now or {})


class NotUnderstood(BoardError):
    """What was sent does not make sense; the message says which part."""

    status = 422


class PictureRefused(BoardError):
    """A file that the board will not take in, and why."""

    status = 422


class TooLarge(PictureRefused):
    status = 413


class DiskNearlyFull(BoardError):
    status = 507
    says = (
        "The board's disk is nearly full, so nothing new is taken in. "
        "Ask whoever runs the board to make room, then send the picture again."
    )


class OffTheSheet(NotUnderstood):
    says = "That place lies outside the bled sheet. Mark it again on the picture."


class SizesDiffer(BoardError):
    """Two arrays that should lie on one another have different shapes."""

    says = "The two pictures have different sizes and cannot be compared as they are."
