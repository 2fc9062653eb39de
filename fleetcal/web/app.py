"""The program behind the served pages."""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from typing import Final

from flask import Flask, Response, request, session
from werkzeug.exceptions import HTTPException
from werkzeug.wrappers import Response as AnyResponse

from fleetcal.errors import BusyStoreError, FleetcalError, UnknownNameError
from fleetcal.publish.templating import render
from fleetcal.services.chosen_store import acting_as
from fleetcal.web.acts import ACTS
from fleetcal.web.browse import browse
from fleetcal.web.columns import columns
from fleetcal.web.desk import Desk
from fleetcal.web.drop import drop
from fleetcal.web.flight_desk import flight_desk
from fleetcal.web.gate import HEADERS
from fleetcal.web.look import look
from fleetcal.web.page_words import words_of
from fleetcal.web.progress import progress
from fleetcal.web.several import several
from fleetcal.web.shown import give_desk, page, the_desk

#: Largest upload, bytes: an hour at 10 Hz with fifty columns is about 15 MB.
LARGEST_UPLOAD: Final = 256 * 2**20
_ADMITTED: Final = "admitted"
_ENTRY: Final = "/enter"
#: Every part of the pages.
PARTS: Final = (look, browse, progress, *ACTS, drop, several, flight_desk, columns)


def make_app(desk: Desk) -> Flask:
    """Return the program that serves a desk to the browser that its gate admits."""
    gate = desk.gate
    app = Flask("fleetcal.web", static_folder=None, template_folder=None)
    app.config.update(
        SECRET_KEY=secrets.token_bytes(32),
        SESSION_COOKIE_NAME=f"fleetcal-{gate.port}",
        SESSION_COOKIE_PATH=gate.root,
        SESSION_COOKIE_HTTPONLY=True,
        SESSION_COOKIE_SAMESITE="Strict",
        MAX_CONTENT_LENGTH=LARGEST_UPLOAD,
        MAX_FORM_PARTS=5000,
        MAX_FORM_MEMORY_SIZE=4 * 2**20,
    )
    give_desk(app, desk)
    app.before_request(_keep_out)
    app.after_request(_with_headers)
    app.register_error_handler(FleetcalError, _refusal)
    app.register_error_handler(HTTPException, _no_page)
    app.register_error_handler(Exception, _unforeseen)
    app.add_url_rule(_ENTRY, view_func=_enter, methods=["GET", "POST"])
    for part in PARTS:
        app.register_blueprint(part, url_prefix=gate.root.rstrip("/"))
    return app


def _keep_out() -> AnyResponse | None:
    """Answer nobody but the browser that was let in."""
    gate = the_desk().gate
    acting_as("served page")
    if request.path == _ENTRY:
        # the file that opens the browser is of no site; what lets in is the word alone
        why = gate.why_refused("GET", {"Host": request.headers.get("Host", "")})
    else:
        why = gate.why_refused(request.method, dict(request.headers))
    if not why and request.path != _ENTRY:
        if not gate.is_ours(request.path):
            why = "no page is at that address"
        elif not session.get(_ADMITTED):
            why = "this browser was not let in"
    if not why:
        return None
    return Response(render("served_closed.html", title="Closed", why=why), 403)


def _enter() -> AnyResponse:
    """Let a browser in that brings the word, once."""
    gate = the_desk().gate
    if not gate.admits(request.values.get("token", "")):
        why = "the link works once, and has been used or is not complete"
        return Response(render("served_closed.html", title="Closed", why=why), 403)
    session[_ADMITTED] = True
    # A redirect would belong to whoever opened this page, and the cookie would stay at home.
    return Response(render("served_open.html", title="fleetcal", first=gate.root))


def _with_headers(answer: Response) -> Response:
    for name, value in HEADERS.items():
        answer.headers.setdefault(name, value)
    return answer


def _not_done(refused: Sequence[str]) -> str:
    typed = request.method == "POST"
    return page("served_refused.html", title="Not done", refused=refused, typed=typed)


def _refusal(error: FleetcalError) -> AnyResponse:
    status = 400
    if isinstance(error, UnknownNameError):
        status = 404
    elif isinstance(error, BusyStoreError):
        status = 503
    return Response(_not_done(words_of(error)), status)


def _no_page(error: HTTPException) -> AnyResponse:
    if error.code in (301, 302, 303, 307, 308):
        return error.get_response()
    words = {
        404: "There is no such page.",
        405: "That address takes no such request.",
        413: f"That is larger than the {LARGEST_UPLOAD // 2**20} MB that a page takes. The command "
        "line takes larger files: fleetcal reduce FILE.",
    }.get(error.code or 500, "The request was not understood.")
    body = _not_done([words])
    return Response(body, error.code or 400)


def _unforeseen(error: Exception) -> AnyResponse:
    the_desk().note_unforeseen(error)
    refused = [
        "Something went wrong in the program itself.",
        "Nothing was half-written; what it was is printed where the program was started.",
    ]
    return Response(_not_done(refused), 500)
