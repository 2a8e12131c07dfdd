"""What may be compared with what, and its steps in words."""

from board.books.rules import DRAWN, Stage

STEPS = ("fetched", "ready")
STEP_WORDS = {
    "": "Waiting for its turn.",
    "fetched": "Both pictures are here. Measuring what changed.",
    "ready": "Compared.",
}
PLAN_ONLY = (
    "One is drawn and the other painted, so colours are not compared. "
    "Lay one over the other and look at the plan: focal boxes and type space."
)


def compares_colour(before: Stage, after: Stage) -> bool:
    """Colour is compared within a stage and between stages of one manner."""
    return (before in DRAWN) is (after in DRAWN)


def in_words(changes: int, noise: float | None) -> str:
    """How much changed, as one sentence."""
    if not changes:
        return "Nothing in the picture changed beyond paper and light."
    many = "One place" if changes == 1 else f"{changes} places"
    floor = f" beyond a floor of {noise:.1f} dE00" if (noise or 0) >= 0.05 else ""
    order = "" if changes == 1 else "; largest first"
    return f"{many} changed{floor}{order}. Colours here are estimates."
