"""Who signs with a code: the chain in the record, the hash, and that no code gets past the door."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import pytest

from bayvoice.dialogue.engine.asked import CodeAsked
from bayvoice.errors import BayError
from bayvoice.language.intents import Intent
from bayvoice.record.sqlite import roster
from bayvoice.record.sqlite.retention import retain
from bayvoice.record.sqlite.roster import Entry, Roster, hashed, read_file
from bayvoice.record.sqlite.store import Store
from bayvoice.report.audit import audit_people
from bayvoice.runtime.intake import HIDDEN, shield, spelled

RUTH = Entry("Ruth", "foreman", "N-014", hashed("4711"))
PEOPLE = Roster((RUTH, Entry("Imre", "technician"), Entry("Kofi", "mechanic", "", hashed("0815"))))


def test_the_hash_is_scrypt_as_published() -> None:
    """RFC 7914, section 12, third test vector (its first 32 bytes: the output of PBKDF2 comes in blocks of 32)."""
    found = roster._scrypt("pleaseletmein", b"SodiumChloride", 16384, 8, 1)
    assert found.hex() == "7023bdcb3afd7348461c06cd81fd38ebfda8fbba904f8e3ea9b543f6545da1f2"


def test_only_the_right_code_of_the_right_person_fits() -> None:
    """By name or by a role that one person has; whoever keeps no code has no right one."""
    assert PEOPLE.right("ruth", "4711")
    assert PEOPLE.right("foreman", "4711")
    assert not PEOPLE.right("ruth", "4712")
    assert not PEOPLE.right("kofi", "4711")
    assert not PEOPLE.right("imre", "4711")
    assert not PEOPLE.right("nobody", "4711")
    assert hashed("4711") != hashed("4711"), "each hash has a salt of its own"


@pytest.mark.parametrize("code", ["", "123", "12a4", "1" * 13, "१२३४", " 1234"])
def test_a_code_is_four_to_twelve_figures(code: str) -> None:
    """Others are refused in one sentence that does not repeat them."""
    with pytest.raises(BayError, match="four to twelve figures") as told:
        hashed(code)
    assert not code.strip() or code not in str(told.value)


AT = roster.Moment("boot", 1.0, 1_741_078_000.0)


def put(store: Store, name: str, new: Entry | None, by: str = "") -> None:
    roster.carry_out(store, roster.change(roster.read(store), name, new), by, AT)


def test_people_are_added_changed_and_removed(tmp_path: Path) -> None:
    """Every change is one more fact; the file holds no code, and quotes in a name come back."""
    place = tmp_path / "data" / "bay.sqlite"
    with Store(place) as store:
        assert roster.read(store) == Roster()
        put(store, "Imre", Entry("Imre"))
        put(store, 'Ruth "R" O\'Neill', Entry('Ruth "R" O\'Neill', "foreman", "7", hashed("4711")))
        put(store, "imre", Entry("imre", badge="12"), 'Ruth "R" O\'Neill')
        assert [(one.name, one.badge) for one in roster.read(store).entries] == [
            ("Imre", "12"),
            ('Ruth "R" O\'Neill', "7"),
        ]
        assert roster.read(store).right('ruth "r" o\'neill', "4711")
        put(store, "IMRE", None, 'Ruth "R" O\'Neill')
        with pytest.raises(BayError, match="nobody of that name"):
            roster.change(roster.read(store), "imre", None)
        assert len(roster.read(store).entries) == 1
        assert [fact.kind for fact in roster.history(store)] == ["people_began", *["person_set"] * 3, "person_removed"]
        assert store.verify_all() is None


def test_a_change_is_only_carried_out_as_it_was_allowed(tmp_path: Path) -> None:
    """By nobody who may, or of people who were changed meanwhile: nothing is written."""
    with Store(tmp_path / "bay.sqlite") as store:
        put(store, "Ruth", Entry("Ruth", "foreman", "", hashed("4711")))
        put(store, "Kofi", Entry("Kofi", "mechanic"), "Ruth")
        wanted = roster.change(roster.read(store), "Kofi", Entry("Kofi", "foreman"))
        for by in ("", "Kofi", "Mallory"):
            with pytest.raises(BayError, match="nobody who may"):
                roster.carry_out(store, wanted, by, AT)
        put(store, "Kofi", Entry("Kofi", "welder"), "Ruth")
        wanted = replace(wanted, old=replace(wanted.old or Entry(""), role="mechanic"))
        with pytest.raises(BayError, match="changed just now"):
            roster.carry_out(store, wanted, "Ruth", AT)
        assert [one.role for one in roster.read(store).entries] == ["foreman", "welder"]


def test_the_audit_finds_a_change_nobody_allowed(tmp_path: Path) -> None:
    """Written by hand with a chain that holds: a role taken, a code replaced, a count of wrong codes forgotten."""
    for kind, body in (
        ("person_set", {"who": "Kofi", "role": "foreman", "badge": "", "code": "", "by": "", "how": "set"}),
        ("person_set", {"who": "Kofi", "role": "foreman", "badge": "", "code": "", "by": "Kofi", "how": "set"}),
        ("person_set", {"who": "Mallory", "role": "x", "badge": "", "code": "", "by": "", "how": "imported"}),
        ("person_set", {"who": "Ruth", "role": "foreman", "badge": "", "code": "", "by": "", "how": "set"}),
        ("person_removed", {"who": "Ruth", "by": ""}),
        ("person_removed", {"who": "Mallory", "by": "Ruth"}),
        ("code_wrong", {"who": "Ruth", "at": "", "count": 3, "boot": "b", "mono": "1.000"}),
        ("people_began", {"format": 1, "imported": ""}),
        ("person_set", {"who": "Kofi"}),
    ):
        place = tmp_path / f"{kind}-{len(list(tmp_path.iterdir()))}.sqlite"
        with Store(place) as store:
            put(store, "Ruth", Entry("Ruth", "foreman", "", hashed("4711")))
            put(store, "Kofi", Entry("Kofi", "mechanic", "", hashed("5511")), "Ruth")
            assert (found := audit_people(store)) is not None
            assert found.fault is None
            with store.writing() as db:
                store.add_of_people(db, AT.wall, kind, dict(body))
            assert store.verify(roster.CHAIN) is None
            assert (found := audit_people(store)) is not None
            assert found.fault is not None, (kind, body)
            assert found.fault.seq == 4


def test_names_of_people_who_left_are_taken_by_retention(tmp_path: Path) -> None:
    """Those who are kept stay; the facts and their proof stay, and a newcomer is somebody else."""
    place = tmp_path / "bay.sqlite"
    with Store(place) as store:
        put(store, "Ruth", Entry("Ruth", "foreman", "", hashed("4711")))
        put(store, "Zebulon", Entry("Zebulon", "mechanic"), "Ruth")
        put(store, "Zebulon", None, "Ruth")
        assert retain(store, 30, AT.wall + 20 * 86_400) == ()
        (done,) = retain(store, 30, AT.wall + 40 * 86_400)
        assert (done.job, done.names) == (roster.CHAIN, 1)
        assert retain(store, 30, AT.wall + 50 * 86_400) == ()
        assert [one.name for one in roster.read(store).entries] == ["Ruth"]
        assert [fact.body.get("who") for fact in roster.history(store)] == [None, "Ruth", "person 2", "person 2"]
        put(store, "Kofi", Entry("Kofi", "mechanic"), "Ruth")
        assert [one.name for one in roster.read(store).entries] == ["Ruth", "Kofi"]
        assert (found := audit_people(store)) is not None
        assert found.fault is None
    everything = b"".join(p.read_bytes() for p in tmp_path.rglob("*") if p.is_file())
    assert b"Zebulon" not in everything


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("person = 3", "not a list"),
        ("[[person]]\nrole = 'x'", "has no name"),
        ("[[person", "cannot be read"),
        ("[[person]]\nname = 'A'\npin = '1234'", '"pin" of A'),
        ("[[person]]\nname = 'A'\nbadge = 7", '"badge" of A'),
    ],
)
def test_a_file_that_is_not_right_is_named(tmp_path: Path, text: str, what: str) -> None:
    """In one sentence with the file."""
    file = tmp_path / "people.toml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(BayError, match=what) as told:
        read_file(file)
    assert str(file) in str(told.value)


def test_a_code_is_compared_at_the_door_and_hidden() -> None:
    """What goes on holds "right" or "wrong"; of a refused utterance nothing is shown that may be a code."""
    spoken = Intent("sign", slots=(("code", "4711"), ("who", "ruth")))
    words = ("sign", "ruth", "code", "four", "seven", "double", "one")
    shown, intent = shield(PEOPLE, None, words, spoken)
    assert shown == ("sign", "ruth", "code", HIDDEN, HIDDEN, HIDDEN, HIDDEN)
    assert intent == Intent("sign", slots=(("code", "right"), ("who", "ruth")))
    asked = CodeAsked("hold", "Kofi", "foreman")
    shown, intent = shield(PEOPLE, asked, ("code", "four", "seven"), Intent("sign", slots=(("code", "47"),)))
    assert (shown, intent) == (("code", HIDDEN, HIDDEN), Intent("sign", slots=(("code", "wrong"),)))
    assert shield(PEOPLE, None, ("sign", "ruth", "four", "seven"), None)[0] == ("sign", "ruth", HIDDEN, HIDDEN)
    assert shield(PEOPLE, asked, ("4711",), None)[0] == (HIDDEN,)
    assert shield(PEOPLE, None, ("count", "in", "two"), None)[0] == ("count", "in", "two")
    assert spelled("4711", asked).split() == ["code", "four", "seven", "one", "one"]
    assert spelled("32.5 mm", None) == "32.5 mm"


HOLD = """
format = 1
title = "Sign"
machine = "Hollin 25 lift truck"
[[step]]
id = "look"
kind = "hold"
say = "Call the foreman."
look = "the hub"
"""


def test_no_code_is_stored_or_printed(tmp_path: Path) -> None:
    """Through the command line: a person is added, signs with a wrong code and then with the right one."""
    procedure, store = tmp_path / "sign.toml", tmp_path / "bay.sqlite"
    procedure.write_text(HOLD, encoding="utf-8")
    env = {**os.environ, "XDG_DATA_HOME": str(tmp_path / "data"), "HOME": str(tmp_path)}

    def run(*arguments: str, lines: str = "") -> str:
        done = subprocess.run(
            [sys.executable, "-m", "bayvoice", *arguments],
            input=lines,
            capture_output=True,
            text=True,
            env=env,
            check=True,
            timeout=120,
        )
        return done.stdout + done.stderr

    kept = ("--store", str(store))
    run("people", "--add", "Ruth", "--role", "foreman", "--code", *kept, lines="730519\n")
    listed = json.loads(run("people", "--json", *kept))
    assert listed == {"people": [{"name": "Ruth", "role": "foreman", "badge": "", "code": True}]}
    told = run(
        "work",
        str(procedure),
        "--by",
        "Imre",
        "--store",
        str(store),
        "--mic",
        "off",
        "--ears",
        "typed",
        "--speaker",
        "off",
        "--screen",
        "off",
        lines="sign ruth\n111111\n",
    )
    # The wait after a wrong code, which the record keeps.
    time.sleep(1.1)
    told += run(
        "work",
        str(procedure),
        "--by",
        "Imre",
        "--store",
        str(store),
        "--mic",
        "off",
        "--ears",
        "typed",
        "--speaker",
        "off",
        "--screen",
        "off",
        lines="sign ruth\n730519\n",
    )
    assert "Signed by Ruth" in told
    for text in (told, *(file.read_bytes().decode("latin-1") for file in tmp_path.rglob("*") if file.is_file())):
        assert "730519" not in text
        assert "111111" not in text
        assert "seven three zero five one nine" not in text
    with Store(store, read_only=True) as record:
        facts = record.facts(record.job_names()[0])
    assert [fact.body["code"] for fact in facts if fact.kind == "signed"] == ["right"]
    assert [(fact.body["n"], fact.body["of"]) for fact in facts if fact.kind == "refused"] == [(1, "tries")]
