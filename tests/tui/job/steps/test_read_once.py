"""A job is read once a step, no step writes to what was asked, and what people write into job.toml meanwhile counts."""

import ast
import asyncio
import os
import sys
from dataclasses import replace

import pytest
from shopping import SWEEP, Shop, finished_in, readings
from source import ROOT

from coaxly.entry.kits import kits_at_hand
from coaxly.fitter.dowels.limits import Limit
from coaxly.job.folder.journal import NAME
from coaxly.job.folder.snapshot import look
from coaxly.job.folder.sworn import Ruling
from coaxly.job.steps.choosing import basis, limit_in, take
from coaxly.job.steps.wishes import Wish
from coaxly.logger.angle.source import Source
from coaxly.logger.profile import built_in
from coaxly.screens.jobs import beginflow
from coaxly.screens.sweeping.setupscreen import SetUp

_opened: list[str] = []
_watching = False


def _hook(event: str, arguments: tuple) -> None:
    if _watching and event == "open":
        path, _, flags = arguments
        if flags & (os.O_WRONLY | os.O_RDWR) == 0 and not isinstance(path, int):
            _opened.append(os.fspath(path))


sys.addaudithook(_hook)  # stays for good, and sleeps but for the test below


@pytest.fixture
def shop(tmp_path):
    return finished_in(tmp_path / "shop")


@pytest.mark.parametrize(
    "words", [("report", "van"), ("verify", "van"), ("plan", "van"), ("job", "show", "van")]
)
def test_a_command_opens_the_journal_once_to_read(shop, words):
    global _watching
    shop("job", "list")  # so that the index is up to date
    _opened.clear()
    _watching = True
    try:
        assert shop(*words).code in (0, 1)
    finally:
        _watching = False
    read = [path for path in _opened if str(path).endswith(NAME)]
    assert len(read) == 1, read


def test_a_limit_that_is_said_goes_before_that_of_the_job(shop):
    said, known = Limit(0.3, "said"), look(shop.job("van"))
    assert limit_in(known, said) == limit_in(None, said) == Ruling(said)
    assert limit_in(known, None).limit.tir == pytest.approx(5 * 0.0254)


def test_no_step_writes_to_a_namespace():
    """Whoever asks for a step makes a value of its own: what was on the command line stays what it was."""
    written = []
    folders = ("commands", "job", "plain", "report", "say", "screens")
    for path in sorted(path for folder in folders for path in (ROOT / "tui" / folder).rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        for function in ast.walk(tree):
            if not isinstance(function, ast.FunctionDef | ast.AsyncFunctionDef):
                continue
            spaces = {
                each.arg
                for each in [*function.args.args, *function.args.kwonlyargs]
                if each.annotation is not None and "Namespace" in ast.unparse(each.annotation)
            }
            for node in ast.walk(function):
                target = None
                if isinstance(node, ast.Attribute) and isinstance(node.ctx, ast.Store | ast.Del):
                    target = node.value
                elif isinstance(node, ast.Call) and ast.unparse(node.func) in ("setattr", "delattr"):
                    target = node.args[0] if node.args else None
                if isinstance(target, ast.Name) and target.id in spaces:
                    written.append(f"{path.name}, line {node.lineno}: {ast.unparse(node)}")
    assert written == []


def test_what_was_written_while_options_were_looked_at_stays_when_one_is_taken(tmp_path):
    shop = Shop(tmp_path / "shop")
    shop("job", "open", "blue van", "--limit", "5thou")
    finished_sweep(shop)
    job = shop.job("van")
    shown = basis(look(job), Wish(kit=kits_at_hand("5thou,7thou"), taking=True))
    path = job.path / "job.toml"
    path.write_text(path.read_text().replace('kit = ""', 'kit = "3thou"  # mine'))
    take(shown, 1)
    assert 'kit = "3thou"  # mine' in path.read_text() and look(job).state.chosen is not None


def test_what_was_written_while_the_dial_was_asked_for_is_in_the_sweep(tmp_path, monkeypatch):
    shop = Shop(tmp_path / "shop")
    shop("job", "open", "blue van", "--limit", "5thou")
    job = shop.job("van")

    async def asked(bench, rig):
        path = job.path / "job.toml"
        path.write_text(path.read_text().replace('"5thou"', '"4thou"'))
        return Source("", replace(built_in("typed"), unit="mm"))

    async def set_up(bench, known, feature, dial, rig):
        return SetUp(None)

    monkeypatch.setattr(beginflow, "need_dial", asked)
    monkeypatch.setattr(beginflow, "_set_up", set_up)
    run = asyncio.run(beginflow.begin_sweep(None, look(job), "found", "bore"))
    run.session.writer.close()
    assert run.pipeline.setup.limit_mm == pytest.approx(4 * 0.0254)


def finished_sweep(shop):
    assert shop(*SWEEP, typed=readings(-5, 5)).code == 1
