"""The pages of a set served to the browser of the same machine, refreshed when the set changes.

Listens on the loopback address alone; answers only to a name of this machine (so that no page from elsewhere can reach
it by a name of its own), only GET and HEAD, only plain files of one folder. What is served says that no other origin
may have it. The files themselves stay as they are: the few lines that look for changes are added on the way out.
"""

from __future__ import annotations

import sys
import threading
from collections.abc import Callable, Mapping
from html import escape
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path, PurePosixPath
from typing import Any
from urllib.parse import unquote, urlsplit

from toolpaths.common.plain_file import plain_bytes
from toolpaths.reports.output.folder import is_plain
from toolpaths.reports.pages.template import digest
from toolpaths.reports.preview.viewer_parts import script as viewer_script

LOOPBACK = "127.0.0.1"
_NAMES = ("127.0.0.1", "localhost")
_KINDS = {
    ".html": "text/html; charset=utf-8",
    ".json": "application/json",
    ".png": "image/png",
    ".txt": "text/plain; charset=utf-8",
}
_LARGEST = 64_000_000
_EVERY_MS = 700
_BAR = "position:sticky;top:0;z-index:9;color:#fff;padding:.7rem 1rem;white-space:pre-wrap"
_PAGE_POLICY = '<meta http-equiv="Content-Security-Policy"'
_NOTHING = "default-src 'none'; frame-ancestors 'none'"


class Shown:
    """What the browser is shown: the files of a folder, or `files` from memory, and the state of the job.

    `state`: how often something changed, and what is wrong just now; empty where nothing is. One thread replaces it,
    whole, while others read it. `note`: what is said above every page.
    """

    def __init__(self, folder: Path | None, note: str = "") -> None:
        self.folder, self.note = folder, note
        self.files: Mapping[str, bytes] = {}
        self.state = (0, "")

    def written(self, files: Mapping[str, bytes] | None = None) -> None:
        """The set is new: open pages fetch it. `files`: by name, where they are in no folder."""
        if files is not None:
            self.files = files
        self.troubled("")

    def troubled(self, words: str) -> None:
        """The job cannot be used: open pages say why, above what was shown before."""
        self.state = (self.state[0] + 1, words)

    def content(self, name: str) -> bytes | None:
        """The content of a file; None where there is none of this name."""
        if self.folder is None:
            return self.files.get(name)
        return _content(self.folder / name) if is_plain(name) else None


class PageServer(ThreadingHTTPServer):
    """Serves one folder on the loopback address. `url`: where the preview page is."""

    daemon_threads = True

    def __init__(self, shown: Shown, port: int = 0) -> None:
        """Raises OSError where the port is taken."""
        self.shown = shown
        super().__init__((LOOPBACK, port), _Handler)

    def handle_error(self, request: Any, client_address: Any) -> None:
        """Ignore a browser that disconnects; only the command line prints."""
        if not isinstance(sys.exception(), OSError):
            super().handle_error(request, client_address)

    @property
    def url(self) -> str:
        """Of the preview page."""
        return f"http://{LOOPBACK}:{self.server_address[1]}/preview.html"

    def begin(self) -> Callable[[], None]:
        """Serve in a thread; returns a function that ends it."""
        thread = threading.Thread(target=self.serve_forever, kwargs={"poll_interval": 0.1}, daemon=True)
        thread.start()

        def end() -> None:
            self.shutdown()
            thread.join()
            self.server_close()

        return end


class _Handler(BaseHTTPRequestHandler):
    server: PageServer
    protocol_version = "HTTP/1.1"
    server_version, sys_version = "neckpath", ""

    def do_GET(self) -> None:
        self._answer(body=True)

    def do_HEAD(self) -> None:
        self._answer(body=False)

    def log_message(self, format: str, *args: object) -> None:
        """Print nothing: only the command line prints."""

    def _answer(self, *, body: bool) -> None:
        if not self._is_ours():
            self._send(HTTPStatus.FORBIDDEN, b"This is served to this machine alone.\n", "text/plain", body)
            return
        path = _asked(self.path)
        count, trouble = self.server.shown.state
        if path == "changed":
            self._send(HTTPStatus.OK, f"{count}".encode(), "text/plain", body)
            return
        kind = _KINDS.get(PurePosixPath(path).suffix.lower(), "text/plain; charset=utf-8")
        page = kind.startswith("text/html")
        content = self.server.shown.content(path)
        if content is None and page and trouble:
            content = b"<!doctype html><title>neckpath</title><body></body>"
        if content is None:
            self._send(HTTPStatus.NOT_FOUND, b"There is no such file in this set.\n", "text/plain", body)
            return
        policy = _NOTHING
        if page:
            content, refresh = _with_refresh(content, count, trouble, self.server.shown.note)
            policy = _policy(refresh)
        self._send(HTTPStatus.OK, content, kind, body, policy)

    def _is_ours(self) -> bool:
        """Whether the request names this machine and comes from no other page."""
        port = self.server.server_address[1]
        allowed = {f"{name}:{port}" for name in _NAMES}
        origin = self.headers.get("Origin")
        fetched = self.headers.get("Sec-Fetch-Site", "none")
        return (
            self.headers.get("Host", "") in allowed
            and (origin is None or origin in {f"http://{host}" for host in allowed})
            and fetched in ("none", "same-origin")
        )

    def _send(self, status: HTTPStatus, content: bytes, kind: str, body: bool, policy: str = _NOTHING) -> None:
        self.send_response(status)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(content)))
        self.send_header("Content-Security-Policy", policy)
        self.send_header("Cache-Control", "no-store")
        self.send_header("X-Content-Type-Options", "nosniff")
        self.send_header("X-Frame-Options", "DENY")
        self.send_header("Cross-Origin-Resource-Policy", "same-origin")
        self.send_header("Referrer-Policy", "no-referrer")
        self.end_headers()
        if body:
            self.wfile.write(content)


def _asked(target: str) -> str:
    """The name of the requested file; a name that no file has where it cannot be decoded."""
    try:
        return unquote(urlsplit(target).path).lstrip("/") or "preview.html"
    except ValueError:
        return "/"


def _content(file: Path) -> bytes | None:
    try:
        if file.is_symlink() or not file.is_file() or file.stat().st_size > _LARGEST:
            return None
        return plain_bytes(file, _LARGEST)
    except (OSError, ValueError):
        return None


def _policy(refresh: str) -> str:
    """Content policy of a served page: it may run this project's own scripts and ask this server, nothing else."""
    return (
        f"default-src 'none'; img-src data:; style-src 'unsafe-inline'; connect-src 'self'; "
        f"script-src 'sha256-{digest(viewer_script())}' 'sha256-{digest(refresh)}'; "
        "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    )


def _with_refresh(content: bytes, count: int, trouble: str, note: str = "") -> tuple[bytes, str]:
    """A page with a note and what is wrong above it, and the script that it now ends with.

    The script fetches the page again once something has changed.

    The page's own policy lets nothing be requested, so its line is left out: `_policy` holds the served copy to the
    same, but that it may ask where it came from.
    """
    script = (
        "setInterval(async () => { try { const now = await (await fetch('/changed', {cache: 'no-store'})).text(); "
        f"if (now !== '{count}') location.reload(); }} catch {{ }} }}, {_EVERY_MS});"
    )
    lines = content.decode("utf-8", "replace").splitlines(keepends=True)
    text = "".join(line for line in lines if not line.startswith(_PAGE_POLICY))
    said = ""
    if trouble:
        head = "<strong>The job was not written as it is now. Below is the state before the last change.</strong>"
        said = f'<div role="alert" style="{_BAR};background:#7a1f00">{head}\n{escape(trouble)}</div>'
    if note:
        said += f'<div role="note" style="{_BAR};background:#333">{escape(note)}</div>'
    before, found, after = text.partition("<body>")
    text = f"{before}{found}{said}{after}" if found else said + text
    before, found, after = text.rpartition("</body>")
    added = f"<script>{script}</script>"
    return (f"{before}{added}{found}{after}" if found else text + added).encode(), script
