"""Small faults in the source of a module: one operator, comparison, number, choice or condition altered at a time."""

from __future__ import annotations

import ast
from collections.abc import Callable
from dataclasses import dataclass

_COMPARED: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Is: ast.IsNot, ast.IsNot: ast.Is,
}  # fmt: skip
_WORKED: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.FloorDiv: ast.Mult,
    ast.Mod: ast.Mult, ast.Pow: ast.Mult, ast.BitAnd: ast.BitOr, ast.BitOr: ast.BitAnd,
}  # fmt: skip
_NAMES = {
    "min": "max", "max": "min", "minimum": "maximum", "maximum": "minimum", "any": "all", "all": "any",
    "floor": "ceil", "ceil": "floor", "sin": "cos", "cos": "sin",
}  # fmt: skip


@dataclass(frozen=True)
class Mutant:
    """A module's source with one fault, and what it is in words."""

    module: str
    line: int
    what: str
    source: str


Place = tuple[int, int]
"""Which node of the tree, and which of its alterations."""


def places(source: str) -> list[Place]:
    """Where faults can be put into a module, in the order of its tree."""
    tree = ast.parse(source)
    skip = _passed_over(tree)
    return [
        (number, i)
        for number, node in enumerate(ast.walk(tree))
        if number not in skip
        for i in range(len(_alterations(node)))
    ]


def mutant(module: str, source: str, place: Place) -> Mutant:
    """The module with the fault of one place."""
    tree = ast.parse(source)
    node = list(ast.walk(tree))[place[0]]
    line = getattr(node, "lineno", 0)
    what, alter = _alterations(node)[place[1]]
    alter(node)
    return Mutant(module, line, what, ast.unparse(ast.fix_missing_locations(tree)))


def _passed_over(tree: ast.Module) -> set[int]:
    """Numbers of nodes that say nothing at run time, or only words: annotations, messages, `__all__`."""
    barred: set[int] = set()
    for node in ast.walk(tree):
        inner: list[ast.AST] = []
        if isinstance(node, ast.AnnAssign) or (isinstance(node, ast.arg) and node.annotation is not None):
            inner = [node.annotation]
        elif isinstance(node, ast.FunctionDef):
            inner = [*([node.returns] if node.returns else []), *node.decorator_list]
        elif isinstance(node, ast.ClassDef):
            inner = list(node.decorator_list)
        elif isinstance(node, ast.JoinedStr):
            inner = [node]
        for one in inner:
            barred.update(id(n) for n in ast.walk(one))
    return {number for number, node in enumerate(ast.walk(tree)) if id(node) in barred}


Alter = Callable[[ast.AST], None]


def _alterations(node: ast.AST) -> list[tuple[str, Alter]]:
    if isinstance(node, ast.Compare) and len(node.ops) == 1 and type(node.ops[0]) in _COMPARED:
        other = _COMPARED[type(node.ops[0])]
        return [(f"{ast.unparse(node)}: {other.__name__}", lambda n, other=other: n.ops.__setitem__(0, other()))]  # type: ignore[misc]
    if isinstance(node, ast.BinOp | ast.AugAssign) and type(node.op) in _WORKED:
        operator = _WORKED[type(node.op)]
        return [(f"{ast.unparse(node)}: {operator.__name__}", lambda n, op=operator: setattr(n, "op", op()))]  # type: ignore[misc]
    if isinstance(node, ast.BoolOp):
        joined = ast.Or if isinstance(node.op, ast.And) else ast.And
        return [(f"{ast.unparse(node)}: {joined.__name__}", lambda n, op=joined: setattr(n, "op", op()))]  # type: ignore[misc]
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub | ast.Not):
        bare = ast.UAdd() if isinstance(node.op, ast.USub) else None
        return [(f"{ast.unparse(node)}: bare", lambda n, bare=bare: _bare(n, bare))]  # type: ignore[misc]
    if isinstance(node, ast.Constant) and isinstance(node.value, bool):
        return [(f"{node.value}: not", lambda n: setattr(n, "value", not n.value))]  # type: ignore[attr-defined]
    if isinstance(node, ast.Constant) and isinstance(node.value, int):
        return [(f"{node.value}: + 1", lambda n: setattr(n, "value", n.value + 1))]  # type: ignore[attr-defined]
    if isinstance(node, ast.Constant) and isinstance(node.value, float) and node.value != 0.0:
        return [(f"{node.value}: doubled", lambda n: setattr(n, "value", 2 * n.value))]  # type: ignore[attr-defined]
    if isinstance(node, ast.If | ast.IfExp):
        return [(f"if {ast.unparse(node.test)}: not", _turned)]
    if isinstance(node, ast.Call):
        return _called(node)
    return []


def _called(node: ast.Call) -> list[tuple[str, Alter]]:
    if isinstance(node.func, ast.Name) and node.func.id in _NAMES:
        other = _NAMES[node.func.id]
        return [(f"{node.func.id}: {other}", lambda n: setattr(n.func, "id", other))]  # type: ignore[attr-defined]
    if isinstance(node.func, ast.Attribute) and node.func.attr in _NAMES:
        other = _NAMES[node.func.attr]
        return [(f"{node.func.attr}: {other}", lambda n: setattr(n.func, "attr", other))]  # type: ignore[attr-defined]
    return []


def _turned(node: ast.AST) -> None:
    assert isinstance(node, ast.If | ast.IfExp)
    node.test = ast.UnaryOp(ast.Not(), node.test)


def _bare(node: ast.AST, operator: ast.unaryop | None) -> None:
    assert isinstance(node, ast.UnaryOp)
    if operator is not None:
        node.op = operator
    else:
        # `not x` becomes `not not x`: the same as x wherever a condition is asked.
        node.operand = ast.UnaryOp(ast.Not(), node.operand)
