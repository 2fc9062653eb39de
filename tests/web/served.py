"""A desk whose pages are asked for without a network."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from urllib.parse import urljoin

from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from fleetcal.store import Store
from fleetcal.web.app import make_app
from fleetcal.web.desk import Desk
from fleetcal.web.gate import Gate

PORT = 4321
HOST = f"127.0.0.1:{PORT}"


@dataclass
class ServedPages:
    """Asks for pages as a browser does that was let in, from our own pages."""

    desk: Desk
    client: FlaskClient

    def get(self, path: str = "") -> TestResponse:
        """Return a page, named from the root of the pages."""
        return self.client.get(self.desk.gate.root + path, headers={"Host": HOST})

    def post(self, path: str, **parts: object) -> TestResponse:
        """Return the answer to a form, as `data`, or to `json`."""
        headers = {"Host": HOST, "Origin": f"http://{HOST}", "Sec-Fetch-Site": "same-origin"}
        return self.client.post(self.desk.gate.root + path, headers=headers, **parts)

    def follow(self, answer: TestResponse) -> TestResponse:
        """Return the page that an answer leads on to."""
        assert answer.status_code == 303, answer.get_data(as_text=True)
        place = urljoin(answer.request.path, answer.headers["Location"])
        return self.client.get(place, headers={"Host": HOST})


@contextmanager
def served(store: Store) -> Iterator[ServedPages]:
    """Yield the pages of a store to a browser that was let in."""
    desk = Desk(store, Gate(PORT))
    try:
        client = make_app(desk).test_client()
        answer = client.post(
            "/enter", data={"token": desk.gate.new_token()}, base_url=f"http://{HOST}"
        )
        assert answer.status_code == 200
        yield ServedPages(desk, client)
    finally:
        desk.close()
