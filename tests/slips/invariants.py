"""What must hold after every event, whoever did what; numbers as in DEVELOPERS.md.

`NEAR` is held after each event, on what it touched; `WHOLE` is dearer, and held now
and then and in the end. Common practice put in order, no source: no open standard for
a sign-off record exists.
"""

from collections.abc import Callable

from board.books.models import Item
from tests.slips import held_near as near
from tests.slips import held_whole as whole
from tests.slips.walk import Walk

Check = Callable[[Walk, Item], None]
NEAR: dict[int, Check] = {
    2: near.i2_numbers_run_and_bytes_stay,
    3: near.i3_no_live_initial_on_a_superseded_revision,
    4: near.i4_ok_means_every_line,
    5: near.i5_only_clearance_lives_through_a_new_revision,
    6: near.i6_nobody_initials_the_wrong_line,
    7: near.i7_notes_are_conserved,
    8: near.i8_done_was_claimed_and_closed_by_who_may,
    10: near.i10_a_sheet_carries_what_was_open,
    11: near.i11_stages_open_in_order,
    12: near.i12_exactly_the_facets_of_the_table_fall,
    13: near.i13_a_hold_stops_initials_and_nothing_else,
    14: near.i14_a_book_slip_lives_on_its_list_alone,
    15: near.i15_handed_over_whole_and_left_by_recall_alone,
    18: near.i18_an_event_happens_wholly_or_not_at_all,
    20: near.i20_nobody_overrules_clearance,
}
WHOLE: dict[int, Check] = {
    1: whole.i1_an_initial_names_what_was_seen,
    9: whole.i9_the_artist_sees_issued_notes_only,
    10: whole.i10_lines_run_without_a_gap,
    16: whole.i16_time_alone_makes_no_initial,
    17: whole.i17_the_record_replays,
    21: whole.i21_regions_stay_on_the_bled_sheet,
    22: whole.i22_every_alteration_has_code_and_payer,
    23: whole.i23_items_cover_every_page_once,
}
WAY_OUT = 19  # held by tests.slips.way, which walks it
NUMBERS = sorted({*NEAR, *WHOLE, WAY_OUT})


class Broken(AssertionError):
    """An invariant that did not hold, by its number."""

    def __init__(self, number: int, walk: Walk, told: object) -> None:
        self.number = number
        tried = f"{walk.tried} ({'done' if walk.last else 'refused'})"
        super().__init__(f"invariant {number}, seed {walk.seed}, {tried}: {told}")


def hold_for(walk: Walk, item: Item) -> None:
    """Every invariant that an event on this item could break."""
    _hold(NEAR, walk, item)


def hold_in_the_end(walk: Walk) -> None:
    """What is dearer to look at: receipts, sights, the record, the pages."""
    for item in walk.items():
        _hold(WHOLE, walk, item)


def _hold(checks: dict[int, Check], walk: Walk, item: Item) -> None:
    for number, check in checks.items():
        try:
            check(walk, item)
        except AssertionError as wrong:
            raise Broken(number, walk, wrong) from wrong


def busiest(walk: Walk) -> str:
    """What happened, for people who watch a soak."""
    told = ", ".join(f"{name} {count}" for name, count in walk.done.most_common())
    return f"{walk.events} events; done: {told}; refused: {sum(walk.refused.values())}"
