"""The tiny language of equations, and its strict evaluator: nothing of it is Python.

    expression = term {("+" | "-") term}
    term       = factor {("*" | "/") factor}
    factor     = ["-"] (number | symbol | function "(" expression {"," expression} ")" | "(" expression ")")
    function   = min | max | sum | exp | log | pow

A symbol that ends in ``_i`` is a series: ``r_i`` stands for r_1, r_2 and so on, as many as are given. It must
stand inside a min, max or sum of one argument, which runs over the whole series; one such inside another one
would be read in two ways and is refused. With several arguments, min, max and sum are of those alone.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Final, TypeAlias

LONGEST: Final = 4000
"""Longest text that is read."""
DEEPEST: Final = 40
"""Deepest nesting that is read."""

_TOKEN: Final = re.compile(
    r"\s*(?:(?P<number>(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)|(?P<name>[A-Za-z][A-Za-z0-9_]*)"
    r"|(?P<sign>[-+*/(),]))",
    re.ASCII,
)
_OVER_SERIES: Final = ("min", "max", "sum")
_ARGUMENTS: Final = {"min": None, "max": None, "sum": None, "exp": 1, "log": 1, "pow": 2}


class ExpressionError(ValueError):
    """A text is no equation, or its inputs do not give a number; the text says where and why."""


@dataclass(frozen=True, slots=True)
class Number:
    """A number as it stands in the text."""

    value: float
    text: str


@dataclass(frozen=True, slots=True)
class Symbol:
    """An input, or a series of them."""

    name: str

    @property
    def is_series(self) -> bool:
        """Whether it stands for r_1, r_2 and so on."""
        return self.name.endswith("_i")


@dataclass(frozen=True, slots=True)
class Negative:
    """A sign turned round."""

    of: Node


@dataclass(frozen=True, slots=True)
class Pair:
    """Two parts joined by one of + - * /."""

    sign: str
    left: Node
    right: Node


@dataclass(frozen=True, slots=True)
class Call:
    """A function of some parts."""

    function: str
    arguments: tuple[Node, ...]


Node: TypeAlias = "Number | Symbol | Negative | Pair | Call"


def evaluate(text: str, values: Mapping[str, float]) -> float:
    """The value of an equation with its inputs.

    Every symbol must be given, and every value that is given must stand in the equation.

    Raises:
        ExpressionError: the text is no equation, inputs are missing or left over, or there is no value.

    >>> evaluate("t + max(0, level) / sum(r_i)", {"t": 2.0, "level": 9.0, "r_1": 1.0, "r_2": 2.0})
    5.0
    """
    tree = parse(text)
    unused = set(values) - symbols_of(tree, values)
    if unused:
        raise ExpressionError(f"{', '.join(sorted(unused))} given and not in {text!r}")
    return value_of(tree, values)


def parse(text: str) -> Node:
    """Read an equation.

    Raises:
        ExpressionError: says where it is no equation.
    """
    if len(text) > LONGEST:
        raise ExpressionError(f"an equation of {len(text)} characters; at most {LONGEST} are read")
    parser = _Parser(list(_tokens(text)), text)
    return parser.whole()


def symbols_of(tree: Node, values: Mapping[str, float]) -> set[str]:
    """The inputs that an equation uses, series written out by what is given."""
    names: set[str] = set()
    for symbol in _symbols(tree):
        names.update(_members(symbol, values) if symbol.is_series else (symbol.name,))
    return names


def value_of(tree: Node, values: Mapping[str, float]) -> float:
    """The value of an equation that was read.

    Raises:
        ExpressionError: an input is missing, or there is no value.
    """
    try:
        result = _value(tree, values, None)
    except (ZeroDivisionError, OverflowError, ValueError) as error:
        if isinstance(error, ExpressionError):
            raise
        raise ExpressionError(f"no value: {error}") from None
    if not math.isfinite(result):
        raise ExpressionError(f"no value: {result}")
    return result


def substituted(tree: Node, shown: Callable[[str], str], summed: Callable[[Node], str]) -> str:
    """An equation with its numbers put in.

    Args:
        tree: the equation.
        shown: the number of a symbol as text.
        summed: the number of a part that runs over a series, as text.
    """
    return _text(tree, shown, summed, 0)


def _text(tree: Node, shown: Callable[[str], str], summed: Callable[[Node], str], outer: int) -> str:
    match tree:
        case Number():
            return tree.text
        case Symbol():
            return _signed(shown(tree.name), outer)
        case Negative():
            inner = _text(tree.of, shown, summed, 3)
            return f"-({inner})" if inner.startswith("-") else f"-{inner}"
        case Call():
            if runs_over_series(tree):
                return _signed(summed(tree), outer)
            arguments = ", ".join(_text(part, shown, summed, 0) for part in tree.arguments)
            return f"{tree.function}({arguments})"
        case Pair():
            mine = 1 if tree.sign in "+-" else 2
            left = _text(tree.left, shown, summed, mine)
            right = _text(tree.right, shown, summed, mine + (tree.sign in "-/"))
            joined = f"{left} {tree.sign} {right}"
            return f"({joined})" if outer > mine else joined


def _signed(number: str, outer: int) -> str:
    """A number as part of a term; a negative one stands in brackets there."""
    return f"({number})" if number.startswith("-") and outer else number


def runs_over_series(tree: Node) -> bool:
    """Whether a part is a function that runs over a series."""
    if not isinstance(tree, Call) or tree.function not in _OVER_SERIES or len(tree.arguments) != 1:
        return False
    return any(symbol.is_series for symbol in _symbols(tree.arguments[0], bound=False))


def _tokens(text: str) -> Iterable[tuple[str, str]]:
    position, end = 0, len(text.rstrip())
    while position < end:
        match = _TOKEN.match(text, position)
        if match is None or match.lastgroup is None:
            raise ExpressionError(f"{text[position : position + 20]!r} in an equation")
        yield match.lastgroup, match.group(match.lastgroup)
        position = match.end()


class _Parser:
    """One pass over the tokens of one equation."""

    def __init__(self, tokens: list[tuple[str, str]], text: str) -> None:
        self._tokens = tokens
        self._text = text
        self._at = 0
        self._depth = 0

    def whole(self) -> Node:
        """The equation, to the end of the text."""
        tree = self._expression()
        if self._at < len(self._tokens):
            raise self._error()
        return tree

    def _error(self) -> ExpressionError:
        found = repr(self._tokens[self._at][1]) if self._at < len(self._tokens) else "the end"
        return ExpressionError(f"{found} where something else is due in {self._text!r}")

    def _next(self, *signs: str) -> str:
        """The next token if it is one of these signs, else nothing."""
        if self._at < len(self._tokens) and self._tokens[self._at] in {("sign", sign) for sign in signs}:
            self._at += 1
            return self._tokens[self._at - 1][1]
        return ""

    def _expression(self) -> Node:
        self._depth += 1
        if self._depth > DEEPEST:
            raise ExpressionError(f"more than {DEEPEST} levels of nesting in an equation")
        tree = self._term()
        while sign := self._next("+", "-"):
            tree = Pair(sign, tree, self._term())
        self._depth -= 1
        return tree

    def _term(self) -> Node:
        tree = self._factor()
        while sign := self._next("*", "/"):
            tree = Pair(sign, tree, self._factor())
        return tree

    def _factor(self) -> Node:
        if self._next("-"):
            return Negative(self._primary())
        return self._primary()

    def _primary(self) -> Node:
        if self._next("("):
            tree = self._expression()
            self._due(")")
            return tree
        if self._at >= len(self._tokens) or self._tokens[self._at][0] == "sign":
            raise self._error()
        kind, word = self._tokens[self._at]
        self._at += 1
        if kind == "number":
            return Number(float(word), word)
        return self._call(word) if self._next("(") else self._symbol(word)

    def _symbol(self, word: str) -> Node:
        if word in _ARGUMENTS:
            raise ExpressionError(f"{word} without its arguments in {self._text!r}")
        return Symbol(word)

    def _call(self, function: str) -> Node:
        if function not in _ARGUMENTS:
            raise ExpressionError(f"{function!r}, which is no function, in {self._text!r}")
        arguments = [self._expression()]
        while self._next(","):
            arguments.append(self._expression())
        self._due(")")
        due = _ARGUMENTS[function]
        if due is not None and len(arguments) != due:
            raise ExpressionError(f"{function} of {len(arguments)} arguments in {self._text!r}; it has {due}")
        return Call(function, tuple(arguments))

    def _due(self, sign: str) -> None:
        if not self._next(sign):
            raise self._error()


def _symbols(tree: Node, *, bound: bool = True) -> Iterable[Symbol]:
    """The symbols of a part; unless ``bound``, without those over which a function inside it runs."""
    match tree:
        case Symbol():
            yield tree
        case Negative():
            yield from _symbols(tree.of, bound=bound)
        case Pair():
            yield from _symbols(tree.left, bound=bound)
            yield from _symbols(tree.right, bound=bound)
        case Call():
            if bound or not runs_over_series(tree):
                for part in tree.arguments:
                    yield from _symbols(part, bound=bound)
        case Number():
            return


def _members(symbol: Symbol, values: Mapping[str, float]) -> list[str]:
    """The inputs of a series: numbered from 1 without a gap."""
    stem = symbol.name.removesuffix("i")
    count = 0
    while f"{stem}{count + 1}" in values:
        count += 1
    return [f"{stem}{number}" for number in range(1, count + 1)]


def _value(tree: Node, values: Mapping[str, float], index: int | None) -> float:
    match tree:
        case Number():
            return tree.value
        case Symbol():
            return _symbol_value(tree, values, index)
        case Negative():
            return -_value(tree.of, values, index)
        case Pair():
            return _joined(tree, values, index)
        case Call():
            return _called(tree, values, index)


def _symbol_value(symbol: Symbol, values: Mapping[str, float], index: int | None) -> float:
    name = symbol.name
    if symbol.is_series:
        if index is None:
            raise ExpressionError(f"the series {name} outside min, max and sum")
        name = f"{name.removesuffix('i')}{index}"
    if name not in values:
        raise ExpressionError(f"{name} is not given")
    return values[name]


def _joined(pair: Pair, values: Mapping[str, float], index: int | None) -> float:
    left, right = _value(pair.left, values, index), _value(pair.right, values, index)
    if pair.sign == "+":
        return left + right
    if pair.sign == "-":
        return left - right
    return left * right if pair.sign == "*" else left / right


def _called(call: Call, values: Mapping[str, float], index: int | None) -> float:
    parts: list[float]
    if runs_over_series(call):
        if index is not None:
            raise ExpressionError(f"{call.function} over a series inside another one")
        part = call.arguments[0]
        parts = [_value(part, values, number) for number in _numbers(part, values)]
    else:
        parts = [_value(part, values, index) for part in call.arguments]
    match call.function:
        case "min":
            return min(parts)
        case "max":
            return max(parts)
        case "sum":
            return math.fsum(parts)
        case "exp":
            return math.exp(parts[0])
        case "log":
            return math.log(parts[0])
        case _:
            return math.pow(parts[0], parts[1])


def _numbers(part: Node, values: Mapping[str, float]) -> range:
    """The numbers over which the series of a part run; all of one length."""
    lengths = {
        symbol.name: len(_members(symbol, values))
        for symbol in _symbols(part, bound=False)
        if symbol.is_series
    }
    if len(set(lengths.values())) != 1 or 0 in lengths.values():
        raise ExpressionError(f"series of different lengths, or empty: {lengths}")
    return range(1, next(iter(lengths.values())) + 1)
