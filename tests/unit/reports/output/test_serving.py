"""Pages served to this machine alone: by name, by origin, by method and by path."""

from __future__ import annotations

import base64
import hashlib
import http.client
import socket
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.support.patience import LONGEST
from toolpaths.reports.output.serving import PageServer, Shown
from toolpaths.reports.pages.template import page
from toolpaths.reports.preview.viewer_parts import script

_SOON = 2.0
"""Seconds; a connection that nobody takes by then is refused, however busy the machine is."""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    place = tmp_path / "set"
    place.mkdir()
    text = page("pages/page.html", title="A board", script="ready()")
    (place / "preview.html").write_text(text.replace("<body>", "<body><p>hello</p>"), encoding="utf-8")
    (place / "01-face.ngc").write_text("G21\n", encoding="utf-8")
    (tmp_path / "secret.txt").write_text("mine")
    (place / "link.txt").symlink_to(tmp_path / "secret.txt")
    (place / ".hidden").write_text("mine")
    return place


@pytest.fixture
def server(folder: Path) -> Iterator[PageServer]:
    one = PageServer(Shown(folder))
    end = one.begin()
    yield one
    end()


def asked(
    server: PageServer, path: str, method: str = "GET", **headers: str
) -> tuple[int, str, http.client.HTTPMessage]:
    port = server.server_address[1]
    line = http.client.HTTPConnection("127.0.0.1", port, timeout=LONGEST)
    line.putrequest(method, path, skip_host=True)
    for name, value in {"Host": f"127.0.0.1:{port}", **headers}.items():
        line.putheader(name.replace("_", "-"), value)
    line.endheaders()
    answer = line.getresponse()
    return answer.status, answer.read().decode(), answer.headers


def test_the_page_is_served_with_what_looks_for_changes(server: PageServer) -> None:
    status, text, headers = asked(server, "/")
    assert 200 == status
    assert "<p>hello</p>" in text
    assert "fetch('/changed'" in text
    # The page's own policy would forbid to ask: what the answer's head says holds in its place.
    assert "Content-Security-Policy" not in text
    policy = headers["Content-Security-Policy"]
    assert policy.startswith("default-src 'none'; img-src data:; style-src 'unsafe-inline'; connect-src 'self'; ")
    assert 2 == policy.split("script-src ")[1].split(";")[0].count("'sha256-")
    assert "no-store" == headers["Cache-Control"]
    assert "same-origin" == headers["Cross-Origin-Resource-Policy"]
    assert "Access-Control-Allow-Origin" not in headers


def test_the_file_itself_stays_as_it_is(server: PageServer, folder: Path) -> None:
    before = (folder / "preview.html").read_bytes()
    asked(server, "/preview.html")
    assert before == (folder / "preview.html").read_bytes()
    assert b"fetch" not in before


@pytest.mark.parametrize(
    "headers",
    [
        {"Host": "evil.example"},
        {"Host": "evil.example:80"},
        {"Host": ""},
        {"Origin": "http://evil.example"},
        {"Origin": "null"},
        {"Sec_Fetch_Site": "cross-site"},
        {"Sec_Fetch_Site": "same-site"},
    ],
)
def test_no_other_origin_is_let_in(server: PageServer, headers: dict[str, str]) -> None:
    status, text, _ = asked(server, "/preview.html", **headers)
    assert 403 == status
    assert "hello" not in text


def test_both_names_of_this_machine_are(server: PageServer) -> None:
    port = server.server_address[1]
    assert 200 == asked(server, "/", Host=f"localhost:{port}")[0]
    assert 200 == asked(server, "/", Origin=f"http://127.0.0.1:{port}", Sec_Fetch_Site="same-origin")[0]


@pytest.mark.parametrize(
    "path",
    [
        "/../secret.txt",
        "/%2e%2e/secret.txt",
        "/..%2fsecret.txt",
        "/link.txt",
        "/.hidden",
        "//etc/passwd",
        "/a/b",
        "/nothing.html",
    ],
)
def test_nothing_but_plain_files_of_the_folder(server: PageServer, path: str) -> None:
    status, text, _ = asked(server, path)
    assert 404 == status
    assert "mine" not in text


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "OPTIONS", "TRACE"])
def test_nothing_but_reading(server: PageServer, method: str) -> None:
    assert 501 == asked(server, "/preview.html", method)[0]


def test_head_says_the_same_without_a_body(server: PageServer) -> None:
    status, text, headers = asked(server, "/01-face.ngc", "HEAD")
    assert (200, "", "4") == (status, text, headers["Content-Length"])


def test_a_change_is_told_by_its_number_and_trouble_above_the_page(server: PageServer) -> None:
    assert "0" == asked(server, "/changed")[1]
    server.shown.troubled("gouge: <b>deep</b>")
    assert "1" == asked(server, "/changed")[1]
    text = asked(server, "/")[1]
    assert "gouge: &lt;b&gt;deep&lt;/b&gt;" in text
    assert "was not written" in text
    assert "<p>hello</p>" in text
    server.shown.written()
    assert "was not written" not in asked(server, "/")[1]


def test_it_listens_on_the_loopback_address_alone(server: PageServer) -> None:
    assert "127.0.0.1" == server.server_address[0]
    own = {info[4][0] for info in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)} - {"127.0.0.1"}
    for address in own:
        if address.startswith("127."):
            continue
        with pytest.raises(OSError):
            socket.create_connection((address, server.server_address[1]), timeout=_SOON)


def test_a_request_that_cannot_be_read_is_answered_and_prints_nothing(
    server: PageServer, capfd: pytest.CaptureFixture[str]
) -> None:
    assert 404 == asked(server, "http://[/preview.html")[0]
    (server.shown.folder / "odd.html").write_bytes(b"<body>\xff</body>")
    assert 200 == asked(server, "/odd.html")[0]
    assert ("", "") == capfd.readouterr()


def test_the_server_lets_a_page_run_the_project_s_own_script_and_no_other(server: PageServer, folder: Path) -> None:
    (folder / "odd.html").write_text("<body><script>steal()</script></body>", encoding="utf-8")
    _, text, headers = asked(server, "/odd.html")
    allowed = headers["Content-Security-Policy"].split("script-src ")[1].split(";")[0].split()
    refresh = text.rpartition("<script>")[2].partition("</script>")[0]
    assert {own_digest(script()), own_digest(refresh)} == set(allowed)
    assert "default-src 'none'" in headers["Content-Security-Policy"]
    assert asked(server, "/01-face.ngc")[2]["Content-Security-Policy"].startswith("default-src 'none'")


def own_digest(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"
