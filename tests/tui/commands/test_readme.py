"""What README and manual tell a person to type is what works."""

import doctest
import os
import re
import shlex
from pathlib import Path

import pytest
from commanding import in_shop
from making import RECORDINGS
from shopping import readings

from coaxly.main import main
from coaxly.options.telling import TELLS
from coaxly.parser import COMMANDS, build, straightened
from coaxly.say.manual import page, topics

ROOT = RECORDINGS.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
PAGES = {"README": README, **{name: page(name) for name in topics()}}


def blocks(text):
    return re.findall(r"^ *```sh\n(.*?)^ *```", text, flags=re.DOTALL | re.MULTILINE)


def typed(text):
    """The commands of ours in it, a line each."""
    lines = [line.strip() for each in blocks(text) for line in each.replace("\\\n", " ").splitlines()]
    return [re.sub(" +", " ", line) for line in lines if line.startswith("coaxly")]


TYPED = sorted(
    {line for text in PAGES.values() for line in typed(text)}
    | {f"coaxly {example}" for _, example in TELLS.values()}
)
SHOWN = {
    command: said
    for text in PAGES.values()
    for command, said in re.findall(
        r"^```sh\n([^`]*)\n```\n\n```text\n(.*?)^```", text, flags=re.DOTALL | re.MULTILINE
    )
}
"""What a command prints, where it is shown."""


@pytest.fixture
def beside_the_samples(monkeypatch, tmp_path):
    """A folder to write in that has the samples where the README has them."""
    (tmp_path / "recordings").symlink_to(RECORDINGS)
    monkeypatch.chdir(tmp_path)


@pytest.mark.parametrize("line", TYPED)
def test_every_command_is_one_that_is_taken(line):
    words = straightened(shlex.split(re.split(" [<>] ", line)[0])[1:])
    if words[:1] != ["--completion"]:
        build().parse_args(words)


@pytest.mark.parametrize("line", [line for line in TYPED if "recordings/" in line or "plan --tir" in line])
def test_commands_on_the_sample_job_run_as_they_are_written(line, beside_the_samples, monkeypatch, capsys):
    words, _, source = line.partition(" < ")
    with Path(source or os.devnull).open() as stdin:
        monkeypatch.setattr("sys.stdin", stdin)
        assert main(shlex.split(words)[1:]) in (0, 1)
    out, err = capsys.readouterr()
    assert out == SHOWN.get(line, out) and out and "coaxly:" not in err


def test_what_is_shown_is_what_is_printed(beside_the_samples):
    assert set(SHOWN) <= set(TYPED) and SHOWN
    sessions = re.findall(
        r"^```python\n(>>>.*?)^```", "\n".join(PAGES.values()), flags=re.DOTALL | re.MULTILINE
    )
    assert sessions
    for k, session in enumerate(sessions):
        test = doctest.DocTestParser().get_doctest(session, {}, f"session {k}", None, None)
        runner = doctest.DocTestRunner(optionflags=doctest.NORMALIZE_WHITESPACE)
        assert runner.run(test).failed == 0


def test_the_command_is_put_on_the_path_before_it_is_written_bare():
    found = blocks(README)
    first = next(k for k, block in enumerate(found) if re.search(r"^\s*coaxly", block, flags=re.MULTILINE))
    assert any("activate" in block for block in found[:first])
    assert len(typed(README)) >= 4


def test_the_help_says_what_the_bare_command_does():
    said = " ".join(build().format_help().split())
    assert "Without a command, on a terminal: the shop's jobs" in said and "- is standard input" in said


def test_the_readme_is_one_page_and_the_job_comes_first():
    lines = README.splitlines()
    assert len(lines) <= 150
    commands = [line for line in lines if line.startswith("python3 -m venv")]
    assert commands[0].endswith("coaxly demo") and commands[1].endswith("-m pytest")
    assert README.index(commands[1]) < README.index("## With your own hardware")


@pytest.mark.parametrize("name", PAGES)
def test_a_paragraph_can_be_read_in_one_breath(name):
    told = re.sub(r"^```.*?^```", "", PAGES[name], flags=re.DOTALL | re.MULTILINE)
    parts = re.split(r"\n\s*\n|\n(?=\s*(?:[-|]|\d+\.) )|\n(?=\|)", told)
    assert max(len(part.split()) for part in parts) <= 100


def anchors(text):
    """Where a link within a page can lead: its headings, as places that show Markdown call them."""
    heads = re.findall(r"^#+ (.+)$", text, flags=re.MULTILINE)
    return {re.sub(r"[^a-z0-9 -]", "", head.lower()).replace(" ", "-") for head in heads}


def test_the_readme_begins_with_its_contents():
    """Every part but the title, before the first of them."""
    listed = re.findall(r"\]\(#([^)]+)\)", README[: README.index("\n## ")])
    parts = re.findall(r"^## (.+)$", README, flags=re.MULTILINE)
    assert {anchor for part in parts for anchor in anchors(f"# {part}")} <= set(listed)


@pytest.mark.parametrize("name", PAGES)
def test_every_link_leads_somewhere(name):
    for place in re.findall(r"\]\(([^)]+)\)", PAGES[name]):
        if place.startswith("#"):
            assert place.removeprefix("#") in anchors(PAGES[name])
        elif name == "README":
            assert (ROOT / place).is_file()
        else:
            assert place.removesuffix(".md") in topics()


def test_every_page_and_command_is_told_of():
    manual = "\n".join(PAGES.values())
    assert all(f"coaxly {command}" in manual for command in COMMANDS)
    shipped = {path.stem for path in (ROOT / "tui" / "manual").glob("*.md")}
    assert shipped <= set(topics()) and all(f"manual/{name}.md" in README for name in shipped)
    for name in topics():
        assert PAGES[name].startswith(f"# {topics()[name]}\n")


def test_the_exit_codes_stand_in_the_manual():
    said = " ".join(PAGES["files"].split())
    for words in ("0 fine", "1 a finding", "2 what was asked for", "3 hardware or disk"):
        assert words in said


WORKED = [(name, k) for name in ("jobs", "two-numbers") for k in range(len(blocks(PAGES[name])))]
"""Pages whose commands follow each other in a job."""


@pytest.mark.parametrize(("name", "k"), WORKED)
def test_a_job_can_be_worked_as_the_page_says(name, k, tmp_path, monkeypatch, capsys):
    """Where a dial on a port is swept with, its readings are typed here."""
    coaxly = in_shop(tmp_path, monkeypatch, capsys)
    thou = [float(line) * 1000.0 for line in readings(-5, 5).split()]
    (tmp_path / "paper.txt").write_text("".join(f"{value:.1f}\n" for value in [*thou, thou[0]]))
    rows = "".join(f"{45 * at},{value:.1f}\n" for at, value in enumerate(thou))
    (tmp_path / "paper.csv").write_text(f"angle,reading_thou\n{rows}")
    lines = typed(f"```sh\n{blocks(PAGES[name])[k]}```")
    if "job open" not in lines[0]:
        assert coaxly("job", "open", "blue van", "--limit", "5thou", "--kit", "5thou,7thou")[0] == 0
    for line in lines:
        words, _, paper = line.partition(" < ")
        said = (tmp_path / paper).read_text() if paper else ""
        if "--port" in line:
            words = re.sub(r"--port \S+", "--profile typed --no-closing --headless", words)
            said = readings(-0.5, 0.5) if "--stage left" in line else readings(-5, 5)
        code, _, err = coaxly(*shlex.split(words)[1:], typed=said)
        assert code in (0, 1) and "coaxly:" not in err, f"{line}: {err}"
