"""What may be done on a slip or a stage, as one table like the one of notes."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from accounts.models import Person
from board.books.models import Item
from board.checks.queries import AtFinal, at_final
from board.errors import NotFound, NotUnderstood
from board.permits import Act, Facet
from board.revisions.queries import revision_for
from board.slips.actions import (
    holds,
    initials,
    reopenings,
    rulings,
    sheets,
    short,
    stages,
)
from board.slips.models import Hold, Reopening
from board.slips.queries.lines import initial_for, listable
from board.tissue.queries import note_for, notes_for
from board.viewing import forms

Told = dict[str, Any]  # a form's cleaned fields, whatever their kinds
Choices = list[tuple[str, str]]


@dataclass(frozen=True)
class SlipAct:
    """One act on a slip: its words, form, action, and what it offers to choose."""

    title: str
    form: type[forms.ActForm]
    do: Callable[[Person, Item, str, Told], object]
    done: str
    button: str = ""
    choices: Callable[[Item, Person], Choices] = lambda _item, _person: []
    caution: str = ""
    checks: Callable[[Item, str], Choices] = lambda _item, _facet: []


def stopped_checks(item: Item, facet: str) -> Choices:
    """Checks at stop, which only production lists."""
    if facet != Facet.PRESS:
        return []
    checks = at_final([item]).get(item.pk, AtFinal())
    return [(told, told) for told in checks.stops]


def listable_notes(item: Item, person: Person) -> Choices:
    """Open directions that an OK as corrected may list, as words."""
    keys = set(listable(item, person))
    return [
        (one.note.key, f"{one.label}: {one.words}")
        for one in notes_for(person, item)
        if one.note.key in keys
    ]


def own_directions(item: Item, person: Person) -> Choices:
    """The reader's own open directions, as words."""
    return [
        (one.note.key, f"{one.label}: {one.words}")
        for one in notes_for(person, item)
        if one.is_open and one.note.sort == "direction" and one.note.by_id == person.pk
    ]


def _initial(by: Person, item: Item, facet: str, told: Told) -> object:
    return initials.initial(
        by=by,
        item=item,
        facet=facet,
        receipt=told["receipt"],
        event=told["event"],
        listed=told.get("listed", ()),
        checks=told.get("checks", ()),
    )


def _refuse(by: Person, item: Item, facet: str, told: Told) -> object:
    return initials.refuse(
        by=by,
        item=item,
        facet=facet,
        note=note_for(by, told["note"]),
        reason=told["words"],
        event=told["event"],
    )


def _pull(by: Person, item: Item, key: str, told: Told) -> object:
    given = initial_for(by, key)
    if given is None or given.slip.item_id != item.pk:
        raise NotFound
    return initials.pull(by=by, given=given, reason=told["words"], event=told["event"])


def _release(by: Person, item: Item, key: str, told: Told) -> object:
    held = Hold.objects.filter(key=key, item=item).select_related("item__book").first()
    if held is None:
        raise NotFound
    return holds.release(by=by, held=held, event=told["event"])


def _send_up(by: Person, item: Item, key: str, told: Told) -> object:
    revision = revision_for(by, key)
    if revision.item_id != item.pk:
        raise NotFound
    return stages.send_up(by=by, revision=revision, event=told["event"])


def _rule_pair(by: Person, item: Item, pair: str, told: Told) -> object:
    keys = pair.split("-")
    if len(keys) != 2:
        raise NotUnderstood("A ruling names two notes.")
    one, other = (note_for(by, key) for key in keys)
    if item.pk not in {one.item_id} & {other.item_id}:
        raise NotFound
    return rulings.rule_pair(
        by=by, one=one, other=other, ruling=told["ruling"], event=told["event"]
    )


def _open_stage(by: Person, item: Item, stage: str, told: Told) -> object:
    return stages.open_stage(
        by=by, item=item, stage=stage, due=told["due"], event=told["event"]
    )


def _waive_stage(by: Person, item: Item, stage: str, told: Told) -> object:
    return stages.waive_stage(
        by=by, item=item, stage=stage, reason=told["words"], event=told["event"]
    )


def _ask_reopening(by: Person, item: Item, stage: str, told: Told) -> object:
    draft = {"code": told["code"], "reason": told["words"], "payer": told["payer"]}
    return reopenings.ask_reopening(
        by=by, item=item, stage=stage, draft=draft, event=told["event"]
    )


def _agree(by: Person, item: Item, key: str, told: Told) -> object:
    asked = Reopening.objects.filter(key=key, item=item).first()
    if asked is None:
        raise NotFound
    return reopenings.agree_reopening(by=by, reopening=asked, event=told["event"])


NEEDS: dict[str, Act] = {
    "initial": Act.INITIAL,
    "initial_as_corrected": Act.INITIAL_AS_CORRECTED,
    "refuse": Act.REFUSE,
    "pull": Act.INITIAL,
    "short_slip": Act.SHORT_SLIP,
    "issue_sheet": Act.ISSUE_SHEET,
    "hold": Act.HOLD,
    "release": Act.HOLD,
    "send_up": Act.SEND_UP,
    "rule_pair": Act.RULE_PAIR,
    "open_stage": Act.OPEN_STAGE,
    "waive_stage": Act.WAIVE_STAGE,
    "ask_reopening": Act.REOPEN,
    "agree_reopening": Act.REOPEN,
}  # stand_by depends on the lines too, so its action alone decides
SLIP_ACTS: dict[str, SlipAct] = {
    "initial": SlipAct(
        "Initial: OK",
        forms.InitialForm,
        _initial,
        "Initialled.",
        "Initial: OK",
        caution="You say OK to the revision and the words that this page shows.",
    ),
    "initial_as_corrected": SlipAct(
        "Initial: OK as corrected",
        forms.CorrectedForm,
        _initial,
        "Initialled as corrected; the listed lines go to the artist.",
        "Initial: OK as corrected",
        choices=listable_notes,
        checks=stopped_checks,
        caution=(
            "You trust the artist to do the listed things; nothing else may change."
        ),
    ),
    "refuse": SlipAct(
        "Refuse",
        forms.RefuseForm,
        _refuse,
        "Refused; a note sheet falls due.",
        choices=own_directions,
    ),
    "short_slip": SlipAct(
        "Call a short slip",
        forms.OneWordForm,
        lambda by, item, _, told: short.short_slip(
            by=by, item=item, event=told["event"]
        ),
        "The other initials are carried; whoever listed a line initials anew.",
        "Call it",
        caution=(
            "If only listed places changed, the other initials are carried over. "
            "The measured changes must bear it out."
        ),
    ),
    "pull": SlipAct("Pull the initial", forms.PullForm, _pull, "The initial is off."),
    "issue_sheet": SlipAct(
        "Issue the note sheet",
        forms.OneWordForm,
        lambda by, item, _, told: sheets.issue_sheet(
            by=by, item=item, event=told["event"]
        ),
        "The note sheet is out; the artist has the item.",
        "Issue it",
        caution="Every open note goes to the artist, numbered; then the item is hers.",
    ),
    "hold": SlipAct(
        "Hold",
        forms.ReasonForm,
        lambda by, item, role, told: holds.hold(
            by=by, item=item, reason=told["words"], event=told["event"], role=role
        ),
        "Held; nobody initials until it is released.",
    ),
    "release": SlipAct("Release", forms.OneWordForm, _release, "The hold is off."),
    "stand_by": SlipAct(
        "Stand by the current revision",
        forms.OneWordForm,
        lambda by, item, _, told: stages.stand_by(
            by=by, item=item, event=told["event"]
        ),
        "Stood by; the slip is open again.",
        "Stand by it",
    ),
    "send_up": SlipAct(
        "Send up",
        forms.OneWordForm,
        _send_up,
        "Sent up: it is the current revision now.",
        caution="It becomes current, everybody sees it, and initials go blank.",
    ),
    "rule_pair": SlipAct("Rule the pair", forms.PairForm, _rule_pair, "Ruled.", "Rule"),
    "open_stage": SlipAct(
        "Open the stage", forms.OpenStageForm, _open_stage, "The stage is open."
    ),
    "waive_stage": SlipAct(
        "Waive the stage", forms.ReasonForm, _waive_stage, "The stage is waived."
    ),
    "ask_reopening": SlipAct(
        "Ask to reopen",
        forms.ReopenForm,
        _ask_reopening,
        "The reopening is asked.",
        caution="Reopening takes the OK off, and every later stage shuts.",
    ),
    "agree_reopening": SlipAct(
        "Agree to reopen", forms.RippleForm, _agree, "Reopened."
    ),
}
