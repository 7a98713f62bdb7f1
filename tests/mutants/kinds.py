"""Small wrong changes of a Python module, each of one place.

Own code and not cosmic-ray or mutmut: their operators leave out what this code is made of
(filters of comprehensions, conditional expressions, `in`, min and max, any and all).
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from copy import deepcopy
from difflib import ndiff
from typing import NamedTuple

OTHERS: dict[type[ast.AST], tuple[type[ast.AST], ...]] = {
    ast.Lt: (ast.LtE, ast.GtE),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.LtE),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
    ast.Add: (ast.Sub,),
    ast.Sub: (ast.Add,),
    ast.Mult: (ast.Div,),
    ast.Div: (ast.Mult,),
    ast.FloorDiv: (ast.Mult,),
    ast.Mod: (ast.Mult,),
    ast.Pow: (ast.Mult,),
    ast.BitOr: (ast.BitAnd,),
    ast.BitAnd: (ast.BitOr,),
    ast.And: (ast.Or,),
    ast.Or: (ast.And,),
    ast.Break: (ast.Continue, ast.Pass),
    ast.Continue: (ast.Break, ast.Pass),
}
NAMES = {"min": "max", "max": "min", "any": "all", "all": "any"}
TYPES = ("annotation", "returns")  # nothing happens there when the code runs
GUARDS = ("strict", "frozen", "kw_only")  # nothing happens by these while callers keep to them
Place = tuple[int, int]
Part = ast.expr | ast.stmt


class Mutant(NamedTuple):
    """A module with one change."""

    place: Place
    code: str

    def told(self, source: str) -> str:
        """The lines that differ: as they were, and as they are now."""
        lines = ndiff(source.splitlines(), self.code.splitlines())
        return "\n".join(f"  {line}" for line in lines if line[0] in "-+")


def mutants(source: str) -> Iterator[Mutant]:
    """All of them."""
    raw = source.encode()
    starts = [0]
    for line in raw.splitlines(keepends=True):
        starts.append(starts[-1] + len(line))
    for node in walked(ast.parse(source)):
        for here, other in changed(node):
            start = starts[here.lineno - 1] + here.col_offset
            end = starts[(here.end_lineno or 0) - 1] + (here.end_col_offset or 0)
            text = f"({ast.unparse(other)})" if isinstance(here, ast.expr) else ast.unparse(other)
            yield Mutant((here.lineno, here.col_offset), (raw[:start] + text.encode() + raw[end:]).decode())


def walked(node: ast.AST) -> Iterator[ast.AST]:
    """Every node that does something when the code runs.

    Texts with fields in them are left alone: Python 3.11 does not tell where the fields stand.
    """
    if isinstance(node, ast.JoinedStr) or (isinstance(node, ast.keyword) and node.arg in GUARDS):
        return
    yield node
    for field, value in ast.iter_fields(node):
        for child in value if isinstance(value, list) else [value]:
            if isinstance(child, ast.AST) and field not in TYPES:
                yield from walked(child)


def changed(node: ast.AST) -> Iterator[tuple[Part, ast.AST]]:
    """Nodes at or beneath this one, and what may stand in their stead."""
    match node:
        case ast.Compare():
            for number, sign in enumerate(node.ops):
                for other in OTHERS[type(sign)]:
                    yield node, with_field(node, "ops", [*node.ops[:number], other(), *node.ops[number + 1 :]])
        case ast.BinOp() if type(node.op) in OTHERS:
            yield node, with_field(node, "op", OTHERS[type(node.op)][0]())
        case ast.BoolOp():
            yield node, with_field(node, "op", OTHERS[type(node.op)][0]())
            for left_out in node.values:
                yield node, with_field(node, "values", [value for value in node.values if value is not left_out])
        case ast.UnaryOp(op=ast.Not() | ast.USub()):
            yield node, node.operand
        case ast.Constant(value=bool()):
            yield node, ast.Constant(not node.value)
        case ast.Constant(value=int() | float() as value):
            yield node, ast.Constant(value + 1)
            yield node, ast.Constant(value - 1 if value else 2)
        case ast.Call(func=ast.Name(id=name)) if name in NAMES:
            yield node.func, ast.Name(NAMES[name])
        case ast.IfExp():
            yield node, node.body
            yield node, node.orelse
        case ast.comprehension():
            yield from ((test, ast.Constant(True)) for test in node.ifs)
        case ast.If() | ast.While():
            yield node.test, ast.UnaryOp(ast.Not(), node.test)
        case ast.Break() | ast.Continue():
            yield from ((node, other()) for other in OTHERS[type(node)])
        case ast.AugAssign() | ast.Expr(value=ast.Call()):
            yield node, ast.Pass()


def with_field(node: ast.AST, field: str, value: object) -> ast.AST:
    """A node with one field changed."""
    other = deepcopy(node)
    setattr(other, field, value)
    return other
