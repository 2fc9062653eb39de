"""Start the pages: listen on this machine alone, open the browser, end cleanly."""

from __future__ import annotations

import signal
import socket
import webbrowser
from _thread import interrupt_main
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from threading import Thread
from types import FrameType
from typing import Final

from waitress.server import create_server

from fleetcal.errors import DataError
from fleetcal.publish.templating import render
from fleetcal.services.chosen_store import Store
from fleetcal.web.app import LARGEST_UPLOAD, make_app
from fleetcal.web.desk import Desk
from fleetcal.web.door import guard
from fleetcal.web.gate import Gate

_HERE: Final = "127.0.0.1"
_THREADS: Final = 4
#: Slow connections cost a file each and no thread; Windows cannot look at more than 512 at once.
_CONNECTIONS: Final = 400
#: A connection on which nothing moves ends after this, s.
_SILENCE_S: Final = 30


def serve(
    store: Store, port: int, *, open_browser: bool, say: Callable[[str], None] = print
) -> None:
    """Serve a store to the user of this machine until the program is ended.

    Args:
        port: 0 for any that is free.
        say: Given the link that opens the pages, which works once.

    Raises:
        DataError: If something else listens on the port.
    """
    with _listening(port) as listener, _signals_end(), suppress(KeyboardInterrupt):
        gate = Gate(listener.getsockname()[1])
        desk = Desk(store, gate)
        try:
            _run(desk, gate, listener, open_browser=open_browser, say=say)
        finally:
            desk.close()


def _run(
    desk: Desk,
    gate: Gate,
    listener: socket.socket,
    *,
    open_browser: bool,
    say: Callable[[str], None],
) -> None:
    server = create_server(
        make_app(desk),
        sockets=[listener],
        threads=_THREADS,
        connection_limit=_CONNECTIONS,
        channel_timeout=_SILENCE_S,
        asyncore_use_poll=True,
        max_request_body_size=LARGEST_UPLOAD,
        ident="",
    )
    guard(server, gate)
    say(f"http://{_HERE}:{gate.port}/enter?token={gate.new_token()}")
    desk.warm()
    if open_browser:
        Thread(target=_open, args=(desk.folder, gate), daemon=True).start()
    desk.end = lambda: interrupt_main(signal.SIGTERM)  # Windows would end it at once by os.kill
    try:
        server.run()
    finally:
        server.close()


@contextmanager
def _signals_end() -> Iterator[None]:
    """Let the signals that end a program, or its terminal, end it as Ctrl-C does."""
    ending = [signal.SIGTERM]
    if hasattr(signal, "SIGHUP") and signal.getsignal(signal.SIGHUP) != signal.SIG_IGN:
        ending.append(signal.SIGHUP)  # which nohup ignores
    former = {number: signal.signal(number, _end) for number in ending}
    try:
        yield
    finally:
        for number, handler in former.items():
            signal.signal(number, handler)


def _listening(port: int) -> socket.socket:
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        listener.bind((_HERE, port))
    except OSError as error:
        listener.close()
        raise DataError(
            f"port {port} of this machine cannot be used: {error.strerror}",
            "leave --port out, and a free one is taken",
        ) from error
    return listener


def _end(number: int, frame: FrameType | None) -> None:
    raise KeyboardInterrupt


def _open(folder: Path, gate: Gate) -> None:
    """Open the pages in the user's browser.

    The word goes by a file that only this user can read: everybody on the machine can see what
    programs are started with.
    """
    entry = folder / "open.html"
    address = f"http://{_HERE}:{gate.port}/enter"
    entry.write_text(
        render("served_entry.html", address=address, token=gate.new_token()), encoding="utf-8"
    )
    webbrowser.open(entry.as_uri())
