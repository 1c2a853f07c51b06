"""Every store serves the whole interface, by the same names; the far end of a wire serves its part."""

import inspect

import pytest

from stillbore.run.session import Shelf
from stillbore.store.interface import Store
from stillbore.store.sqlite import SqliteStore
from stillbore.store.sync import Peer
from stillbore.store.wire import Remote


def wanted(protocol):
    return {name: list(inspect.signature(function).parameters)
            for name, function in vars(protocol).items() if inspect.isfunction(function) and not name.startswith("_")}


@pytest.mark.parametrize("made,protocol", [(SqliteStore, Store), (SqliteStore, Peer), (SqliteStore, Shelf),
                                           (Remote, Peer), (Store, Peer), (Store, Shelf)])
def test_the_same_names_and_arguments(made, protocol):
    names = wanted(protocol)
    assert len(names) >= 4
    for name, arguments in names.items():
        assert list(inspect.signature(getattr(made, name)).parameters) == arguments, name
