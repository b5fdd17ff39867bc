"""Reader of the JSpeech Grammar Format.

Source: A. Hunt (ed.), JSpeech Grammar Format, W3C Note of 5 June 2000. Everything of the note is read except recursion,
which is refused when rules are linked (`bayvoice.language.linking`), because a recogniser here searches a finite graph.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final, NoReturn

from bayvoice.errors import BayError
from bayvoice.language.texts import tell

NULL: Final = "NULL"
VOID: Final = "VOID"
_MARKS: Final = frozenset(';=|*+<>()[]{}"')


@dataclass(frozen=True, slots=True)
class Token:
    """Words spoken as they stand; a quoted token may hold several, separated by one space."""

    text: str


@dataclass(frozen=True, slots=True)
class Ref:
    """A reference ``<name>``; ``NULL`` and ``VOID`` are the special rules of the note."""

    name: str
    where: str = field(default="", compare=False)


@dataclass(frozen=True, slots=True)
class Sequence:
    """Parts spoken one after the other; empty means silence."""

    parts: tuple[Expansion, ...]


@dataclass(frozen=True, slots=True)
class Alternatives:
    """One of `choices` is spoken. `weights` is empty or holds one number from 0 up for each choice."""

    choices: tuple[Expansion, ...]
    weights: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Repeat:
    """`part` spoken at least `least` times (0 or 1); without `endless`, at most once, which is an optional part."""

    part: Expansion
    least: int
    endless: bool


@dataclass(frozen=True, slots=True)
class Tagged:
    """`part` with the tags written after it, in order, escapes resolved."""

    part: Expansion
    tags: tuple[str, ...]


Expansion = Token | Ref | Sequence | Alternatives | Repeat | Tagged


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule definition; `where` is ``file:line``."""

    name: str
    body: Expansion
    public: bool
    where: str = field(default="", compare=False)


@dataclass(frozen=True, slots=True)
class Grammar:
    """One grammar file.

    Attributes:
        name: the full grammar name, package included.
        imports: imported names with their place: ``grammar.rule`` or ``grammar.*``.
        rules: rule name -> definition, in file order.
        where: the file name.
    """

    name: str
    imports: tuple[Ref, ...]
    rules: dict[str, Rule]
    where: str


@dataclass(frozen=True, slots=True)
class _Lexeme:
    kind: str  # one of the marks, or: word, quoted, name, tag, weight, end
    text: str
    line: int


def read(text: str, where: str) -> Grammar:
    """Read one grammar.

    Args:
        text: the whole file.
        where: its name, for messages.

    Raises:
        BayError: the text is not a JSGF grammar; says file, line, what is wrong and how to mend it.
    """
    body, first_line = _header(text, where)
    return _Parser(_lex(body, where, first_line), where).grammar()


def _fail(where: str, line: int, what: str, mend: str) -> NoReturn:
    raise BayError(what, f"{where}:{line}", mend)


def _header(text: str, where: str) -> tuple[str, int]:
    """The text after the self-identifying header and the line it starts on."""
    text = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    head, sep, _ = text.partition(";")
    words = head.split()
    if not sep or words[:1] != ["#JSGF"] or not head.startswith("#JSGF"):
        _fail(where, 1, tell("language-is-not-jsgf-grammar"), tell("language-let-file-begin-with-jsgf"))
    if words[1:2] != ["V1.0"]:
        _fail(
            where,
            1,
            tell("language-grammar-states-version", version=words[1])
            if words[1:]
            else tell("language-grammar-states-no-version"),
            tell("language-write-header"),
        )
    if len(words) > 4:
        _fail(where, 1, tell("language-header-holds-more-than-version"), tell("language-write-whole-header"))
    return text[len(head) + 1 :], 1 + head.count("\n")


class _Scanner:
    """Reads lexemes from one text, keeping the line."""

    def __init__(self, text: str, where: str, line: int) -> None:
        self.text, self.where, self.line, self.at = text, where, line, 0

    def until(self, end: str, what: str) -> str:
        """The text up to `end`, which is passed over; a backslash shields the character after it.

        `what` is the key of the words for what is being read.
        """
        start = self.line
        out: list[str] = []
        while self.at < len(self.text):
            char = self.text[self.at]
            self.at += 1
            if char == end:
                return "".join(out)
            if char == "\\" and self.at < len(self.text):
                char = self.text[self.at]
                self.at += 1
            self.line += char == "\n"
            out.append(char)
        _fail(
            self.where,
            start,
            tell("language-what-is-not-closed", what=tell(what)),
            tell("language-add-missing-end", end=end),
        )

    def skip(self) -> bool:
        """Pass over one stretch of space or one comment; False where there is none."""
        text, at = self.text, self.at
        if text[at].isspace():
            self.line += text[at] == "\n"
            self.at += 1
            return True
        if text.startswith("//", at):
            end = text.find("\n", at)
            self.at = len(text) if end < 0 else end
            return True
        if text.startswith("/*", at):
            end = text.find("*/", at + 2)
            if end < 0:
                _fail(
                    self.where,
                    self.line,
                    tell("language-comment-is-not-closed"),
                    tell("language-add-missing-end-of-comment"),
                )
            self.line += text.count("\n", at, end)
            self.at = end + 2
            return True
        return False

    def word(self) -> str:
        """A bare token: it ends before space, a mark, a quotation mark or a comment."""
        start = self.at
        while self.at < len(self.text):
            char = self.text[self.at]
            if char.isspace() or char in _MARKS or char == "/":
                break
            self.at += 1
        return self.text[start : self.at]


def _lex(text: str, where: str, line: int) -> list[_Lexeme]:
    scan, out = _Scanner(text, where, line), []
    while scan.at < len(text):
        if scan.skip():
            continue
        char, begun = text[scan.at], scan.line
        if char in '<{"/':
            scan.at += 1
            if char == "<":
                kind, content = "name", scan.until(">", "language-rule-name").strip()
                if not content or any(part.isspace() for part in content):
                    _fail(
                        where,
                        begun,
                        tell("language-no-rule-name", content=content),
                        tell("language-write-one-name-without-spaces"),
                    )
            elif char == "{":
                kind, content = "tag", scan.until("}", "language-tag").strip()
            elif char == '"':
                kind, content = "quoted", " ".join(scan.until('"', "language-quoted-token").split())
            else:
                kind, content = "weight", scan.until("/", "language-weight").strip()
            out.append(_Lexeme(kind, content, begun))
        elif char in _MARKS:
            scan.at += 1
            out.append(_Lexeme(char, char, begun))
        else:
            out.append(_Lexeme("word", scan.word(), begun))
    out.append(_Lexeme("end", "", scan.line))
    return out


class _Parser:
    def __init__(self, lexemes: list[_Lexeme], where: str) -> None:
        self.lexemes, self.where, self.at = lexemes, where, 0

    @property
    def now(self) -> _Lexeme:
        return self.lexemes[self.at]

    def fail(self, what: str, mend: str, line: int | None = None) -> NoReturn:
        _fail(self.where, self.now.line if line is None else line, what, mend)

    def take(self, kind: str, what: str) -> _Lexeme:
        lexeme = self.now
        if lexeme.kind != kind:
            self.fail(
                tell("language-what-is-missing-before-lexeme", what=tell(what), lexeme=_shown(lexeme)),
                tell("language-write-what", what=tell(what)),
            )
        self.at += 1
        return lexeme

    def grammar(self) -> Grammar:
        if self.now != _Lexeme("word", "grammar", self.now.line):
            self.fail(tell("language-grammar-has-no-name"), tell("language-write-grammar-name-after-header"))
        self.at += 1
        name = self.take("word", "language-grammars-name").text
        self.take(";", "language-a-semicolon")
        imports: list[Ref] = []
        while self.now.kind == "word" and self.now.text == "import":
            self.at += 1
            lexeme = self.take("name", "language-imported-rule-in")
            if "." not in lexeme.text:
                self.fail(
                    tell("language-import-text-names-no-grammar", text=lexeme.text),
                    tell("language-write-grammar-rule-or"),
                )
            imports.append(Ref(lexeme.text, f"{self.where}:{lexeme.line}"))
            self.take(";", "language-a-semicolon")
        rules: dict[str, Rule] = {}
        while self.now.kind != "end":
            rule = self.rule()
            if rule.name in rules:
                raise BayError(
                    tell("language-rule-is-defined-twice-first", rule=rule.name, where=rules[rule.name].where),
                    rule.where,
                    tell("language-give-one-of-them-another"),
                )
            rules[rule.name] = rule
        return Grammar(name, tuple(imports), rules, self.where)

    def rule(self) -> Rule:
        public = self.now.kind == "word" and self.now.text == "public"
        self.at += public
        if self.now.kind != "name":
            self.fail(
                tell("language-rule-cannot-begin-with-now", now=_shown(self.now)),
                tell("language-write-name-what-is-said"),
            )
        head = self.take("name", "language-rule-name-in")
        if head.text in (NULL, VOID):
            self.fail(
                tell("language-text-is-special-rule-of-format", text=head.text),
                tell("language-choose-another-name"),
                head.line,
            )
        if "." in head.text:
            self.fail(
                tell("language-rule-name-text-holds-dot", text=head.text),
                tell("language-choose-name-without-dot"),
                head.line,
            )
        self.take("=", "language-an-equals-sign")
        body = self.alternatives()
        self.take(";", "language-a-semicolon")
        return Rule(head.text, body, public, f"{self.where}:{head.line}")

    def alternatives(self) -> Expansion:
        begun = self.now.line
        choices: list[Expansion] = []
        weights: list[float] = []
        while True:
            if self.now.kind == "weight":
                weights.append(self.weight())
            choices.append(self.sequence())
            if self.now.kind != "|":
                break
            self.at += 1
        if weights and len(weights) != len(choices):
            self.fail(
                tell("language-only-some-of-alternatives-have"), tell("language-give-every-one-weight-or-none"), begun
            )
        if weights and not any(weights):
            self.fail(tell("language-every-alternative-has-weight-0"), tell("language-give-at-least-one-weight"), begun)
        return choices[0] if len(choices) == 1 else Alternatives(tuple(choices), tuple(weights))

    def weight(self) -> float:
        text = self.now.text
        try:
            value = float(text)
        except ValueError:
            value = -1.0
        if not 0 <= value < float("inf"):
            self.fail(tell("language-no-weight", text=text), tell("language-write-number-from-0-up"))
        self.at += 1
        return value

    def sequence(self) -> Expansion:
        parts: list[Expansion] = []
        while (part := self.item()) is not None:
            parts.append(part)
        if not parts:
            self.fail(
                tell("language-nothing-can-be-said-before", now=_shown(self.now)), tell("language-write-word-or-null")
            )
        return parts[0] if len(parts) == 1 else Sequence(tuple(parts))

    def item(self) -> Expansion | None:
        """One word, reference or group with its repetitions and tags; None where the sequence ends."""
        part = self.atom()
        if part is None:
            if self.now.kind in "*+" or self.now.kind == "tag":
                self.fail(
                    tell("language-mark-follows-nothing", now=_shown(self.now)),
                    tell("language-write-after-word-rule-or-group"),
                )
            return None
        tags: list[str] = []
        while True:
            kind = self.now.kind
            if kind == "tag":
                tags.append(self.now.text)
            elif kind in ("*", "+"):
                if tags:
                    part, tags = Tagged(part, tuple(tags)), []
                part = Repeat(part, 0 if kind == "*" else 1, endless=True)
            else:
                return Tagged(part, tuple(tags)) if tags else part
            self.at += 1

    def atom(self) -> Expansion | None:
        lexeme = self.now
        if lexeme.kind in ("word", "quoted"):
            if not lexeme.text:
                self.fail(tell("language-quoted-token-is-empty"), tell("language-write-words-between-quotation-marks"))
            self.at += 1
            return Token(lexeme.text)
        if lexeme.kind == "name":
            self.at += 1
            return Ref(lexeme.text, f"{self.where}:{lexeme.line}")
        if lexeme.kind in ("(", "["):
            close = ")" if lexeme.kind == "(" else "]"
            self.at += 1
            inner = self.alternatives()
            if self.now.kind != close:
                self.fail(
                    tell("language-group-is-not-closed", kind=lexeme.kind, line=lexeme.line),
                    tell("language-add-missing-close", close=close),
                )
            self.at += 1
            return inner if close == ")" else Repeat(inner, 0, endless=False)
        return None


def _shown(lexeme: _Lexeme) -> str:
    if lexeme.kind == "end":
        return tell("language-end-of-file")
    return {"name": "<{}>", "tag": "{{{}}}", "weight": "/{}/"}.get(lexeme.kind, '"{}"').format(lexeme.text)
