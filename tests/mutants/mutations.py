"""Mutants of a module: its syntax tree with one thing changed, as a person might get it wrong.

A mutant is named by the line it is on, what was there and what is there now, so that a list of survivors outlives
other edits.
"""

from __future__ import annotations

import ast
import copy
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from itertools import islice

SWAPS: dict[type[ast.AST], tuple[type[ast.AST], ...]] = {
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
    ast.Add: (ast.Sub,),
    ast.Sub: (ast.Add,),
    ast.Mult: (ast.Div,),
    ast.Div: (ast.Mult,),
    ast.And: (ast.Or,),
    ast.Or: (ast.And,),
    ast.BitAnd: (ast.BitOr,),
    ast.BitOr: (ast.BitAnd,),
    ast.BitXor: (ast.BitOr,),
}
CALLS = {"min": "max", "max": "min", "any": "all", "all": "any"}
LEVELS = {"ERROR": "WARNING", "WARNING": "NOTE", "NOTE": "WARNING"}


@dataclass(frozen=True, slots=True)
class Mutant:
    """``line`` counts from 1; ``was`` and ``now`` are the source of what changed. ``make`` makes the whole module with
    the change in it when that is needed, since there are thousands of mutants.
    """

    line: int
    was: str
    now: str
    make: Callable[[], ast.Module]

    def __str__(self) -> str:
        return f"{self.was}  ->  {self.now}"


def mutants(source: str) -> Iterator[Mutant]:
    """Every mutant of a module, in the order of its text."""
    for place, node in enumerate(_walked(ast.parse(source))):
        for nth, changed in enumerate(_changes(node)):
            yield Mutant(_line(node), ast.unparse(node), ast.unparse(changed), partial(_changed, source, place, nth))


def _changed(source: str, place: int, nth: int) -> ast.Module:
    """A module with the change of number ``nth`` at its node of number ``place``."""
    whole = ast.parse(source)
    target = next(islice(_walked(whole), place, None))
    _put(whole, target, next(islice(_changes(target), nth, None)))
    return ast.fix_missing_locations(whole)


def _line(node: ast.AST) -> int:
    found: int = node.target.lineno if isinstance(node, ast.comprehension) else getattr(node, "lineno", 0)
    return found


def _walked(tree: ast.AST) -> Iterator[ast.AST]:
    """What can be mutated: code that decides, not what is only for a checker of types, nor the words of a record."""
    for child in ast.iter_child_nodes(tree):
        if isinstance(child, ast.If) and isinstance(child.test, ast.Name) and child.test.id == "TYPE_CHECKING":
            continue
        if isinstance(child, ast.Assign) and isinstance(child.value, ast.Call) and _called(child.value) == "Rule":
            continue
        if isinstance(child, ast.Expr) and isinstance(child.value, ast.Constant):
            continue
        if isinstance(tree, ast.AnnAssign) and child is tree.annotation:
            continue
        if isinstance(child, (ast.Import, ast.ImportFrom, ast.Assert, ast.Raise)):
            continue
        if isinstance(child, ast.keyword) and child.arg == "strict":  # asserts of `zip`: a whole module never trips one
            continue
        yield child
        if isinstance(child, (ast.FunctionDef, ast.AsyncFunctionDef)):
            for statement in child.body:
                yield from _walked(ast.Module(body=[statement], type_ignores=[]))
        elif isinstance(child, ast.ClassDef):
            for statement in child.body:
                if isinstance(statement, (ast.FunctionDef, ast.AsyncFunctionDef)):
                    yield from _walked(ast.Module(body=[statement], type_ignores=[]))
        elif isinstance(child, ast.AnnAssign):
            if child.value is not None:
                yield child.value
                yield from _walked(child.value)
        else:
            yield from _walked(child)


def _called(call: ast.Call) -> str:
    return (
        call.func.id
        if isinstance(call.func, ast.Name)
        else call.func.attr
        if isinstance(call.func, ast.Attribute)
        else ""
    )


def _changes(node: ast.AST) -> Iterator[ast.AST]:
    match node:
        case ast.Compare(ops=ops):
            for i, op in enumerate(ops):
                for other in SWAPS.get(type(op), ()):
                    changed = copy.deepcopy(node)
                    changed.ops[i] = other()  # type: ignore[call-overload]
                    yield changed
        case ast.BoolOp(op=op, values=values):
            changed = copy.deepcopy(node)
            changed.op = SWAPS[type(op)][0]()  # type: ignore[assignment]
            yield changed
            for i in range(len(values)):
                rest = [copy.deepcopy(v) for j, v in enumerate(values) if j != i]
                yield rest[0] if len(rest) == 1 else ast.BoolOp(op=copy.deepcopy(op), values=rest)
        case ast.BinOp(op=op) if type(op) in SWAPS and not _is_text(node):
            for other in SWAPS[type(op)]:
                changed = copy.deepcopy(node)
                changed.op = other()  # type: ignore[assignment]
                yield changed
        case ast.UnaryOp(op=ast.Not(), operand=operand):
            yield copy.deepcopy(operand)
        case ast.UnaryOp(op=ast.USub(), operand=operand):
            yield copy.deepcopy(operand)
        case ast.Constant(value=bool() as value):
            yield ast.Constant(value=not value)
        case ast.Constant(value=int() | float() as value):
            yield ast.Constant(value=value + 1)
        case ast.If() | ast.IfExp():
            changed = copy.deepcopy(node)
            changed.test = ast.UnaryOp(op=ast.Not(), operand=changed.test)
            yield changed
        case ast.comprehension():
            for i in range(len(node.ifs)):
                changed = copy.deepcopy(node)
                del changed.ifs[i]
                yield changed
        case ast.Continue():
            yield ast.Break()
        case ast.Break():
            yield ast.Continue()
        case ast.Return(value=value) if value is not None and not isinstance(value, ast.Constant):
            yield ast.Return(value=ast.Constant(value=None))
        case ast.Call(func=ast.Name(id=name)) if name in CALLS:
            changed = copy.deepcopy(node)
            changed.func = ast.Name(id=CALLS[name], ctx=ast.Load())
            yield changed
        case ast.Attribute(attr=attr, value=ast.Name(id="Level")) if attr in LEVELS:
            yield ast.Attribute(value=copy.deepcopy(node.value), attr=LEVELS[attr], ctx=ast.Load())
        case ast.Tuple(elts=elts, ctx=ast.Load()) if len(elts) > 1:
            for i in range(len(elts)):
                yield ast.Tuple(elts=[copy.deepcopy(e) for j, e in enumerate(elts) if j != i], ctx=ast.Load())


def _is_text(node: ast.BinOp) -> bool:
    return any(
        isinstance(side, ast.JoinedStr) or (isinstance(side, ast.Constant) and isinstance(side.value, str))
        for side in (node.left, node.right)
    )


def _put(whole: ast.AST, target: ast.AST, changed: ast.AST) -> None:
    """Puts a node in the place of another."""
    for parent in ast.walk(whole):
        for name, value in ast.iter_fields(parent):
            if value is target:
                setattr(parent, name, changed)
                return
            if isinstance(value, list):
                for i, each in enumerate(value):
                    if each is target:
                        value[i] = changed
                        return
    raise LookupError(ast.dump(target))
