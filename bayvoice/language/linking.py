"""Joins grammar files: imports, references, phrases a procedure brings; no reference is left open."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from bayvoice.errors import BayError
from bayvoice.language import jsgf
from bayvoice.language.jsgf import Alternatives, Expansion, Grammar, Ref, Repeat, Rule, Tagged, Token
from bayvoice.language.texts import tell


class Linked:
    """Grammars whose references are full names ``grammar.rule`` and are known to exist, without recursion.

    Args:
        grammars: the grammars, in any order.
        fills: full rule name -> phrases (tuples of words) that take the rule's place.

    Raises:
        BayError: a reference or import leads nowhere, is ambiguous or private, a rule refers to itself, a fill names
            no rule, or two files carry one grammar name.
    """

    def __init__(self, grammars: Sequence[Grammar], fills: Mapping[str, Sequence[Sequence[str]]]) -> None:
        self._grammars: dict[str, Grammar] = {}
        for grammar in grammars:
            if grammar.name in self._grammars:
                raise BayError(
                    tell(
                        "language-grammar-name-is-also-used",
                        grammar=grammar.name,
                        where=self._grammars[grammar.name].where,
                    ),
                    grammar.where,
                    tell("language-rename-one-of-two"),
                )
            self._grammars[grammar.name] = grammar
        self.rules: dict[str, Rule] = {}
        for grammar in grammars:
            seen = self._visible(grammar)
            for rule in grammar.rules.values():
                full = f"{grammar.name}.{rule.name}"
                body = rewrite(rule.body, lambda ref, seen=seen: self._resolve(ref, seen))  # type: ignore[misc]
                self.rules[full] = Rule(full, body, rule.public, rule.where)
        for full, phrases in fills.items():
            rule_ = self.rules[full]
            self.rules[full] = Rule(full, _phrases(phrases), rule_.public, rule_.where)
        for full in self.rules:
            self._refuse_recursion(full, [])

    def _visible(self, grammar: Grammar) -> dict[str, list[str]]:
        """Every name a grammar may write -> the full names it could mean."""
        seen: dict[str, list[str]] = {}

        def add(name: str, full: str) -> None:
            if full not in seen.setdefault(name, []):
                seen[name].append(full)

        for imported in grammar.imports:
            owner, _, rule = imported.name.rpartition(".")
            other = self._grammars.get(owner)
            if other is None:
                raise BayError(
                    tell("language-imported-grammar-owner-does-not-exist", owner=owner),
                    imported.where,
                    tell("language-correct-name"),
                )
            public = [r.name for r in other.rules.values() if r.public]
            if rule != "*" and rule not in public:
                key = "language-imported-rule-not-public" if rule in other.rules else "language-no-imported-rule"
                raise BayError(
                    tell(key, rule=imported.name),
                    imported.where,
                    tell("language-see-where", where=other.where),
                )
            for name in public if rule == "*" else [rule]:
                for spelling in (name, f"{owner}.{name}", f"{owner.rpartition('.')[2]}.{name}"):
                    add(spelling, f"{owner}.{name}")
        for name in grammar.rules:
            # A rule of the grammar itself hides imported ones of its name (note, section on resolving names).
            for spelling in (name, f"{grammar.name}.{name}", f"{grammar.name.rpartition('.')[2]}.{name}"):
                seen[spelling] = [f"{grammar.name}.{name}"]
        return seen

    @staticmethod
    def _resolve(ref: Ref, seen: Mapping[str, list[str]]) -> Expansion:
        if ref.name in (jsgf.NULL, jsgf.VOID):
            return ref
        found = seen.get(ref.name, [])
        if not found:
            raise BayError(
                tell("language-no-rule", ref=ref.name), ref.where, tell("language-correct-name-or-define-import")
            )
        if len(found) > 1:
            raise BayError(
                tell("language-ref-may-mean-found", ref=ref.name, found=tell("language-or").join(found)),
                ref.where,
                tell("language-write-grammars-name-before"),
            )
        return Ref(found[0], ref.where)

    def _refuse_recursion(self, full: str, above: list[str], done: set[str] | None = None) -> None:
        done = set() if done is None else done
        if full in above:
            ring = " -> ".join(f"<{name}>" for name in [*above[above.index(full) :], full])
            raise BayError(
                tell("language-rule-full-contains-itself-ring", full=full, ring=ring),
                self.rules[full].where,
                tell("language-write-repetition-with-or-instead"),
            )
        if full in done:
            return
        for name in references(self.rules[full].body):
            self._refuse_recursion(name, [*above, full], done)
        done.add(full)

    def body(self, full: str) -> Expansion:
        """The body of the rule with the full name `full`."""
        return self.rules[full].body


def rewrite(body: Expansion, change: Callable[[Ref], Expansion]) -> Expansion:
    """`body` with every reference replaced by what `change` makes of it."""
    if isinstance(body, Ref):
        return change(body)
    if isinstance(body, jsgf.Sequence):
        return jsgf.Sequence(tuple(rewrite(part, change) for part in body.parts))
    if isinstance(body, Alternatives):
        return Alternatives(tuple(rewrite(choice, change) for choice in body.choices), body.weights)
    if isinstance(body, Repeat):
        return Repeat(rewrite(body.part, change), body.least, body.endless)
    if isinstance(body, Tagged):
        return Tagged(rewrite(body.part, change), body.tags)
    return body


def references(body: Expansion) -> list[str]:
    """Names of the rules `body` refers to, in order, special ones left out."""
    found: list[str] = []

    def note(ref: Ref) -> Expansion:
        if ref.name not in (jsgf.NULL, jsgf.VOID) and ref.name not in found:
            found.append(ref.name)
        return ref

    rewrite(body, note)
    return found


def _phrases(phrases: Sequence[Sequence[str]]) -> Expansion:
    choices = tuple(
        jsgf.Sequence(tuple(Token(word) for word in phrase)) for phrase in dict.fromkeys(map(tuple, phrases))
    )
    if not choices:
        return Ref(jsgf.VOID)
    return choices[0] if len(choices) == 1 else Alternatives(choices)
