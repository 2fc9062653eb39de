"""How far long work is, and stopping it."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, jsonify
from werkzeug.wrappers import Response

from fleetcal.web.shown import onward, page, the_desk
from fleetcal.web.work import DONE, FAILED, RUNNING, LongWork

progress = Blueprint("progress", __name__)


@progress.get("/progress/<int:number>/")
def show(number: int) -> str | Response:
    """Show how far work is; lead on when it is done."""
    work = the_desk().works.find(number)
    if work.state == DONE:
        return onward(work.leads_to)
    if work.state == FAILED and work.error is not None:
        raise work.error
    return page("desk_work.html", title=work.title, work=work, running=work.state == RUNNING)


@progress.get("/progress/<int:number>/state")
def state(number: int) -> Any:
    """Return how far work is, for the page's script."""
    work = the_desk().works.find(number)
    return jsonify(words=work.words, state=work.state)


@progress.post("/progress/<int:number>/stop")
def stop(number: int) -> Response:
    """Stop work after its present step."""
    work = the_desk().works.find(number)
    work.stopping.set()
    return onward(f"progress/{number}/")


def lead_to(work: LongWork) -> Response:
    """Lead on to the page that shows work which was begun."""
    return onward(f"progress/{work.number}/")
