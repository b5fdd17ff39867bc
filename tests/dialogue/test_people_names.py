"""Who is meant by a name: look-alikes are one person or refused, roles and hands decide, nobody signs as nobody."""

from __future__ import annotations

import pytest

from bayvoice.job.people import LIKE, SEVERAL, UNKNOWN, WORKED, WRONG_ROLE, Person, like, names_nobody, same, signer

RUTH = Person("Ruth", "foreman", "", True)
IMRE = Person("Imre", "technician")
KOFI = Person("Kofi Mensah", "mechanic", "", True)
ROLL = (RUTH, IMRE, KOFI)


@pytest.mark.parametrize(
    ("source", "target"),
    [
        # Unicode Technical Standard #39, Unicode Security Mechanisms, data file confusables.txt, version 15.0.0 of
        # 2022-05-18: source ; target ; MA
        ("\u0435", "e"),  # 0435 ; 0065 CYRILLIC SMALL LETTER IE
        ("\u04bd", "e"),  # 04BD ; 0065 CYRILLIC SMALL LETTER ABKHASIAN CHE
        ("\u212e", "e"),  # 212E ; 0065 ESTIMATED SYMBOL
        ("\u0395", "E"),  # 0395 ; 0045 GREEK CAPITAL LETTER EPSILON
        ("\u0415", "E"),  # 0415 ; 0045 CYRILLIC CAPITAL LETTER IE
        ("\u0430", "a"),  # 0430 ; 0061 CYRILLIC SMALL LETTER A
        ("\u0251", "a"),  # 0251 ; 0061 LATIN SMALL LETTER ALPHA
        ("\U0001d44e", "a"),  # 1D44E ; 0061 MATHEMATICAL ITALIC SMALL A
        ("\u0501", "d"),  # 0501 ; 0064 CYRILLIC SMALL LETTER KOMI DE
        ("\ua4d3", "D"),  # A4D3 ; 0044 LISU LETTER DA
        ("\u0417", "3"),  # 0417 ; 0033 CYRILLIC CAPITAL LETTER ZE
        # the same file, from memory
        ("\u0456", "i"),  # 0456 ; 0069 CYRILLIC SMALL LETTER BYELORUSSIAN-UKRAINIAN I
        ("\u043e", "o"),  # 043E ; 006F CYRILLIC SMALL LETTER O
        ("\u0440", "p"),  # 0440 ; 0070 CYRILLIC SMALL LETTER ER
        ("I", "l"),  # 0049 ; 006C LATIN CAPITAL LETTER I
        ("1", "l"),  # 0031 ; 006C DIGIT ONE
        ("0", "O"),  # 0030 ; 004F DIGIT ZERO
        ("rn", "m"),  # 006D ; 0072 006E LATIN SMALL LETTER M
    ],
)
def test_pairs_of_the_standard_are_the_same(source: str, target: str) -> None:
    assert same(f"Ka{source}se", f"Ka{target}se")


@pytest.mark.parametrize(
    "said",
    [
        "Imre",
        "imre",
        "IMRE",
        "Imre.",
        "Mr Imre",
        "mr. imre",
        "I mre",
        " Imre ",
        "Imr\u0435",
        "lmre",
        "1mre",
        "|mre",
        "Im-re",
        "Im're",
        "\u200bImre",
        "\uff29mre",
        "\u0406mre",
        "I\u0301mre",
        "Im\u00adre",
        "\u202eImre",
    ],
)
def test_a_near_miss_is_the_same_person(said: str) -> None:
    """On the roster or off it, the one who worked cannot come back under a look-alike."""
    assert same("Imre", said)
    assert signer(ROLL, (), ("Imre",), said, "foreman") == (None, WORKED)
    assert signer((), (), ("Imre",), said, "foreman") == (None, WORKED)
    assert signer(ROLL, (), (), said, "technician") == (IMRE, "")


@pytest.mark.parametrize("said", ["Imra", "Imree", "Irme", "Imr", "Imre Nagy", "Jmre"])
def test_one_letter_more_less_or_other_is_asked_about(said: str) -> None:
    assert like("Imre", said)
    assert not same("Imre", said)
    assert signer((), (), ("Imre",), said, "foreman") == (None, LIKE)
    assert signer(ROLL, (), (), said, "technician") == (None, LIKE)


@pytest.mark.parametrize(("one", "other"), [("Imre", "Dalia"), ("Ruth", "Kofi"), ("Al", "Ed"), ("Jan", "Jon")])
def test_other_names_are_other_people(one: str, other: str) -> None:
    assert not like(one, other)
    assert signer((), (), (one,), other, "foreman")[0] == Person(other)


def test_two_on_the_roster_who_look_alike_are_two() -> None:
    roll = (Person("Maria", "foreman"), Person("Marta", "technician"))
    assert signer(roll, (), ("Marta",), "Maria", "foreman") == (roll[0], "")
    assert signer(roll, (), ("Marta",), "Marta", "foreman") == (None, WORKED)


@pytest.mark.parametrize(
    "said",
    [
        "",
        " ",
        "Nobody",
        "nobody.",
        "Somebody",
        "no one",
        "None",
        "n/a",
        "-",
        "???",
        "me",
        "x",
        "Mr",
        "N0body",
        "no body",
        "unknown",
        "test",
        "anybody",
    ],
)
def test_nobody_signs_as_nobody(said: str) -> None:
    assert names_nobody(said)
    for roll in ((), ROLL):
        assert signer(roll, (), (), said, "foreman") == (None, UNKNOWN)


@pytest.mark.parametrize("said", ["foreman", "Foreman", "the foreman", "technician", "a colleague", "inspector"])
def test_a_role_names_nobody(said: str) -> None:
    assert names_nobody(said, ("inspector",))


def test_with_a_roster_only_those_on_it_in_their_role() -> None:
    assert signer(ROLL, ("Dalia",), (), "Dalia", "") == (None, UNKNOWN)
    assert signer(ROLL, (), (), "Kofi Mensah", "foreman") == (None, WRONG_ROLE)
    assert signer(ROLL, (), (), "kofi mensah", "") == (KOFI, "")
    assert signer(ROLL, (), (), "ruth", "Foreman") == (RUTH, "")
    assert signer(ROLL, (), (), "foreman", "foreman") == (RUTH, "")
    assert signer((*ROLL, Person("Adaeze", "foreman")), (), (), "foreman", "foreman") == (None, SEVERAL)
    assert signer((IMRE,), (), (), "Imre", "foreman") == (None, WRONG_ROLE), "nobody has the role: nobody signs in it"
    assert signer((IMRE,), ("foreman",), (), "foreman", "foreman")[0] is None
