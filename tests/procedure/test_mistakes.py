"""Every kind of mistake: told once, at its step, key and line, with a way to mend it."""

from __future__ import annotations

import re

import pytest

from bayvoice.procedure.load import load_text
from bayvoice.procedure.mistakes import BadProcedure, Mistake

GOOD = """\
format = 1
title = "Cover, reseal"
machine = "Varrow K40"
references = ["book"]

[[caution]]
signal = "WARNING"
text = "Hot oil."

[[part]]
id = "seal"
name = "seal"
one_use = true

[[tool]]
id = "wrench"
name = "wrench"

[[step]]
id = "open-count"
kind = "tally"
say = "Count in."
opening = "case"
things = ["rag", "pin"]

[[step]]
id = "remover"
kind = "wait"
say = "Let it work."
wait = "act"
name = "remover"
at_least = "3 min"
at_most = "8 min"
gates = ["clean"]
closes = "clean"
recovery = "open-count"

[[step]]
id = "clean"
kind = "check"
say = "Wipe."
ask = "Is it clean?"
want = "yes"

[[step]]
id = "float"
kind = "measure"
say = "Measure."
name = "end float"
unit = "mm"
low = 0.10
high = "0.20"

[[step]]
id = "new-seal"
kind = "replace"
say = "Fit the seal."
part = "seal"

[[step]]
id = "close-count"
kind = "tally"
say = "Count out."
opening = "case"
close = true

[[step]]
id = "bead"
kind = "wait"
say = "Close it soon."
wait = "open"
name = "bead"
at_most = "6 min"
closes = "cover"

[[step]]
id = "cover"
kind = "together"
say = "Lift."
people = 2

[[step]]
id = "bolts"
kind = "fasten"
say = "Tighten."
count = 4
order = "star"
stages = ["10 N.m", "24 N.m", "60 deg"]

[[step]]
id = "skin"
kind = "wait"
say = "Let it cure."
wait = "cure"
name = "skin"
at_least = "2 min"

[[step]]
id = "sign"
kind = "hold"
say = "Call."
look = "the joint"
"""

# old text, new text, step, key, part of what is said, text on the line it must be at
ONE_MISTAKE = [
    ("format = 1\n", "", "", "format", "is missing", ""),
    ("format = 1", "format = 2", "", "format", "not known", ""),
    ("format = 1", "format = true", "", "format", "not known", ""),
    ('machine = "Varrow K40"\n', "", "", "machine", "is missing", ""),
    ('"Cover, reseal"', "7", "", "title", "a number stands where a text", "title"),
    ('"Cover, reseal"', '"  "', "", "title", "empty", "title"),
    ('"Cover, reseal"', '"a\\u0000b"', "", "title", "U+0000", "title"),
    ('"Cover, reseal"', '"a\\u202Eb"', "", "title", "U+202E", "title"),
    ('"Cover, reseal"', '"a\\nb"', "", "title", "more than one line", "title"),
    ('["book"]', '"book"', "", "references", "a text stands where a list", "references"),
    ('["book"]', "[1]", "", "references", "a number stands where a text", "references"),
    ("[[tool]]", "[tool]", "", "tool", "not a list of tables", "[tool]"),
    ('"WARNING"', '"Warning"', "", "caution 1 signal", "no signal word", "signal"),
    ('"WARNING"', '"HAZARD"', "", "caution 1 signal", "no signal word", "signal"),
    ('text = "Hot oil."', "", "", "caution 1 text", "is missing", "[[caution]]"),
    ('id = "wrench"', 'id = "The Wrench"', "", "tool 1 id", "not an id", "The Wrench"),
    ('id = "wrench"\n', "", "", "tool 1 id", "is missing", "[[tool]]"),
    ("one_use = true", 'one_use = "yes"\nquantity = 1', "", "part 1 one_use", "true or false belongs", "one_use"),
    ("one_use = true", "one_use = true\nquantity = 0", "", "part 1 quantity", "out of range", "quantity"),
    ("one_use = true", "one_use = true\nquantity = 1.5", "", "part 1 quantity", "whole number", "quantity"),
    ("one_use = true", "", "new-seal", "part", "not a one-use part", 'part = "seal"'),
    ('id = "sign"', 'id = "skin"', "skin", "id", "already", 'id = "skin"\nkind = "hold"'),
    ('kind = "hold"', 'kind = "holt"', "sign", "kind", "no kind of step", "holt"),
    ('kind = "hold"\n', "", "sign", "kind", "is missing", '[[step]]\nid = "sign"'),
    ('say = "Call."', 'say = ""', "sign", "say", "empty", 'say = ""'),
    ('say = "Call."', 'say = "..."', "sign", "say", "no word", 'say = "..."'),
    ('say = "Call."\n', "", "sign", "say", "is missing", '[[step]]\nid = "sign"'),
    ('look = "the joint"', 'look = "the joint"\nlow = 1', "sign", "low", "does not belong here", "low = 1"),
    ('look = "the joint"', 'look = "the joint"\nzzz = 1', "sign", "zzz", "unknown", "zzz = 1"),
    ('look = "the joint"\n', "", "sign", "look", "is missing", '[[step]]\nid = "sign"'),
    ("people = 2", "people = 1", "cover", "people", "out of range", "people"),
    ('ask = "Is it clean?"\n', "", "clean", "ask", "is missing", '[[step]]\nid = "clean"'),
    ('want = "yes"', "want = true", "clean", "want", "no answer", "want"),
    ('"mm"', '"Nm"', "float", "unit", "no unit", "unit"),
    ('"mm"', '"furlong"', "float", "unit", "no unit", "unit"),
    ('low = 0.10\nhigh = "0.20"\n', "", "float", "", "no limit", '[[step]]\nid = "float"'),
    ("low = 0.10", "low = 0.30", "float", "low", "above high", "low"),
    ("low = 0.10", 'low = "0,10"', "float", "low", "comma", "low"),
    ("low = 0.10", "low = nan", "float", "low", "not a number", "low"),
    ("low = 0.10", f"low = -0.{'1' * 9}", "float", "low", "said aloud", "low"),
    ("low = 0.10", f"low = 0x{'F' * 9000}", "float", "low", "cannot be said aloud", "low"),
    ("low = 0.10", "low = 1979-05-27", "float", "low", "not a number", "low"),
    ("low = 0.10", "low = [1]", "float", "low", "not a number", "low"),
    ('part = "seal"', 'part = "steal"', "new-seal", "part", "no part has the id", "steal"),
    ("count = 4", 'count = "4"', "bolts", "count", "whole number", "count"),
    ("count = 4\n", "", "bolts", "count", "is missing", '[[step]]\nid = "bolts"'),
    ("count = 4", "count = 0", "bolts", "count", "out of range", "count"),
    ('count = 4\norder = "star"', 'count = 0\norder = "row"', "bolts", "count", "out of range", "count"),
    ('order = "star"\n', "", "bolts", "order", "is missing", '[[step]]\nid = "bolts"'),
    ('order = "star"', 'order = "ring"', "bolts", "order", "not an order", "order"),
    ('order = "star"', "order = [1, 2, 3, 3]", "bolts", "order", "every fastener once", "order"),
    ('order = "star"', "order = [1, 2, 3]", "bolts", "order", "every fastener once", "order"),
    ('order = "star"', "order = [1, true]", "bolts", "order", "not an order", "order"),
    ('"10 N.m", "24 N.m"', '"24 N.m", "10 N.m"', "bolts", "stages", "falls", "stages"),
    ('"10 N.m", "24 N.m"', '"10 N.m", "24 lbf.ft"', "bolts", "stages", "two units", "stages"),
    ('"10 N.m", "24 N.m", "60 deg"', '"60 deg", "24 N.m"', "bolts", "stages", "before any torque", "stages"),
    ('"60 deg"', '"60 mm"', "bolts", "stages", "neither a torque", "stages"),
    ('"60 deg"', "60", "bolts", "stages", "not a torque", "stages"),
    ('["10 N.m", "24 N.m", "60 deg"]', '"10 N.m"', "bolts", "stages", "not a list", "stages"),
    ('order = "star"', 'order = "star"\nundo = true', "bolts", "stages", "loosening", "stages"),
    ('wait = "act"', 'wait = "soak"', "remover", "wait", "no kind of wait", "soak"),
    ('at_least = "3 min"\n', "", "remover", "at_least", "missing in an act wait", '[[step]]\nid = "remover"'),
    ('at_least = "2 min"\n', "", "skin", "at_least", "missing in a cure wait", '[[step]]\nid = "skin"'),
    (
        '"cure"\nname = "skin"\nat_least = "2 min"',
        '"settle"\nname = "skin"',
        "skin",
        "at_least",
        "missing in a settle wait",
        '[[step]]\nid = "skin"',
    ),
    ('at_most = "6 min"\n', "", "bead", "at_most", "missing in an open wait", '[[step]]\nid = "bead"'),
    ('closes = "cover"\n', "", "bead", "closes", "missing in an open wait", '[[step]]\nid = "bead"'),
    (
        'closes = "cover"',
        'closes = "clean"',
        "bead",
        "closes",
        "comes before the wait",
        'closes = "clean"\n\n[[step]]\nid = "cover"',
    ),
    ('closes = "cover"', 'closes = "bead"', "bead", "closes", "the wait itself", 'closes = "bead"'),
    ('closes = "cover"', 'closes = "covre"', "bead", "closes", "no step has the id", "covre"),
    ('closes = "cover"', 'closes = "cover"\ngates = ["bolts"]', "bead", "gates", "no at_least", 'gates = ["bolts"]'),
    ('gates = ["clean"]', 'gates = ["open-count"]', "remover", "gates", "comes before the wait", "gates"),
    ('gates = ["clean"]', 'gates = ["clean", "cleen"]', "remover", "gates", "no step has the id", "gates"),
    ('gates = ["clean"]', 'gates = ["float"]', "remover", "closes", "comes before", 'closes = "clean"'),
    ('gates = ["clean"]', "gates = []", "remover", "gates", "names no step", "gates"),
    ('"3 min"', '"9 min"', "remover", "at_least", "longer than at_most", "at_least"),
    ('"3 min"', '"3 weeks"', "remover", "at_least", "not a time", "at_least"),
    ('"3 min"', "3", "remover", "at_least", "without a unit", "at_least"),
    ('recovery = "open-count"', 'recovery = "remover"', "remover", "recovery", "the wait itself", "recovery"),
    ('recovery = "open-count"', 'recovery = "opencount"', "remover", "recovery", "no step has the id", "recovery"),
    ('name = "skin"', 'name = "skin"\nat_most = "1 h"', "skin", "at_most", "means nothing", 'at_most = "1 h"'),
    ('name = "skin"', 'name = "skin"\ncloses = "sign"', "skin", "closes", "means nothing", 'closes = "sign"'),
    ('name = "skin"', 'name = "skin"\nrecovery = "bead"', "skin", "recovery", "no at_most", 'recovery = "bead"'),
    ('name = "skin"', 'name = "skin"\nstarts = "now"', "skin", "starts", "no way to start", "starts"),
    ('look = "the joint"', 'look = "the joint"\n"a\\nb" = 1', "sign", r"a\u000ab", "unknown", '"a\\nb"'),
    (
        '[[step]]\nid = "sign"\nkind = "hold"\nsay = "Call."\nlook = "the joint"\n',
        "",
        "skin",
        "",
        "last step",
        '[[step]]\nid = "skin"',
    ),
    ('things = ["rag", "pin"]\n', "", "open-count", "things", "is missing", '[[step]]\nid = "open-count"'),
    ('["rag", "pin"]', "[]", "open-count", "things", "no thing is named", "things"),
    ('["rag", "pin"]', '["rag", "Rag"]', "open-count", "things", "named twice", "things"),
    (
        "close = true",
        "close = true\nthings = ['rag']",
        "close-count",
        "things",
        "where the count closes",
        "things = ['",
    ),
    (
        'kind = "replace"\nsay = "Fit the seal."\npart = "seal"',
        'kind = "do"\nsay = "Fit the seal."',
        "",
        "part 1 one_use",
        "never replaced",
        "one_use",
    ),
    (
        'name = "skin"\nat_least = "2 min"',
        'name = "skin"\nat_least = "2 min"\ncaution = "hot"',
        "skin",
        "caution",
        "not a list of tables",
        'caution = "hot"',
    ),
    (
        'look = "the joint"',
        'look = "the joint"\ncaution = { signal = "NOTICE" }',
        "sign",
        "caution text",
        "is missing",
        "caution = {",
    ),
    (
        'look = "the joint"',
        'look = "the joint"\n[[step.caution]]\nsignal = "NOTICE"\ntext = 5',
        "sign",
        "caution 1 text",
        "a number stands",
        "text = 5",
    ),
]

# two at once, where one slip in the file is two mistakes or hits two things
MANY = [
    (
        'closes = "cover"',
        'closes = "bolts"\n[[step]]\nid = "c"\nkind="wait"\nwait="settle"\nname="c"\nsay="C."\nat_least="6 min"',
        ["holds the wait"],
    ),
    ("title =", "titel =", ['"title" is missing', 'perhaps "title" is meant']),
    ("close = true", "close = false\nthings = ['rag']", ["never closed", "while it is open"]),
    ('things = ["rag", "pin"]', "close = true", ["was not opened", "was not opened"]),
    ('opening = "case"\nclose = true', 'opening = "cabin"\nthings = ["rag"]', ["never closed", "never closed"]),
    ('"act"\n', '"act"\nstart = 5\n', ['perhaps "starts" is meant']),
    ('say = "Call."', "say = 5\nshow = 6", ["a text", "a text"]),
]


def mistakes(text: str) -> tuple[Mistake, ...]:
    with pytest.raises(BadProcedure) as caught:
        load_text(text, "cover.toml")
    return caught.value.mistakes


def test_the_good_one_is_good() -> None:
    """What every case below is one slip away from."""
    assert len(load_text(GOOD, "cover.toml").steps) == 11


@pytest.mark.parametrize(("old", "new", "step", "key", "what", "where"), ONE_MISTAKE)
def test_one_slip_one_mistake(old: str, new: str, step: str, key: str, what: str, where: str) -> None:
    """One slip in a good file is told as one mistake, at the right place, with a sentence on how to mend it."""
    assert old in GOOD
    text = GOOD.replace(old, new, 1)
    found = mistakes(text)
    assert len(found) == 1, [str(each) for each in found]
    one = found[0]
    assert (one.file, one.step, one.key) == ("cover.toml", step, key)
    assert what in one.what + one.mend
    assert re.fullmatch(r"[^\n]*[^.?!;\s]", one.mend)
    assert re.fullmatch(r"[^\n]*[^.?!;\s]", one.what)
    if where:
        at = text.find("\n" + where) + 1 or text.index(where)
        assert one.line == text[:at].count("\n") + 1
    elif one.line is not None:
        assert one.line == 1


@pytest.mark.parametrize(("old", "new", "said"), MANY)
def test_several(old: str, new: str, said: list[str]) -> None:
    """One slip that is several mistakes, or contradicts another step."""
    found = mistakes(GOOD.replace(old, new, 1))
    assert len(found) == len(said)
    assert all(part in str(each) for part, each in zip(said, found, strict=True))


INDEPENDENT = [
    ("title =", "titel ="),
    ('"WARNING"', '"DANGR"'),
    ('id = "wrench"', 'id = "Wrench"'),
    ('"mm"', '"mmm"'),
    ("low = 0.10", "low = 1.10"),
    ('"yes"', '"maybe"'),
    ('"3 min"', '"9 min"'),
    ('gates = ["clean"]', "gates = [1]"),
    ('order = "star"', "order = [1, 2]"),
    ('"10 N.m", "24', '"30 N.m", "24'),
    ("people = 2", "people = 0"),
    ('closes = "cover"', 'closes = "clean"'),
    ('say = "Call."', 'say = ""'),
    ("close = true", "close = 1"),
]


def test_all_mistakes_in_one_go_in_the_order_of_the_file() -> None:
    """A file with many slips gives each of the mistakes its slips give alone, from top to bottom."""
    text = GOOD
    alone: set[tuple[str, str, str]] = set()
    for old, new in INDEPENDENT:
        text = text.replace(old, new, 1)
        alone |= {(m.step, m.key, m.what) for m in mistakes(GOOD.replace(old, new, 1))}
    found = mistakes(text)
    assert alone <= {(m.step, m.key, m.what) for m in found}
    assert len(found) >= len(INDEPENDENT) + 1  # titel is unknown and title is missing
    lines = [m.line or 0 for m in found]
    assert lines == sorted(lines)


def test_signal_words_are_explained() -> None:
    """Outside check: the four words and what they mean, ANSI Z535.4-2007 definitions."""
    (one,) = mistakes(GOOD.replace('"WARNING"', '"ACHTUNG"'))
    meanings = dict(re.findall(r"(DANGER|WARNING|CAUTION|NOTICE) \(([^)]*)\)", one.mend))
    assert list(meanings) == ["DANGER", "WARNING", "CAUTION", "NOTICE"]
    assert "will" in meanings["DANGER"]
    assert "death or serious injury" in meanings["DANGER"]
    assert "could" in meanings["WARNING"]
    assert "death or serious injury" in meanings["WARNING"]
    assert "minor or moderate injury" in meanings["CAUTION"]
    assert "no injury" in meanings["NOTICE"]


@pytest.mark.parametrize(
    ("unit", "code"),
    [("Nm", "N.m"), ("newton meters", "N.m"), ("°C", "degC"), ("µm", "um"), ("percent", "%"), ("Litres", "l")],
)
def test_units_in_words_get_their_code(unit: str, code: str) -> None:
    """Who writes a unit as people do is told how the file writes it."""
    (one,) = mistakes(GOOD.replace('"mm"', f'"{unit}"'))
    assert f'"{code}"' in one.mend


def test_a_misspelt_kind_is_read_on() -> None:
    """The other keys of a step whose kind is misspelt are looked at too."""
    text = GOOD.replace('kind = "measure"', 'kind = "mesure"').replace("low = 0.10", "low = 9")
    assert [m.key for m in mistakes(text)] == ["kind", "low"]


@pytest.mark.parametrize(
    ("text", "what", "line"),
    [
        ("", "empty", None),
        (" \n\t\n", "empty", None),
        ("format = 1\ntitle = \n", "not valid TOML", 2),
        ("format = 1\n[[step]\n", "not valid TOML", 2),
        ("format = 1\nformat = 1\n", "not valid TOML", 2),
        ('format = 1\ntitle = "a', "not valid TOML", 2),
        ("a = " + "[" * 5000, "nested too deep", None),
        ("a = 1\nb = " + "1" * 5000, "more than 4300 figures", 2),
        ("x = 1\n" * 400_000, "2 MB", None),
        ("a" + ".a" * 5000 + " = 1", "full stops", 1),
        ("format = 1 # \ud800", "surrogate", None),
        ("\x00\x01\x02", "not valid TOML", 1),
    ],
)
def test_what_is_no_procedure_at_all(text: str, what: str, line: int | None) -> None:
    """Not TOML, nothing, too much: one mistake with the line where there is one."""
    (one,) = mistakes(text)
    assert what in one.what
    assert one.line == line


def test_a_flood_of_mistakes_ends() -> None:
    """No list without end: the first thousand are enough."""
    assert len(mistakes("format = 1\n" + "".join(f"k{i} = 1\n" for i in range(5000)))) == 1000


def test_shown_and_as_json() -> None:
    """A line for the reader, an object for the program."""
    with pytest.raises(BadProcedure) as caught:
        load_text(GOOD.replace('"mm"', '"furlong"'), "cover.toml")
    line = GOOD[: GOOD.index('unit = "mm"')].count("\n") + 1
    assert str(caught.value).startswith(f'cover.toml:{line}: step float, unit: "furlong" is no unit; ')
    assert caught.value.as_dict()["mistakes"][0]["line"] == line
    assert caught.value.where == "cover.toml"


@pytest.mark.parametrize(
    ("text", "heading"),
    [
        (GOOD.replace('look = "the joint"', 'look = "the joint"\ncaution = "hot"'), "step.caution"),
        (GOOD.replace('[[caution]]\nsignal = "WARNING"\ntext = "Hot oil."\n', 'caution = "hot"\n'), "caution"),
        (GOOD.replace('look = "the joint"', 'look = "the joint"\nback = "x"'), "step.back"),
        (
            GOOD.replace('look = "the joint"', 'look = "the joint"\n[[step.back]]\ncaution = 5')
            + '[[step]]\nkind = "way_back"\n',
            "step.back.caution",
        ),
        (GOOD.replace('name = "skin"\nat_least = "2 min"', 'name = "skin"\ntable = []'), "step.table"),
        (GOOD.replace('name = "skin"\nat_least = "2 min"', 'name = "skin"\ntable = 5'), "step.table"),
    ],
)
def test_a_table_is_begun_where_it_belongs(text: str, heading: str) -> None:
    """The heading that is proposed is the one of this table, not that of its namesake at the top of the file."""
    assert any(f"[[{heading}]]" in each.mend for each in mistakes(text))
