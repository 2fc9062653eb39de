"""Forms that do something: shown, read, done, or refused with all that was typed kept."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from flask import flash, g, request
from markupsafe import escape
from werkzeug.wrappers import Response

from fleetcal.errors import BusyStoreError, FleetcalError
from fleetcal.plain_text import one_line
from fleetcal.publish.templating import render
from fleetcal.services.chosen_store import acting_as
from fleetcal.services.keeping.store_history import state_of
from fleetcal.web.fields import Field, FieldsError, Typed, read_fields
from fleetcal.web.page_words import words_of
from fleetcal.web.shown import frame_of, onward, the_desk

FLEET_TRAIL: Final = ("The fleet", "index.html")
#: A cookie carries what is said on the next page, and holds 4 kB.
_LONGEST_NOTE: Final = 400
_MOST_NOTES: Final = 4


@dataclass(frozen=True, kw_only=True)
class Act:
    """A form with one purpose.

    Attributes:
        words: How the history of the store calls it.
        button: What pressing it does.
        intro: What it does, in sentences.
        after: How to take it back, and what else to know.
        trail: Way back to the pages it is about.
        fold: Names of fields that only some need; they stand under one line.
    """

    words: str
    title: str
    fields: Sequence[Field]
    button: str
    subject: str = "The fleet"
    intro: Sequence[str] = ()
    after: Sequence[str] = ("History takes it back.",)
    trail: Sequence[tuple[str, str]] = (FLEET_TRAIL,)
    fold: Sequence[str] = ()
    fold_line: str = "More"
    template: str = "desk_form.html"

    def with_choices(self, **choices: Sequence[tuple[str, str]]) -> Act:
        """Return the form with choices for some of its fields."""
        return replace(
            self,
            fields=tuple(
                replace(one, choices=choices[one.name]) if one.name in choices else one
                for one in self.fields
            ),
        )


def answer(
    act: Act, start: Mapping[str, str], do: Callable[[Typed], str], **values: Any
) -> Response | str:
    """Show a form, or do what it is for and lead on.

    Args:
        start: What the fields hold at first.
        do: Does it and returns the page to show afterwards, from the root.
        values: For the template.
    """
    if request.method != "POST":
        return shown(act, start, **values)
    try:
        given = read_fields(act.fields, request.form)
        begin(act.words)
        return onward(do(given))
    except FleetcalError as error:
        return refused(act, request.form, error, **values)


def refused(act: Act, typed: Mapping[str, str], error: FleetcalError, **values: Any) -> Response:
    """Show a form again, with what was typed and why it was not done."""
    status = 503 if isinstance(error, BusyStoreError) else 400
    text = shown(act, typed, error=error, **values)
    return Response(text, status, mimetype="text/html")


def shown(
    act: Act, typed: Mapping[str, str], *, error: FleetcalError | None = None, **values: Any
) -> str:
    """Return the page of a form."""
    wrong = error.fields if isinstance(error, FieldsError) else {}
    return render(
        act.template,
        frame=frame_of(refused=words_of(error, act.fields) if error is not None else ()),
        title=act.title,
        act=act,
        typed={field.name: _kept(field, typed.get(field.name, "")) for field in act.fields},
        wrong=wrong,
        first_wrong=next(iter(wrong), ""),
        **values,
    )


def _kept(field: Field, text: str) -> str:
    """Return what was typed, several lines as they are."""
    return escape(text) if field.kind == "lines" else text


def begin(words: str) -> None:
    """Let the history of the store say from now on what is being done.

    Args:
        words: What it is called there.
    """
    acting_as(f"serve: {words}")
    g.state_before = state_of(the_desk().store)


def note_done(*sentences: str, undoable: bool = True) -> None:
    """Let the next page say what was done, and which change takes it back.

    Args:
        undoable: Whether a change of the store takes it back.
    """
    for words in sentences[:_MOST_NOTES]:
        flash(one_line(words)[:_LONGEST_NOTE])
    state = state_of(the_desk().store) if undoable else None
    if state is not None and state != g.state_before:
        flash(f"History, change {state.number}, takes it back.")
