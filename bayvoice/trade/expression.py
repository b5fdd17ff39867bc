"""Sums over recorded values, for limits that depend on them: ``0.05 mm + max(shim_thickness, "cover gap") / 2``.

    sum    := term (("+" | "-") term)*
    term   := signed (("*" | "/") signed)*
    signed := ("-" | "+") signed | atom
    atom   := number [unit] | name | "(" sum ")" | function "(" sum ("," sum)* ")"

A number with a unit is a quantity; a unit stands only behind a number, so a value may be called "in" or "bar". A name
is a word with underscores for spaces, or anything in quotes. Functions: ``min`` and ``max`` of two or more, ``abs`` of
one, ``round(value, step)``: to the nearest whole multiple of the step, halves away from zero; without a step for plain
numbers.

Every operation is checked for its dimension. Points on a temperature scale (degC, degF) can be compared and
subtracted, which gives K, and K can be added to them; nothing else. All arithmetic is in fractions, so nothing is
rounded unless `round` says so or the result can't be written as a decimal number (28 figures then). There is no other
syntax and no Python in it: the text is read by the parser below and by nothing else.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final, TypeVar

from bayvoice.errors import BayError
from bayvoice.language.texts import tell
from bayvoice.trade.tokens import Complain, Token, tokens
from bayvoice.units import NAMES, NONE, USUAL, Powers, dimension_name, fraction, to_decimal, unit

LONGEST: Final = 300
"""Characters of an expression, at most."""
DEEPEST: Final = 25
"""Brackets and signs within each other, at most."""

_TEMPERATURE: Final = unit("K").powers
_T = TypeVar("_T")
_LARGEST: Final = Fraction(10**30)


@dataclass(frozen=True, slots=True)
class _Quantity:
    """value: in base units, None while only dimensions are checked. point: on a temperature scale."""

    value: Fraction | None
    dimension: Powers
    point: bool
    code: str


_Evaluate = Callable[[Mapping[str, _Quantity]], _Quantity]


@dataclass(frozen=True, slots=True)
class Expression:
    """A parsed expression.

    Attributes:
        text: as it was written.
        names: the values it needs, in order of appearance, written with spaces and in small letters.
    """

    text: str
    names: tuple[str, ...]
    _evaluate: _Evaluate

    def evaluate(self, values: Mapping[str, tuple[Decimal, str]], into: str | None = None) -> tuple[Decimal, str]:
        """The value with its unit.

        Args:
            values: name -> value and unit code. Names may have spaces, hyphens or underscores, and any case.
            into: unit code of the result; default: the unit of the first quantity of that dimension in it.

        Raises:
            BayError: a value is missing, a unit is unknown or of the wrong dimension, a division by zero, or a result
                beyond any measurement. `where` names the column.
        """
        given = {name: _given(value, code) for name, (value, code) in _chosen(self.text, self.names, values).items()}
        return self._result(self._evaluate(given), into)

    def check(self, units: Mapping[str, str], into: str | None = None) -> str:
        """The unit of the result, found from the units of the values alone: for vetting, before any value is known.

        Raises:
            BayError: as `evaluate`.
        """
        given = {name: _quantity(None, code) for name, code in _chosen(self.text, self.names, units).items()}
        found = self._evaluate(given)
        self._fits(found, into)
        return found.code if into is None else into

    def _fits(self, found: _Quantity, into: str | None) -> None:
        if into is None:
            if found.dimension not in NAMES:
                raise BayError(
                    tell("trade-result-is-dimension-and-no", dimension=dimension_name(found.dimension)),
                    self.text,
                    tell("trade-check-multiplications-and-divisions"),
                )
            return
        target = unit(into)
        if target.powers != found.dimension:
            raise BayError(
                tell("trade-result-is-found-not-powers", found=_kind(found), wanted=dimension_name(target.powers)),
                self.text,
                tell("trade-make-come-out-as-powers", wanted=dimension_name(target.powers)),
            )
        if target.on_a_scale and not found.point:
            raise BayError(
                tell("trade-result-is-difference-of-temperatures"), self.text, tell("trade-difference-is-in-k")
            )

    def _result(self, found: _Quantity, into: str | None) -> tuple[Decimal, str]:
        self._fits(found, into)
        assert found.value is not None
        target = unit(found.code if into is None else into)
        if found.point and found.value < 0:
            raise BayError(tell("trade-result-is-below-absolute-zero"), self.text, tell("trade-check-values"))
        value = (found.value - target.zero) / target.factor
        if abs(value) > _LARGEST or (value and abs(value) < 1 / _LARGEST):
            raise BayError(tell("trade-result-is-beyond-any-measurement"), self.text, tell("trade-check-expression"))
        return to_decimal(value), target.code


def parse(text: str) -> Expression:
    """Read an expression.

    Raises:
        BayError: it is too long, too deep or not an expression; `where` names the column.
    """
    if len(text) > LONGEST:
        raise BayError(
            tell("trade-expression-of-count-characters-is-too", count=len(text)),
            text[:40] + "…",
            tell("trade-use-at-most-longest", longest=LONGEST),
        )
    parser = _Parser(text)
    evaluate = parser.sum(0)
    parser.end()
    return Expression(text, tuple(dict.fromkeys(parser.names)), evaluate)


def names(text: str) -> tuple[str, ...]:
    """The names of the values `text` needs. BayError as `parse`."""
    return parse(text).names


def evaluate(text: str, values: Mapping[str, tuple[Decimal, str]], into: str | None = None) -> tuple[Decimal, str]:
    """The value and unit of `text`. BayError as `parse` and `Expression.evaluate`."""
    return parse(text).evaluate(values, into)


def plain_name(name: str) -> str:
    """A name as expressions compare it: small letters, one space for spaces, hyphens and underscores."""
    return " ".join(name.replace("_", " ").replace("-", " ").split()).casefold()


class _Parser:
    """Recursive descent; each method returns a function from the values to a quantity."""

    def __init__(self, text: str) -> None:
        self.complain: Complain = _complainer(text)
        self.tokens = tokens(text, self.complain)
        self.at = 0
        self.names: list[str] = []

    def end(self) -> None:
        last = self.tokens[self.at]
        if last.kind != "end":
            names_meet = last.kind == "name" and self.at > 0 and self.tokens[self.at - 1].kind == "name"
            raise self.complain(
                last.column,
                tell("trade-not-expected-here", text=last.text),
                tell("trade-join-words-of-name-with-underscores")
                if names_meet
                else tell("trade-put-operator-between-two-values"),
            )

    def sum(self, depth: int) -> _Evaluate:
        if depth > DEEPEST:
            raise self.complain(
                self.tokens[self.at].column, tell("trade-too-many-brackets"), tell("trade-make-simpler")
            )
        left = self._term(depth)
        while self.tokens[self.at].text in ("+", "-") and self.tokens[self.at].kind == "sign":
            token = self._take()
            left = self._added(token, left, self._term(depth))
        return left

    def _term(self, depth: int) -> _Evaluate:
        left = self._signed(depth)
        while self.tokens[self.at].text in ("*", "/") and self.tokens[self.at].kind == "sign":
            token = self._take()
            left = self._multiplied(token, left, self._signed(depth))
        return left

    def _signed(self, depth: int) -> _Evaluate:
        token = self.tokens[self.at]
        if token.kind != "sign" or token.text not in ("+", "-"):
            return self._atom(depth)
        self._take()
        if token.text == "-" and self.tokens[self.at].kind == "number":
            # "-5 degC" is a point five below zero and not the negative of a temperature.
            return self._number(-1)
        if depth > DEEPEST:
            raise self.complain(token.column, tell("trade-too-many-signs"), tell("trade-make-simpler"))
        inner = self._signed(depth + 1)
        return inner if token.text == "+" else self._negative(token, inner)

    def _atom(self, depth: int) -> _Evaluate:
        token = self.tokens[self.at]
        if token.kind == "number":
            return self._number(1)
        if token.kind == "name" and self.tokens[self.at + 1].text == "(" and self.tokens[self.at + 1].kind == "sign":
            return self._function(depth)
        if token.kind in ("name", "quoted"):
            self._take()
            name = plain_name(token.text)
            if not name:
                raise self.complain(token.column, tell("trade-name-is-empty"), tell("trade-put-name-of-value-between"))
            self.names.append(name)
            return lambda given: given[name]
        if token.text == "(" and token.kind == "sign":
            self._take()
            inner = self.sum(depth + 1)
            self._close()
            return inner
        what = (
            tell("trade-expression-ends-too-early")
            if token.kind == "end"
            else tell("trade-not-expected-here", text=token.text)
        )
        raise self.complain(token.column, what, tell("trade-value-must-come-here"))

    def _number(self, sign: int) -> _Evaluate:
        token = self._take()
        quantity = _quantity(sign * Fraction(token.text), token.unit)
        return lambda given: quantity

    def _function(self, depth: int) -> _Evaluate:
        token = self._take()
        self._take()
        arguments = [self.sum(depth + 1)]
        while self.tokens[self.at].text == "," and self.tokens[self.at].kind == "sign":
            self._take()
            arguments.append(self.sum(depth + 1))
        self._close()
        least, most = {"min": (2, 30), "max": (2, 30), "abs": (1, 1), "round": (1, 2)}.get(token.text, (0, 0))
        if not most:
            raise self.complain(
                token.column, tell("trade-no-function-text", text=token.text), tell("trade-use-min-max-abs-or-round")
            )
        if not least <= len(arguments) <= most:
            wants = {"abs": tell("trade-one-value"), "round": tell("trade-value-and-step")}.get(
                token.text, tell("trade-two-values-or-more")
            )
            raise self.complain(
                token.column,
                tell("trade-function-is-given-count", text=token.text, count=len(arguments)),
                tell("trade-give-function-what-it-wants", wants=wants),
            )
        if token.text == "abs":
            return self._absolute(token, arguments[0])
        if token.text == "round":
            return self._rounded(token, arguments[0], arguments[1] if len(arguments) == 2 else None)
        return self._extreme(token, arguments)

    def _close(self) -> None:
        token = self.tokens[self.at]
        if token.text != ")" or token.kind != "sign":
            what = (
                tell("trade-bracket-is-not-closed")
                if token.kind == "end"
                else tell("trade-not-expected-here", text=token.text)
            )
            raise self.complain(token.column, what, tell("trade-put-bracket-or-operator-here"))
        self._take()

    def _take(self) -> Token:
        token = self.tokens[self.at]
        self.at += 1
        return token

    # What the operators do, with the place for their complaints.

    def _added(self, token: Token, left: _Evaluate, right: _Evaluate) -> _Evaluate:
        minus = token.text == "-"

        def run(given: Mapping[str, _Quantity]) -> _Quantity:
            one, other = left(given), right(given)
            if one.dimension != other.dimension:
                key = "trade-cannot-be-taken-from" if minus else "trade-cannot-be-added-to"
                raise self.complain(
                    token.column,
                    tell(key, other=_kind(other), one=_kind(one)),
                    tell("trade-both-must-measure-same"),
                )
            if other.point and (one.point != minus):
                raise self.complain(
                    token.column, tell("trade-two-temperatures-cannot-be-added"), tell("trade-write-difference-in-k")
                )
            value = None if one.value is None or other.value is None else one.value + (-1 if minus else 1) * other.value
            point = one.point != other.point
            code = other.code if other.point and point else "K" if one.point and not point else one.code
            return _Quantity(value, one.dimension, point, code)

        return run

    def _multiplied(self, token: Token, left: _Evaluate, right: _Evaluate) -> _Evaluate:
        divide = token.text == "/"
        way = -1 if divide else 1

        def run(given: Mapping[str, _Quantity]) -> _Quantity:
            one, other = left(given), right(given)
            self._no_point(token, one, other)
            dimension = _combined(one.dimension, other.dimension, way)
            value = None
            if one.value is not None and other.value is not None:
                if divide and not other.value:
                    raise self.complain(
                        token.column, tell("trade-divides-by-zero"), tell("trade-check-value-after-stroke")
                    )
                value = one.value / other.value if divide else one.value * other.value
            if dimension == one.dimension:
                code = one.code
            elif dimension == other.dimension:
                code = other.code
            else:
                code = USUAL.get(dimension, "")
            return _Quantity(value, dimension, False, code)

        return run

    def _negative(self, token: Token, inner: _Evaluate) -> _Evaluate:
        def run(given: Mapping[str, _Quantity]) -> _Quantity:
            found = inner(given)
            self._no_point(token, found)
            return _Quantity(None if found.value is None else -found.value, found.dimension, False, found.code)

        return run

    def _absolute(self, token: Token, inner: _Evaluate) -> _Evaluate:
        def run(given: Mapping[str, _Quantity]) -> _Quantity:
            found = inner(given)
            self._no_point(token, found)
            return _Quantity(None if found.value is None else abs(found.value), found.dimension, False, found.code)

        return run

    def _rounded(self, token: Token, inner: _Evaluate, step: _Evaluate | None) -> _Evaluate:
        def run(given: Mapping[str, _Quantity]) -> _Quantity:
            found = inner(given)
            to = step(given) if step else _quantity(Fraction(1), "")
            self._no_point(token, found, to)
            if found.dimension != to.dimension:
                raise self.complain(
                    token.column,
                    tell("trade-found-cannot-be-rounded-to", found=_kind(found), to=_kind(to)),
                    tell("trade-give-step-is-dimension", dimension=dimension_name(found.dimension)),
                )
            if to.value is not None and to.value <= 0:
                raise self.complain(
                    token.column, tell("trade-step-of-round-is-not-above"), tell("trade-give-step-above-zero")
                )
            value = None
            if found.value is not None and to.value is not None:
                whole = (2 * abs(found.value) + to.value) // (2 * to.value)
                value = whole * to.value * (-1 if found.value < 0 else 1)
            return _Quantity(value, found.dimension, False, found.code)

        return run

    def _extreme(self, token: Token, arguments: list[_Evaluate]) -> _Evaluate:
        def run(given: Mapping[str, _Quantity]) -> _Quantity:
            found = [argument(given) for argument in arguments]
            first = found[0]
            for other in found[1:]:
                if (other.dimension, other.point) != (first.dimension, first.point):
                    raise self.complain(
                        token.column,
                        tell("trade-first-and-other-cannot-be-compared", first=_kind(first), other=_kind(other)),
                        tell("trade-compare-like-with-like"),
                    )
            known = [quantity.value for quantity in found if quantity.value is not None]
            value = (min if token.text == "min" else max)(known) if len(known) == len(found) else None
            return _Quantity(value, first.dimension, first.point, first.code)

        return run

    def _no_point(self, token: Token, *quantities: _Quantity) -> None:
        if any(quantity.point for quantity in quantities):
            raise self.complain(
                token.column,
                tell("trade-temperature-on-scale-cannot-be-used", text=token.text),
                tell("trade-subtract-another-first"),
            )


def _quantity(value: Fraction | None, code: str) -> _Quantity:
    found = unit(code)
    in_base = None if value is None else value * found.factor + found.zero
    return _Quantity(in_base, found.powers, found.on_a_scale, code)


def _given(value: Decimal, code: str) -> _Quantity:
    return _quantity(fraction(value), code)


def _combined(one: Powers, other: Powers, way: int) -> Powers:
    a, b, c, d, e, f = (x + way * y for x, y in zip(one, other, strict=True))
    return (a, b, c, d, e, f)


def _kind(quantity: _Quantity) -> str:
    """What a quantity is, for a sentence."""
    if quantity.dimension == NONE:
        return tell("trade-plain-number")
    if quantity.dimension == _TEMPERATURE:
        return tell("trade-temperature") if quantity.point else tell("trade-difference-of-temperatures")
    return tell("trade-value-of-dimension", dimension=dimension_name(quantity.dimension))


def _chosen(text: str, wanted: tuple[str, ...], values: Mapping[str, _T]) -> dict[str, _T]:
    """The wanted ones of `values`, by plain name."""
    found: dict[str, list[_T]] = {}
    for name, value in values.items():
        found.setdefault(plain_name(name), []).append(value)
    for name in wanted:
        if name not in found:
            there = ", ".join(sorted(found)) or tell("trade-values-none")
            raise BayError(tell("trade-no-value-name", name=name), text, tell("trade-values-are", there=there))
        if len(found[name]) > 1:
            raise BayError(
                tell("trade-two-values-are-called-name", name=name), text, tell("trade-give-them-different-names")
            )
    return {name: found[name][0] for name in wanted}


def _complainer(text: str) -> Complain:
    def complain(column: int, what: str, mend: str) -> BayError:
        return BayError(
            what, tell("trade-column-of", column=column, text=text.strip() or tell("trade-empty-expression")), mend
        )

    return complain
