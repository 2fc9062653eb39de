"""Publish all pages as a static site: made in the background, taken along as one file."""

from __future__ import annotations

import re
import secrets
import shutil
from datetime import date
from pathlib import Path
from typing import Final
from zipfile import ZIP_DEFLATED, ZipFile

from flask import Blueprint, request
from werkzeug.wrappers import Response

from fleetcal.errors import FleetcalError, UnknownNameError
from fleetcal.services.publishing.publish_site import publish_site
from fleetcal.services.publishing.site_groups import SiteTables
from fleetcal.web.acting import FLEET_TRAIL, Act, refused, shown
from fleetcal.web.desk import Desk
from fleetcal.web.fields import Field, Typed, read_fields
from fleetcal.web.files import attachment
from fleetcal.web.progress import lead_to
from fleetcal.web.shown import page, the_desk
from fleetcal.web.work import LongWork

act_site = Blueprint("act_site", __name__)
_KEY: Final = re.compile(r"[0-9a-f]{16}")
_NAME: Final = "site.zip"
_SITE: Final = Act(
    words="publish --site",
    title="Publish all pages as a site",
    subject="The pages of the fleet, its groups, airframes and sorties, in one file to give away",
    fields=(
        Field(name="with_days", label="Show days, not only months", kind="tick"),
        Field(name="with_registrations", label="Show registrations, not only tags", kind="tick"),
        Field(
            name="weight_kg",
            label="Tables for a weight of",
            kind="number",
            unit="kg",
            low=1.0,
            high=100000.0,
            advice="The usual weight of each type if left empty.",
        ),
        Field(
            name="altitude_ft",
            label="Altimeter corrections for a pressure altitude of",
            kind="number",
            unit="ft",
            low=-1000.0,
            high=30000.0,
        ),
    ),
    button="Make the site",
    intro=(
        "The pages here show days and registrations, because they stay on this machine. The site "
        "shows months and tags only, unless you choose otherwise. No positions are in it.",
        "Unpack the file anywhere and open index.html; it needs no network.",
    ),
    after=("Nothing of the store is changed.",),
    trail=(FLEET_TRAIL,),
)


@act_site.route("/publish/site", methods=["GET", "POST"])
def make() -> Response | str:
    """Begin to make the site."""
    if request.method != "POST":
        return shown(_SITE, {})
    try:
        typed = read_fields(_SITE.fields, request.form)
    except FleetcalError as error:
        return refused(_SITE, request.form, error)
    desk = the_desk()
    return lead_to(desk.works.start("The site is made", lambda work: _made(desk, typed, work)))


@act_site.get("/publish/site/<key>/")
def made(key: str) -> str:
    """Offer a site that was made."""
    path = _file(key)
    return page("desk_site.html", title="The site is ready", megabytes=path.stat().st_size / 2**20)


@act_site.get("/publish/site/<key>/site.zip")
def download(key: str) -> Response:
    """Send a site that was made."""
    return attachment(_file(key))


def _made(desk: Desk, typed: Typed, work: LongWork) -> str:
    """Make the site and return the page that offers it."""
    key = secrets.token_hex(8)
    place = desk.folder / key
    place.mkdir()
    try:
        publish_site(
            desk.store,
            place / "site",
            date.today(),
            with_days=typed.tick("with_days"),
            with_registrations=typed.tick("with_registrations"),
            tables=SiteTables(typed.number("weight_kg"), typed.number("altitude_ft") or 0.0),
            progress=work.say,
        )
        work.say("packing")
        _pack(place / "site", place / _NAME)
        shutil.rmtree(place / "site")
    except BaseException:
        shutil.rmtree(place, ignore_errors=True)
        raise
    return f"publish/site/{key}/"


def _pack(folder: Path, target: Path) -> None:
    with ZipFile(target, "w", ZIP_DEFLATED) as packed:
        for path in sorted(folder.rglob("*")):
            if path.is_file():
                packed.write(path, Path("site") / path.relative_to(folder))


def _file(key: str) -> Path:
    path = the_desk().folder / key / _NAME
    if not _KEY.fullmatch(key) or not path.is_file():
        raise UnknownNameError("there is no such site", "make it again")
    return path
