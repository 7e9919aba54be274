"""Mutants: a piece of source, and what stands in its place. Nothing here runs anything.

Changed are comparisons, arithmetic, numbers and truth values, conditions and what is returned; not what only types
and decorators see, nor texts.
"""

from __future__ import annotations

import ast
import difflib
import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

COMPARED: dict[type[ast.cmpop], tuple[type[ast.cmpop], ...]] = {
    ast.Lt: (ast.LtE, ast.GtE),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.LtE),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
}
"""A comparison and its boundary's other side, and its opposite."""

COMPUTED: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.Mod: ast.Mult,
    ast.Pow: ast.Mult,
    ast.BitAnd: ast.BitOr,
    ast.BitOr: ast.BitAnd,
}
UNSEEN = {"annotation", "returns", "decorator_list", "type_params"}
"""Fields of a node that make no difference to what is computed."""


@dataclass(frozen=True, slots=True)
class Mutant:
    """Lines ``first`` to ``last`` of a file, and its whole source with one thing changed."""

    path: Path
    first: int
    last: int
    original: str
    source: str

    @property
    def diff(self) -> str:
        """What was changed, without its surroundings."""
        before, after = self.original.splitlines(), self.source.splitlines()
        return "\n".join(
            line for line in difflib.unified_diff(before, after, n=0, lineterm="") if line[:2] not in ("--", "++")
        )

    @property
    def order(self) -> str:
        """A hash of the file's name and what was changed, without where: other changes of the file leave it."""
        before, after = self.original.splitlines(), self.source.splitlines()
        first, after_last = self.first - 1, len(after) - len(before) + self.last
        lines = difflib.unified_diff(before[first : self.last], after[first:after_last], n=0, lineterm="")
        changed = "\n".join(line for line in lines if line[:2] not in ("--", "++", "@@"))
        return hashlib.sha256(f"{self.path.name}\n{changed}".encode()).hexdigest()


def mutants(path: Path) -> Iterator[Mutant]:
    """All of a file."""
    text = path.read_text("utf-8")
    lines = [line.encode() for line in text.splitlines(keepends=True)]
    for node in _seen(ast.parse(text)):
        for old, new in _instead(node):
            first, last = old.lineno - 1, (old.end_lineno or old.lineno) - 1
            head, tail = lines[first][: old.col_offset], lines[last][old.end_col_offset :]
            source = b"".join([*lines[:first], head, new.encode(), tail, *lines[last + 1 :]]).decode()
            yield Mutant(path, first + 1, last + 1, text, source)


def sample(paths: list[Path], count: int) -> list[Mutant]:
    """So many of some files, always the same: those whose hashes come first."""
    return sorted((m for path in sorted(paths) for m in mutants(path)), key=lambda m: (m.order, m.first))[:count]


def _seen(node: ast.AST) -> Iterator[ast.expr | ast.stmt]:
    """A node and all below it, without what only types see, ``strict=`` of a zip, and formatted texts."""
    if isinstance(node, ast.JoinedStr) or (isinstance(node, ast.keyword) and node.arg == "strict"):
        return
    if isinstance(node, ast.expr | ast.stmt):
        yield node
    for name, value in ast.iter_fields(node):
        if name not in UNSEEN:
            for child in value if isinstance(value, list) else [value]:
                if isinstance(child, ast.AST):
                    yield from _seen(child)


def _instead(node: ast.expr | ast.stmt) -> Iterator[tuple[ast.expr | ast.stmt, str]]:
    """A node or one of its parts, and what may stand in its place."""
    match node:
        case ast.Constant(bool(truth)):
            yield node, repr(not truth)
        case ast.Constant(int(number) | float(number)):
            yield node, repr(number + 1)
        case ast.IfExp(test) | ast.If(test) | ast.While(test) if not isinstance(test, ast.Compare):
            yield test, _text(ast.UnaryOp(ast.Not(), test))
        case ast.Return(value) if value and not (isinstance(value, ast.Constant) and value.value is None):
            yield node, "return None"
        case _:
            yield from ((node, text) for text in _operated(node))


def _operated(node: ast.expr | ast.stmt) -> Iterator[str]:
    """The same with another operator."""
    match node:
        case ast.Compare(left, ops, rights):
            for n, op in enumerate(ops):
                for other in COMPARED[type(op)]:
                    yield _text(ast.Compare(left, [*ops[:n], other(), *ops[n + 1 :]], rights))
        case ast.BinOp(left, op, right) if type(op) in COMPUTED:
            yield _text(ast.BinOp(left, COMPUTED[type(op)](), right))
        case ast.AugAssign(target, op, value) if type(op) in COMPUTED:
            yield ast.unparse(ast.AugAssign(target, COMPUTED[type(op)](), value))
        case ast.UnaryOp(ast.USub() | ast.Not(), operand):
            yield _text(operand)
        case ast.BoolOp(op, values):
            yield _text(ast.BoolOp(ast.Or() if isinstance(op, ast.And) else ast.And(), values))


def _text(node: ast.expr) -> str:
    return f"({ast.unparse(node)})"
