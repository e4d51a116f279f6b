"""Words of a stranger are shown: they command no machine, no terminal and no browser, and change nothing else."""

from __future__ import annotations

import re
import xml.etree.ElementTree
from html.parser import HTMLParser
from pathlib import Path

import pytest

from tests.security.strangers import COARSE, IMAGE, SCRIPT, TURNED, apart, board, commands_to, run

ROOT = Path(__file__).parents[2]
TITLES = (
    f'"{SCRIPT}"',
    '"x) G0 Z-50 (x"',
    '"x\\nG0 Z-50\\nM30"',
    '"x\\r\\nG0 Z-50"',
    '"x\\u0085G0 Z-50\\u2028G0 Z-60\\u2029G0 Z-70"',
    '"%\\nO1000\\nG0 Z-50 ; M30 [ #1 = 5 ]"',
    '"(MSG, hello) ﹙ ） ⁽ ₍ G0 Z-50"',
    f"'{TURNED}'",
    '"</script></pre></title><!-- &lt; &#60;script&#62; -->"',
    "'--> ]]> <![CDATA[ <?php'",
    f"'{'long ' * 39}'",
    "'{{7*7}} ${7*7} %s %n {0.__class__} `id` $(id)'",
    "'[bold red]x[/] [link=http://a.example]y[/link] :smile:'",
)
"""A title as it stands in the file."""


def write(folder: Path, title: str, more: str = "") -> tuple[str, dict[str, bytes]]:
    """(what is said, the set by file name) of a small board with that title."""
    folder.mkdir()
    job = folder / "board.yaml"
    job.write_text(board(title).replace("black cherry", more or "black cherry"), encoding="utf-8")
    said = run("write", job, "-o", folder / "set", *COARSE, code=0)
    return said, {p.name: p.read_bytes() for p in (folder / "set").iterdir()}


def commands(program: bytes) -> list[str]:
    """The lines of a program without its comments."""
    return [bare for line in program.decode("ascii").splitlines() if (bare := re.sub(r"\([^()]*\)", "", line).strip())]


class _Frame(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.seen: list[tuple[str, ...]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen.append((tag, *sorted(name for name, _ in attrs)))

    def handle_endtag(self, tag: str) -> None:
        self.seen.append((f"/{tag}",))

    def handle_comment(self, data: str) -> None:
        self.seen.append(("!--", data))

    def handle_decl(self, decl: str) -> None:
        self.seen.append(("!", decl))

    def unknown_decl(self, data: str) -> None:
        self.seen.append(("![", data))

    def handle_pi(self, data: str) -> None:
        self.seen.append(("?", data))


def frame(page: bytes) -> list[tuple[str, ...]]:
    """The elements of a page with the names of their attributes, and whatever else is no text."""
    reader = _Frame()
    reader.feed(page.decode("utf-8"))
    reader.close()
    return reader.seen


@pytest.fixture(scope="module")
def meant(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """The set of the same board with a title that means no harm."""
    return write(tmp_path_factory.mktemp("meant") / "a", "A board")[1]


def same_but_for_words(found: dict[str, bytes], meant: dict[str, bytes]) -> None:
    """The same files; programs that command the same; pages of the same elements; the same report but for marks."""
    assert sorted(meant) == sorted(found)
    for name, content in found.items():
        if name.endswith(".ngc"):
            assert commands(meant[name]) == commands(content), name
            assert all(len(line) <= 80 for line in content.decode("ascii").splitlines())
        if name.endswith(".html"):
            assert frame(meant[name]) == frame(content), name
            assert "" == commands_to(re.sub("<script>.*?</script>", "", content.decode("utf-8"), flags=re.DOTALL))


@pytest.mark.slow
@pytest.mark.parametrize("title", TITLES, ids=range(len(TITLES)))
def test_a_title_changes_no_command_of_a_program_and_no_element_of_a_page(
    tmp_path: Path, meant: dict[str, bytes], title: str
) -> None:
    said, found = write(tmp_path / "a", title)
    assert "" == commands_to(said)
    # The title is one line of the answer, whatever it holds.
    assert said.splitlines()[0].endswith("(bench router, black cherry)")
    same_but_for_words(found, meant)


@pytest.mark.slow
def test_a_script_as_title_changes_no_element_of_a_page(tmp_path: Path) -> None:
    _, found = write(tmp_path / "a", f'"{SCRIPT} (x) G0 Z-50"')
    same_but_for_words(found, write(tmp_path / "b", "A board")[1])
    assert b"&lt;script&gt;broken()&lt;/script&gt;" in found["sheet.html"]


@pytest.mark.slow
def test_names_of_wood_machine_and_clamps_do_not_either(tmp_path: Path) -> None:
    """Names that people give themselves: of a wood, a machine, a clamp, a layer, a drawing."""

    def written(folder: Path, name: str) -> tuple[str, dict[str, bytes]]:
        folder.mkdir()
        machine = (ROOT / "machines" / "bench-router.yaml").read_text(encoding="utf-8")
        machine = re.sub(r"^name: .*$", lambda _: f"name: {name}", machine, flags=re.MULTILINE)
        machine = re.sub(r"^description: .*$", lambda _: f"description: {name}", machine, flags=re.MULTILINE)
        (folder / "mine.yaml").write_text(machine, encoding="utf-8")
        clamp = f"    keep_out: [{{name: {name}, x: [-90, -80], y: [-25, 25], height: 6}}]"
        text = (
            board("A board").replace("bench-router", "mine.yaml").replace("    hold: tape", f"    hold: tape\n{clamp}")
        )
        text = text.replace("black cherry", f"{{name: {name}, janka: 950, density: 560}}")
        (folder / "board.yaml").write_text(text, encoding="utf-8")
        said = run("write", folder / "board.yaml", "-o", folder / "set", *COARSE)
        said += run("check", folder / "board.yaml", "--reasons", "--times", *COARSE)
        said += run("machines", "--check", folder / "mine.yaml", code=0)
        return said, {p.name: p.read_bytes() for p in (folder / "set").iterdir()}

    _, plain = written(tmp_path / "plain", '"Mine"')
    assert plain
    for i, name in enumerate(('"<script>b()</script>) G0 Z-50 ("', '"a\\r\\nG0 Z-50\\u202e"', '"[red]x[/] %s {}"')):
        said, found = written(tmp_path / str(i), name)
        assert "" == commands_to(said)
        same_but_for_words(found, plain)


@pytest.mark.slow
@pytest.mark.parametrize("title", [TITLES[0], TITLES[2], TITLES[7], TITLES[8], TITLES[9]], ids=range(5))
def test_a_title_changes_no_shape_of_what_is_drawn(tmp_path: Path, title: str) -> None:
    import io

    import pdfplumber
    from ezdxf.filemanagement import readfile

    drawn: list[tuple[list[str], list[str], int]] = []
    for words in ("A board", title):
        job = tmp_path / "board.yaml"
        job.write_text(board(words), encoding="utf-8")
        for ending in ("dxf", "svg", "pdf"):
            run("draw", job, "-o", tmp_path / f"a.{ending}", code=0)
        tags = [e.tag for e in xml.etree.ElementTree.parse(tmp_path / "a.svg").iter()]
        kinds = sorted(e.dxftype() for e in readfile(tmp_path / "a.dxf").modelspace())
        content = (tmp_path / "a.pdf").read_bytes()
        assert not re.search(rb"/(JavaScript|JS|Launch|OpenAction|URI|EmbeddedFile)\b", content)
        with pdfplumber.open(io.BytesIO(content)) as pages:
            drawn.append((tags, kinds, sum(len(page.lines) + len(page.curves) for page in pages.pages)))
    assert drawn[0] == drawn[1]


@pytest.mark.slow
def test_a_program_of_a_stranger_is_judged_as_text_and_commands_no_terminal(tmp_path: Path) -> None:
    job = tmp_path / "board.yaml"
    job.write_text(board(), encoding="utf-8")
    run("write", job, "-o", tmp_path / "set", *COARSE, code=0)
    good = (tmp_path / "set" / "02-face-eighth.ngc").read_text(encoding="ascii")
    before = {p.name: p.read_bytes() for p in (tmp_path / "set").iterdir()}
    first, _, rest = good.partition("\n")
    odd = (
        f"{first}\n(\x1b]0;owned\x07 {TURNED} {SCRIPT})\n{rest}",
        f"{first}\n\x1b[2J{rest}",
        f"{first}\n(marker_pockets: \x1b[31m {IMAGE})\n{rest}",
        good.replace("program 2", "program 999999999999999999999"),
        good + "\0" * 1000,
        "(" * 200_000,
        "G1" * 100_000,
        f"{first}\nG1 X{'9' * 100_000}\n",
        f"{first}\nG1 X[1+[1+[1]]] #1=5 O100 while [1] do1 end1\n",
        f"{first}\nM98 P/etc/passwd\n",
    )
    for i, text in enumerate(odd):
        program = tmp_path / f"\x1b[31m{i}.ngc"
        program.write_bytes(text.encode())
        said = run("verify", program, "--job", job, *COARSE)
        assert "" == commands_to(said), i
        page = tmp_path / f"{i}.html"
        said = run("preview", program, "--job", job, "-o", page, *COARSE)
        assert "" == commands_to(said), i
        if page.exists():
            shown = page.read_text(encoding="utf-8")
            assert "<script>broken" not in shown
            assert "<img src=x" not in shown
    assert before == {p.name: p.read_bytes() for p in (tmp_path / "set").iterdir()}


@pytest.mark.slow
def test_a_program_without_end_is_refused(tmp_path: Path) -> None:
    job = tmp_path / "board.yaml"
    job.write_text(board(), encoding="utf-8")
    long = tmp_path / "long.ngc"
    with long.open("wb") as out:
        out.truncate(70_000_000)
    assert "larger than 64 mb, which no program is" in run("verify", long, "--job", job, code=2)


def test_an_odd_command_line_is_answered_in_words(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    Path("board.yaml").write_text(board(), encoding="utf-8")
    odd = f"\x1b[31m{TURNED}<b>"
    for words in (
        ("check", "board.yaml", "--bit", odd),
        ("check", "board.yaml", "--only", odd),
        ("check", "board.yaml", "--accept", odd),
        ("check", "board.yaml", "--pitch", odd),
        ("explain", odd),
        ("machines", odd),
        ("machines", "--check", odd),
        ("gauge", odd),
        ("gauge", "bench-router", "--wood", odd),
        ("surface", odd),
        ("surface", "bench-router", "--bit", odd),
        ("surface", "bench-router", "--wood", odd),
        ("surface", "bench-router", "--take", odd),
        ("surface", "bench-router", "--area", odd),
        ("surface", "bench-router", "--clear", odd),
        ("surface", "bench-router", "-o", f"{odd}.html"),
        ("coupon", "board.yaml", "--measured", odd),
        ("coupon", "board.yaml", "--stock", odd),
        ("compare", "board.yaml", "--bit", odd),
        ("draw", "board.yaml", "-o", f"{odd}.txt"),
        ("draw", "board.yaml", "-o", "a.svg", "--layer", odd),
        ("draw", "board.yaml", "-o", "a.pdf", "--paper", odd),
        ("preview", odd),
        ("start", "--yes", "--title", odd * 20),
        ("start", "--yes", "--wood", odd),
        ("start", "--yes", "--machine", odd),
        ("start", "--yes", "--frets", odd),
        ("schema", "-o", f"none/{'x' * 300}"),
    ):
        assert "" == commands_to(run(*words, code=2)), words
    assert ["board.yaml"] == sorted(p.name for p in tmp_path.iterdir() if p.is_file())


@pytest.mark.slow
def test_a_command_of_its_own_says_no_more_to_a_terminal_than_one_in_this_process(tmp_path: Path) -> None:
    name = tmp_path / "\x1b[31mred.yaml"
    name.write_text(board(f"'{TURNED}'") + "nonsense: 1\n", encoding="utf-8")
    done = apart("check", name)
    assert 2 == done.returncode
    assert "" == commands_to((done.stdout + done.stderr).decode("utf-8"))
