import socket
import sys

import pytest

from reach.errors import InputError
from reach.world import dask_cluster
from reach.world.dask_cluster import DaskCluster, require_address


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
