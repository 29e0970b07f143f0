"""A cluster of two workers says what the cores of this machine say, and a worker that dies loses nothing."""

import json
import re
from concurrent.futures import Future

import pytest
from distributed import KilledWorker, LocalCluster
from fleeting import fatal_once
from making import RECORDINGS
from shopmaking import job

from coaxly.errors import UsageError
from coaxly.job.many import parallel
from coaxly.main import main

SAMPLES = sorted(RECORDINGS.glob("*.jsonl"))


@pytest.fixture(scope="module")
def address():
    import dask

    # Each dead worker is begun anew; a task is given up after two of them.
    with (
        dask.config.set({"distributed.scheduler.allowed-failures": 1, "distributed.worker.daemon": True}),
        LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None, protocol="tcp") as cluster,
    ):
        yield cluster.scheduler_address


def said(capsys, *words):
    """The answer, what is of rounding left out: another process may add in another order."""
    code = main([*words])
    return code, re.sub(r"\d(\.\d+)?e-1\d", "rounding", capsys.readouterr().out)


def test_audit_study_and_ledger_say_the_same_by_a_cluster_as_here(address, tmp_path, capsys):
    for k in range(10):
        family = {"family": "ab"[k % 2], "serial": f"h{k}"}
        job(tmp_path, f"v{k}", found=(k % 3, k % 5), housing=family)
    names = list(map(str, SAMPLES))
    here = said(capsys, "audit", *names, "--json")
    assert said(capsys, "audit", *names, "--json", "--dask", address) == here and here[0] == 0
    sweeps = [str(tmp_path / f"2026-11-25-v{k}" / "found-1.jsonl") for k in range(10)]
    first, again = (said(capsys, "study", "--json", "--job", "v1", *more, "--shop", str(tmp_path))
                    for more in ([], ["--dask", address]))  # fmt: skip
    assert first == again
    first, again = (said(capsys, "study", *sweeps, *more) for more in ([], ["--dask", address]))
    assert first == again
    by_cluster = said(capsys, "ledger", "--shop", str(tmp_path), "--json", "--dask", address)
    (tmp_path / "shop.sqlite").unlink()
    assert said(capsys, "ledger", "--shop", str(tmp_path), "--json") == by_cluster
    assert json.loads(by_cluster[1])["ledger"]["jobs"] == 10


def test_a_worker_killed_in_mid_run_loses_nothing(address, tmp_path):
    items = [(str(tmp_path), number) for number in range(60)]
    answers = list(parallel.each_on(address, fatal_once, items, lambda item: -1))
    assert (tmp_path / "died").exists() and answers == [2 * number for number in range(60)]


class Fatal:
    """A cluster whose workers die over number 5, whoever has it."""

    def __enter__(self):
        return self

    def __exit__(self, *_):
        pass

    def submit(self, function, *arguments, pure):
        future = Future()
        if 5 in arguments[1]:
            future.set_exception(KilledWorker("task", None, 1))
        else:
            future.set_result(function(*arguments))
        return future


def test_a_file_over_which_every_worker_dies_costs_nobody_else_anything(monkeypatch):
    monkeypatch.setattr(parallel, "_client", lambda address: Fatal())
    answers = list(parallel.each_on("", abs, range(40), lambda item: -1))
    assert answers == [*range(5), -1, *range(6, 40)]


def test_workers_of_another_version_are_refused(address, monkeypatch):
    monkeypatch.setattr(parallel, "__version__", "0.0.1")
    with pytest.raises(UsageError, match="install one and the same"):
        list(parallel.each_on(address, abs, [1, 2], abs))


def test_an_address_at_which_nobody_is_gets_one_sentence(capsys, monkeypatch):
    monkeypatch.setattr(parallel, "_WAIT_S", 0.2)
    for address in ("tcp://127.0.0.1:1", "nonsense://x", "just words"):
        assert main(["audit", *map(str, SAMPLES), "--dask", address]) == 2
        assert "no Dask scheduler answers" in capsys.readouterr().err
