"""The Merkle tree hash against the published values of RFC 6962's own implementations."""

from __future__ import annotations

import hashlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bayvoice.errors import BayError
from bayvoice.record.merkle import EMPTY, Head, Tree, leaf_hash, node_hash, parse_head

# github.com/transparency-dev/merkle, testonly/constants.go (Apache-2.0): the eight leaves, in hex, and the root over
# the first 1 to 8 of them.
LEAVES = ["", "00", "10", "2021", "3031", "40414243", "5051525354555657", "606162636465666768696a6b6c6d6e6f"]
ROOTS = {
    1: "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    2: "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
    3: "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
    4: "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    5: "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
    6: "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
    7: "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
    8: "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
}


def test_leaves_nodes_and_the_empty_tree_are_the_published_ones() -> None:
    """The same constants: hash of nothing, of the leaf "L123456", of the node over "N123" and "N456"."""
    assert EMPTY.hex() == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
    assert leaf_hash(b"L123456").hex() == "395aa064aa4c29f7010acfe3f25db9485bbd4b91897b6ad7ad547639252b4d56"
    assert node_hash(b"N123", b"N456").hex() == "aa217fe888e47007fa15edab33c2b492a722cb106c64667fc2b044444de66bbb"
    assert Tree().head() == Head(0, EMPTY.hex())


@pytest.mark.parametrize("size", ROOTS)
def test_roots_are_the_published_ones(size: int) -> None:
    tree = Tree()
    tree.extend(bytes.fromhex(leaf) for leaf in LEAVES[:size])
    assert tree.head() == Head(size, ROOTS[size])


def by_definition(leaves: list[bytes]) -> bytes:
    """RFC 6962, section 2.1, word for word: split at the largest power of two smaller than n."""
    if not leaves:
        return hashlib.sha256(b"").digest()
    if len(leaves) == 1:
        return hashlib.sha256(b"\0" + leaves[0]).digest()
    k = 1
    while k * 2 < len(leaves):
        k *= 2
    return hashlib.sha256(b"\1" + by_definition(leaves[:k]) + by_definition(leaves[k:])).digest()


@given(st.lists(st.binary(max_size=4), max_size=70))
def test_a_tree_that_grows_is_the_tree_of_the_definition(leaves: list[bytes]) -> None:
    tree = Tree()
    tree.extend(leaves)
    assert tree.head() == Head(len(leaves), by_definition(leaves).hex())


def test_a_head_is_read_as_it_is_printed() -> None:
    head = Head(8, ROOTS[8])
    assert parse_head(f" {head}\n") == head
    for wrong in ("", "8", f"8:{ROOTS[8][:-1]}", f"-1:{ROOTS[8]}", f"x:{ROOTS[8]}", f"8;{ROOTS[8]}"):
        with pytest.raises(BayError, match="not a head"):
            parse_head(wrong)
