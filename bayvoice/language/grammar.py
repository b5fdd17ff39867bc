"""The grammars of a language, and the grammar of one dialogue state."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import replace
from functools import cached_property, partial
from typing import Final

from bayvoice.errors import BayError
from bayvoice.language import jsgf
from bayvoice.language.address import NO_ADDRESS, Address
from bayvoice.language.automaton import Nfa, difference, graph_of
from bayvoice.language.graph import WordGraph
from bayvoice.language.intents import Intent
from bayvoice.language.jsgf import Alternatives, Expansion, Grammar, Ref, Repeat, Tagged
from bayvoice.language.linking import Linked
from bayvoice.language.matcher import Matcher
from bayvoice.language.phrases import as_said, as_spelt, plural, spoken_form
from bayvoice.language.sayable import Sayable, sayable
from bayvoice.language.texts import tell
from bayvoice.language.written import flat_grammar, sample_phrases

ANY: Final = "any"
_STATES: Final = "states"
_JOB: Final = "job"
_ADDRESS: Final = "address"
_UNITS: Final = "units"


class StateGrammar:
    """What can be said in one dialogue state. Immutable; equal names with equal fills are the same object.

    Attributes:
        name: the state.
        graph: its utterances as the smallest deterministic word graph, acyclic for the grammars of the product;
            where there is an address word, each with and without it, so that one without is heard for what it is,
            and the address word alone.
        words: every word of it.
        address: when the address word must be said.
    """

    name: str
    graph: WordGraph
    words: frozenset[str]
    address: Address

    def __init__(
        self,
        name: str,
        linked: Linked,
        heard: Linked,
        states: Sequence[str],
        written: Mapping[str, str],
        address: Address,
        whole: Callable[[], StateGrammar] | None = None,
    ) -> None:
        """Compile the state.

        Args:
            name: what it is called.
            linked: the grammars.
            heard: the same with only what is to be listened for.
            states: full names of the rules that make it up; an earlier one decides what is meant.
            written: phrases of the procedure, as said -> as written.
            address: when the address word must be said.
            whole: gives the grammar of all states, None where this is it.
        """
        self.name = name
        self._whole = whole
        self.address = address
        self._linked = heard
        self._body = _union(heard, states)
        if address.heard:
            word = Ref(f"{_JOB}.{_ADDRESS}")
            # Alone it means nothing, but must be heard for what it is: people call, and wait to be listened to.
            self._body = Alternatives((jsgf.Sequence((Repeat(word, 0, False), self._body)), word))
        self.graph = graph_of(Nfa(heard, self._body, tags=False))
        self.words = frozenset(arc.word for arc in self.graph.arcs)
        self._next: dict[tuple[int, str], int] = {(arc.src, arc.word): arc.dst for arc in self.graph.arcs}
        self._matchers = tuple(
            Matcher(Nfa(linked, linked.body(state), tags=True), linked.rules[state].where, written) for state in states
        )

    @cached_property
    def elsewhere(self) -> WordGraph | None:
        """What can be said in other dialogue states and not in this one; None where there is no such thing.

        Recognisers let it compete with the state's own utterances, so that "next" in answer to a question is heard as
        what it is and not as the likest answer.
        """
        if self._whole is None:
            return None
        found = difference(self._whole().graph, self.graph)
        return found if found.arcs else None

    def accepts(self, words: Sequence[str]) -> bool:
        """Whether all of `words` (lower case) is an utterance of the state."""
        node: int | None = self.graph.start
        for word in words:
            node = self._next.get((node, word)) if node is not None else None
        return node in self.graph.finals

    def match(self, words: Sequence[str], *, spoken: bool = True) -> Intent | None:
        """The meaning of a whole utterance, None where the grammar does not accept all of it.

        Args:
            words: words in any case; figures ("32.50") and a unit's symbol or code after them may stand for words.
            spoken: False for keys and typed words, which need no address word and may use every unit.

        Returns:
            None also where the utterance has two meanings, as with a measurement whose name ends in a number.
        """
        found = self.meanings(words, spoken=spoken)
        return found[0] if len(found) == 1 else None

    def meanings(self, words: Sequence[str], *, spoken: bool = True) -> tuple[Intent, ...]:
        """All meanings of a whole utterance, from the first rule that gives any; see `match`."""
        addressed, found = self._read(words, spoken)
        if addressed or not spoken:
            return found
        return tuple(intent for intent in found if not self.address.needed(intent.name))

    def unaddressed(self, words: Sequence[str]) -> bool:
        """Whether nothing but the address word is missing before `words`."""
        return bool(self._read(words, True)[1]) and not self.meanings(words)

    def _read(self, words: Sequence[str], spoken: bool) -> tuple[bool, tuple[Intent, ...]]:
        """Whether the address word was said, and all that the rest means."""
        said = as_said(words)
        if spoken and not self.accepts(said):
            return False, ()
        addressed = self.address.heard and said[:1] == (self.address.word,)
        # Figures that are typed are a number where there may be one, else those of a part number.
        for form in (said,) if spoken else dict.fromkeys((said, as_spelt(words))):
            for matcher in self._matchers:
                if found := matcher.meanings(form[addressed:]):
                    return addressed, found
        return addressed, ()

    def clashes(self, limit: int = 3) -> tuple[tuple[str, ...], ...]:
        """Utterances of one rule that have two meanings and are therefore refused: a mistake in grammar or fills."""
        return tuple(said for matcher in self._matchers for said in matcher.clashes(limit))

    def jsgf(self) -> str:
        """The state as one self-contained JSGF grammar without imports and tags, for engines that read JSGF."""
        return flat_grammar(self.name, self._linked, self._body)

    def sayable(self) -> tuple[Sayable, ...]:
        """What can be said, in short forms for people to read, intent by intent."""
        return sayable(self._linked, self._body)

    def phrases(self, limit: int = 2000) -> tuple[str, ...]:
        """Example utterances, short ones first, together holding every word, for engines that take phrase lists.

        They also hold as many of the grammar's word pairs as `limit` allows, since such engines learn pairs.
        """
        return sample_phrases(self.graph, limit)

    def foreign_phrases(self, limit: int = 200) -> tuple[str, ...]:
        """Like `phrases`, of what only other states know: competitors, for engines that cannot search all of that."""
        return () if self.elsewhere is None else sample_phrases(self.elsewhere, limit)


class Grammars:
    """All grammars of one language.

    Args:
        texts: file name -> JSGF text, as in ``grammars/en/*.gram``.
        fills: rule name in ``job.gram`` (``thing``, ``measurement``, ``person``), or of an open rule (``<VOID>``)
            beside the dialogue states -> phrases the procedure brings.
            Captures give them back as written there, in lower case; ``things``, the plurals, are made from ``thing``.
        address: the address word, which fills the rule ``address``, and when it must be said.
        units: codes of the units to listen for (`bayvoice.language.units.active`), None for all.
        states: name of the grammar whose public rules are the dialogue states.

    Raises:
        BayError: a text is not a grammar, does not fit the others, or a fill cannot be spoken or fills no rule.
    """

    def __init__(
        self,
        texts: Mapping[str, str],
        fills: Mapping[str, Sequence[str]] | None = None,
        address: Address = NO_ADDRESS,
        units: Collection[str] | None = None,
        states: str = _STATES,
    ) -> None:
        grammars = [jsgf.read(text, name) for name, text in texts.items()]
        by_name = {grammar.name: grammar for grammar in grammars}
        if states not in by_name:
            raise BayError(
                tell("language-no-grammar-called", grammar=states),
                ", ".join(texts),
                tell("language-put-grammar-among-grammars", grammar=states),
            )
        slots = {rule: f"{_JOB}.{rule}" for rule in by_name[_JOB].rules} if _JOB in by_name else {}
        ours = by_name[states].rules.values()
        slots |= {rule.name: f"{states}.{rule.name}" for rule in ours if rule.body == Ref(jsgf.VOID)}
        fills = dict(fills or {}) | ({_ADDRESS: (address.word,)} if address.heard else {})
        self._address = address
        filled: dict[str, list[tuple[str, ...]]] = {}
        self._written: dict[str, str] = {}
        for rule, phrases in fills.items():
            if rule not in slots:
                raise BayError(
                    tell("language-no-rule-takes-phrases", rule=rule),
                    "job.gram",
                    tell("language-use-one-of-rules", slots=", ".join(sorted(slots))),
                )
            for phrase in phrases:
                said = spoken_form(phrase, rule)
                filled.setdefault(slots[rule], []).append(said)
                self._written.setdefault(" ".join(said), phrase.lower())
        if "things" in slots and "things" not in fills:
            things = filled.get(f"{_JOB}.thing", [])
            filled[f"{_JOB}.things"] = [plural(thing) for thing in things]
            for thing in things:
                self._written.setdefault(" ".join(plural(thing)), self._written[" ".join(thing)])
        self._linked = self._heard = Linked(grammars, filled)
        if units is not None:
            self._heard = Linked([_with_units(grammar, units) for grammar in grammars], filled)
        self._names = tuple(rule.name for rule in by_name[states].rules.values() if rule.public)
        if ANY in self._names:
            raise BayError(
                tell("language-state-name-any-is-taken"), by_name[states].where, tell("language-rename-rule")
            )
        self._states = states
        self._compiled: dict[str, StateGrammar] = {}

    def states(self) -> tuple[str, ...]:
        """Names of the dialogue states (public rules of ``states.gram``)."""
        return self._names

    def state(self, name: str) -> StateGrammar:
        """The grammar of state `name`; "any" is everything a running job could hear. BayError if unknown."""
        if name not in self._compiled:
            if name != ANY and name not in self._names:
                raise BayError(
                    tell("language-no-dialogue-state-name", name=name),
                    "",
                    tell("language-use-one-of-states", any=ANY, names=", ".join(self._names)),
                )
            names = self._names if name == ANY else (name,)
            self._compiled[name] = StateGrammar(
                name,
                self._linked,
                self._heard,
                [f"{self._states}.{state}" for state in names],
                self._written,
                self._address,
                None if name == ANY else partial(self.state, ANY),
            )
        return self._compiled[name]

    def clashes(self) -> tuple[BayError, ...]:
        """One mistake for each utterance found with two meanings, as fills such as "bolt" beside "bolt 1" give."""
        found = dict.fromkeys(" ".join(said) for name in self._names for said in self.state(name).clashes())
        return tuple(
            BayError(
                tell("language-said-could-be-understood-in-two", said=said),
                "",
                tell("language-rename-one-of-things-or-measurements"),
            )
            for said in found
        )


def _with_units(grammar: Grammar, codes: Collection[str]) -> Grammar:
    """`grammar`, its rule ``unit`` without the alternatives of other units if it is the grammar of units."""
    rule = grammar.rules.get("unit")
    if grammar.name != _UNITS or rule is None or not isinstance(rule.body, Alternatives):
        return grammar
    kept = [
        choice
        for choice in rule.body.choices
        if not isinstance(choice, Tagged) or {tag.partition("=")[2] for tag in choice.tags} & set(codes)
    ]
    body = Alternatives(tuple(kept)) if kept else Ref(jsgf.VOID)
    return replace(grammar, rules={**grammar.rules, "unit": replace(rule, body=body)})


def _union(linked: Linked, states: Sequence[str]) -> Expansion:
    """The states' alternatives without repetitions: states share most of theirs."""
    choices: dict[Expansion, None] = {}

    def add(body: Expansion) -> None:
        if isinstance(body, Alternatives) and not body.weights:
            for choice in body.choices:
                add(choice)
        elif isinstance(body, Ref) and body.name in linked.rules and isinstance(linked.body(body.name), Alternatives):
            add(linked.body(body.name))
        else:
            choices[body] = None

    for state in states:
        add(linked.body(state))
    found = tuple(choices)
    return found[0] if len(found) == 1 else Alternatives(found)
