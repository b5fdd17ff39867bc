"""Limits read off the networks were read off those that ship.

Where this fails, the weights have changed: run the bench that each table names, write down what it says, then the new
digest. A digest changed alone says that something was measured which was not.
"""

from __future__ import annotations

from types import ModuleType

import pytest

from bayvoice.ears import listener, overhear, phones
from bayvoice.ears.person import fingerprint
from bayvoice.language import confusions, risk


@pytest.mark.parametrize("module", [risk, confusions, listener, overhear, phones], ids=lambda module: module.__name__)
def test_the_table_was_read_from_the_networks_that_ship(module: ModuleType) -> None:
    """SHA-256 of the weights' file, beside each table."""
    assert fingerprint() == module.READ_FROM
