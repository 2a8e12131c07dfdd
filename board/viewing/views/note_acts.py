"""What may be done with a note, as one table: words, form and action of each act."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from accounts.models import Person
from board.repro.store import work_folder
from board.slips.actions import notes, rulings
from board.slips.actions.references import add_picture
from board.tissue.models import Note
from board.viewing import forms

Told = dict[str, Any]  # a form's cleaned fields, whatever their kinds


@dataclass(frozen=True)
class NoteAct:
    """One act: what the page calls it, its form, what it does, what is said after."""

    title: str
    form: type[forms.ActForm]
    do: Callable[[Person, Note, Told], object]
    done: str
    button: str = ""

    @property
    def one_press(self) -> bool:
        """Whether a press is enough and no words are asked."""
        return self.form is forms.OneWordForm


def _edit(by: Person, note: Note, told: Told) -> object:
    return notes.edit_note(
        by=by,
        note=note,
        draft=told["draft"],
        version=told["version"] or 0,
        event=told["event"],
    )


def _picture(by: Person, note: Note, told: Told) -> object:
    sent = told["picture"]
    with work_folder() as folder:
        path = folder / "reference"
        with path.open("wb") as file:
            for part in sent.chunks():
                file.write(part)
        return add_picture(
            by=by, note=note, path=path, filename=str(sent.name), event=told["event"]
        )


def _merge(by: Person, note: Note, told: Told) -> object:
    into = Note.objects.get(key=told["into"], item=note.item)
    return rulings.merge(by=by, note=note, into=into, event=told["event"])


MAY_WAIT = ("reply", "answer", "answer_query")  # written without a line, sent later
NOTE_ACTS: dict[str, NoteAct] = {
    "reply": NoteAct(
        "Reply",
        forms.ReplyForm,
        lambda by, note, told: notes.reply(
            by=by, note=note, words=told["words"], event=told["event"]
        ),
        "The reply stands under the note.",
    ),
    "edit": NoteAct(
        "Edit",
        forms.NoteForm,
        _edit,
        "The note is changed.",
        "Keep the changes",
    ),
    "picture": NoteAct(
        "Add a picture",
        forms.PictureForm,
        _picture,
        "The picture lies under the note; whoever sees the note sees it.",
        "Add it",
    ),
    "withdraw": NoteAct(
        "Withdraw",
        forms.WithdrawForm,
        lambda by, note, told: notes.withdraw(
            by=by, note=note, reason=told["words"], event=told["event"]
        ),
        "The note is withdrawn; its words stay in the daybook.",
    ),
    "answer": NoteAct(
        "Answer",
        forms.AnswerForm,
        lambda by, note, told: notes.answer(
            by=by,
            note=note,
            answer=told["answer"],
            words=told["words"],
            event=told["event"],
        ),
        "The line is answered.",
    ),
    "answer_query": NoteAct(
        "Answer the query",
        forms.AnswerQueryForm,
        lambda by, note, told: notes.answer_query(
            by=by, note=note, words=told["words"], event=told["event"]
        ),
        "The query is answered; whoever asked closes it.",
        "Answer",
    ),
    "close": NoteAct(
        "Close",
        forms.OneWordForm,
        lambda by, note, told: rulings.close(by=by, note=note, event=told["event"]),
        "The line is closed.",
    ),
    "put_back": NoteAct(
        "Put back",
        forms.PutBackForm,
        lambda by, note, told: rulings.put_back(
            by=by, note=note, reason=told["words"], event=told["event"]
        ),
        "The line is open again, with your words.",
    ),
    "stet": NoteAct(
        "Stet",
        forms.StetForm,
        lambda by, note, told: rulings.stet(
            by=by, note=note, ruling=told["words"], event=told["event"]
        ),
        "Stet: the art stands, and the ruling with it.",
        "Let it stand",
    ),
    "rule_late": NoteAct(
        "Let it wait",
        forms.LateForm,
        lambda by, note, told: rulings.rule_late(
            by=by,
            note=note,
            ruling=told["ruling"],
            words=told["words"],
            event=told["event"],
        ),
        "Ruled; your words stand under the note.",
        "Rule it",
    ),
    "merge": NoteAct(
        "Merge",
        forms.MergeForm,
        _merge,
        "The note is merged; the other speaks for both.",
    ),
    "pass_on": NoteAct(
        "Pass on",
        forms.PassOnForm,
        lambda by, note, told: notes.pass_on(
            by=by, note=note, words=told["words"], event=told["event"]
        ),
        "The author's note is passed on.",
    ),
    "decline": NoteAct(
        "Decline",
        forms.DeclineForm,
        lambda by, note, told: notes.decline(
            by=by, note=note, reason=told["words"], event=told["event"]
        ),
        "The note is declined; the author reads why.",
    ),
}
