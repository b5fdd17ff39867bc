"""The grammar reader, held against the JSGF reader of CMU PocketSphinx and against examples of the W3C note."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bayvoice.errors import BayError
from bayvoice.language import jsgf
from bayvoice.language.automaton import Nfa, graph_of
from bayvoice.language.grammar import Grammars
from bayvoice.language.jsgf import Alternatives, Ref, Sequence, Tagged, Token
from bayvoice.language.linking import Linked
from tests.language.foreign import Foreign, first_difference
from tests.language.shipped import accepts, grammars, graph_of_text, texts, utterances

HEAD = "#JSGF V1.0;\ngrammar t;\n"


SAMPLES = [
    "public <a> = one;",
    "public <a> = one two | three;",
    "public <a> = one [two] three;",
    "public <a> = (one | two) (three | four);",
    "public <a> = one* two;",
    "public <a> = one+ | two;",
    "public <a> = (one two)+ [three];",
    "public <a> = /10/ one | /2/ two | /0.5/ three;",
    "public <a> = one {tag} two {another} {more};",
    "public <a> = <b> | <b> <c>;\n<b> = one | two;\n<c> = [three] four;",
    "public <a> = one <NULL> two;",
    "/* a note */ public <a> = one // the rest\n two;",
    "<b> = one;\npublic <a> = [<b>] [two] three;",
    "public <a> = ((one) | ((two [three])));",
]


@pytest.mark.parametrize("body", SAMPLES)
def test_pocketsphinx_reads_the_same_language(body: str, tmp_path: Path) -> None:
    """Outside check: the finite-state grammar of CMU PocketSphinx accepts the same utterances, shown exhaustively."""
    assert first_difference(graph_of_text(HEAD + body, "t.a"), Foreign(HEAD + body, tmp_path)) is None


EXPANSIONS = st.recursive(
    st.sampled_from(["one", "two", "three", "<b>"]),
    lambda inner: st.one_of(
        st.tuples(inner, inner).map(" ".join),
        st.tuples(inner, inner).map(lambda two: f"({two[0]} | {two[1]})"),
        inner.map(lambda one: f"[{one}]"),
        inner.map(lambda one: f"({one})+"),
        inner.map(lambda one: f"({one})*"),
        inner.map(lambda one: f"({one}) {{x=}}"),
    ),
    max_leaves=8,
)


@settings(max_examples=150, deadline=None)
@given(body=EXPANSIONS)
def test_pocketsphinx_agrees_on_random_grammars(body: str, tmp_path_factory: pytest.TempPathFactory) -> None:
    """Outside check, as above, for generated expansions."""
    text = f"{HEAD}public <a> = {body};\n<b> = four [one] | two;\n"
    assert first_difference(graph_of_text(text, "t.a"), Foreign(text, tmp_path_factory.mktemp("fsg"))) is None


@pytest.mark.slow
@pytest.mark.parametrize("state", [*grammars().states(), "any"])
def test_pocketsphinx_loads_every_state(state: str, tmp_path: Path) -> None:
    """Outside check: the written grammar is read by PocketSphinx and has exactly the utterances of our graph."""
    grammar = grammars().state(state)
    assert first_difference(grammar.graph, Foreign(grammar.jsgf(), tmp_path)) is None


def test_the_check_finds_a_difference(tmp_path: Path) -> None:
    """A grammar that differs in one utterance is caught, so the checks above can fail."""
    ours = graph_of_text(f"{HEAD}public <a> = one [two];", "t.a")
    theirs = Foreign(f"{HEAD}public <a> = one [two | three];", tmp_path)
    assert first_difference(ours, theirs) == "one three"


# Examples of the W3C note of 5 June 2000, from memory.
POLITE = """#JSGF V1.0 ISO8859-1 en;
grammar com.acme.politeness;
// Body
public <startPolite> = (please | kindly | could you | oh mighty computer) *;
public <endPolite> = [ please | thanks | thank you ];
"""
COMMANDS = """#JSGF V1.0 ISO8859-1 en;
grammar com.acme.commands;
import <com.acme.politeness.startPolite>;
import <com.acme.politeness.endPolite>;
/** Basic command. @example please move the window */
public <basicCmd> = <startPolite> <command> <endPolite>;
<command> = <action> <object>;
<action> = /10/ open |/2/ close |/1/ delete |/1/ move;
<object> = [the | a] (window | file | menu);
"""


def test_the_examples_of_the_note() -> None:
    """Imports, weights, an optional group and the Kleene star, in the note's own example."""
    linked = Linked([jsgf.read(POLITE, "p.gram"), jsgf.read(COMMANDS, "c.gram")], {})
    graph = graph_of(Nfa(linked, Ref("com.acme.commands.basicCmd"), tags=False))
    for said in ("open a file", "oh mighty computer please open a menu", "please kindly close the window thank you"):
        assert accepts(graph, said), said
    for said in ("open", "oh mighty open a file", "open a file thank", "file open a"):
        assert not accepts(graph, said), said


def test_tags_bind_to_the_word_before_them() -> None:
    """Precedence of the note: a tag takes one word, reference or group, not the sequence."""
    body = jsgf.read(HEAD + "public <a> = one two {x} {y} | (three four) {z};", "t.gram").rules["a"].body
    assert body == Alternatives(
        (
            Sequence((Token("one"), Tagged(Token("two"), ("x", "y")))),
            Tagged(Sequence((Token("three"), Token("four"))), ("z",)),
        )
    )


def test_quoted_tokens_and_escapes() -> None:
    """Marks inside quotation marks and braces, and both escapes."""
    text = HEAD + r'public <a> = "New  York" | "say \"hi\"" {a=\{x\} \\ y};'
    body = jsgf.read(text, "t.gram").rules["a"].body
    assert body == Alternatives((Token("New York"), Tagged(Token('say "hi"'), (r"a={x} \ y",))))
    assert utterances(graph_of_text(HEAD + 'public <a> = "New York" city;', "t.a"), 4) == [["new", "york", "city"]]


def test_weight_zero_is_never_spoken() -> None:
    """The note: an alternative of weight 0 cannot be spoken."""
    graph = graph_of_text(HEAD + "public <a> = /0/ one | /1/ two;", "t.a")
    assert utterances(graph, 3) == [["two"]]


def test_void_is_never_spoken_and_never_written() -> None:
    """The note: <VOID> makes its own alternative unspeakable, no other.

    PocketSphinx 5.1.1 drops the alternatives before it as well, so the grammars written for engines hold none.
    """
    graph = graph_of_text(HEAD + "public <a> = one | two <VOID> | three;", "t.a")
    assert sorted(utterances(graph, 3)) == [["one"], ["three"]]
    bare = Grammars(texts())
    assert not [name for name in bare.states() if "<VOID>" in bare.state(name).jsgf()]


def test_a_rule_of_the_grammar_hides_an_imported_one() -> None:
    """And the imported one is still reached by its full name, as the note resolves names."""
    other = "#JSGF V1.0;\ngrammar o;\npublic <w> = far;\n<hidden> = x;\n"
    text = "#JSGF V1.0;\ngrammar t;\nimport <o.*>;\npublic <a> = <w> <o.w>;\n<w> = near;\n"
    linked = Linked([jsgf.read(other, "o.gram"), jsgf.read(text, "t.gram")], {})
    assert utterances(graph_of(Nfa(linked, Ref("t.a"), tags=False)), 3) == [["near", "far"]]


MISTAKES = [
    ("", "t.gram:1: this is not a JSGF grammar"),
    ("grammar t;", "t.gram:1: this is not a JSGF grammar"),
    ("#JSGF V2.0;\ngrammar t;", "t.gram:1: the grammar states version V2.0"),
    ("#JSGF V1.0 a b c;\ngrammar t;", "t.gram:1: the header holds more"),
    ("#JSGF V1.0;\n\npublic <a> = x;", "t.gram:3: the grammar has no name"),
    ("#JSGF V1.0;\ngrammar t\npublic <a> = x;", 't.gram:3: a ";" is missing before "public"'),
    (HEAD + "import <o>;", "t.gram:3: the import <o> names no grammar"),
    (HEAD + "import <o.x>;", "t.gram:3: the imported grammar o does not exist"),
    (HEAD + "import <t.b>;\n<b> = x;", "t.gram:3: the imported rule <t.b> is not public"),
    (HEAD + "import <t.c>;\n<b> = x;", "t.gram:3: the imported rule <t.c> does not exist"),
    (HEAD + "public <a> = one\n  two\n", 't.gram:5: a ";" is missing before the end of the file'),
    (HEAD + "public <a> = one | ;", 't.gram:3: nothing can be said before ";"'),
    (HEAD + "public <a> = ();", 't.gram:3: nothing can be said before ")"'),
    (HEAD + "public <a> = (one\n| two;", 't.gram:4: the "(" of line 3 is not closed'),
    (HEAD + "public <a> = [one);", 't.gram:3: the "[" of line 3 is not closed'),
    (HEAD + "public <a> = one];", 't.gram:3: a ";" is missing before "]"'),
    (HEAD + "public <a> = one {tag;\n", "t.gram:3: a tag is not closed"),
    (HEAD + 'public <a> = "one;\n', "t.gram:3: a quoted token is not closed"),
    (HEAD + 'public <a> = "";\n', "t.gram:3: a quoted token is empty"),
    (HEAD + "/* for ever", "t.gram:3: a comment is not closed"),
    (HEAD + "public <a> = <b;\n", "t.gram:3: a rule name is not closed"),
    (HEAD + "public <a b> = x;\n", 't.gram:3: "<a b>" is not a rule name'),
    (HEAD + "public <a> = * one;", 't.gram:3: "*" follows nothing'),
    (HEAD + "public <a> = {x} one;", "t.gram:3: {x} follows nothing"),
    (HEAD + "public <a> = /x/ one | /1/ two;", 't.gram:3: "x" is not a weight'),
    (HEAD + "public <a> = /-1/ one | /1/ two;", 't.gram:3: "-1" is not a weight'),
    (HEAD + "public <a> = /inf/ one | /1/ two;", 't.gram:3: "inf" is not a weight'),
    (HEAD + "public <a> = one | /1/ two;", "t.gram:3: only some of the alternatives have a weight"),
    (HEAD + "public <a> = /0/ one | /0/ two;", "t.gram:3: every alternative has the weight 0"),
    (HEAD + "public <NULL> = one;", "t.gram:3: <NULL> is a special rule"),
    (HEAD + "public <x.y> = one;", "t.gram:3: the rule name <x.y> holds a dot"),
    (HEAD + "<a> = one;\n\n<a> = two;", "t.gram:5: rule <a> is defined twice, first at t.gram:3"),
    (HEAD + "one = two;", 't.gram:3: a rule cannot begin with "one"'),
    (HEAD + "public <a> = <b>;", "t.gram:3: there is no rule <b>"),
    (HEAD + "public <a> = one <a>;", "t.gram:3: rule <t.a> contains itself (<t.a> -> <t.a>)"),
    (HEAD + "<a> = one | <b>;\n<b> = [<c>] x;\n<c> = <b>;", "t.gram:4: rule <t.b> contains itself"),
    (HEAD + "public <a> = 32;", '"32" cannot be spoken as it stands'),
    (HEAD + "public <a> = x {danse};", "the tag {danse} names no intent"),
    (HEAD + "public <a> = x {=y};", "the tag {=y} has no usable key"),
]


@pytest.mark.parametrize(("text", "message"), MISTAKES)
def test_a_mistake_is_told_with_file_and_line(text: str, message: str) -> None:
    """File, line, what is wrong, and how to mend it, in one sentence."""
    with pytest.raises(BayError) as told:
        Nfa(Linked([jsgf.read(text, "t.gram")], {}), Ref("t.a"), tags=True)
    assert message in str(told.value)
    assert told.value.mend
    assert re.fullmatch(r"[^\n]+\.", str(told.value))


@settings(max_examples=400, deadline=None)
@given(st.text(alphabet='<>()[]{}|*+=;/"\\ \nab.', max_size=40))
def test_no_text_breaks_the_reader(body: str) -> None:
    """Any text is a grammar or a BayError, never another exception."""
    try:
        linked = Linked([jsgf.read(f"{HEAD}public <a> = x;{body}", "t.gram")], {})
        Nfa(linked, Ref("t.a"), tags=False)
    except BayError as told:
        assert told.where  # noqa: PT017 - a grammar is just as good an outcome


def test_two_files_with_one_name_and_ambiguous_names() -> None:
    """Both files are named."""
    one = jsgf.read("#JSGF V1.0;\ngrammar o;\npublic <w> = x;", "o.gram")
    with pytest.raises(BayError, match=r"p\.gram: the grammar name o is also used by o\.gram"):
        Linked([one, jsgf.read("#JSGF V1.0;\ngrammar o;\n", "p.gram")], {})
    two = jsgf.read("#JSGF V1.0;\ngrammar p;\npublic <w> = y;", "p.gram")
    both = jsgf.read("#JSGF V1.0;\ngrammar t;\nimport <o.w>;\nimport <p.w>;\npublic <a> = <w>;", "t.gram")
    with pytest.raises(BayError, match=r"t\.gram:5: <w> may mean o\.w or p\.w"):
        Linked([one, two, both], {})
