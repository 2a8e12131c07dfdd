"""A sitting in plain values: decisions, looks, limits; no Django, no clock."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from enum import StrEnum
from math import isfinite
from typing import Any

from board.errors import BoardError, NotUnderstood

POINTS_A_SECOND = 10
LONGEST_MESSAGE = 4096  # characters; a look takes about 200
MOST_MISSED = 200  # events; who missed more takes the whole state anew
SEAT_WARM_S = 50  # a seat not heard of for so long is empty


class TooMuch(BoardError):
    """A page that says more than a person could; its line is shut."""

    status = 429
    says = "This page sends more than a person could. Load it again."


class Word(StrEnum):
    """What is decided on an item in a sitting; never an initial."""

    OK = "OK"
    AS_CORRECTED = "OK as corrected"
    RETURN = "return"
    HOLD = "hold"
    ASK_AUTHOR = "ask the author"


class Standing(StrEnum):
    """Where a sitting itself stands."""

    PLANNED = "planned"
    OPEN = "open"
    CLOSED = "closed"
    CALLED_OFF = "called off"


VIEWS = ("sheet", "lay-over", "slide", "lift", "side-by-side", "change-map")
UNSEEN = "That is no place to look at. Load the page again."


@dataclass(frozen=True)
class Look:
    """What the chair looks at, the same part of the sheet on every size of screen.

    x and y are the middle of the view on the sheet, `wide` and `high` how much of it is
    seen (0: the whole sheet); `over` and `edge` are per cent; `top` is who lies on top
    where the pair is lifted; `page` is the place in the reading.
    """

    view: str = "sheet"
    x: float = 0.5
    y: float = 0.5
    wide: float = 0.0
    high: float = 0.0
    over: float = 50.0
    edge: float = 50.0
    top: str = "before"
    page: int = 0

    def as_dict(self) -> dict[str, Any]:
        return asdict(self)


def read_look(told: Mapping[str, Any], before: Look) -> Look:
    """A look as a page sent it; what it leaves out stays as it was."""
    view, top = told.get("view", before.view), told.get("top", before.top)
    if view not in VIEWS or top not in {"before", "after"}:
        raise NotUnderstood(UNSEEN)
    return replace(
        before,
        view=view,
        top=top,
        x=_number(told, "x", before.x, -1, 2),
        y=_number(told, "y", before.y, -1, 2),
        wide=_number(told, "wide", before.wide, 0, 20),
        high=_number(told, "high", before.high, 0, 20),
        over=_number(told, "over", before.over, 0, 100),
        edge=_number(told, "edge", before.edge, 0, 100),
        page=int(_number(told, "page", before.page, 0, 200)),
    )


def read_point(told: Mapping[str, Any]) -> tuple[float, float]:
    """Where a pencil tip points, on the sheet."""
    return _number(told, "x", None, -1, 2), _number(told, "y", None, -1, 2)


def kept_look(kept: Mapping[str, Any]) -> Look:
    """A look as the database keeps it."""
    return read_look(kept, Look())


def _number(
    told: Mapping[str, Any],
    name: str,
    otherwise: float | None,
    least: float,
    most: float,
) -> float:
    value = told.get(name, otherwise)
    good = isinstance(value, int | float) and not isinstance(value, bool)
    if not good or not isfinite(value):
        raise NotUnderstood(UNSEEN)
    return min(max(float(value), least), most)


@dataclass
class Allowance:
    """So many messages a second, and some more at once (a token bucket)."""

    a_second: float
    at_once: float
    left: float = -1.0
    since: float = 0.0

    def takes(self, now: float) -> bool:
        """Whether one more may pass at this second."""
        left = self.at_once if self.left < 0 else self.left
        left = min(self.at_once, left + (now - self.since) * self.a_second)
        self.since, self.left = now, left
        if left < 1:
            return False
        self.left = left - 1
        return True


def clock(seconds: float) -> str:
    """A length of time as the minutes tell it."""
    whole = max(round(seconds), 0)
    if whole < 60:
        return f"{whole} s"
    hours, rest = divmod(whole // 60, 60)
    return f"{hours} h {rest:02d} min" if hours else f"{rest} min {whole % 60:02d} s"
