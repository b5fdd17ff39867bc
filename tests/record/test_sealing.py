"""A job that is closed with a signature, and the key it is made with."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric.ec import SECP256R1, generate_private_key
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from bayvoice.errors import BayError
from bayvoice.job.facts import Fact
from bayvoice.record.baykey import BayKey, holds, known_key, load_key
from bayvoice.record.chain import canonical
from bayvoice.record.sqlite.sealing import Seal, seal_fault, seal_job, seal_of, tree_of
from bayvoice.record.sqlite.store import Store
from bayvoice.report.audit import audit_job, check_head, head_of
from tests.record.records import fill, noted, tamper
from tests.report.whole_job import eventful_job, good_job

WALL = 1_741_090_000.5

# RFC 8032, section 7.1: secret key, public key, message, signature of TEST 1, 2, 3 and SHA(abc).
PUBLISHED = [
    (
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b",
    ),
    (
        "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00",
    ),
    (
        "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "af82",
        "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a",
    ),
    (
        "833fe62409237b9d62ec77587520911e9a759cec1d19755b7da901b96dca3d42",
        "ec172b93ad5e563bf4932c70e1245034c35467ef2efd4d64ebf819683467e2bf",
        "ddaf35a193617abacc417349ae20413112e6fa4e89a97ea20a9eeee64b55d39a2192992a274fc1a836ba3c23a3feebbd454d4423643ce80e2a9ac94fa54ca49f",
        "dc2a4459e7369633a52b1bf277839a00201009a3efbf3ecb69bea2186c26b58909351fc9ac90b3ecfdfbc7c66431e0303dca179c138ac17ad9bef1177331a704",
    ),
]


@pytest.mark.parametrize(("secret", "public", "message", "signature"), PUBLISHED)
def test_signatures_are_the_published_ones(secret: str, public: str, message: str, signature: str) -> None:
    """Signing gives RFC 8032's own signature, checking takes it and nothing near it."""
    key = BayKey(Ed25519PrivateKey.from_private_bytes(bytes.fromhex(secret)))
    assert key.public == public
    assert key.sign(bytes.fromhex(message)) == signature
    assert holds(public, bytes.fromhex(message), signature)
    assert not holds(public, bytes.fromhex(message) + b"\0", signature)
    assert not holds(public, bytes.fromhex(message), "00" + signature[2:])
    assert not holds(public[:-2] + "00", bytes.fromhex(message), signature)
    assert not holds("no key", b"", "no signature")


def test_a_key_is_made_once_and_only_its_owner_may_read_it(tmp_path: Path) -> None:
    path = tmp_path / "data" / "bay.key"
    assert known_key(path) == ""
    old = os.umask(0)
    try:
        key = load_key(path)
    finally:
        os.umask(old)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert load_key(path).public == key.public == known_key(path)
    assert sorted(p.name for p in path.parent.iterdir()) == ["bay.key", "bay.pub"]
    path.chmod(0o640)
    with pytest.raises(BayError, match="others may read the bay's key"):
        load_key(path)
    assert known_key(path) == key.public, "the pinned half is known without the key"


def test_a_key_that_was_exchanged_is_not_signed_with(tmp_path: Path) -> None:
    path, other = tmp_path / "bay.key", tmp_path / "other.key"
    old = load_key(path).public
    load_key(other)
    path.write_bytes(other.read_bytes())
    with pytest.raises(BayError, match="not the one it began with"):
        load_key(path)
    assert known_key(path) == old


@pytest.mark.parametrize("what", ["text", "empty", "folder", "other kind"])
def test_a_key_that_is_none_is_said(tmp_path: Path, what: str) -> None:
    path = tmp_path / "bay.key"
    if what == "folder":
        path.mkdir(mode=0o700)
    else:
        pem = generate_private_key(SECP256R1()).private_bytes(
            serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
        )
        path.write_bytes({"text": b"not a key\n", "empty": b"", "other kind": pem}[what])
        path.chmod(0o600)
    with pytest.raises(BayError, match="the bay's key"):
        load_key(path)


@pytest.fixture
def place(tmp_path: Path) -> Path:
    place = tmp_path / "bay.sqlite"
    fill(place, "K40-0117", good_job())
    fill(place, "K40-0118", eventful_job()[:20])
    return place


@pytest.fixture
def key() -> BayKey:
    return load_key()


def test_a_sealed_job_is_closed_and_says_by_which_key(place: Path, key: BayKey) -> None:
    with Store(place) as store:
        seal = seal_job(store, "K40-0117", key, WALL)
        assert seal_of(store, "K40-0117") == seal
        assert seal.said["facts"] == len(good_job())
        assert seal.said["sealed"] == "2025-03-04T12:06:40.500000Z"
        with pytest.raises(BayError, match="the job is sealed, nothing more can be added"):
            store.append("K40-0117", noted(len(good_job()) + 1))
        assert audit_job(store, "K40-0117").fault is None
    with Store(place) as store:
        with pytest.raises(BayError, match="sealed"):
            store.claim("K40-0117", "Imre")
        assert store.sealed("K40-0117")
        store.append("K40-0118", noted(21))


def test_what_cannot_be_sealed_is_said(place: Path, key: BayKey) -> None:
    with Store(place) as store:
        with pytest.raises(BayError, match="still open"):
            seal_job(store, "K40-0118", key, WALL)
        seal_job(store, "K40-0117", key, WALL)
    with Store(place) as store, pytest.raises(BayError, match="sealed"):
        seal_job(store, "K40-0117", key, WALL)


def test_a_job_in_other_hands_or_broken_is_not_sealed(place: Path, key: BayKey) -> None:
    with Store(place) as sitting, Store(place) as store:
        sitting.claim("K40-0117", "Imre")
        with pytest.raises(BayError, match="another sitting is at this job by Imre"):
            seal_job(store, "K40-0117", key, WALL)
    tamper(place, lambda db: db.execute("UPDATE facts SET kind = 'noted' WHERE job = 'K40-0117' AND seq = 9"))
    with Store(place) as store, pytest.raises(BayError, match="does not hold: fact 9"):
        seal_job(store, "K40-0117", key, WALL)


def test_a_seal_that_does_not_fit_is_told_apart(place: Path, key: BayKey, tmp_path: Path) -> None:
    """A cut-off end, which no chain can show by itself, shows under a seal; so does every change of the seal."""
    with Store(place) as store:
        seal = seal_job(store, "K40-0117", key, WALL)
    n, head = seal.said["facts"], seal.said["head"]
    assert seal_fault(seal, "K40-0117", n, head) == ""
    assert "are here" in seal_fault(seal, "K40-0117", n - 1, head)
    assert "not those that were signed" in seal_fault(seal, "K40-0117", n, "0" * 64)
    assert "something else" in seal_fault(seal, "K40-0118", n, head)
    assert "does not fit" in seal_fault(Seal(seal.statement + " ", seal.key, seal.signature), "K40-0117", n, head)
    other = load_key(tmp_path / "other.key")
    assert "does not fit" in seal_fault(Seal(seal.statement, other.public, seal.signature), "K40-0117", n, head)
    letter = canonical({"purpose": "a letter", "job": "K40-0117", "facts": n, "head": head})
    assert "something else" in seal_fault(Seal(letter, key.public, key.sign(letter.encode())), "K40-0117", n, head)
    tamper(place, lambda db: db.execute("DELETE FROM facts WHERE job = 'K40-0117' AND seq = ?", (n,)))
    with Store(place) as store:
        assert store.verify("K40-0117") is None
        found = audit_job(store, "K40-0117").fault
    assert found is not None
    assert (found.kind, found.why) == ("signed", f"the bay signed {n} facts of this job and {n - 1} are here")


def test_a_seal_can_be_checked_without_this_program(place: Path, key: BayKey) -> None:
    """The statement, the public key and the signature in the export are all another program needs."""
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    with Store(place) as store:
        shown = seal_job(store, "K40-0117", key, WALL).as_dict()
        last = list(store.rows("K40-0117"))[-1]
    Ed25519PublicKey.from_public_bytes(bytes.fromhex(shown["key"])).verify(
        bytes.fromhex(shown["signature"]), shown["statement"].encode()
    )
    assert f'"head":"{last.hash}"' in shown["statement"]


def test_a_printed_head_holds_while_the_record_grows(place: Path) -> None:
    with Store(place) as store:
        kept = head_of(store)
        assert kept.size == len(good_job()) + 20
        assert check_head(store, kept) is None
        for i in range(21, 40):
            store.append("K40-0118", noted(i))
            assert check_head(store, kept) is None
        assert head_of(store) != kept


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ("DELETE FROM facts WHERE job = 'K40-0118'", "over 75 facts and 55 are here"),
        ("DELETE FROM facts WHERE id = 3", "over 75 facts and 74 are here"),
        ("UPDATE facts SET hash = 'xx' WHERE id = 30", "not those the head was printed over"),
        ("UPDATE facts SET id = id + 1000 WHERE id = 1", "over 75 facts and 74 are here"),
    ],
)
def test_a_job_that_was_taken_out_shows_against_a_kept_head(place: Path, change: str, why: str) -> None:
    """Also where whoever did it corrected the file's own count."""
    with Store(place) as store:
        kept = head_of(store)

    def take_out(db: object) -> None:
        db.execute(change)  # type: ignore[attr-defined]
        db.execute("UPDATE sqlite_sequence SET seq = (SELECT count(*) FROM facts)")  # type: ignore[attr-defined]

    tamper(place, take_out)
    with Store(place) as store:
        missed = check_head(store, kept)
    assert missed is not None
    assert why in missed.why


def test_the_tree_is_over_the_facts_in_the_order_they_were_written(place: Path) -> None:
    with Store(place) as store:
        store.append("K40-0118", Fact(21, WALL, "noted", {}))
        assert tree_of(store, 1).head() != tree_of(store).head()
        assert tree_of(store, 76).head() == tree_of(store).head() == head_of(store)
        assert tree_of(store, 0).head().size == 0
