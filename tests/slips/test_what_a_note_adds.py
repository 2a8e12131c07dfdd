"""A note never brings an item to OK: it adds to the reasons and takes none away.

So raising one settles nothing, which keeps pinning quick.
"""

from dataclasses import replace

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from board.books.rules import STAGES, Standing
from board.permits import Facet, Role
from board.slips.rules.guards import why_not_ok, why_not_ok_as_corrected
from board.slips.rules.slate import Given, Held, NoteFact, Slate
from board.slips.rules.stations import lines_at
from board.tissue.rules import CLASSES

KEYS, PEOPLE, CHECKS = ("one", "two", "three"), ("ann", "ben"), ("ppi", "ink")
STATES = ("open", "with editor", "late", "noted", "stands")

notes = st.builds(
    NoteFact,
    key=st.sampled_from(KEYS),
    sort=st.sampled_from(list(CLASSES)),
    state=st.sampled_from(STATES),
    facet=st.sampled_from(Facet),
    by=st.sampled_from(PEOPLE),
    role=st.just(Role.DESIGNER),
)
givens = st.builds(
    Given,
    key=st.just("initial"),
    facet=st.just(Facet.ART),
    person=st.sampled_from(PEOPLE),
    role=st.just(Role.ART_DIRECTOR),
    kind=st.just("OK"),
    checksum=st.just(""),
    text_version=st.just(0),
    listed=st.frozensets(st.sampled_from(KEYS)),
    checks=st.frozensets(st.sampled_from(CHECKS)),
)
slates = st.builds(
    Slate,
    stage=st.sampled_from(STAGES),
    standing=st.sampled_from(Standing),
    lines=st.sampled_from(STAGES).map(lines_at),
    live=st.dictionaries(st.sampled_from(Facet), givens),
    notes=st.lists(notes, max_size=3).map(tuple),
    holds=st.lists(
        st.just(Held("h", Role.PRODUCTION, "ann", "Paper.")), max_size=1
    ).map(tuple),
    stops=st.lists(st.sampled_from(CHECKS), max_size=2).map(tuple),
    checks_running=st.booleans(),
)


@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(slate=slates, note=notes, writer=st.sampled_from(PEOPLE))
def test_what_was_not_ok_is_not_ok_with_one_more_note_and_the_writers_initial_off(
    slate: Slate, note: NoteFact, writer: str
) -> None:
    left = {
        facet: given for facet, given in slate.live.items() if given.person != writer
    }
    new = replace(note, key="new", by=writer)
    for live in (slate.live, left):
        noted = replace(slate, notes=(*slate.notes, new), live=live)
        if why_not_ok(slate):
            assert why_not_ok(noted)
        if why_not_ok_as_corrected(slate):
            assert why_not_ok_as_corrected(noted)
