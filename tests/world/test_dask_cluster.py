import asyncio
import queue
import socket
import sys

import pytest

from reach.errors import InputError
from reach.world import dask_cluster
from reach.world.cluster_runner import GivenUp
from reach.world.dask_cluster import DaskCluster, require_address
from reach.world.worker import Answer


@pytest.mark.parametrize("address", ["h:1", "192.0.2.7:8786", "tcp://h:65535", "tls://[2001:db8::1]:8786"])
def test_addresses(address):
    require_address(address)


@pytest.mark.parametrize("address", ["", "h", "h:0", "h:65536", "h:http", "ftp://h:1", "tcp://", "a b:1", "h:1/x"])
def test_what_is_no_address_is_refused(address):
    with pytest.raises(InputError, match=r"--scheduler: found '.*'; allowed: HOST:PORT"):
        DaskCluster(address)


def test_where_no_scheduler_answers_it_is_told_in_one_sentence(monkeypatch, capfd):
    monkeypatch.setattr(dask_cluster, "CONNECT_S", 0.3)
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))  # nobody listens there
        address = f"127.0.0.1:{taken.getsockname()[1]}"
        with pytest.raises(InputError, match=f"found no scheduler that answers at {address}") as caught:
            DaskCluster(address)
    assert len(str(caught.value).splitlines()) == 1 and capfd.readouterr() == ("", "")


def test_without_dask_the_extra_is_named(monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(InputError, match=r"cluster extra installed: pip install '\.\[cluster\]'"):
        DaskCluster("127.0.0.1:8786")


class Broken:
    """A future whose result raises."""

    def __init__(self, error, status):
        self.errors = [error]
        self.status = status

    key = "broken"

    def result(self, timeout):
        raise self.errors.pop()  # asked once

    def add_done_callback(self, tell):
        tell(self)


class Whole(Broken):
    """A future that has its answer."""

    key = "whole"

    def result(self, timeout):
        return b"report", ""


def test_a_result_that_cannot_be_had_is_told_from_a_scheduler_that_is_gone():
    from distributed.scheduler import KilledWorker

    cluster = object.__new__(DaskCluster)
    cluster._address = "192.0.2.7:8786"
    # Its worker had answered, and ended before the answer was fetched.
    assert cluster._answer(Broken(KilledWorker("task", None, 3), "finished")) == GivenUp(4)
    why = cluster._answer(Broken(ModuleNotFoundError("No module named 'reach'"), "error")).why
    assert why.startswith("a worker could not begin with it (ModuleNotFoundError: No module named 'reach')")
    assert cluster._answer(Broken(OSError("disk"), "error")).stored is None
    assert cluster._answer(Broken(TimeoutError(), "pending")) is None
    for error in (OSError("closed"), asyncio.CancelledError(), TimeoutError()):
        with pytest.raises(InputError, match="gone in the middle"):
            cluster._answer(Broken(error, "cancelled"))
    unreadable = RuntimeError("Error during deserialization of the task graph. This frequently occurs")
    with pytest.raises(InputError, match="that cannot read a task"):
        cluster._answer(Broken(unreadable, "error"))


def test_an_answer_that_is_not_to_be_had_holds_no_other_back():
    cluster = object.__new__(DaskCluster)
    lost = Broken(TimeoutError(), "finished")
    cluster._out = {"broken": (1, lost), "whole": (2, None)}
    cluster._done = queue.SimpleQueue()
    for future in (lost, Whole(None, "finished")):
        cluster._done.put(future)
    assert cluster.heard(0.0) == [(2, Answer(b"report", ""))]
    assert (cluster._done.get_nowait(), [*cluster._out]) == (lost, ["broken"])
