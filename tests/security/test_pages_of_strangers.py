"""Pages with the words of a stranger, in a real browser: no script of theirs runs, nothing is asked for."""

from __future__ import annotations

import re
import socket
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.browser.chrome import Browser, browser
from tests.security.strangers import COARSE, board, run
from tests.support.needs import BROWSER, needs
from tests.support.patience import LONGEST, until
from toolpaths.reports.output.serving import PageServer, Shown

ROOT = Path(__file__).parents[2]
pytestmark = [pytest.mark.slow, needs(BROWSER)]

_MARK = "document.documentElement.dataset.broken='yes'"
WORDS = (
    f"<script>{_MARK}</script>",
    f'\\"><img src=x onerror={_MARK}>',
    f"</script></title></pre><script>{_MARK}</script>",
    f"<svg onload={_MARK}> <iframe srcdoc=x> javascript:{_MARK}",
)
_TRY_EVERYTHING = """(async () => {
  for (const e of document.querySelectorAll('details')) e.open = true;
  for (const e of document.querySelectorAll('button')) { e.click(); await new Promise(r => setTimeout(r, 10)); }
  for (const e of document.querySelectorAll('select')) for (const o of e.options) {
    e.value = o.value; e.dispatchEvent(new Event('change', {bubbles: true})); }
  for (const e of document.querySelectorAll('canvas, svg')) for (const kind of ['pointermove', 'click', 'mousemove']) {
    const b = e.getBoundingClientRect();
    for (const f of [0.3, 0.5, 0.7]) e.dispatchEvent(new PointerEvent(kind,
      {bubbles: true, clientX: b.x + b.width * f, clientY: b.y + b.height / 2})); }
  await new Promise(r => setTimeout(r, 200));
})()"""


@pytest.fixture(scope="module")
def chrome() -> Iterator[Browser]:
    with browser() as one:
        yield one


def hostile(folder: Path, words: str) -> Path:
    """A set whose title, machine, wood, clamp and program's comments are those words; its folder."""
    folder.mkdir()
    machine = (ROOT / "machines" / "bench-router.yaml").read_text(encoding="utf-8")
    short = words[:55]
    for key, said in (("name", short), ("description", words)):
        machine = re.sub(rf"^{key}: .*$", lambda _, k=key, s=said: f'{k}: "{s}"', machine, flags=re.MULTILINE)
    (folder / "mine.yaml").write_text(machine.replace('\\\\"', '\\"'), encoding="utf-8")
    clamp = f'    keep_out: [{{name: "{short}", x: [-90, -80], y: [-25, 25], height: 6}}]'
    text = board(f'"{words}"').replace("bench-router", "mine.yaml")
    text = text.replace("    hold: tape", f"    hold: tape\n{clamp}")
    text = text.replace("black cherry", f'{{name: "{short}", janka: 950, density: 560}}')
    job = folder / "<img src=x onerror=1>.yaml"
    job.write_text(text, encoding="utf-8")
    run("write", job, "-o", folder / "set", *COARSE)
    run("compare", job, "--bit", "eighth=3", "-o", folder / "set", *COARSE)
    run("coupon", job, "-o", folder / "set", *COARSE)
    program = next((folder / "set").glob("02-*.ngc"))
    odd = folder / "<img src=x onerror=2>.ngc"
    comment = words.replace("(", "[").replace(")", "]")
    odd.write_text(program.read_text(encoding="ascii").replace("\n", f"\n({comment})\n", 1), encoding="utf-8")
    run("preview", odd, "--job", job, "-o", folder / "set" / "program.html", *COARSE)
    return folder / "set"


def opened(chrome: Browser, page: Path) -> None:
    """Opens a page, tries everything on it, and sees that it is whole and nothing of a stranger ran."""
    ready = "document.documentElement.dataset.ready === 'yes'" if 'id="data"' in page.read_text() else "true"
    chrome.open(page, ready)
    chrome.run(_TRY_EVERYTHING)
    assert chrome.run("document.documentElement.dataset.broken === undefined"), page.name
    assert 0 == chrome.run("document.querySelectorAll('iframe, object, embed, link, img:not([src^=\"data:\"])').length")
    assert all(url.startswith(("file:", "data:")) and not url.endswith("/x") for url in chrome.asked), chrome.asked
    assert [] == chrome.errors, page.name


def test_these_words_do_run_where_nothing_keeps_them_out(tmp_path: Path, chrome: Browser) -> None:
    for words in WORDS[:3]:
        page = tmp_path / "page.html"
        page.write_text(f'<title>a</title><body><p>{words}</p><p title="{words}">b</p></body>', encoding="utf-8")
        chrome.open(page, _MARK.replace("=", "===", 1))


@pytest.mark.parametrize("words", WORDS, ids=range(len(WORDS)))
def test_no_script_of_a_stranger_runs_in_a_page(tmp_path: Path, chrome: Browser, words: str) -> None:
    pages = sorted(hostile(tmp_path / "a", words).glob("*.html"))
    names = {"preview.html", "sheet.html", "handwork.html", "compare.html", "coupon.html", "program.html"}
    assert names == {p.name for p in pages}
    for page in pages:
        opened(chrome, page)
        # Not the page's policy alone keeps it out: without it nothing runs either.
        bare = page.with_name(f"bare-{page.name}")
        text = page.read_text(encoding="utf-8")
        assert 1 == text.count('<meta http-equiv="Content-Security-Policy"')
        bare.write_text(re.sub('<meta http-equiv="Content-Security-Policy"[^>]*>', "", text), encoding="utf-8")
        opened(chrome, bare)


def test_a_drawing_with_a_stranger_s_title_runs_nothing(tmp_path: Path, chrome: Browser) -> None:
    job = tmp_path / "board.yaml"
    for i, words in enumerate(WORDS):
        job.write_text(board(f'"{words}"'), encoding="utf-8")
        run("draw", job, "-o", tmp_path / f"{i}.svg", code=0)
        chrome.open(tmp_path / f"{i}.svg", "true")
        assert chrome.run("document.documentElement.dataset.broken === undefined")
        assert 0 == chrome.run("document.querySelectorAll('script, image, foreignObject, a').length")


def test_a_page_that_a_stranger_left_in_the_folder_runs_nothing_when_served(tmp_path: Path, chrome: Browser) -> None:
    folder = tmp_path / "set"
    folder.mkdir()
    (folder / "preview.html").write_text(f"<body><script>{_MARK}</script><img src=x onerror={_MARK}></body>")
    (folder / "report.json").write_text("{}")
    shown = Shown(folder)
    shown.troubled(f"<script>{_MARK}</script>")
    server = PageServer(shown)
    end = server.begin()
    try:
        chrome.call("Page.navigate", url=server.url)
        until(lambda: chrome.run("document.readyState === 'complete' && !!document.querySelector('[role=alert]')"))
        assert chrome.run("document.documentElement.dataset.broken === undefined")
        assert "<script>" in chrome.run("document.querySelector('[role=alert]').textContent")
    finally:
        end()


def test_what_is_served_is_the_folder_alone_whatever_is_asked(tmp_path: Path) -> None:
    folder = tmp_path / "set"
    folder.mkdir()
    (tmp_path / "secret.txt").write_text("nobody-may-see-this")
    (folder / "preview.html").write_text("<body>mine</body>")
    (folder / "link.html").symlink_to(tmp_path / "secret.txt")
    (folder / "inner").symlink_to(tmp_path)
    (folder / "zero.txt").symlink_to("/dev/zero")
    server = PageServer(Shown(folder))
    end = server.begin()
    port = server.server_address[1]
    try:
        paths = [
            "/../secret.txt", "/..%2fsecret.txt", "/%2e%2e/secret.txt", "/%2e%2e%2fsecret.txt", "/..\\secret.txt",
            "/..%5csecret.txt", "/....//secret.txt", "/%252e%252e%252fsecret.txt", "/inner/secret.txt",
            "/inner%2fsecret.txt", "/link.html", "/zero.txt", "//secret.txt", f"/{tmp_path}/secret.txt",
            f"//{tmp_path}/secret.txt", "/preview.html/../../secret.txt", "/preview.html%00.txt", "/%00", "/.", "/..",
            "/.neckpath-staging", "/~root", "/CON", "/secret.txt?a=/preview.html", "/%c0%ae%c0%ae/secret.txt",
            f"http://127.0.0.1:{port}/../secret.txt", "file:///etc/passwd", "http://[", "*", f"/{'a' * 60_000}",
        ]  # fmt: skip
        for path in paths:
            with socket.create_connection(("127.0.0.1", port), timeout=LONGEST) as line:
                line.sendall(f"GET {path} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nConnection: close\r\n\r\n".encode())
                answer = b"".join(iter(lambda line=line: line.recv(65536), b""))
            assert b"nobody-may-see-this" not in answer, path
            assert b"root:" not in answer, path
            assert answer.split()[1] in (b"400", b"404", b"414"), (path, answer[:80])
        with urllib.request.urlopen(server.url, timeout=LONGEST) as answer:
            assert "mine" in answer.read().decode()
    finally:
        end()
