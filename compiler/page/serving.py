"""The page's server: this machine only, its own data only, for those who have the address.

It listens on the loopback address. Every path begins with a key drawn at the start; a request must name this
very host, and one that comes from another page is refused, so that no site a browser has open can reach the
piece. Nothing is read from disk by a name that a request gives."""

from __future__ import annotations

import contextlib
import hmac
import json
import secrets
import socket
import threading
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any
from urllib.parse import unquote

from .document import PAGE_POLICY, live_files
from .tray import Request, Tray
from .writing import write_figures

HOST = "127.0.0.1"
LONGEST = 8192  # bytes of a request's body
MOST_FIGURES = 64
PULSE = 4.0  # s between two signs of life
_SCREENS = 24  # that may wait for news at once


class PageServer:
    """Serves a tray until closed; ``address`` is what a browser is given."""

    def __init__(self, tray: Tray) -> None:
        key = secrets.token_urlsafe(18)
        self._tray = tray
        self._server = _Server((HOST, 0), tray, key)
        port = self._server.server_address[1]
        self.address = f"http://{HOST}:{port}/{key}/"
        threading.Thread(target=self._server.serve_forever, args=(0.2,), daemon=True).start()

    def close(self) -> None:
        """End it; screens say that the connection is lost."""
        self._tray.close()
        self._server.shutdown()
        self._server.server_close()


class _Server(ThreadingHTTPServer):
    daemon_threads = True
    block_on_close = False
    request_queue_size = 32

    def __init__(self, address: tuple[str, int], tray: Tray, key: str) -> None:
        super().__init__(address, _Handler)
        port = self.server_address[1]
        self.tray, self.key = tray, key
        self.files = live_files()
        self.hosts = {f"{HOST}:{port}", f"localhost:{port}"}
        self.screens = threading.BoundedSemaphore(_SCREENS)

    def handle_error(self, request: Any, client_address: Any) -> None:
        """A browser that goes away in the middle is no news."""


class _Handler(BaseHTTPRequestHandler):
    """One request."""

    server: _Server
    protocol_version = "HTTP/1.1"
    server_version, sys_version = "posy", ""
    timeout = 30

    def log_message(self, format: str, *args: Any) -> None:
        """The terminal belongs to the readout."""

    def setup(self) -> None:
        """No waiting to fill a packet: answers are wanted at once."""
        super().setup()
        with contextlib.suppress(OSError):
            self.connection.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)

    def do_GET(self) -> None:
        parts = self._asked()
        if parts is None:
            return
        name, rest = (parts[0] if parts else ""), parts[1:]
        if not rest and name in self.server.files:
            self._send(200, *self.server.files[name])
        elif name == "pieces" and not rest:
            self._data({"pieces": self.server.tray.pieces()})
        elif name == "news" and len(rest) == 1:
            self._news(rest[0])
        elif name in ("solid", "finished") and len(rest) == 2:
            self._solid(rest[0], name)
        else:
            self._refuse(404, "there is no such thing here")

    def do_POST(self) -> None:
        parts = self._asked(writing=True)
        if parts is None:
            return
        said = self._body()
        if said is None or len(parts) != 2:
            return self._refuse(400, "this is not understood")
        action = {"try": self._try, "write": self._write}.get(parts[0])
        if action is None:
            return self._refuse(404, "there is no such thing here")
        return action(parts[1], said)

    # --- who may ask

    def _asked(self, *, writing: bool = False) -> list[str] | None:
        """The parts of the path after the key; None, and an answer given, for whom it is not meant."""
        trouble = self._foreign(writing)
        if trouble is not None:
            self._refuse(403, trouble)
            return None
        _, key, *parts = self.path.partition("?")[0].split("/") if "/" in self.path else ["", ""]
        own = hmac.compare_digest(key.encode("utf-8", "replace"), self.server.key.encode())
        parts = [unquote(part) for part in parts]
        if not own or not parts or any(part in (".", "..") or set(part) & set("/\\\0") for part in parts):
            self._refuse(404, "there is no such page")
            return None
        return [part for part in parts if part]

    def _foreign(self, writing: bool) -> str | None:
        """Why a request is not this page's own; None for one that is."""
        if self.headers.get("Host") not in self.server.hosts:
            return "this page is for this machine only"
        origin = self.headers.get("Origin")
        own = {f"http://{host}" for host in self.server.hosts}
        cross = self.headers.get("Sec-Fetch-Site", "same-origin") not in ("same-origin", "none")
        if cross or (origin is not None and origin not in own) or (writing and origin is None):
            return "this page answers to itself only"
        return None

    def _body(self) -> dict[str, Any] | None:
        """What a request says, as plain data."""
        try:
            length = int(self.headers.get("Content-Length", ""))
            plain = self.headers.get("Content-Type", "").split(";")[0] == "application/json"
            if not 0 < length <= LONGEST or not plain:
                return None
            said = json.loads(self.rfile.read(length))
        except ValueError:
            return None
        return said if isinstance(said, dict) else None

    # --- answers

    def _news(self, name: str) -> None:
        """What is told of a piece, as it comes, for as long as the screen is there."""
        tray = self.server.tray
        if name not in tray.pieces():
            return self._refuse(404, "there is no such piece")
        if not self.server.screens.acquire(blocking=False):
            return self._refuse(503, "there are too many screens")
        try:
            if tray.shown(name) is None:
                tray.ask(Request(name))
            self._head(200, "text/event-stream", None)
            turn = 0
            while tray.open:
                news = tray.news(name, turn, PULSE)
                if news is None:
                    self.wfile.write(b"event: pulse\ndata: {}\n\n")
                else:
                    turn = news[0]
                    self.wfile.write(f"data: {news[1]}\n\n".encode())
                self.wfile.flush()
        except OSError:
            pass
        finally:
            self.close_connection = True
            self.server.screens.release()
        return None

    def _solid(self, name: str, state: str) -> None:
        shown = self.server.tray.shown(name)
        packet = b"" if shown is None else shown.finished if state == "finished" else shown.packet
        if not packet:
            return self._refuse(404, "there is no metal yet")
        return self._send(200, "application/octet-stream", packet)

    def _try(self, name: str, said: dict[str, Any]) -> None:
        """Make a piece with figures that its text does not have (yet), or with its stones set."""
        tried, finished = _figures(said.get("figures")), said.get("finished", False) is True
        if tried is None or not self.server.tray.ask(Request(name, tried, finished)):
            return self._refuse(400, "this is not understood")
        return self._data({"done": True})

    def _write(self, name: str, said: dict[str, Any]) -> None:
        """Write figures into the text, if it is the one that the screen saw."""
        shown, wanted = self.server.tray.shown(name), _figures(said.get("figures"))
        mark = said.get("mark")
        if shown is None or not wanted or not isinstance(mark, str):
            return self._refuse(400, "this is not understood")
        faults = write_figures(shown.path, mark, wanted)
        told = [{"text": one.message, "do": one.remedy} for one in faults]
        return self._data({"done": not faults, "trouble": told})

    def _data(self, told: Any) -> None:
        self._send(200, "application/json; charset=utf-8", json.dumps(told, ensure_ascii=False).encode())

    def _send(self, code: int, kind: str, body: bytes) -> None:
        self._head(code, kind, len(body))
        self.wfile.write(body)

    def _refuse(self, code: int, why: str) -> None:
        self.close_connection = True
        self._send(code, "text/plain; charset=utf-8", f"{why}\n".encode())

    def _head(self, code: int, kind: str, length: int | None) -> None:
        self.send_response(code)
        self.send_header("Content-Type", kind)
        if length is not None:
            self.send_header("Content-Length", str(length))
        for name, value in {
            "Cache-Control": "no-store",
            "Content-Security-Policy": PAGE_POLICY,
            "Cross-Origin-Opener-Policy": "same-origin",
            "Cross-Origin-Resource-Policy": "same-origin",
            "Referrer-Policy": "no-referrer",
            "X-Content-Type-Options": "nosniff",
            "X-Frame-Options": "DENY",
            "Connection": "close" if self.close_connection or length is None else "keep-alive",
        }.items():
            self.send_header(name, value)
        self.end_headers()


def _figures(said: Any) -> dict[str, str] | None:
    """Figures by name, as texts of the language."""
    if not isinstance(said, dict) or len(said) > MOST_FIGURES:
        return None
    short = all(isinstance(one, str) and 0 < len(one) <= 200 for pair in said.items() for one in pair)
    return said if short else None
