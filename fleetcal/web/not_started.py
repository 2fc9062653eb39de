"""Why the pages could not be started, for whoever has no terminal to read it in."""

from __future__ import annotations

import tempfile
import webbrowser
from collections.abc import Sequence
from pathlib import Path

from fleetcal.publish.templating import render


def show_instead(sentences: Sequence[str]) -> None:
    """Open a page in the browser that says why there are no others."""
    text = render("served_not_started.html", title="fleetcal did not start", sentences=sentences)
    with tempfile.NamedTemporaryFile("w", suffix=".html", delete=False, encoding="utf-8") as file:
        file.write(text)
    webbrowser.open(Path(file.name).as_uri())
