"""Small changes to a source, each of which a test should notice."""

from __future__ import annotations

import ast
import copy
from collections.abc import Iterator
from dataclasses import dataclass

Change = tuple[str, ast.AST, str]
"""What kind it is, the node that goes, the text that comes instead."""

COMPARED: dict[type, type] = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
}
REACHED: dict[type, type] = {ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div,
    ast.Div: ast.Mult, ast.FloorDiv: ast.Mult, ast.Mod: ast.Mult, ast.BitOr: ast.BitAnd,
    ast.BitAnd: ast.BitOr}  # fmt: skip
NAMED = {"min": "max", "max": "min", "any": "all", "all": "any", "sorted": "list"}
HELD = (ast.JoinedStr, ast.arg)
"""Left alone: words for people, and types."""


@dataclass(frozen=True)
class Mutant:
    """One change of one file; `text` is its line as it was, `source` the whole file with it."""

    file: str
    line: int
    kind: str
    before: str
    after: str
    text: str
    source: str

    @property
    def key(self) -> tuple[str, str, str, str]:
        """What was changed into what, wherever its line has moved to."""
        return self.file, self.kind, self.before, self.after

    @property
    def place(self) -> tuple[str, ...]:
        """What tells it from others like it in the same file."""
        return (*self.key, self.text)

    def told(self) -> str:
        """Say it in one line."""
        return f"{self.file}:{self.line}: {self.before} -> {self.after}"


def mutants(file: str, source: str) -> Iterator[Mutant]:
    """Give every mutant of a file in the order of its lines."""
    lines = source.encode().splitlines(keepends=True)
    starts = [0]
    for line in lines:
        starts.append(starts[-1] + len(line))
    text = source.encode()
    for kind, node, after in _changes(ast.parse(source)):
        begin = starts[node.lineno - 1] + node.col_offset
        end = starts[node.end_lineno - 1] + node.end_col_offset
        made = (text[:begin] + after.encode() + text[end:]).decode()
        before = " ".join(text[begin:end].decode().split())
        line = lines[node.lineno - 1].decode().strip()
        yield Mutant(file, node.lineno, kind, before, after, line, made)


def _changes(node: ast.AST) -> Iterator[Change]:
    """Give what can be changed in a node and below it."""
    if isinstance(node, HELD) or _about_types(node):
        return
    yield from _of_statement(node)
    yield from _of_expression(node)
    for child in _children(node):
        yield from _changes(child)


def _about_types(node: ast.AST) -> bool:
    """Tell whether a statement is there for the type checker alone."""
    return isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING"


def _children(node: ast.AST) -> Iterator[ast.AST]:
    """Give what lies below a node but types, decorators and docstrings."""
    for name, value in ast.iter_fields(node):
        if name in ("annotation", "returns", "decorator_list", "bases", "type_params"):
            continue
        for child in value if isinstance(value, list) else [value]:
            if isinstance(child, ast.AST) and not _is_words(child):
                yield child


def _is_words(node: ast.AST) -> bool:
    return isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)


def _of_statement(node: ast.AST) -> Iterator[Change]:
    match node:
        case ast.Expr(value=ast.Call()) | ast.Raise() | ast.Break() | ast.Continue():
            yield "left out", node, "pass"
        case ast.AugAssign(op=op) if type(op) in REACHED:
            yield "arithmetic", node, ast.unparse(_with(node, op=REACHED[type(op)]()))
        case ast.If(test=test) | ast.While(test=test) | ast.IfExp(test=test):
            yield "turned round", test, f"(not ({ast.unparse(test)}))"
        case ast.comprehension(ifs=conditions):
            for one in conditions:
                yield "let through", one, "True"
        case ast.Return(value=value) if value and ast.unparse(value) != "None":
            yield "nothing given", value, "None"


def _of_expression(node: ast.AST) -> Iterator[Change]:
    match node:
        case ast.Compare(ops=[op]) if type(op) in COMPARED:
            yield "compared", node, _told(_with(node, ops=[COMPARED[type(op)]()]))
        case ast.BoolOp(op=ast.And()):
            yield "and, or", node, _told(_with(node, op=ast.Or()))
        case ast.BoolOp(op=ast.Or()):
            yield "and, or", node, _told(_with(node, op=ast.And()))
        case ast.UnaryOp(op=ast.Not(), operand=operand):
            yield "not", node, _told(operand)
        case ast.UnaryOp(op=ast.USub(), operand=operand):
            yield "sign", node, _told(operand)
        case ast.BinOp(op=op) if type(op) in REACHED:
            yield "arithmetic", node, _told(_with(node, op=REACHED[type(op)]()))
        case ast.Call(func=ast.Name(id=name) as called) if name in NAMED:
            yield "other function", called, NAMED[name]
        case ast.Constant(value=bool(value)):
            yield "truth", node, str(not value)
        case ast.Constant(value=int(value)):
            yield "number", node, repr(value + 1)
        case ast.Constant(value=float(value)):
            yield "number", node, repr(2 * value or 1.0)


def _told(node: ast.AST) -> str:
    return f"({ast.unparse(node)})"


def _with(node: ast.AST, **changed: object) -> ast.AST:
    """Give a copy of a node with other fields."""
    made = copy.copy(node)
    for name, value in changed.items():
        setattr(made, name, value)
    return made
