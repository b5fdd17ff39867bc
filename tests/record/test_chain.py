"""How a fact is written, sealed and read again."""

from __future__ import annotations

import hashlib
import json
import struct
import time
from dataclasses import replace
from datetime import datetime
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bayvoice.errors import BayError
from bayvoice.job.facts import Fact
from bayvoice.record.chain import (
    FIRST,
    Fault,
    Row,
    body_of,
    canonical,
    fault,
    quoted,
    read,
    wall_seconds,
    wall_text,
    write,
)

# RFC 8785, sections 3.2.2 and 3.2.3, and the published test data of its authors (github.com/cyberphone/
# json-canonicalization, testdata, files arrays, french, structures, unicode, values and weird): input, output.
PUBLISHED = {
    "arrays": ('[56, {"d": true, "10": null, "1": [ ]}]', '[56,{"1":[],"10":null,"d":true}]'),
    "french": (
        '{"peach":"This sorting order","péché":"is wrong according to French",'
        '"pêche":"but canonicalization MUST","sin":"ingnore locale"}',
        '{"peach":"This sorting order","péché":"is wrong according to French",'
        '"pêche":"but canonicalization MUST","sin":"ingnore locale"}',
    ),
    "structures": (
        '{"1": {"f": {"f": "hi","F": 5} ,"\\n": 56.0}, "10": { }, "": "empty", "a": { }, "111": [ { } ], "A": { }}',
        '{"":"empty","1":{"\\n":56,"f":{"F":5,"f":"hi"}},"10":{},"111":[{}],"A":{},"a":{}}',
    ),
    "unicode": ('{"Unnormalized Unicode":"A\\u030a"}', '{"Unnormalized Unicode":"A\u030a"}'),
    "values": (
        '{"numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],'
        ' "string": "\\u20ac$\\u000F\\u000aA\'\\u0042\\u0022\\u005c\\\\\\"\\/", "literals": [null, true, false]}',
        '{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],'
        '"string":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}',
    ),
    "weird": (
        '{"\\u20ac": "Euro Sign", "1": "One", "\\u0080": "Control\\u007f", "\\ud83d\\ude02": "Smiley",'
        ' "\\u00f6": "Latin Small Letter O With Diaeresis", "\\ufb33": "Hebrew Letter Dalet With Dagesh",'
        ' "</script>": "Browser Challenge"}',
        '{"1":"One","</script>":"Browser Challenge","\x80":"Control\x7f",'
        '"ö":"Latin Small Letter O With Diaeresis","€":"Euro Sign","😂":"Smiley",'
        '"\ufb33":"Hebrew Letter Dalet With Dagesh"}',
    ),
}


@pytest.mark.parametrize("name", PUBLISHED)
def test_bodies_are_the_published_canonical_json(name: str) -> None:
    """RFC 8785's own data goes through the path a body takes."""
    given_text, wanted = PUBLISHED[name]
    row = write("J", Fact(1, 0.0, "noted", {"x": json.loads(given_text)}), FIRST)
    assert row.body == f'{{"x":{wanted}}}'
    assert read(row).body == {"x": json.loads(given_text)}


@pytest.mark.parametrize(
    ("bits", "wanted"),
    [
        ("0000000000000000", "0"),
        ("8000000000000000", "0"),
        ("444b1ae4d6e2ef50", "1e+21"),
        ("3eb0c6f7a0b5ed8d", "0.000001"),
        ("3eb0c6f7a0b5ed8c", "9.999999999999997e-7"),
    ],
)
def test_numbers_are_written_as_the_standard_writes_them(bits: str, wanted: str) -> None:
    """RFC 8785 appendix B: IEEE 754 bits and their text."""
    assert canonical(struct.unpack(">d", bytes.fromhex(bits))[0]) == wanted


def test_the_seal_is_what_an_outsider_would_work_out() -> None:
    """hashlib and json alone give the same seal; json sorts ASCII keys and writes whole numbers as RFC 8785 does."""
    body = {"step": "fit", "reason": "part missing", "seconds": 80, "new": True, "order": [1, 3, 2, 4], "none": None}
    row = write("K40-0117", Fact(7, 1_741_078_353.25, "noted", body), "ab" * 32)
    whole = {
        "job": "K40-0117",
        "seq": 7,
        "wall": "2025-03-04T08:52:33.250000Z",
        "kind": "noted",
        "body": body,
        "prev": "ab" * 32,
    }
    outside = json.dumps(whole, sort_keys=True, separators=(",", ":")).encode()
    assert row.hash == hashlib.sha256(outside).hexdigest()


@given(st.floats(min_value=0, max_value=253_402_300_799, exclude_max=True))
def test_a_moment_comes_back_exactly(wall: float) -> None:
    text = wall_text(wall)
    assert wall_seconds(text) == wall
    assert len(text.partition(".")[2]) >= len("000000Z")


@given(st.integers(0, 2**53), st.integers(0, 999_999))
def test_a_moment_reads_as_iso_8601(seconds: int, micro: int) -> None:
    """`datetime.fromisoformat` of the standard library, an independent reader, finds the same second."""
    seconds %= 253_402_300_800
    text = wall_text(float(f"{seconds}.{micro:06d}"))
    head, _, rest = text.partition(".")
    assert int(datetime.fromisoformat(head + "+00:00").timestamp()) == int(float(f"{seconds}.{micro:06d}"))
    assert rest.endswith("Z")


@pytest.mark.parametrize("wall", [float("nan"), float("inf"), -1.0, 253_402_300_800.0])
def test_a_clock_without_a_date_is_said(wall: float) -> None:
    with pytest.raises(BayError, match="clock") as caught:
        wall_text(wall)
    assert caught.value.where == "record"
    assert "clock" in caught.value.mend


@pytest.mark.parametrize(
    "text",
    [
        "",
        "2025-03-04",
        "2025-03-04T08:52:33Z",
        "2025-03-04T08:52:33.x1Z",
        "2025-13-04T08:52:33.1Z",
        "2025-03-04T08:52:60.000000Z",
    ],
)
def test_what_is_no_moment_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"."):
        wall_seconds(text)


def _nested() -> dict[str, object]:
    body: dict[str, object] = {}
    for _ in range(100_000):
        body = {"a": body}
    return body


@pytest.mark.parametrize("body", [{"a": 2**60}, {"a": float("nan")}, {"a": "\ud800"}, {"a": object()}])
def test_a_body_json_cannot_hold_is_said(body: dict[str, object]) -> None:
    with pytest.raises(BayError, match="JSON") as caught:
        write("J", Fact(1, 0.0, "noted", body), FIRST)
    assert caught.value.where == "record"
    assert "bayvoice" in caught.value.mend


def test_a_body_nested_without_end_is_said() -> None:
    with pytest.raises(BayError, match="JSON"):
        write("J", Fact(1, 0.0, "noted", _nested()), FIRST)


_JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**53) + 1, 2**53 - 1)
    | st.text(st.characters(exclude_categories=["Cs"])),
    lambda inner: (
        st.lists(inner, max_size=4) | st.dictionaries(st.text(st.characters(exclude_categories=["Cs"])), inner)
    ),
    max_leaves=12,
)


@given(st.dictionaries(st.text(st.characters(exclude_categories=["Cs"])), _JSON), st.integers(1, 10**6))
def test_any_body_comes_back_and_holds(body: dict[str, object], seq: int) -> None:
    fact = Fact(seq, 1_741_078_353.123456, "noted", body)
    row = write("J", fact, FIRST)
    assert read(row) == fact
    assert fault("J", row, seq, FIRST) is None


def test_the_last_second_of_a_minute_is_a_second() -> None:
    """A leap second (60) is refused, since no clock here counts one; the second before it is not."""
    assert wall_seconds("1970-01-01T00:01:59.250000Z") == 119.25


@pytest.mark.parametrize("text", ["[]", "1", "{} ", "{}{}", '"a"', "[] "])
def test_a_body_is_one_object_and_nothing_else(text: str) -> None:
    with pytest.raises(ValueError, match="object"):
        body_of(text)


@given(st.text(st.characters(exclude_categories=["Cs"])))
def test_a_text_is_quoted_as_the_canonical_form_writes_it(text: str) -> None:
    assert quoted(text) == canonical(text)


def _chain() -> list[Row]:
    first = write("J", Fact(1, 10.0, "noted", {"what": "a"}), FIRST)
    return [first, write("J", Fact(2, 11.0, "noted", {"what": "b"}), first.hash)]


def test_a_fact_that_is_missing_is_named() -> None:
    """The number that should stand there, and the one that does."""
    found = fault("J", _chain()[1], 1, FIRST)
    assert found == Fault("J", 1, "it is missing, the record goes on with 2")
    assert str(found) == "fact 1 of job J: it is missing, the record goes on with 2"


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"body": '{"what":"c"}'}, "its content is not what was sealed when it was written"),
        ({"kind": "signed"}, "its content is not what was sealed when it was written"),
        ({"wall": "1970-01-01T00:00:12.000000Z"}, "its content is not what was sealed when it was written"),
        ({"body": "nothing"}, "it cannot be read any more"),
        ({"wall": "yesterday"}, "it cannot be read any more"),
        ({"kind": "\ud800"}, "its content is not what was sealed when it was written"),
    ],
)
def test_a_fact_that_was_changed_is_named(change: dict[str, Any], why: str) -> None:
    """Also where it can no longer be written as bytes."""
    first, second = _chain()
    assert fault("J", replace(second, **change), 2, first.hash) == Fault("J", 2, why)


def test_a_fact_of_another_chain_is_named() -> None:
    """Its own seal holds; what it follows is not what stands before it."""
    _, second = _chain()
    found = fault("J", second, 2, "ab" * 32)
    assert found == Fault("J", 2, "it does not follow the fact before it, which was changed or exchanged")


def test_a_fault_of_the_whole_file_names_no_job() -> None:
    assert str(Fault("", 0, "it is too short")) == "it is too short"


def test_a_fact_is_numbered_from_one() -> None:
    first, _ = _chain()
    with pytest.raises(ValueError, match="number"):
        read(replace(first, seq=0))
    assert read(first) == Fact(1, 10.0, "noted", {"what": "a"})


def test_a_moment_is_written_in_utc_wherever_the_computer_stands(monkeypatch: pytest.MonkeyPatch) -> None:
    """New York is five hours behind in winter."""
    monkeypatch.setenv("TZ", "EST5EDT")
    time.tzset()
    try:
        assert time.localtime(0).tm_hour == 19
        assert wall_text(0.0) == "1970-01-01T00:00:00.000000Z"
    finally:
        monkeypatch.undo()
        time.tzset()
