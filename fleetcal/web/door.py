"""What is refused of a request before the rest of it is read.

The server reads a request completely before it hands it on. Whoever does not know the secret path
could so fill the disk for a while; he may send what fits a word, and nothing larger.
"""

from __future__ import annotations

from copy import copy
from typing import Final

from waitress.channel import HTTPChannel
from waitress.parser import HTTPRequestParser, ParsingError
from waitress.server import BaseWSGIServer, MultiSocketServer

from fleetcal.web.gate import Gate

#: What somebody may send who does not know the secret path, bytes; the word that lets in is 43.
STRANGERS_UPLOAD: Final = 4096


def guard(server: BaseWSGIServer | MultiSocketServer, gate: Gate) -> None:
    """Let a server on one socket refuse large uploads of strangers, and requests for a proxy."""
    assert isinstance(server, BaseWSGIServer)
    strangers = copy(server.adj)
    strangers.max_request_body_size = STRANGERS_UPLOAD

    class Parser(HTTPRequestParser):
        request_uri: str
        path: str

        def parse_header(self, header_plus: bytes) -> None:
            try:
                super().parse_header(header_plus)
            except ValueError as error:  # a length of more digits than Python reads
                raise ParsingError("Header invalid") from error
            if not self.request_uri.startswith("/"):
                raise ParsingError("This is no proxy")
            if not gate.is_ours(self.path):
                self.adj = strangers

    class Channel(HTTPChannel):
        parser_class = Parser

    server.channel_class = Channel
