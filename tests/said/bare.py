"""Checks that cannot fail: a number in a table that is the number in the prose, written once more.

What a claim is held against has a source where something in it may come out otherwise: a call of the library, a value
that the package or another module of the tests keeps, a logarithm or a sum. Bare are a literal, a fraction of two
literals, what only wraps one (``near(5)``, ``len("EF")``, ``lambda said: said == 5``), and a name for any of these.
"""

from __future__ import annotations

import ast
import builtins
import operator
from collections.abc import Callable, Iterator, Mapping
from fractions import Fraction
from typing import Any

WRAPPERS = {"more_than", "less_than", "a_little_less_than", "near", "Fraction", "said", *dir(builtins)}
ARITHMETIC = {"math", "np"}
SUMS: dict[type[ast.operator], Callable[[Any, Any], Any]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.Pow: operator.pow,
}


def bare_claims(source: str) -> list[str]:
    """The claims of a table, given as the text of its module, that are held against nothing but themselves.

    >>> bare_claims('TABLE = Table(claims={"5 cents": [5], "in 12": [len(equal(12))]})')
    ['“5 cents”: 5']
    """
    tree = ast.parse(source)
    names = _named(tree)
    return [
        f"“{phrase}”: {ast.unparse(worked)}"
        for phrase, worked, said in _claims(tree)
        if not has_source(worked, {**names, **said})
    ]


def has_source(worked: ast.expr, named: Mapping[str, ast.expr]) -> bool:
    """Whether an expression could come out otherwise; `named` has what the module's own names were given."""
    if isinstance(worked, ast.Constant):
        return False
    if isinstance(worked, ast.Name):
        if worked.id in named:
            return has_source(named[worked.id], {name: given for name, given in named.items() if name != worked.id})
        return worked.id not in WRAPPERS | ARITHMETIC
    if isinstance(worked, ast.Attribute):
        return has_source(worked.value, named)
    if isinstance(worked, ast.Call) and _is_arithmetic(worked.func):
        return True
    if isinstance(worked, ast.BinOp) and _is_a_sum(worked):
        return True
    if isinstance(worked, ast.Lambda):
        return has_source(worked.body, {**named, **_parameters(worked)})
    if isinstance(worked, (ast.ListComp, ast.SetComp, ast.GeneratorExp)):
        bound = {n.id: g.iter for g in worked.generators for n in ast.walk(g.target) if isinstance(n, ast.Name)}
        named = {**named, **bound}
    return any(has_source(child, named) for child in _expressions(ast.iter_child_nodes(worked)))


def _parameters(function: ast.Lambda) -> dict[str, ast.expr]:
    """The numbers said, by the names of a function for them: nothing but a literal of the text."""
    taken = [*function.args.args, *filter(None, [function.args.vararg])]
    return {parameter.arg: ast.Constant(0) for parameter in taken}


def _expressions(nodes: Iterator[ast.AST]) -> Iterator[ast.expr]:
    for node in nodes:
        if isinstance(node, ast.expr):
            yield node
        elif isinstance(node, ast.comprehension):
            yield node.iter
            yield from node.ifs
        elif isinstance(node, ast.keyword):
            yield node.value


def _is_arithmetic(called: ast.expr) -> bool:
    return isinstance(called, ast.Attribute) and isinstance(called.value, ast.Name) and called.value.id in ARITHMETIC


def _is_a_sum(worked: ast.BinOp) -> bool:
    """Whether literals are reckoned with, and not just written as a fraction or with a nought added."""
    try:
        value = _value(worked)
    except ValueError:
        return False
    literals = [node.value for node in ast.walk(worked) if isinstance(node, ast.Constant)]
    spelled = isinstance(worked.op, ast.Div) and isinstance(worked.left, ast.Constant) and worked.left.value == 1
    return not spelled and value not in literals


def _value(node: ast.expr) -> float | Fraction:
    """What literals and fractions come to; ValueError if there is anything else among them."""
    match node:
        case ast.Constant(value=int() | float() as value):
            return value
        case ast.UnaryOp(op=ast.USub(), operand=operand):
            return -_value(operand)
        case ast.Call(func=ast.Name(id="Fraction"), args=[*terms]) if terms:
            return Fraction(*map(_value, terms))  # type: ignore[arg-type]
        case ast.BinOp(left=left, op=op, right=right) if type(op) in SUMS:
            return SUMS[type(op)](_value(left), _value(right))
    raise ValueError(ast.unparse(node))


def _claims(tree: ast.Module) -> Iterator[tuple[str, ast.expr, dict[str, ast.expr]]]:
    """Each claim with each thing that its numbers are held against, and the names there for numbers said."""
    for node in ast.walk(tree):
        if not (isinstance(node, ast.keyword) and node.arg == "claims" and isinstance(node.value, ast.Dict)):
            continue
        for phrase, worked in zip(node.value.keys, node.value.values, strict=True):
            said = ast.unparse(phrase).strip("'\"") if phrase else "**"
            ways = worked.body if isinstance(worked, ast.Lambda) else worked
            for way in ways.elts if isinstance(ways, ast.List) else [ways]:
                if not (isinstance(worked, ast.Lambda) and _is_used(way, worked)):
                    yield said, way, _parameters(worked) if isinstance(worked, ast.Lambda) else {}


def _is_used(way: ast.expr, function: ast.Lambda) -> bool:
    """Whether a number said, given back as it is, is what another number of the phrase is worked out from."""
    uses = [
        node for node in ast.walk(function.body) if isinstance(node, ast.Name) and node.id == getattr(way, "id", "")
    ]
    return isinstance(way, ast.Name) and len(uses) > 1


def _named(tree: ast.Module) -> dict[str, ast.expr]:
    """The names that a module gives to values at its top level."""
    named: dict[str, ast.expr] = {}
    for node in tree.body:
        if isinstance(node, ast.Assign):
            for target in node.targets:
                if isinstance(target, ast.Name):
                    named[target.id] = node.value
                elif isinstance(target, ast.Tuple) and isinstance(node.value, ast.Tuple):
                    named |= {
                        each.id: value
                        for each, value in zip(target.elts, node.value.elts, strict=True)
                        if isinstance(each, ast.Name)
                    }
    return named
